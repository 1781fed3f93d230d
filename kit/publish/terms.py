"""Terms of the glossary in prose: each, where it first stands on a page, leads to its entry on the glossary's page.

    terms.linked("On its arbor.", set())             # 'On its [arbor](13_glossary.ipynb#cell-id=ar).'

JupyterLab finds a cell by its name at once, a heading only once its cell is drawn: so the entries stand in cells, named
by the first two letters of their terms, few enough to be there soon, and each short enough for a screen.
"""
import functools
import re

from kit.base import tables
from kit.base.files import slug

PAGE = "13_glossary"
# of the prose: code, links, formulas, headings and HTML, in which no term is linked
UNTOUCHED = re.compile(r"(`[^`]*`|!?\[[^\]]*\]\([^)]*\)|\$[^$]*\$|<[^>]*>|^#.*$)", re.M)
LINK = re.compile(rf"\[([^\]]+)\]\((?:{PAGE}\.ipynb)?#cell-id=[^)\s]+\)")   # a link to an entry: what it says
# Words that in a sentence mostly mean what everybody means by them, or do what the term names
EVERYDAY = frozenset("""bites cell cells column columns counted draw feeds file files find finds follow follows grip
grips hold holds image likely margins outside overruns partial possible proof proofs pulls rest rests running scale
sheet sheets support supports sweep text tight turning turns wear yield yields""".split())


@functools.cache
def meanings():
    """{term: what it means}."""
    return {row["term"]: row["meaning"] for row in tables.load("glossary")}


@functools.cache
def _known():
    """({term in lower case: term}, what finds one: the longest first, with or without an s)."""
    known = {term.lower(): term for term in meanings()}
    said = "|".join(map(re.escape, sorted(known, key=len, reverse=True)))
    return known, re.compile(rf"(?<![\w-])({said})(?:e?s)?(?![\w-])", re.I)


def named(words):
    """The term that words stand for, in the singular or the plural; None where they are none."""
    known, finder = _known()
    found = finder.fullmatch(words)
    return found and known[found[1].lower()]


def cell(term):
    """The name of the cell that holds a term's entry: its first two letters."""
    return slug(term.lower())[:2]


def linked(text, seen):
    """Markdown in which every term leads to its entry where it stands for the first time; a link stays as it is.

    seen: set of the terms that the page has linked so far; those of this text are added.
    """
    def link(found):
        term = named(found[0])
        if term in seen or found[0].lower() in EVERYDAY:
            return found[0]
        seen.add(term)
        return f"[{found[0]}]({PAGE}.ipynb#cell-id={cell(term)})"

    parts = UNTOUCHED.split(text)
    for number, part in enumerate(parts):
        if number % 2 == 0:
            parts[number] = _known()[1].sub(link, part)
        elif (there := LINK.fullmatch(part)):
            seen.add(named(there[1]))
    return "".join(parts)


def bare(text):
    """Markdown without the links to entries."""
    return LINK.sub(r"\1", text)


def entries():
    """The whole glossary as Markdown, a paragraph a term, which needs no code to be run: {name of its cell: text}."""
    cells = {}
    for row in tables.load("glossary"):
        see = ", ".join(f"[{term}](#cell-id={cell(term)})" for term in row["see"].split("; "))
        standard = f" *{row['standard']}.*" if row["standard"] else ""
        said = f"**{row['term']}** {row['meaning']}{standard} See {see}.".replace("_", r"\_")
        cells.setdefault(cell(row["term"]), []).append(said)
    return {name: "\n\n".join(said) for name, said in sorted(cells.items())}
