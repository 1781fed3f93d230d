"""Sources: BibTeX as its authors write it, cited by author and date, and listed in full.

Nothing is looked up and nothing invented: a reference says what its entry says, its note on what was
from memory included.
"""
import re
import unicodedata
from dataclasses import dataclass

from kit.base import evidence, tables

# Sources that are no references: there is nothing to look up
PLAIN = {"common-practice": "common practice, no published source", "from-memory": "from memory, not looked up",
         "assumption": "assumption of this study", "own-trial": "own trial"}
NAMED_OTHERWISE = {"journaltitle": "journal", "location": "address", "date": "year"}   # by newer reference managers
HOUSES = ("publisher", "institution", "school", "organization")
THESES = {"phdthesis": "PhD thesis", "mastersthesis": "master's thesis"}
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

def plain(source):
    """Words for a source that is no reference, one of evidence.PLAIN_SOURCES. Raises ValueError for any other."""
    if source not in PLAIN:
        raise ValueError(f"{source!r} is no plain source; {tables.nearest(source, evidence.PLAIN_SOURCES)}")
    return PLAIN[source]


def cite(entry, narrative=False, letter=""):
    """One work in running text: "(Bourne 1856)", or "Bourne (1856)" where the sentence tells of the author.

    entry: a Work. letter: what tells it from another work of the same label, as `citations` deals them out.
    """
    return f"{_short(entry)} ({_dated(entry, letter)})" if narrative else f"({_short(entry)} {_dated(entry, letter)})"


def citations(keys, *paths):
    """Labels of works that are cited together, {key: "Bourne 1856"}, to go into brackets or a table.

    keys: keys of the BibTeX files at `paths`, a later file standing before an earlier; plain sources get their words.
    Works whose labels would be the same are told apart by a, b, ... behind the year, in the order of `listed`.
    Raises tables.TableError for a key that is in no file.
    """
    keys = list(dict.fromkeys(keys))
    labels = {work.key: f"{_short(work)} {_dated(work, letter)}" for work, letter in _lettered(keys, paths)}
    return {key: PLAIN.get(key) or labels[key] for key in keys}


def listed(keys, *paths):
    """Reference list of the works cited, a plain text each, sorted by author, year and title.

    Arguments, letters and errors as in `citations`; plain sources do not stand in it. A DOI stands where the entry has
    one, and the entry's note in square brackets at the end.
    """
    return [_whole(work, letter) for work, letter in _lettered(keys, paths)]


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
    texts = (_names(work.who), work.year, work.fields.get("title", ""), work.key)
    bare = ("".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c)) for text in texts)
    return [text.casefold() for text in bare]


# --- the words ------------------------------------------------------------------------------------------------------

def _short(work):
    names = [name.family for name in work.who]
    return f"{names[0]} et al." if len(names) > 2 or names[-1] == "others" else " and ".join(names)


def _names(people):
    names = [_joined(", ", name.family, name.given, name.after) for name in people]
    if names[-1] == "others":
        return f"{', '.join(names[:-1])} et al."
    return _joined(" and ", ", ".join(names[:-1]), names[-1])


def _dated(work, letter):
    return work.year + ("-" if letter and not work.year[-1].isdigit() else "") + letter


def _whole(work, letter):
    """One reference: who, year, title, where it stands, and the note."""
    has, who = work.fields.get, _names(work.who)
    title, volume, number, pages = (has(name, "") for name in ("title", "volume", "number", "pages"))
    if title == who:   # it stands for the author already
        title = ""
    if has("journal"):
        issue = f" {volume}({number})" if volume and number else f" {volume}" if volume else ""
        parts = [title, _joined(": ", _joined(", no. ", has("journal") + issue, "" if volume else number), pages)]
    else:
        book = [_edition(has("edition", "")), f"vol. {volume}" if volume else ""]
        leaves = f"{'pp.' if re.search('[–,-]', pages) else 'p.'} {pages}" if pages else ""
        if has("booktitle"):
            editors = f"edited by {_names(work.editors)}" if work.authors and work.editors else ""
            parts = [title, _joined(", ", f"In {has('booktitle')}", *book, editors, leaves)]
        else:
            parts = [_joined(", ", title, *book), leaves]
        kind = has("type", THESES.get(work.kind, ""))
        parts += [_joined(", no. ", has("series"), number), kind] if has("series") else [_joined(" ", kind, number)]
        house = next((has(name) for name in HOUSES if has(name, who) != who), "")
        parts += [_joined(": ", has("address"), house), has("howpublished")]
    doi = re.sub(r"^(https?://(dx\.)?doi\.org/|doi:\s*)", "", has("doi", ""))
    parts.append(f"doi:{doi}" if doi else _joined(", seen ", has("url"), has("urldate")))
    if work.editors and not work.authors:
        who += " (ed.)" if len(work.editors) == 1 else " (eds)"
    said = [text if text[-1] in ".?!" else f"{text}." for text in (who, _dated(work, letter), *parts) if text]
    return " ".join([*said, f"[{has('note')}]"] if has("note") else said)


def _joined(sign, *parts):
    return sign.join(part for part in parts if part)


def _edition(text):
    """"3" is "3rd ed."; words stay as they are."""
    if text.isdigit():
        text += "th" if int(text) % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(int(text) % 10, "th")
    return text if not text or re.search(r"\bed(ition|\.)", text) else f"{text} ed."
