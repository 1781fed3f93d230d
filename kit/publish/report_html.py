"""A document as a web page that holds everything, to read and to print."""
import base64
import io
from html import escape

from kit.publish.blocks import Bullets, Heading, Note, Paragraph, Picture, Table, anchor
from kit.publish.table_layout import laid_out
from kit.publish.tabular import one_line

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
    for i, (block, layout, turned) in enumerate(laid_out(blocks)):
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
                parts += _html_table(layout, caption, _tagged(anchor(name)))
            case Picture(figure, caption, alt, name):
                width = f"--width: {figure.get_figwidth() * 25.4:.2f}mm"
                parts += [f'<figure id="{_tagged(anchor(name))}">',
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
