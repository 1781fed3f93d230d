"""Sources: BibTeX as its authors write it, each entry checked, and called by author and date.

Nothing is looked up and nothing invented: an entry says what it says, its note on what was from memory included.
"""
import re
import unicodedata
from dataclasses import dataclass

from kit.base import evidence, tables

# Sources that are no references: there is nothing to look up
PLAIN = {"common-practice": "common practice, no published source", "from-memory": "from memory, not looked up",
         "assumption": "assumption of this study", "own-trial": "own trial"}
NAMED_OTHERWISE = {"journaltitle": "journal", "location": "address", "date": "year"}   # by newer reference managers
TYPE_FACE = (r"\\(emph|text(it|bf|sc|rm|sf|tt|up|superscript|subscript)?|url|mbox)\s*(?=\{)"
             r"|\\(em|it|bf|sc|rm|tt)\b\s*")


@dataclass(frozen=True)
class Name:
    """A person, or a body under its whole name. family: with its 'von'; after: 'Jr' and the like."""
    family: str
    given: str = ""
    after: str = ""


@dataclass(frozen=True)
class Work:
    """One entry of a BibTeX file, in plain text. kind: book, article, ...; fields: the rest, by name in small letters.

    authors and editors are tuples of Name, the last of them Name("others") where the entry says so.
    """
    key: str
    kind: str
    authors: tuple
    editors: tuple
    fields: dict

    @property
    def who(self):
        """Whoever answers for the work: its authors, else its editors, else the body behind it, else its title."""
        stand_in = [self.fields[name] for name in ("organization", "institution", "title") if name in self.fields]
        return self.authors or self.editors or (Name([*stand_in, self.key][0]),)

    @property
    def year(self):
        return self.fields.get("year", "n.d.")


def read(path):
    """Entries of a BibTeX file, {key: Work}; text between them is left aside, accents and braces are decoded.

    Raises tables.TableError, with file, line and remedy, for a file that is not there, not UTF-8 text or not BibTeX,
    for a key or a field that stands twice, and for an entry that takes its fields from another one (crossref).
    """
    from pybtex.database import InvalidNameString
    from pybtex.database.input.bibtex import LowLevelParser, month_names
    from pybtex.exceptions import PybtexError
    from pybtex.utils import CaseInsensitiveDict
    text, works, lines = tables.bibtex(path), {}, {}
    parser = LowLevelParser(text, macros=CaseInsensitiveDict(month_names))

    def line():   # where the entry at hand starts
        return text.count("\n", 0, parser.command_start) + 1

    def fault(said):
        return tables.TableError(f"{path}, line {line()}: {said}")

    try:
        for kind, body in parser:
            if kind.lower() in ("string", "preamble"):
                continue
            key, fields = body
            names = [name.lower() for name, _ in fields]
            twice = next((name for name in names if names.count(name) > 1), None)
            if key in works:
                raise fault(f"{key!r} stands already in line {lines[key]}; give one of the two another key")
            if twice:
                raise fault(f"{key!r} has {twice!r} twice; keep one of the two")
            if "crossref" in names:
                raise fault(f"{key!r} takes fields from another entry (crossref), which is not followed here; "
                            "write its booktitle, editor and year out")
            works[key] = _work(key, kind, {name: "".join(parts) for name, (_, parts) in zip(names, fields)})
            lines[key] = line()
    except InvalidNameString as error:
        raise fault(f"{error}; write names as 'Family, Given' or 'Family, Jr, Given', with 'and' between people, "
                    "and a body in {{double braces}}") from None
    except UnicodeDecodeError:   # what the decoding of LaTeX raises
        raise fault(r"a backslash that begins no LaTeX command; write \textbackslash{} for the sign itself") from None
    except PybtexError as error:
        raise fault(f"the entry that starts here is not BibTeX ({error}); an entry reads "
                    "@kind{key, name = {value}, ...}, and text between entries does without the sign @") from None
    return works


def _work(key, kind, raw):
    if "date" in raw:   # a whole date, where the year is wanted
        raw["date"] = re.sub("-.*", "", raw["date"])
    for other, name in NAMED_OTHERWISE.items():
        if other in raw:
            raw.setdefault(name, raw.pop(other))
    authors, editors = (_people(raw.pop(role, "")) for role in ("author", "editor"))
    fields = {name: re.sub(r"\\url|[\\{}\s]", "", value) if name in ("doi", "url") else _plain_text(value)
              for name, value in raw.items() if value.strip()}   # an address is no LaTeX
    if "pages" in fields:
        fields["pages"] = re.sub(r"(?<=\d)-(?=\d)", "–", fields["pages"])
    return Work(key, kind.lower(), authors, editors, fields)


def _people(text):
    from pybtex.bibtex.utils import split_name_list
    from pybtex.database import Person
    found = []
    for person in map(Person, split_name_list(" ".join(text.split()))):
        parts = ([*person.rich_prelast_names, *person.rich_last_names],
                 [*person.rich_first_names, *person.rich_middle_names], person.rich_lineage_names)
        found.append(Name(*(" ".join(" ".join(map(str, part)).split()) for part in parts)))
    return tuple(found)


def _plain_text(value):
    """LaTeX as plain text: accents and signs decoded, braces and commands of type face dropped, "50 %" no comment."""
    from pybtex.richtext import Text
    value = re.sub(r"(?<!\\)%", r"\%", re.sub(TYPE_FACE, "", value).replace(r"\,", "~"))
    return " ".join(str(Text.from_latex(value)).split())


# --- citing ---------------------------------------------------------------------------------------------------------

def citations(keys, *paths):
    """Labels of works that are cited together, {key: "Bourne 1856"}, to go into brackets or a table.

    keys: keys of the BibTeX files at `paths`, a later file standing before an earlier; plain sources get their words.
    Works whose labels would be the same are told apart by a, b, ... behind the year, by author, year and title.
    Raises tables.TableError for a key that is in no file.
    """
    keys = list(dict.fromkeys(keys))
    labels = {work.key: f"{_short(work)} {_dated(work, letter)}" for work, letter in _lettered(keys, paths)}
    return {key: PLAIN.get(key) or labels[key] for key in keys}


def _lettered(keys, paths):
    """(work, letter) of each key that is a reference, in the order of the list."""
    known = {}
    for path in paths:
        known |= read(path)
    keys = [key for key in dict.fromkeys(keys) if key not in PLAIN]
    for key in keys:
        if key not in known:
            raise tables.TableError(f"there is no source {key!r} in {' or '.join(map(str, paths))}; "
                                    f"{tables.nearest(key, known)} Mend the key where it is cited, add the entry, or "
                                    f"write one of {', '.join(evidence.PLAIN_SOURCES)}")
    works = sorted((known[key] for key in keys), key=_order)
    alike = {}
    for work in works:
        alike.setdefault((_short(work), work.year), []).append(work.key)
    letters = {key: _letter(i) for same in alike.values() if len(same) > 1 for i, key in enumerate(same)}
    return [(work, letters.get(work.key, "")) for work in works]


def _letter(i):
    """a, b, ... z, aa, ab, ..."""
    return (_letter(i // 26 - 1) if i >= 26 else "") + chr(ord("a") + i % 26)


def _order(work):
    """As a reader looks a work up: small and capital letters alike, without accents."""
    who = " ".join(f"{name.family} {name.given}" for name in work.who)
    texts = (who, work.year, work.fields.get("title", ""), work.key)
    bare = ("".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c)) for text in texts)
    return [text.casefold() for text in bare]


# --- the words ------------------------------------------------------------------------------------------------------

def _short(work):
    names = [name.family for name in work.who]
    return f"{names[0]} et al." if len(names) > 2 or names[-1] == "others" else " and ".join(names)


def _dated(work, letter):
    return work.year + ("-" if letter and not work.year[-1].isdigit() else "") + letter
