"""Citing: which works a document cites, in the style that its journal asks for.

BibTeX is read twice, by the kit for its checks (each with file, line and remedy) and by Pandoc for the references.
"""
import functools
import re
import zipfile
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from kit.base import references, tables
from kit.publish import pandoc

CSL = "{http://purl.org/net/xbiblio/csl}"   # namespace of the Citation Style Language; nothing is fetched from it


@dataclass(frozen=True)
class Citing:
    """What a document cites. labels: {how the text calls a work: its key}. works: {key: as CSL-JSON holds it}.
    notes: {key: what the entry says of itself}, which few styles print. style: path of a CSL file; None for author and
    date."""
    labels: dict
    works: dict
    notes: dict
    style: object = None


def citing(labels, *paths, style=None):
    """Citing of the works of those labels. paths: BibTeX files, a later one standing before an earlier. style: path of
    a CSL file, checked here; None for author and date.

    Raises tables.TableError for an entry that cannot be read, ValueError for a style that is none.
    """
    if style:
        checked_style(style)
    works, notes = {}, {}
    for path in paths:
        text = tables.bibtex(path)
        notes |= {key: work.fields.get("note", "") for key, work in references.read(path).items()}
        works |= {work["id"]: work for work in _works(path, text)}
    wanted = labels.values()
    return Citing(labels, {key: works[key] for key in wanted}, {key: notes[key] for key in wanted if notes[key]}, style)


@functools.lru_cache(maxsize=16)
def _works(path, text):
    try:
        text = re.sub(r"(?<!\\)%", r"\\%", text)   # else it would be taken for a comment
        return pandoc.works_of(text.replace("<", r"{\textless}").replace(">", r"{\textgreater}"))   # and these for HTML
    except pandoc.Unprinted as fault:
        line = re.search(r"\(line (\d+)", str(fault))
        before = "\n".join(text.split("\n")[:int(line[1])]) if line else text
        keys = re.findall(r"@\w+\s*[{(]\s*([^,\s]+)\s*,", before)
        raise tables.TableError(f"{path}, line {line[1] if line else '1'}: {keys[-1] if keys else 'an entry'!r} is not "
                                f"BibTeX that Pandoc reads ({fault}); mend the braces and commas there") from None


def checked_style(path):
    """The path, if it holds a citation style of its own. Raises ValueError that says what it is instead."""
    back = "give an independent .csl file, or leave csl out to cite by author and date"
    try:
        root = ElementTree.parse(path).getroot()
    except FileNotFoundError:
        raise ValueError(f"csl: there is no file {path}; {back}") from None
    except (ElementTree.ParseError, OSError, ValueError) as fault:
        raise ValueError(f"csl: {path} is no citation style ({fault}); {back}") from None
    if root.tag != f"{CSL}style":
        raise ValueError(f"csl: {path} is XML, but no citation style; {back}")
    if root.find(f"{CSL}citation") is None:
        parents = [link.get("href", "") for link in root.iter(f"{CSL}link") if link.get("rel") == "independent-parent"]
        of = f" and only names another ({parents[0]})" if parents else ""
        raise ValueError(f"csl: {path} holds no rules of its own{of}; {back}")
    return path


def checked_reference(path):
    """The path, if it is a DOCX document whose styles can be taken over. Raises ValueError that says what is wrong."""
    back = "give a .docx file saved by a word processor, or leave reference_docx out"
    try:
        with zipfile.ZipFile(path) as packed:
            if not {"word/document.xml", "word/styles.xml"} <= set(packed.namelist()):
                raise ValueError(f"reference_docx: {path} is no DOCX document, whatever its name says; {back}")
    except FileNotFoundError:
        raise ValueError(f"reference_docx: there is no file {path}; {back}") from None
    except (zipfile.BadZipFile, OSError) as fault:
        raise ValueError(f"reference_docx: {path} is no DOCX document ({fault}); {back}") from None
    return path


def in_folder(study, name):
    """Path of the file that [record] of a study names under `name`, None where it names none. It must lie in the
    study's folder, so that the archive holds it."""
    given = study.record.get(name, "")
    if not given:
        return None
    if Path(given).name != given:
        raise ValueError(f"{study.folder / 'study.toml'}, [record]: {name} = {given!r} must be the name of a file in "
                         "the study's folder; put the file there")
    return study.folder / given
