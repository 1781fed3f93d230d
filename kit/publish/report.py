"""A document as a list of blocks, set as a web page, as a PDF, or as Markdown.

    blocks = [Heading("Verdict"), Paragraph("..."), Table(frame, "Margins of each step", "steps"),
              Picture(figure, "Margins of each step", "bars on a log axis", "margins")]
    report.html(blocks, title="Harbour dial"), report.pdf(blocks, title="Harbour dial")

Nothing here knows what a study is. The same blocks give the same bytes: no dates, no random names, "\\n" line ends.
"""
import base64
import functools
import io
import re
from dataclasses import dataclass
from html import escape
from pathlib import Path
from urllib.parse import quote

from reportlab import platypus
from reportlab.lib.enums import TA_LEFT, TA_RIGHT
from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfdoc, pdfmetrics
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from kit.publish.tabular import Cells, as_markdown, called, cells_of, marked_down, one_line


# --- blocks -----------------------------------------------------------------------------------------------------------

@dataclass(frozen=True)
class Heading:
    """A heading below the title: level 1 for a section, 2 to 4 for what is inside it."""
    text: str
    level: int = 1


@dataclass(frozen=True)
class Paragraph:
    text: str


@dataclass(frozen=True)
class Bullets:
    items: tuple


@dataclass(frozen=True)
class Note:
    """A caution, set apart from the text."""
    text: str


@dataclass(frozen=True, eq=False)
class Table:
    """frame: pandas DataFrame of text and numbers, an index of words as its first column. name: for links."""
    frame: object
    caption: str
    name: str


@dataclass(frozen=True, eq=False)
class Picture:
    """figure: matplotlib Figure, as wide as it is to be printed. alt: what it shows, for those who cannot see it.
    name: for links, and of the file that Markdown points to (name.svg)."""
    figure: object
    caption: str
    alt: str
    name: str


def _checked(blocks):
    """The blocks, with headings that go down one level at a time, as those need who have a page read to them.

    Raises TypeError for what is no block, ValueError for a picture without words, no name, or a name used twice.
    """
    checked, level, names = [], 0, set()
    for block in blocks:
        if isinstance(block, Heading):
            level = min(max(block.level, 1), level + 1, 4)
            block = Heading(block.text, level)
        elif isinstance(block, (Table, Picture)):
            if not one_line(block.name):
                raise ValueError(f"the block captioned {block.caption!r} has no name; give it one, such as 'margins'")
            if _anchor(block.name) in names:
                raise ValueError(f"two blocks are called {block.name!r}; give each its own name, for links go by it")
            if isinstance(block, Picture) and not one_line(block.alt):
                raise ValueError(f"picture {block.name!r} has no alt text; say in a sentence what it shows, for those "
                                 "who cannot see it")
            names.add(_anchor(block.name))
        elif not isinstance(block, (Paragraph, Bullets, Note)):
            raise TypeError(f"{block!r} is no block; a document is made of Heading, Paragraph, Bullets, Table, Picture "
                            "and Note")
        checked.append(block)
    return checked


def _anchor(name):
    return re.sub(r"\s", "-", one_line(name))


# --- Markdown ---------------------------------------------------------------------------------------------------------

def markdown(blocks, title):
    """The document as Markdown; a picture is a link to its file, name.svg, beside the text."""
    parts = [f"# {marked_down(title)}"]
    for block in _checked(blocks):
        match block:
            case Heading(text, level):
                parts.append(f"{'#' * (level + 1)} {marked_down(text)}")
            case Paragraph(text):
                parts.append(marked_down(text, opens=True))
            case Bullets(items):
                parts.append("\n".join(f"- {marked_down(item, opens=True)}" for item in items))
            case Note(text):
                parts.append(f"> {marked_down(text, opens=True)}")
            case Table(frame, caption, _):
                parts.append(as_markdown(frame, caption).strip())
            case Picture(_, caption, alt, name):
                parts += [f"![{marked_down(alt)}]({quote(one_line(name))}.svg)", called(caption)]
    return "\n\n".join(filter(None, parts)) + "\n"


# --- how a table fits a page, in print and PDF ------------------------------------------------------------------------

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
class _Layout:
    """A table, whether it stands on a turned page, its points to a letter, and the width of each column in points."""
    cells: Cells
    turned: bool
    size: float
    widths: list


def _layout(frame):
    fonts()
    cells = cells_of(frame)
    for turned, size, easy in WAYS:
        widths = _widths(cells, size, ROOM[turned][0], easy)
        if widths is not None:
            return _Layout(cells, turned, size, widths)
    return _Layout(cells, turned, size, [ROOM[turned][0] / len(cells.header)] * len(cells.header))   # and words break


def _widths(cells, size, available, easy):
    """Width of each column, or None where they do not fit. easy: with room for some words a line."""
    pad, least, most = 10.5, [], []
    for head, column in zip(cells.header, cells.columns):
        inside = {(head, BOLD), *((value, FONT) for value in column)}
        widest = max(stringWidth(value, font, size) for value, font in inside)
        word = max((stringWidth(w, font, size) for value, font in inside for w in value.split()), default=0)
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


def _laid(blocks):
    """[(block, layout of its table or None, whether its page is turned)]; a heading goes where what follows it goes."""
    laid, turned = [], False
    for block in reversed(_checked(blocks)):
        layout = _layout(block.frame) if isinstance(block, Table) else None
        if not isinstance(block, Heading):
            turned = layout is not None and layout.turned
        laid.append((block, layout, turned))
    return laid[::-1]


# --- HTML -------------------------------------------------------------------------------------------------------------

CSS = """
:root { color-scheme: light; }
body { margin: 0 auto; padding: 3rem 2.5rem 5rem; max-width: 72rem; color: #000; background: #fff;
  overflow-wrap: break-word;
  font: 1rem/1.55 "DejaVu Sans", Verdana, "Segoe UI", Roboto, "Helvetica Neue", Arial, sans-serif; }
h1, h2, h3, h4, h5, p, ul, figcaption { max-width: 44rem; }
h1 { font-size: 1.7rem; line-height: 1.25; margin: 0 0 2rem; }
h2 { font-size: 1.25rem; line-height: 1.3; margin: 3rem 0 0.8rem; }
h3, h4, h5 { font-size: 1rem; margin: 2rem 0 0.5rem; }
h4, h5 { font-style: italic; font-weight: normal; }
p, ul { margin: 0 0 1rem; }
li { margin-bottom: 0.3rem; }
nav { margin: 0 0 2.5rem; }
nav h2 { font-size: 1rem; margin: 0 0 0.4rem; }
nav ul { list-style: none; padding: 0; }
nav .deep { padding-left: 1.5rem; }
a { color: #000; text-decoration-thickness: 1px; text-underline-offset: 0.2em; }
:focus-visible { outline: 2px solid #0072B2; outline-offset: 2px; }
.note { border-left: 2px solid #000; padding-left: 1rem; margin: 1.5rem 0; }
figure { margin: 2rem 0; }
img { display: block; width: calc(1.35 * var(--width)); max-width: 100%; height: auto; }
figcaption, caption { font-size: 0.875rem; line-height: 1.45; }
figcaption { margin-top: 0.6rem; }
.table { overflow-x: auto; margin: 2rem 0; }
table { border-collapse: collapse; border-bottom: 1.5px solid #000; font-size: 0.8125rem; line-height: 1.35; }
caption { text-align: left; padding-bottom: 0.6rem; }
caption span { display: inline-block; position: sticky; left: 0; max-width: min(44rem, calc(100vw - 6rem)); }
thead { border-top: 1.5px solid #000; border-bottom: 1px solid #000; }
th, td { text-align: left; vertical-align: top; font-weight: normal; padding: 0.3rem 0.6rem; white-space: nowrap; }
thead th { font-weight: bold; vertical-align: bottom; }
th:first-child, td:first-child { padding-left: 0; }
.number { text-align: right; font-variant-numeric: tabular-nums; }
.prose { min-width: 16rem; white-space: normal; overflow-wrap: anywhere; }
@page { size: A4; margin: 20mm; }
@page turned { size: A4 landscape; margin: 20mm; }
@media print {
  body { padding: 0; max-width: none; font-size: 9.5pt; line-height: 1.45; }
  nav { display: none; }
  h1, h2, h3, h4, h5, p, ul, figcaption { max-width: 140mm; }
  h1, h2, h3, h4, h5 { break-after: avoid; }
  h1 { font-size: 16pt; }
  h2 { font-size: 12pt; margin-top: 2rem; }
  h3, h4, h5 { font-size: 9.5pt; }
  p, li { orphans: 2; widows: 2; }
  img { width: var(--width); }
  figure, tr, .note { break-inside: avoid; }
  figcaption, caption { font-size: 8pt; }
  .turned { page: turned; }
  .table { overflow: visible; }
  table { table-layout: fixed; width: var(--width); font-size: var(--size); }
  col { width: var(--width); }
  caption { break-after: avoid; }
  caption span { position: static; width: 140mm; max-width: none; }
  th, td { padding: 2pt 5pt; }
  th, td, .prose { min-width: 0; white-space: normal; overflow-wrap: break-word; }
  tbody tr:first-child { break-before: avoid; }
}
"""
# Whatever the text holds, the page asks nobody for anything
POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"


def html(blocks, title, language="en"):
    """The document as one page that holds everything: pictures inside, no script, nothing fetched; to read and print.

    language: of the text, as 'en' or 'de', for those who have it read to them.
    """
    parts, contents = [], []
    for i, (block, layout, turned) in enumerate(_laid(blocks)):
        match block:
            case Heading(text, level):
                tag = f"h{level + 1}"
                parts.append(f'<{tag} id="section.{i}"{_class(turned and "turned")}>{_tagged(text)}</{tag}>')
                contents.append(f'<li{_class(level > 1 and "deep")}><a href="#section.{i}">{_tagged(text)}</a></li>')
            case Paragraph(text):
                parts.append(f"<p>{_tagged(text)}</p>")
            case Bullets(items):
                parts += ["<ul>", *(f"<li>{_tagged(item)}</li>" for item in items), "</ul>"]
            case Note(text):
                parts.append(f'<p class="note" role="note">{_tagged(text)}</p>')
            case Table(_, caption, name):
                parts += _html_table(layout, caption, _tagged(_anchor(name)))
            case Picture(figure, caption, alt, name):
                width = f"--width: {figure.get_figwidth() * 25.4:.2f}mm"
                parts += [f'<figure id="{_tagged(_anchor(name))}">',
                          f'<img alt="{_tagged(alt)}" style="{width}" src="{_svg(figure)}">',
                          f"<figcaption>{_tagged(caption)}</figcaption>", "</figure>"]
    listed = ["<nav aria-label=\"Contents\">", "<ul>", *contents, "</ul>", "</nav>"] if len(contents) > 4 else []
    head = ["<!DOCTYPE html>", f'<html lang="{_tagged(language)}">', "<head>", '<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">', '<link rel="icon" href="data:,">',
            f"<title>{_tagged(title)}</title>", f"<style>{CSS}</style>", "</head>"]
    return "\n".join([*head, "<body>", "<header>", f"<h1>{_tagged(title)}</h1>", "</header>", *listed, "<main>", *parts,
                      "</main>", "</body>", "</html>"]) + "\n"


def _tagged(text):
    return escape(one_line(text), quote=True)


def _class(name):
    return f' class="{name}"' if name else ""


def _html_table(layout, caption, name):
    cells = layout.cells
    kinds = [_class(numeric and "number" or prose and "prose") for numeric, prose in zip(cells.numeric, cells.prose)]

    def row(values, heads, scope):
        tags = [f'th scope="{scope}"' if i < heads else "td" for i in range(len(values))]
        inside = (f"<{tag}{kind}>{_tagged(value)}</{tag[:2]}>" for tag, kind, value in zip(tags, kinds, values))
        return f"<tr>{''.join(inside)}</tr>"

    columns = "".join(f'<col style="--width: {width:.1f}pt">' for width in layout.widths)
    style = f"--width: {sum(layout.widths):.1f}pt; --size: {layout.size}pt"
    box = _class("table turned" if layout.turned else "table")
    return [f'<div{box} role="region" tabindex="0" aria-labelledby="{name}">',
            f'<table style="{style}">', f'<caption id="{name}"><span>{_tagged(caption)}</span></caption>',
            f"<colgroup>{columns}</colgroup>", f"<thead>{row(cells.header, len(cells.header), 'col')}</thead>",
            "<tbody>", *(row(values, cells.heads, "row") for values in cells.rows), "</tbody>", "</table>", "</div>"]


def _svg(figure):
    import matplotlib
    from kit.publish.page import STYLE
    drawn = io.BytesIO()
    with matplotlib.rc_context(STYLE):
        figure.savefig(drawn, format="svg", metadata={"Date": None, "Creator": None})
    return "data:image/svg+xml;base64," + base64.b64encode(drawn.getvalue()).decode()


# --- PDF --------------------------------------------------------------------------------------------------------------

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
    laid, story, heads, before = _laid(blocks), [], [_set(title, "title")], None
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
    document = platypus.BaseDocTemplate(out, pageTemplates=templates, title=one_line(title), creator="ancient-method-kit",
                                        lang=one_line(language), displayDocTitle=True, initialFontName=FONT, invariant=1)
    document.build([*story, *heads], canvasmaker=_Sheets)
    return out.getvalue()


def _set(text, style, kind=platypus.Paragraph, **more):
    return kind(escape(one_line(text), quote=False), STYLES[style], **more)


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
    rows = [[platypus.Paragraph(escape(value, quote=False), styles[font, numeric])
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
