"""Paper for the session's sheets: A4, black on white, with paragraphs, ruled tables and lines for the pencil, as PDF.

Fonts embedded, no dates: the same content gives the same bytes.
"""
import functools
import io
from pathlib import Path
from xml.sax.saxutils import escape

FONT, BOLD, ITALIC = "DejaVuSans", "DejaVuSans-Bold", "DejaVuSans-Oblique"
MM = 72 / 25.4
A4 = 210 * MM, 297 * MM
MARGIN = 12 * MM
FREE = "  "   # a cell for the pencil
IN_FONT = ("FONTNAME", (0, 0), (-1, -1), FONT)   # of a table; without it an empty cell asks for an absent font


@functools.cache
def fonts():
    """Registers DejaVu Sans, which matplotlib brings, for use in PDFs."""
    import matplotlib
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    for name in (FONT, BOLD, ITALIC):
        pdfmetrics.registerFont(TTFont(name, str(Path(matplotlib.get_data_path(), "fonts", "ttf", f"{name}.ttf"))))


def paragraph(text, size=10, font=FONT, lead=1.3, after=0.0, marked=False, align=0):
    """A paragraph. size: in points; lead: height of a line over size; after: mm left free below it. marked: the text
    holds tags of its own (<b>, <i>) and is not escaped."""
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph
    fonts()
    style = ParagraphStyle("kit", fontName=font, fontSize=size, leading=lead * size, spaceAfter=after * MM,
                           alignment=align)
    return Paragraph(text if marked else escape(text), style)


def heading(title, *lines):
    """Title of a sheet and the lines below it."""
    return [paragraph(title, 16, BOLD, after=1.5)] + [paragraph(line, 10, after=1.5) for line in lines]


def fill_in(*fields, height=11):
    """One line of fields to fill in, each (label, width in mm): the label, then a line for the pencil. height: mm."""
    from reportlab.platypus import Table
    cells, widths = [], []
    style = [IN_FONT, ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
             ("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 0)]
    for words, width in fields:
        style.append(("LINEBELOW", (len(cells) + 1, 0), (len(cells) + 1, 0), 0.6, "black"))
        label = _text_width(words, 10) + 4
        cells += [paragraph(words, 10), "", ""]
        widths += [label, max((width - 3) * MM - label, 4 * MM), 3 * MM]
    return Table([cells], widths, [height * MM], style=style, hAlign="LEFT")


def _text_width(text, size):
    from reportlab.pdfbase import pdfmetrics
    fonts()
    return pdfmetrics.stringWidth(text, FONT, size)


def ruled(head, rows, widths, size=10, height=None, head_size=9):
    """A ruled table: head (None for none) and rows of text or of ready paragraphs, widths in mm; height of each row in
    mm, None for what its text needs."""
    from reportlab.platypus import Table
    for row in [head or [], *rows]:
        if row and len(row) != len(widths):
            raise ValueError(f"a table of {len(widths)} widths has a row of {len(row)} cells: {row[0]!r}, ...")
    cells = [[c if not isinstance(c, str) else paragraph(c, head_size, BOLD, 1.2) for c in head]] if head else []
    cells += [[c if not isinstance(c, str) else paragraph(c, size, lead=1.25) for c in row] for row in rows]
    heights = None if height is None else ([None] if head else []) + [height * MM] * len(rows)
    style = [IN_FONT, ("GRID", (0, 0), (-1, -1), 0.5, "black"), ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
             ("LEFTPADDING", (0, 0), (-1, -1), 3), ("RIGHTPADDING", (0, 0), (-1, -1), 3),
             ("TOPPADDING", (0, 0), (-1, -1), 2), ("BOTTOMPADDING", (0, 0), (-1, -1), 3)]
    if head:
        style.append(("LINEBELOW", (0, 0), (-1, 0), 1.2, "black"))
    return Table(cells, [w * MM for w in widths], heights, repeatRows=1 if head else 0, style=style, hAlign="LEFT")


def picture(figure, wide):
    """A figure, so many mm wide."""
    from reportlab.platypus import Image
    from kit.publish.page import png
    width, height = figure.get_size_inches()
    return Image(io.BytesIO(png(figure, dpi=300)), wide * MM, wide * MM * height / width, hAlign="LEFT")


def gap(mm):
    """Empty space."""
    from reportlab.platypus import Spacer
    return Spacer(1, mm * MM)


def page_break():
    """The sheet continues on a new page."""
    from reportlab.platypus import PageBreak
    return PageBreak()


def pdf(title, foot, story, wide=False):
    """Bytes of a PDF. foot: text at the bottom of each page, before its title and page number. story: the contents,
    from top to bottom. wide: landscape."""
    from reportlab.platypus import SimpleDocTemplate
    fonts()
    held = io.BytesIO()
    document = SimpleDocTemplate(
        held, pagesize=A4[::-1] if wide else A4, leftMargin=MARGIN - 6, rightMargin=MARGIN - 6, topMargin=MARGIN - 6,
        bottomMargin=MARGIN, invariant=1, lang="en", initialFontName=FONT, title=title, author="",
        subject="handout of a workshop session")

    def footer(canvas, document):
        canvas.setFont(FONT, 8)
        canvas.drawString(MARGIN, 7 * MM, foot)
        canvas.drawRightString(document.pagesize[0] - MARGIN, 7 * MM, f"{title}, page {canvas.getPageNumber()}")

    document.build(story, onFirstPage=footer, onLaterPages=footer)
    return held.getvalue()


def drawing(marks, wide, high):
    """A line drawing of so many mm. marks: ("line" or "arrow", x, y, x, y), ("circle", x, y, radius), ("box", x, y,
    wide, high) or ("text", x, y, words), in mm from the lower left corner."""
    from reportlab.graphics import shapes
    fonts()
    made = shapes.Drawing(wide * MM, high * MM)
    pen = {"strokeColor": shapes.colors.black, "strokeWidth": 0.9}
    for kind, *at in marks:
        if kind == "text":
            x, y, said = at
            made.add(shapes.String(x * MM, y * MM, said, fontName=FONT, fontSize=9))
            continue
        at = [value * MM for value in at]
        if kind == "circle":
            made.add(shapes.Circle(*at, fillColor=None, **pen))
        elif kind == "box":
            made.add(shapes.Rect(*at, fillColor=None, **pen))
        else:
            made.add(shapes.Line(*at, **pen))
        if kind == "arrow":
            made.add(shapes.Polygon(_head(*at), fillColor=shapes.colors.black, strokeColor=None))
    return made


def _head(x0, y0, x1, y1):
    """Points of an arrow's head at its end."""
    length = ((x1 - x0)**2 + (y1 - y0)**2)**0.5
    u, v = (x1 - x0) / length * 2 * MM, (y1 - y0) / length * 2 * MM
    return [x1, y1, x1 - u - v / 2, y1 - v + u / 2, x1 - u + v / 2, y1 - v - u / 2]
