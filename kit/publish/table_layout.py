"""How a table fits a page, in print and PDF: whether the page is turned, the size of letters, the width of columns."""
import functools
from dataclasses import dataclass
from pathlib import Path

from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfbase.ttfonts import TTFont

from kit.base.words import THIN
from kit.publish.blocks import Heading, Table, checked
from kit.publish.tabular import Cells, cells_of

FONT, BOLD, ITALIC = "DejaVuSans", "DejaVuSans-Bold", "DejaVuSans-Oblique"
MARGIN, MEASURE = 20 * mm, 140 * mm   # of the page; of lines of text, which tire the eye where they are longer
PAGE = {False: A4, True: landscape(A4)}   # upright, and turned
ROOM = {turned: (width - 2 * MARGIN, height - 2 * MARGIN) for turned, (width, height) in PAGE.items()}
# (turned, points to a letter, whether cells of text get room for some words a line), as wished for, the best first
WAYS = [*((turned, size, True) for turned in (False, True) for size in (8, 7.5, 7)),
        *((True, size, False) for size in (7, 6.5, 6))]


@functools.cache
def fonts():
    """Registers DejaVu Sans, which matplotlib brings, for use in PDFs; its names: (upright, bold, oblique)."""
    import matplotlib
    for name in (FONT, BOLD, ITALIC):
        pdfmetrics.registerFont(TTFont(name, str(Path(matplotlib.get_data_path(), "fonts", "ttf", f"{name}.ttf"))))
    return FONT, BOLD, ITALIC


@dataclass(frozen=True)
class Layout:
    """A table, whether it stands on a turned page, its points to a letter, and the width of each column in points."""
    cells: Cells
    turned: bool
    size: float
    widths: list


def layout_of(frame):
    """The best layout that fits, by WAYS."""
    fonts()
    cells = cells_of(frame)
    for turned, size, easy in WAYS:
        widths = _widths(cells, size, ROOM[turned][0], easy)
        if widths is not None:
            return Layout(cells, turned, size, widths)
    return Layout(cells, turned, size, [ROOM[turned][0] / len(cells.header)] * len(cells.header))   # and words break


def unbroken(text):
    """The text with a wider space between groups of digits: reportlab would end a line at the narrow one."""
    return text.replace(THIN, "\u00a0")


def _widths(cells, size, available, easy):
    """Width of each column, or None where they do not fit. easy: with room for some words a line."""
    pad, least, most = 10.5, [], []
    for head, column in zip(cells.header, cells.columns):
        inside = {(head, BOLD), *((unbroken(value), FONT) for value in column)}
        widest = max(stringWidth(value, font, size) for value, font in inside)
        word = max((stringWidth(w, font, size) for value, font in inside for w in value.split(" ")), default=0)
        few_lines = min(widest, max(32 * mm, widest / 5), 75 * mm) if easy else 0
        least.append(max(min(word, 40 * mm), few_lines) + pad)
        most.append(min(widest, 110 * mm) + pad)
    if sum(least) > available:
        return None
    widths, spare = list(least), available - sum(least)
    # little wishes first; the greater ones share the rest
    for served, i in enumerate(sorted(range(len(least)), key=lambda i: most[i] - least[i])):
        given = min(most[i] - least[i], spare / (len(least) - served))
        widths[i], spare = widths[i] + given, spare - given
    return widths


def laid_out(blocks):
    """[(block, layout of its table or None, whether its page is turned)]; a heading goes where what follows it goes."""
    laid, turned = [], False
    for block in reversed(checked(blocks)):
        layout = layout_of(block.frame) if isinstance(block, Table) else None
        if not isinstance(block, Heading):
            turned = layout is not None and layout.turned
        laid.append((block, layout, turned))
    return laid[::-1]
