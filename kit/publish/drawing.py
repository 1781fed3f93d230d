"""What a drawing is: a figure with its words and numbers, of a study as it usually comes out or as it does at worst;
and the same as a still for a talk, 16:9, with one message above it."""
import functools
import io
import os
from dataclasses import dataclass
from pathlib import Path

import matplotlib

from kit.base.files import drafting
from kit.base.units import unheard
from kit.publish.page import STYLE, save, wrapped
from kit.publish.sheet import HEIGHT, WIDTH, Sheet
from kit.study.typical import Typical

TALK = WIDTH * 9 / 16            # mm: height of a still
DOTS = 1920, 1080


@dataclass(frozen=True)
class Drawing:
    """A drawing: figure, caption, alt (in words, for those who cannot see it), message (what it says, in a line) and
    data (DataFrame of the sizes drawn)."""
    figure: object
    caption: str
    alt: str
    message: str
    data: object


@dataclass(frozen=True)
class Says:
    """What a drawing has to say of itself. numbers: {what: (value, unit)}, the sizes drawn."""
    message: str
    caption: str
    alt: str
    numbers: dict


def drawing(draw):
    """Decorator: `draw(sheet, typical, **choices)` becomes a function of a study, or of a Typical, that returns a
    Drawing.

    The function takes, besides its own choices: tube (its name; the first where None), worst (a criterion: the tube as
    it comes out in the worst draws of it), talk (a still of 16:9 with the message above), plain (without the bars of
    what is asked and given, for those who are to find it out), message (in place of its own), draws and seed.
    """
    @functools.wraps(draw)
    def drawn(study, tube=None, worst=None, talk=False, plain=False, message=None, draws=2**10, seed=1, **choices):
        typical = study if isinstance(study, Typical) else Typical(study, tube, worst, draws=draws, seed=seed)
        with matplotlib.rc_context(STYLE), unheard():   # the verdict tells what lies outside a formula's range
            sheet = Sheet(WIDTH, TALK if talk else HEIGHT, plain)
            says = draw(sheet, typical, **choices)
            message = message or says.message
            if talk:
                sheet.say(wrapped(message, WIDTH - 8, 11, True), (4, (HEIGHT + TALK) / 2), "left", "center", 11,
                          weight="bold")
        sheet.figure.made_by = f"kit.drawings.{draw.__name__}"
        return Drawing(sheet.figure, f"{says.caption} {typical.said}", says.alt, message, _table(says.numbers))
    return drawn


def _table(numbers):
    import pandas as pd
    rows = [{"drawn": what, "value": value, "unit": unit} for what, (value, unit) in numbers.items()]
    return pd.DataFrame(rows, columns=["drawn", "value", "unit"]).set_index("drawn")


def still(shown, folder, name, overwrite=False):
    """Save a drawing made with `talk=True`: as a picture of 1920 x 1080 dots, and as PDF and SVG, with its caption, its
    words for those who cannot see it, and the sizes drawn; list of paths.

    Raises FileExistsError rather than lose a file, unless overwrite is True.
    """
    path = Path(folder, f"{name}.png")
    if path.exists() and not overwrite:
        raise FileExistsError(f"{path} is there already; give another name, or say overwrite=True")
    paths = save(shown.figure, folder, name, shown.caption, shown.data, overwrite, shown.alt, ("pdf", "svg"))
    with drafting(Path(folder)) as drafts:
        draft = Path(drafts, path.name)
        draft.write_bytes(dots(shown.figure))
        os.chmod(draft, 0o644)
        os.replace(draft, path)
    return [path, *paths]


def dots(figure):
    """PNG bytes of a still, 1920 x 1080 dots."""
    buffer = io.BytesIO()
    with matplotlib.rc_context(STYLE):   # a hair more: a part of a dot is left off
        figure.savefig(buffer, format="png", dpi=DOTS[0] / figure.get_figwidth() * (1 + 2e-5))
    return buffer.getvalue()
