"""A document as a list of blocks, written in every format that a journal or a reader asks for.

    blocks = [Heading("Verdict"), Paragraph("..."), Table(frame, "Margins of each step", "steps"),
              Picture(figure, "Margins of each step", "bars on a log axis", "margins")]
    report.html(blocks, title="Harbour dial"), report.pdf(blocks, title="Harbour dial")

Nothing here knows what a study is. The same blocks give the same bytes: no dates, no random names, "\\n" line ends.
`citing` (kit.citing) says which works the text cites, and in what style; without it nothing is cited.
"""
import json
import re
import tempfile
from pathlib import Path

from kit.publish import pandoc, tree, typeset
from kit.publish.blocks import (Bullets, Formula, Heading, Note, Paragraph, Picture, References,  # noqa: F401 (known
                                Table, Upright, checked)                                          # from here too)

TEMPLATES = Path(__file__).parent / "templates"
# What may be asked for: its ending, and what it is
FORMATS = {"html": "one page, opens without a network", "pdf": "for print, and for a screen reader (PDF/UA-1)",
           "docx": "for a word processor", "tex": "LaTeX source", "odt": "for a word processor, as OpenDocument",
           "xml": "JATS, as publishers archive"}
HOLDS = {"html": "svg", "pdf": "svg", "docx": "png", "odt": "png"}   # those with their pictures inside, and as what
MARKDOWN = ("--columns=10000", "--wrap=none", "-t", "markdown-citations-smart-simple_tables-multiline_tables"
            "-grid_tables-fenced_divs-native_divs-bracketed_spans-native_spans-raw_html-implicit_figures"
            "-header_attributes")
TURNED = 175   # letters on a line of a table, on a page that is turned
TURNED_TITLE = r"\let\plaintitle\maketitle\renewcommand{\maketitle}{\begin{landscape}\plaintitle}"   # LaTeX
CUT = "% ---- cut here ----"


def written(end, blocks, title, language="en", citing=None, **more):
    """The document in the format of that ending (of FORMATS), as bytes."""
    made = {"html": html, "pdf": pdf, "docx": docx, "tex": latex, "odt": odt, "xml": jats}[end]
    made = made(blocks, title, language, citing, **more)
    return made if isinstance(made, bytes) else made.encode("utf-8")


def html(blocks, title, language="en", citing=None):
    """The document as one page that holds everything: pictures inside, no script, nothing fetched; to read and print.

    language: of the text, as 'en' or 'de', for those who have it read to them. citing: citing.Citing.
    """
    contents = ["--toc", "--toc-depth=5"] if sum(isinstance(block, Heading) for block in blocks) > 4 else []
    text = _written("html", blocks, title, language, citing, "-t", "html", "--mathml", "--standalone", "--wrap=none",
                    "--template", str(TEMPLATES / "report.html"), *contents).decode("utf-8")
    heads = re.compile(r"<thead>.*?</thead>", re.S)
    text = heads.sub(lambda head: head[0].replace("<th", '<th scope="col"').replace('<th scope="col"ead', "<thead"),
                     text)
    return re.sub("<th(?! scope)(?=[ >])", '<th scope="row"', text)


def pdf(blocks, title, language="en", citing=None, turned=False):
    """The document as PDF, A4, which a screen reader reads (PDF/UA-1): fonts inside, bookmarks, page numbers; bytes.

    turned: pages on their side, for wide tables.
    """
    blocks = checked(blocks)
    text = _written("typst", blocks, title, language, citing, "-t", "typst-citations", "--standalone", "--template",
                    str(TEMPLATES / "report.typ"), "--wrap=none", *(["-V", "turned=true"] if turned else []),
                    room=TURNED if turned else tree.ROOM)
    pictures = {f"{tree.one_line(b.name)}.svg": b.bytes_of("svg") for b in blocks if isinstance(b, Picture)}
    return typeset.pdf(text.replace(b"align(center)[#table", b"align(left)[#table"), pictures)


def docx(blocks, title, language="en", citing=None, reference=None):
    """The document for a word processor, as bytes. reference: path of a DOCX whose styles and page it takes over; A4,
    with small print in tables, where None."""
    if reference:
        return _written("docx", blocks, title, language, citing, "-t", "docx", "--reference-doc", str(reference),
                        room=_room(blocks))
    with tempfile.TemporaryDirectory(prefix="kit-") as folder:
        path = Path(folder, "reference.docx")
        path.write_bytes(pandoc.word_styles())
        return docx(blocks, title, language, citing, path)


def odt(blocks, title, language="en", citing=None):
    """The document as OpenDocument text, as bytes: on A4, with small print in tables."""
    with tempfile.TemporaryDirectory(prefix="kit-") as folder:
        path = Path(folder, "reference.odt")
        path.write_bytes(pandoc.odt_styles(tree.is_turned(blocks)))
        return _written("odt", blocks, title, language, citing, "-t", "odt", "--reference-doc", str(path),
                        room=_room(blocks))


def latex(blocks, title, language="en", citing=None):
    """The document as LaTeX that pdfLaTeX, LuaLaTeX or XeLaTeX sets; a picture is a file name.pdf beside it, its name
    the block's."""
    turned = ["-V", f"header-includes={TURNED_TITLE}"] if tree.is_turned(blocks) else []
    return _written("latex", blocks, title, language, citing, "-t", "latex", "--standalone", "--wrap=none",
                    "-V", "geometry=a4paper,margin=25mm", "-H", str(TEMPLATES / "header.tex"), *turned,
                    room=_room(blocks)).decode("utf-8")


def jats(blocks, title, language="en", citing=None):
    """The document as JATS; a picture is a file name.png beside it."""
    return _written("jats", blocks, title, language, citing, "-t", "jats_archiving", "--standalone").decode("utf-8")


def markdown(blocks, title="", language="en", citing=None):
    """The document as Markdown; a picture is a link to its file, name.svg, beside the text. Without a title, the blocks
    alone."""
    text = _written("markdown", blocks, title, language, citing, *MARKDOWN).decode("utf-8")
    return (f"# {title}\n\n" if title else "") + text


def tables(end, found, citing=None):
    """Each Table by itself as 'md' or 'tex' (needs booktabs and longtable), a list of texts; all in one go."""
    form, flags = {"md": ("markdown", MARKDOWN), "tex": ("latex", ("-t", "latex", "--wrap=none"))}[end]
    cuts = [tree.raw(form, CUT) for _ in found]
    text = _written(form, found, "", "en", citing, *flags, between=cuts).decode("utf-8")
    return [f"{part.strip()}\n" for part in text.split(CUT)[:len(found)]]


def _room(blocks):
    return TURNED if tree.is_turned(blocks) else tree.ROOM


def _written(form, blocks, title, language, citing, *flags, between=(), room=tree.ROOM):
    """What Pandoc makes of the blocks. between: raw blocks, each to stand behind one of them."""
    if not re.fullmatch("[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*", language):
        raise ValueError(f"language: {language!r} is no code of a language; give one such as 'en' or 'pt-BR'")
    labels, works = (citing.labels, citing.works) if citing else ({}, {})
    blocks = checked(blocks)
    made = tree.tree(blocks, title, language, form, labels, list(works), between, room)
    if works and not any(isinstance(block, References) for block in blocks):
        made["blocks"].append(tree.UNLISTED)
    made["pandoc-api-version"] = pandoc.version()
    if works:
        cited = pandoc.cited(made, list(works.values()), citing.style)["blocks"]   # its meta names a passing file
        made = made | {"blocks": tree.annotate(cited, citing.notes)}
        made["blocks"] = [block for block in made["blocks"] if not tree.is_unlisted(block)]
    made["meta"].pop("nocite", None)
    return pandoc.run(tree.held(json.dumps(made), blocks, form), "-f", "json", *flags)
