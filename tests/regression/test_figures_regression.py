"""kit.figures: values worked out by ourselves. They show that a result has moved and are no evidence."""
import numpy as np
import pandas as pd
import pytest
from PIL import Image

from kit import figures


@pytest.mark.parametrize("name, count", [("single", 2126), ("mid", 3307), ("full", 4488)])
def test_dots_at_six_hundred_an_inch(name, count, tmp_path):
    """Worked out from the widths, 25.4 mm an inch, to the nearest dot."""
    x = np.linspace(1, 2, 5)
    figure = figures.over(x, {"one": x}, "a / mm", "b / mm", width=figures.WIDTHS[name])
    figures.save(figure, tmp_path, "f", "caption", pd.DataFrame({"x": x}), formats=("png", "tiff"))
    for end in ("png", "tiff"):
        with Image.open(tmp_path / f"f.{end}") as dots:
            assert dots.width == count
