"""A document's blocks as the tree that Pandoc reads: every word as it stands, whatever signs are in it."""
import base64
import json
import re

from kit.base import words
from kit.publish.blocks import (Bullets, Formula, Heading, Note, Paragraph, Picture, References, Table, Upright,
                                anchor)
from kit.publish.tabular import cells_of, one_line

PICTURES = {"html": "svg", "docx": "png", "odt": "png"}   # formats that hold their pictures, and as what
BESIDE = {"latex": "pdf", "typst": "svg", "markdown": "svg", "jats": "png"}   # that point to a file, and its ending
KINDS = {"svg": "image/svg+xml", "png": "image/png"}
ROOM = 95        # letters on a line of a table; a wider one gets columns of given width, where the format needs it
WIDEST, HIGHEST = 160, 200   # mm, that a page has for a picture
EMPTY = ["", [], []]
# what ends the turned pages; in Word a section's page is said where it ends, in twentieths of a point
UPRIGHT = {"typst": ("typst", "#set page(flipped: false, margin: (x: 25mm, y: 22mm))"),
           "latex": ("latex", r"\end{landscape}"),
           "docx": ("openxml", '<w:p><w:pPr><w:sectPr><w:pgSz w:w="16838" w:h="11906" w:orient="landscape"/><w:pgMar '
                    'w:top="1247" w:right="1134" w:bottom="1247" w:left="1134" w:header="709" w:footer="709" '
                    'w:gutter="0"/></w:sectPr></w:pPr></w:p>'),
           "odt": ("opendocument", '<text:p text:style-name="Upright"/>')}
UNLISTED = {"t": "Div", "c": [["refs", ["unlisted"], []], []]}   # catches a list that the document does not ask for
# signs that TeX's usual fonts lack
SIGNS = {"∞": r"\infty", "≥": r"\geq", "≤": r"\leq", "−": "-", "×": r"\times", "≈": r"\approx",
         "→": r"\rightarrow", "Ω": r"\Omega", "Δ": r"\Delta", "α": r"\alpha", "β": r"\beta", "λ": r"\lambda",
         "π": r"\pi", "ρ": r"\rho", "σ": r"\sigma"}
RAISED = re.compile(f"[{words.UP}]+|[{''.join(SIGNS)}]")


def tree(blocks, title, language, form, labels=(), keys=(), between=(), room=ROOM):
    """The document as a dict. blocks: checked. form: of PICTURES or BESIDE. labels: {how the text calls a work: its
    key}, each of which becomes a citation; keys: of all works that the list of references is to hold. between: of the
    tree's own, each to stand behind one of the blocks. room: letters on a line of a table."""
    maker = _Maker(form, dict(labels), room)
    meta = {"title": {"t": "MetaInlines", "c": maker.inlines(title)}, "lang": _string(one_line(language)),
            "pagetitle": _string(one_line(title))}
    if keys:
        cites = [{"t": "Cite", "c": [[_citation(key) for key in keys], []]}]
        meta["nocite"] = {"t": "MetaInlines", "c": cites}
    found = [made for i, block in enumerate(blocks) for made in (*maker.made(block), *between[i:i + 1])]
    return {"pandoc-api-version": None, "meta": meta, "blocks": found}


def is_turned(blocks):
    """Whether pages are on their side, up to where the document says that they stand upright again."""
    return any(isinstance(block, Upright) for block in blocks)


def held(text, blocks, form):
    """The tree as JSON, the pictures inside for a format that holds them: put there last, for they are large."""
    end = PICTURES.get(form)
    for block in (block for block in blocks if isinstance(block, Picture) and end):
        beside = json.dumps([f"{one_line(block.name)}.{end}", ""])
        inside = f"data:{KINDS[end]};base64,{base64.b64encode(block.bytes_of(end)).decode()}"
        text = text.replace(beside, json.dumps([inside, ""]))
    return text


def annotate(blocks, notes):
    """The tree's blocks, their references set, with the note of each entry behind it, in brackets: a style leaves it
    out, and what an entry owns to would be lost."""
    listed = [block for block in blocks if block["t"] == "Div" and block["c"][0][0] == "refs"]
    for block in _walked(listed):
        if block.get("t") == "Div" and block["c"][0][0].removeprefix("ref-") in notes:
            note = notes[block["c"][0][0].removeprefix("ref-")]
            block["c"][1][-1]["c"] += [{"t": "Space"}, *_words(f"[{note}]")]
    return blocks


def is_unlisted(block):
    return block["t"] == "Div" and "unlisted" in block["c"][0][1]


def _walked(node):
    if isinstance(node, dict):
        yield node
        node = node.get("c", ())
    if isinstance(node, list):
        for child in node:
            yield from _walked(child)


def _string(text):
    return {"t": "MetaString", "c": text}


def _citation(key, mode="NormalCitation"):
    return {"citationId": key, "citationPrefix": [], "citationSuffix": [], "citationMode": {"t": mode},
            "citationNoteNum": 0, "citationHash": 0}


def _words(text):
    """A text on one line, word by word."""
    found = []
    text = re.sub(r"(?<=\d) (?=%)", "\u00a0", one_line(text))   # no line begins with a per cent sign
    for i, word in enumerate(text.split(" ")):
        found += [{"t": "Space"}] * (i > 0) + [{"t": "Str", "c": word}] * bool(word)
    return found


def raw(form, text):
    return {"t": "RawBlock", "c": [form, text]}


class _Maker:
    """Makes the tree of each block for one format."""

    def __init__(self, form, labels, room):
        self.form, self.labels, self.room, self.headings = form, labels, room, 0
        ordered = sorted(map(re.escape, labels), key=len, reverse=True)
        self.cites = re.compile(rf"(?<!\w)({'|'.join(ordered)})(?!\w)") if ordered else None

    def inlines(self, text):
        parts = self.cites.split(one_line(text)) if self.cites else [text]
        found = []
        for i, part in enumerate(parts):
            if i % 2:
                found.append({"t": "Cite", "c": [[_citation(self.labels[part], "AuthorInText")], _words(part)]})
                continue
            found += [{"t": "Space"}] * bool(i and part.startswith(" "))
            found += self._signs(part)
            found += [{"t": "Space"}] * bool(i + 1 < len(parts) and part.endswith(" ") and part.strip())
        return found

    def _signs(self, text):
        """Words; in TeX with raised digits and signs as its fonts have them."""
        if self.form != "latex":
            return _words(text)
        found = []
        for word in _words(text):
            at = 0
            for sign in RAISED.finditer(word.get("c", "")):
                found += [{"t": "Str", "c": word["c"][at:sign.start()]}] * (sign.start() > at)
                found.append({"t": "Math", "c": [{"t": "InlineMath"}, SIGNS[sign[0]]]} if sign[0] in SIGNS else
                             {"t": "Superscript", "c": [{"t": "Str", "c": sign[0].translate(words.LOWERED)}]})
                at = sign.end()
            if at < len(word.get("c", "")) or word["t"] == "Space":
                found.append({"t": "Str", "c": word["c"][at:]} if "c" in word else word)
        return found

    def paragraph(self, text, kind="Para"):
        return {"t": kind, "c": self.inlines(text)}

    def made(self, block):
        """The tree's blocks for a block of ours."""
        match block:
            case Heading(text, level):
                deeper = self.form in ("html", "markdown")   # whose title is a heading too
                self.headings += 1
                yield {"t": "Header", "c": [level + deeper, [f"section-{self.headings}", [], []], self.inlines(text)]}
            case Paragraph(text):
                yield self.paragraph(text)
            case Bullets(items):
                kind = "Para" if self.form == "docx" else "Plain"   # there a Plain is small print, as in tables
                yield {"t": "BulletList", "c": [[self.paragraph(item, kind)] for item in items]}
            case Note(text):
                yield from self._note(text)
            case Formula(tex, alt):
                yield from self._formula(tex, alt)
            case Upright():
                if self.form in UPRIGHT:
                    yield raw(*UPRIGHT[self.form])
            case References():
                yield {"t": "Div", "c": [["refs", [], []], []]}
            case Table(frame, caption, name):
                yield from self._table(cells_of(frame), caption, anchor(name))
            case Picture():
                yield from self._picture(block)

    def _note(self, text):
        if self.form == "typst":
            yield from (raw("typst", "#note["), self.paragraph(text), raw("typst", "]"))
        elif self.form == "html":
            yield {"t": "Div", "c": [["", ["note"], [["role", "note"]]], [self.paragraph(text)]]}
        else:
            yield {"t": "BlockQuote", "c": [self.paragraph(text)]}

    def _formula(self, tex, alt):
        if self.form == "typst":
            yield raw("typst", f"#set math.equation(alt: {_quoted(alt)})")
        math = {"t": "Math", "c": [{"t": "DisplayMath"}, tex]}
        if self.form == "html":   # told in words to those who have it read
            math = {"t": "Span", "c": [["", ["formula"], [["role", "math"], ["aria-label", one_line(alt)]]], [math]]}
        yield {"t": "Para", "c": [math]}

    def _picture(self, block):
        if self.form == "typst":   # whose writer drops the words
            yield raw("typst", f"#set image(alt: {_quoted(block.alt)})")
        at = f"{one_line(block.name)}.{(PICTURES | BESIDE)[self.form]}"
        width = block.width * min(1, WIDEST / block.width, HIGHEST / (block.figure.get_figheight() * 25.4))
        image = {"t": "Image", "c": [["", [], [["width", f"{width:.2f}mm"]]], self.inlines(block.alt), [at, ""]]}
        if self.form == "html":   # wider on a screen, true in print
            image["c"][0][2] = [["style", f"--width: {block.width:.2f}mm"]]
        yield {"t": "Figure", "c": [[anchor(block.name), [], []], [None, [self.paragraph(block.caption, "Plain")]],
                                    [{"t": "Plain", "c": [image]}]]}

    def _table(self, cells, caption, name):
        if not cells.header:
            yield self.paragraph(caption)
            return
        shares = _shares(cells, self.room) if self.form in ("latex", "typst", "docx", "odt") else None
        columns = [[{"t": "AlignRight" if numeric else "AlignLeft"},
                    {"t": "ColWidth", "c": round(shares[i], 3)} if shares else {"t": "ColWidthDefault"}]
                   for i, numeric in enumerate(cells.numeric)]
        head = [EMPTY, [self._row(cells.header)]]
        body = [EMPTY, cells.heads, [], [self._row(row) for row in cells.rows]]
        table = {"t": "Table", "c": [[name, [], []], [None, [self.paragraph(caption, "Plain")] if one_line(caption)
                                                      else []], columns, head, [body], [EMPTY, []]]}
        if self.form == "html":   # scrolls by itself where it is wide, by keyboard too
            about = [["role", "region"], ["tabindex", "0"], ["aria-label", one_line(caption)]]
            table = {"t": "Div", "c": [["", ["table"], about], [table]]}
        yield table

    def _row(self, values):
        return [EMPTY, [[EMPTY, {"t": "AlignDefault"}, 1, 1, [self.paragraph(value, "Plain")] if value else []]
                        for value in values]]


def _quoted(text):
    """A text as Typst has it in quotes."""
    return '"' + one_line(text).replace("\\", "\\\\").replace('"', '\\"') + '"'


def _shares(cells, room):
    """Shares of the line that the columns get, None where all fit as they are. A column gets its longest word, and of
    what is left as much as its text wants."""
    longest, least, wishes = [], [], []
    for head, column in zip(cells.header, cells.columns):
        texts = [head, *column]
        longest.append(max(map(len, texts)) + 2)
        least.append(min(max(len(word) for text in texts for word in text.split(" ")), 30) + 2)
        wishes.append(min(longest[-1], 1.6 * sum(map(len, column)) / max(len(column), 1) + 10) - least[-1])
    if sum(longest) <= room:
        return None
    wishes = [max(wish, 0.1) for wish in wishes]
    spare = max(room - sum(least), 0)
    widths = [low + spare * wish / sum(wishes) for low, wish in zip(least, wishes)]
    return [width / sum(widths) for width in widths]
