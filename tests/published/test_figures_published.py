"""kit.figures against what publishers and standards print; the source stands beside each. Sizes and fonts are read back
from saved files."""
from xml.etree import ElementTree

import numpy as np
import pandas as pd
import pytest
from PIL import Image
from pypdf import PdfReader
from pypdf.generic import ContentStream
from transcribed import contrast, rgb

from kit import figures, page

# ELSEVIER below: Elsevier, Artwork and media instructions, "Artwork sizing" (no year): target widths of single column,
# one and a half columns and double column in mm, with the pixels they print for 300, 500 and 1000 dots an inch; those
# of the middle width from memory, believed to stand in the same table.
# PLOS below: PLOS ONE, Submission guidelines, "Figures" (no year).
ELSEVIER = {"single": (90, {300: 1063, 500: 1772, 1000: 3543}), "mid": (140, {300: 1654, 500: 2756, 1000: 5512}),
            "full": (190, {300: 2244, 500: 3740, 1000: 7480})}
PLOS = {"narrowest": 66.8, "widest": 190.5, "highest": 222.3}


@pytest.fixture(scope="module")
def saved(tmp_path_factory):
    """{width name: folder} of one figure saved in every format."""
    x, folders = np.geomspace(1, 100, 12), {}
    for name, width in figures.WIDTHS.items():
        figure = figures.over(x, {"dry": 3e5 / x**3, "oiled": 1e5 / x}, "clearance / µm", "time it holds / s",
                              {"wanted": 5}, log=(True, True), width=width)
        folders[name] = tmp_path_factory.mktemp(name)
        figures.save(figure, folders[name], "f", "caption", pd.DataFrame({"x": x}), formats=figures.FORMATS)
    return folders


def sheet_of(folder):
    return PdfReader(folder / "f.pdf").pages[0]


def mm(points):
    return float(points) / 72 * 25.4


@pytest.mark.parametrize("name", ELSEVIER)
def test_widths_are_those_of_journals_in_every_file(saved, name):
    """ELSEVIER: 90, 140 and 190 mm, printed to the millimetre; here to the hundredth, but for a dot of 0.04 mm."""
    width, folder = ELSEVIER[name][0], saved[name]
    box = sheet_of(folder).mediabox
    assert figures.WIDTHS[name] == width
    assert mm(box.width) == pytest.approx(width, abs=0.01) and mm(box.height) == pytest.approx(75, abs=0.01)
    drawing = ElementTree.parse(folder / "f.svg").getroot()
    for side, printed in (("width", width), ("height", 75)):
        assert drawing.get(side).endswith("pt") and mm(drawing.get(side)[:-2]) == pytest.approx(printed, abs=0.01)
    for end in ("png", "tiff"):
        with Image.open(folder / f"f.{end}") as dots:
            assert dots.width / dots.info["dpi"][0] * 25.4 == pytest.approx(width, abs=0.04)


@pytest.mark.parametrize("name", ELSEVIER)
def test_dots_are_those_that_publishers_count(saved, name):
    """ELSEVIER: the counts printed for 300, 500 and 1000 dots an inch, each rounded to a whole dot, scaled to our
    600."""
    for end in ("png", "tiff"):
        with Image.open(saved[name] / f"f.{end}") as dots:
            assert dots.info["dpi"] == pytest.approx((600, 600), abs=0.01)   # PNG keeps whole dots a metre
            for per_inch, printed in ELSEVIER[name][1].items():
                assert abs(dots.width - printed * 600 / per_inch) <= 0.5 * 600 / per_inch + 0.5


@pytest.mark.parametrize("name", ELSEVIER)
def test_tiff_is_as_journals_take_it(saved, name):
    """PLOS: TIFF packed by LZW, flat, without alpha channel, RGB of 8 bits a channel or grey, 300 to 600 dots an inch,
    under 10 MB."""
    with Image.open(saved[name] / "f.tiff") as dots:
        assert (dots.format, dots.mode, dots.n_frames) == ("TIFF", "RGB", 1)
        # bits; samples beyond the three
        assert dots.info["compression"] == "tiff_lzw" and dots.tag_v2[258] == (8, 8, 8) and 338 not in dots.tag_v2
        assert 300 <= dots.info["dpi"][0] <= 600
    assert (saved[name] / "f.tiff").stat().st_size < 10e6


def test_no_page_is_larger_than_a_journal_prints():
    """PLOS: width 66.8 to 190.5 mm, height at most 222.3 mm. ELSEVIER: height at most 240 mm."""
    x = np.linspace(1, 2, 5)
    for size in ({"width": PLOS["widest"] + 0.1}, {"width": PLOS["narrowest"] - 0.1},
                 {"height": PLOS["highest"] + 0.1}):
        with pytest.raises(ValueError):
            figures.over(x, {"one": x}, "a / mm", "b / mm", **size)
    largest = figures.over(x, {"one": x}, "a / mm", "b / mm", width=190.5, height=222).get_size_inches() * 25.4
    assert largest[0] <= PLOS["widest"] + 1e-9 and largest[1] <= min(PLOS["highest"], 240)


@pytest.mark.parametrize("name", ELSEVIER)
def test_fonts_are_inside_the_pdf_and_no_letter_is_smaller_than_seven_points(saved, name):
    """ELSEVIER: fonts embedded, lettering of 7 points at the printed size."""
    sheet, sizes = sheet_of(saved[name]), set()
    for font in sheet["/Resources"]["/Font"].values():
        inner = font.get_object()["/DescendantFonts"][0].get_object()
        # TrueType, the letters used
        assert inner["/Subtype"] == "/CIDFontType2" and inner["/BaseFont"].endswith("+DejaVuSans")
        assert len(inner["/FontDescriptor"]["/FontFile2"].get_object().get_data()) > 1000
    upright, turned = [1, 0, 0, 1], [0, 1, 1, 0]
    for operands, operator in ContentStream(sheet.get_contents(), sheet.pdf).operations:
        assert operator != b"Tm" and (operator != b"cm" or [abs(float(x)) for x in operands[:4]] in (upright,
                                                                                                     turned)), "scaled"
        if operator == b"Tf":
            sizes.add(float(operands[1]))
    assert sizes == {7, 8}
    assert {"clearance / µm", "dry", "wanted"} <= set(sheet.extract_text().splitlines())   # words, not outlines


@pytest.mark.parametrize("name", ELSEVIER)
def test_lines_are_neither_too_thin_nor_too_thick_to_print(saved, name):
    """ELSEVIER: lines of 0.10 to 1.5 points (bars of rows, which are strokes too, are wider). Colours are RGB or grey,
    not CMYK."""
    sheet = sheet_of(saved[name])
    operations = ContentStream(sheet.get_contents(), sheet.pdf).operations
    widths = {float(operands[0]) for operands, operator in operations if operator == b"w"}
    assert widths and 0.10 <= min(w for w in widths if w) and max(widths) <= 1.5
    assert not {b"k", b"K"} & {operator for _, operator in operations}


# M. Okabe and K. Ito, Color universal design (2008), as printed by B. Wong, Color blindness, Nature Methods 8 (2011)
# 441: RGB of the palette.
OKABE_ITO = {"BLUE": (0, 114, 178), "VERMILION": (213, 94, 0), "GREEN": (0, 158, 115), "PURPLE": (204, 121, 167),
             "BLACK": (0, 0, 0)}
LEFT_OUT = {"sky blue": (86, 180, 233), "orange": (230, 159, 0), "yellow": (240, 228, 66)}


@pytest.mark.parametrize("name", OKABE_ITO)
def test_hues_are_those_of_the_palette_and_lines_stand_out(name):
    """W3C 2018, success criterion 1.4.11: 3:1 for graphics."""
    assert rgb(getattr(page, name)) == OKABE_ITO[name]
    assert contrast(OKABE_ITO[name]) >= 3


@pytest.mark.parametrize("name", LEFT_OUT)
def test_hues_that_fade_are_left_out(name):
    """By the same criterion."""
    assert contrast(LEFT_OUT[name]) < 3 and LEFT_OUT[name] not in map(rgb, page.HUES)


@pytest.mark.parametrize("hue", page.HUES)
def test_words_stand_out_more_and_keep_their_hue(hue):
    """W3C 2018, success criterion 1.4.3: 4.5:1 for text of this size."""
    import colorsys
    ink = rgb(page.INK[hue])
    assert contrast(ink) >= 4.5
    turn = abs(colorsys.rgb_to_hls(*ink)[0] - colorsys.rgb_to_hls(*rgb(hue))[0])
    assert min(turn, 1 - turn) < 0.02 and contrast(ink) < max(5.2, contrast(rgb(hue)) + 0.01)
