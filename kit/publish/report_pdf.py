"""A document as PDF, A4: fonts inside, bookmarks, page numbers, pictures at their true size."""
import functools
import io
from html import escape

from reportlab import platypus
from reportlab.lib.enums import TA_LEFT, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfdoc
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from kit.publish.blocks import Bullets, Heading, Note, Paragraph, Picture, Table
from kit.publish.table_layout import BOLD, FONT, ITALIC, MARGIN, MEASURE, PAGE, ROOM, fonts, laid_out, unbroken
from kit.publish.tabular import one_line

DPI = 600   # of pictures as printed, which are lines and letters


def _style(size, leading, font=FONT, **more):
    return ParagraphStyle("", **{"fontName": font, "bulletFontName": FONT, "fontSize": size, "leading": leading,
                                 "allowWidows": 0, "allowOrphans": 0} | more)


_text = functools.partial(_style, rightIndent=ROOM[False][0] - MEASURE)
STYLES = {"title": _text(16, 21, BOLD, spaceAfter=14), 1: _text(12, 16, BOLD, spaceBefore=16, spaceAfter=6),
          2: _text(9.5, 14, BOLD, spaceBefore=10, spaceAfter=4), 3: _text(9.5, 14, ITALIC, spaceBefore=8, spaceAfter=4),
          4: _text(9.5, 14, ITALIC, spaceBefore=8, spaceAfter=4), "body": _text(9.5, 14, spaceAfter=8),
          "item": _text(9.5, 14, spaceAfter=4, leftIndent=12, bulletIndent=1, bulletFontSize=9.5),
          "note": _text(9.5, 14, spaceBefore=6, spaceAfter=12, leftIndent=12),
          "above": _text(8, 11, spaceBefore=8, spaceAfter=5), "below": _text(8, 11, spaceBefore=6, spaceAfter=16)}


def pdf(blocks, title, language="en"):
    """The document as PDF, A4: fonts inside, bookmarks, page numbers, pictures at their true size; bytes.

    A table that needs it stands on a page turned on its side. language: as in `html`.
    """
    fonts()
    laid, story, heads, before = laid_out(blocks), [], [_set(title, "title")], None
    for i, (block, layout, turned) in enumerate(laid):
        if isinstance(block, Heading):
            heads.append(_set(block.text, block.level, _Marked))
            heads[-1].mark = f"section.{i}", one_line(block.text), block.level - 1
            continue
        if before not in (None, turned):
            story += [platypus.NextPageTemplate(str(turned)), platypus.PageBreak()]
        flow, least = _flow(block, layout)
        # no heading at the foot of a page without what it heads
        least += sum(h.wrap(*ROOM[turned])[1] + h.getSpaceBefore() + h.getSpaceAfter() for h in heads)
        story += [platypus.CondPageBreak(min(least, ROOM[turned][1] - 1)), *heads, *flow]
        heads, before = [], turned
    templates = [platypus.PageTemplate(str(turned), [platypus.Frame(MARGIN, MARGIN, *ROOM[turned], 0, 0, 0, 0)],
                                       pagesize=PAGE[turned], onPage=functools.partial(_footer, title=one_line(title)))
                 for turned in ((True, False) if laid and laid[0][2] else (False, True))]
    out = io.BytesIO()
    document = platypus.BaseDocTemplate(
        out, pageTemplates=templates, title=one_line(title), creator="ancient-method-kit", lang=one_line(language),
        displayDocTitle=True, initialFontName=FONT, invariant=1)
    document.build([*story, *heads], canvasmaker=_Sheets)
    return out.getvalue()


def _set(text, style, kind=platypus.Paragraph, **more):
    return kind(escape(unbroken(one_line(text)), quote=False), STYLES[style], **more)


def _flow(block, layout):
    """What a block is in a PDF, and how much height of it must stay with a heading before it."""
    match block:
        case Paragraph(text):
            return [_set(text, "body")], 28
        case Note(text):
            return [_set(text, "note", _Note)], 40
        case Bullets(items):
            return [*(_set(item, "item", bulletText="•") for item in items), platypus.Spacer(0, 4)], 28
        case Table(_, caption, _):
            caption = _set(caption, "above")
            table, rows = _pdf_table(layout)
            return [caption, *table], caption.wrap(*ROOM[layout.turned])[1] + sum(rows[:4]) + 20
        case Picture(figure, caption, alt, _):
            caption = _set(caption, "below")
            under = caption.wrap(*ROOM[False])[1] + 10
            picture = _Drawn(figure, one_line(alt), ROOM[False][0], max(ROOM[False][1] - under, ROOM[False][1] / 2))
            return [picture, caption], picture.height + under + 8


def _pdf_table(layout):
    """(the table in a list, the heights of its rows)."""
    if not layout.cells.header:
        return [], []
    size, (width, height) = layout.size, ROOM[layout.turned]
    styles = {(font, numeric): _style(size, size * 1.28, font, alignment=TA_RIGHT if numeric else TA_LEFT)
              for font in (FONT, BOLD) for numeric in (False, True)}
    rows = [[platypus.Paragraph(escape(unbroken(value), quote=False), styles[font, numeric])
             for value, numeric in zip(values, layout.cells.numeric)]
            for font, values in ((BOLD, layout.cells.header), *((FONT, row) for row in layout.cells.rows))]
    rules = [("FONTNAME", (0, 0), (-1, -1), FONT), ("LINEABOVE", (0, 0), (-1, 0), 0.9, "black"),
             ("LINEBELOW", (0, 0), (-1, 0), 0.5, "black"),
             ("LINEBELOW", (0, -1), (-1, -1), 0.9, "black"), ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
             ("VALIGN", (0, 1), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 5),
             ("RIGHTPADDING", (0, 0), (-1, -1), 5), ("LEFTPADDING", (0, 0), (0, -1), 0),
             ("TOPPADDING", (0, 0), (-1, -1), 2), ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5)]
    table = platypus.Table(rows, layout.widths, repeatRows=1, hAlign="LEFT", spaceAfter=16, style=rules)
    table.wrap(width, height)
    heights = table._rowHeights
    table.splitInRow = max(heights) > height - heights[0]   # a row stays whole, unless it is higher than a page
    return [table], heights


def _footer(canvas, document, title):
    width = canvas._pagesize[0]
    while stringWidth(title, FONT, 7) > width - 2 * MARGIN - 20 * mm:
        title = title[:-2] + "…"
    canvas.setFont(FONT, 7)
    canvas.drawString(MARGIN, 11 * mm, title)
    canvas.drawRightString(width - MARGIN, 11 * mm, str(document.page))


class _Undated(pdfdoc.PDFInfo):
    """What a PDF says of itself, without the date that would have to be made up to keep the bytes the same."""
    def format(self, document):
        said = {"Title": self.title, "Producer": self.producer, "Creator": self.creator}
        return pdfdoc.PDFDictionary({key: pdfdoc.PDFString(value) for key, value in said.items()}).format(document)


class _Sheets(Canvas):
    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self._doc.info = _Undated()


class _Marked(platypus.Paragraph):
    """A heading that is a bookmark too. mark: (key, words, depth); the rest of one that was split has none."""
    mark = None

    def draw(self):
        if self.mark:
            key, words, depth = self.mark
            self.canv.bookmarkHorizontal(key, 0, self.height)
            self.canv.addOutlineEntry(words, key, depth)
            self.canv.showOutline()
        super().draw()


class _Note(platypus.Paragraph):
    """A paragraph with a line at its left, on each page it reaches."""
    def draw(self):
        self.canv.setLineWidth(1.5)
        self.canv.line(1, -2, 1, self.height - 1)
        super().draw()


class _Drawn(platypus.Flowable):
    """A figure at its true size, made smaller only where it is wider or higher than the room there is."""
    spaceBefore = 8

    def __init__(self, figure, alt, most_width, most_height):
        super().__init__()
        width, height = figure.get_figwidth() * 72, figure.get_figheight() * 72
        scale = min(1, most_width / width, most_height / height)
        self.figure, self.alt, self.width, self.height = figure, alt, width * scale, height * scale

    def draw(self):
        from kit.publish import figures
        pixels = io.BytesIO(figures.png(self.figure, dpi=DPI * self.width / 72 / self.figure.get_figwidth()))
        alt = f"\ufeff{self.alt}".encode("utf-16-be").hex()
        self.canv.addLiteral(f"/Figure <</Alt <{alt}>>> BDC")
        self.canv.drawImage(ImageReader(pixels), 0, 0, self.width, self.height)
        self.canv.addLiteral("EMC")
