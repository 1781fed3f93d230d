"""A document as a list of blocks, set as a web page, as a PDF, or as Markdown.

    blocks = [Heading("Verdict"), Paragraph("..."), Table(frame, "Margins of each step", "steps"),
              Picture(figure, "Margins of each step", "bars on a log axis", "margins")]
    report.html(blocks, title="Harbour dial"), report.pdf(blocks, title="Harbour dial")

Nothing here knows what a study is. The same blocks give the same bytes: no dates, no random names, "\\n" line ends.
"""
from urllib.parse import quote

from kit.publish.blocks import Bullets, Heading, Note, Paragraph, Picture, Table, checked
from kit.publish.report_html import CSS, html  # noqa: F401 (known as report.html)
from kit.publish.report_pdf import pdf  # noqa: F401 (these and those below likewise)
from kit.publish.table_layout import BOLD, FONT, ITALIC, MARGIN, fonts  # noqa: F401
from kit.publish.tabular import as_markdown, called, marked_down, one_line


def markdown(blocks, title):
    """The document as Markdown; a picture is a link to its file, name.svg, beside the text."""
    parts = [f"# {marked_down(title)}"]
    for block in checked(blocks):
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
