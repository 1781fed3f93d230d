"""Paper for the session's sheets: A4, black on white, with paragraphs, ruled tables and lines for the pencil, as PDF.

A sheet is a list of what stands on it, said in the few words below; `paper.typ`, beside this file, has Typst set it. It
goes there as JSON, so that no word of a study is ever read as code. No dates: the same content gives the same bytes.
"""
import json
import re
from pathlib import Path

from kit.publish import page, typeset

FONT, BOLD, ITALIC = "regular", "bold", "italic"
FREE = ""   # a cell for the pencil
PADDING = 1.8   # mm: above and below what stands in a cell
DARKEST = 160     # of 255: what is darker is a line or a word, what is lighter a tint
TEMPLATE = Path(__file__).with_suffix(".typ")


def pdf(title, foot, story, wide=False):
    """Bytes of a PDF. foot: text at the bottom of each page, before its title and page number. story: the contents,
    from top to bottom. wide: landscape."""
    sheet = {"title": title, "foot": foot, "wide": wide, "story": story}
    return typeset.pdf(TEMPLATE.read_bytes(), inputs={"sheet": json.dumps(sheet, ensure_ascii=False)})


def paragraph(said, size=10, font=FONT, lead=1.3, after=0.0):
    """A paragraph. said: text, or a list of texts and `strong` ones. size: in points; lead: height of a line over size;
    after: mm left free below it."""
    return {"set": "paragraph", "said": [said] if isinstance(said, str) else said, "size": size, "font": font,
            "lead": lead, "after": after}


def strong(said):
    """Words in a paragraph that stand out."""
    return {"strong": said}


def title(said, size=12, level=2, after=1.0):
    """What a part of a sheet is called: a heading, by which those move who have it read to them."""
    return {"set": "title", "said": said, "size": size, "level": level, "after": after}


def heading(said, *lines):
    """Title of a sheet and the lines below it."""
    return [title(said, 16, 1, 1.5)] + [paragraph(line, 10, after=1.5) for line in lines]


def fill_in(*fields, height=11):
    """One line of fields to fill in, each (label, width in mm): the label, then a line for the pencil. height: mm."""
    return {"set": "fill_in", "fields": fields, "height": height}


def ruled(head, rows, widths, size=10, height=None, head_size=9):
    """A ruled table: head (None for none) and rows of text or of ready paragraphs, widths in mm; height: least of a row
    with a free cell, in mm, None for what its text needs."""
    for row in [head or [], *rows]:
        if row and len(row) != len(widths):
            raise ValueError(f"a table of {len(widths)} widths has a row of {len(row)} cells: {row[0]!r}, ...")
    cells = [c if not isinstance(c, str) else paragraph(c, head_size, BOLD, 1.2) for c in head or []]
    cells += [gap(height - PADDING) if c == FREE and height else paragraph(c, size, lead=1.25) if isinstance(c, str)
              else c for row in rows for c in row]
    return {"set": "ruled", "of": cells, "widths": widths, "head": len(head or [])}


def picture(drawn, wide):
    """A drawing (drawing.Drawing), so many mm wide, in black and greys, with its words for those who cannot see it."""
    svg = in_black(page.printed(drawn.figure, "svg", None).decode())
    return {"set": "picture", "svg": svg, "wide": wide, "alt": drawn.alt}


def in_black(svg):
    """The SVG of a drawing as a black printer is to have it: hues of lines and words black, tints grey as they look.

    What the hues tell stands on a drawing in words and widths too. How light a colour looks: by the weights of
    ITU-R BT.709 (from memory).
    """
    def grey(found):
        red, green, blue = (int(found[2][i:i + 2], 16) for i in (0, 2, 4))
        if red == green == blue:
            return found[0]
        light = round(0.2126 * red + 0.7152 * green + 0.0722 * blue)
        return f"{found[1]}#{light:02x}{light:02x}{light:02x}" if light > DARKEST else f"{found[1]}#000000"
    return re.sub(r"((?:fill|stroke|stop-color): ?)#([0-9a-fA-F]{6})\b", grey, svg)


def sketch(marks, wide, high, alt):
    """A line drawing of so many mm; alt: what it shows, in words.

    marks: ("line" or "arrow", x, y, x, y), ("circle", x, y, radius), ("box", x, y, wide, high) or ("text", x, y, words,
    then as wanted size in points, font, and 0 to 1 for how much of it stands left of x), in mm from the lower left
    corner. A line may be followed by its width in mm, and by True for dashes.
    """
    return {"set": "sketch", "marks": marks, "wide": wide, "high": high, "alt": alt}


def at(x, y, wide, *story):
    """A part of the page by itself, so many mm wide. x, y: of its upper left corner, in mm from the page's lower
    left."""
    return {"set": "at", "of": story, "x": x, "y": y, "wide": wide}


def quarters(*story):
    """The same four times on a page, to be cut apart."""
    return {"set": "quarters", "of": story}


def fold(said):
    """A line along which the sheet is folded, and what is said of it."""
    return {"set": "fold", "said": said}


def gap(mm):
    """Empty space."""
    return {"set": "gap", "mm": mm}


def page_break():
    """The sheet continues on a new page."""
    return {"set": "page_break"}
