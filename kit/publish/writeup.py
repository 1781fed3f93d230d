"""The write-up of a study: figures, tables, text, report and archive, in one folder that is there whole or not at all.

    kit.writeup.bundle(study, "out")          # or: python -m kit writeup FOLDER --out DIR

All is made from the record. The same study, log and seed give the same tables and figures, byte for byte; only the date
of the archive is of the day. Text and captions may be put into your own words in `wording.toml` of the study's folder
(see `reword`). What a write-up shows has files of its own, and is known here too: texts, figures, tables, the report.
"""
import contextlib
import datetime
import errno
import hashlib
import json
import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

from kit import __version__
from kit.base import tables
from kit.base.files import drafting, slug
from kit.publish import archive, citing, figures, page, report, tabular
from kit.publish.report import Paragraph, References, Table
from kit.publish.wording import WORDING, basis, reword, study_files  # noqa: F401 (reword is known as writeup.reword)
from kit.publish.worked_out import KITS, WorkedOut  # noqa: F401 (these and those below likewise)
from kit.publish.writeup_document import annex, document, file_of
from kit.publish.writeup_figures import NAMES, Plate, plates  # noqa: F401
from kit.publish.writeup_tables import Sheet, deviations, sheets, stock_plan  # noqa: F401
from kit.publish.strength import doing
from kit.publish.writeup_texts import methods_text, verdict_text
from kit.study.outcomes import EVERY

FORMATS = ("pdf", "svg", "png")   # and "tiff", where a journal wants it
WIDTHS = tuple(figures.WIDTHS.values())   # mm
REPORT_WIDTH = figures.WIDTHS["mid"]        # of the figures in report and annex, mm
DOCUMENTS = ("html", "pdf", "docx", "tex")   # and of report.FORMATS whatever else is asked for


def bundle(study, out, draws=2**17, seed=1, widths=WIDTHS, formats=FORMATS, date=None, only=None, words=None,
           progress=None, documents=DOCUMENTS):
    """Write the whole write-up of a study into a new folder of `out`; its path.

    study: a Study, loaded from a folder. draws, seed: of the verdict. widths: of the figures, mm. formats: of
    figures.FORMATS. date: of the archive, a datetime.date; today where None. only: names of the figures wanted; all
    where None. words: {name: text} in place of generated ones, as in `reword`. progress: as Study.assess. documents:
    formats of report and annex, of report.FORMATS. The folder is called by the study's title and a digest of all that
    goes in, and appears whole or not at all: where it is there already, it is left as it is and its path returned.
    Nothing is ever written over.
    Raises StudyError or tables.TableError for a study that cannot be written up (a source key in no file, say),
    ValueError for an unknown figure or format or a width no journal takes, OSError where the folder cannot be written.
    """
    return bundled(WorkedOut(study, draws, seed, words or {}, progress), out, widths, formats, date, only, documents)


def bundled(worked, out, widths=WIDTHS, formats=FORMATS, date=None, only=None, documents=DOCUMENTS):
    """As `bundle`, of a WorkedOut: what of it is worked out already is not worked out again, unless a file of the study
    has changed since."""
    if worked.stale:
        worked = replace(worked)
    date = date or datetime.date.today()
    for name in only or ():
        if name not in NAMES:
            raise ValueError(f"there is no figure {name!r}; {tables.nearest(name, NAMES)}")
    target = Path(out) / named(worked, widths, formats, documents, only)
    if not target.exists():
        refuse(worked, widths, formats, documents)
        with appearing(target) as made:
            known = plates(worked)
            for name in only or ():
                if name not in {p.name for p in known}:
                    nearest = tables.nearest(name, [p.name for p in known])
                    raise ValueError(f"there is no figure {name!r} for this study; {nearest}")
            # numbered as in the report
            chosen = [(i, p) for i, p in enumerate(known, 1) if only is None or p.name in only]
            _fill(made, worked, widths, formats, known, chosen, date, documents)
            archive.pack(made, made.parent / "archive.zip")
            os.replace(made.parent / "archive.zip", made / "archive.zip")
    return target


def named(worked, widths, formats, documents, only=None):
    """What the folder of a bundle is called."""
    return f"{slug(worked.study.title)}-{_inputs(worked, widths, formats, only, documents)}"


def refuse(worked, widths, formats, documents):
    """Raise what would be refused in the end, before the work and not after: see `bundle`."""
    for name in formats:
        if name not in figures.FORMATS:
            raise ValueError(f"no format {name!r}; {tables.nearest(name, figures.FORMATS)}")
    for name in documents:
        if name not in report.FORMATS:
            raise ValueError(f"no format {name!r} of a report; {tables.nearest(name, report.FORMATS)}")
    for width in widths:
        page.check_page(width=width)
    study = worked.study
    archive.check(study.title, study.record.get("authors", ()), study.record.get("licence", ""))
    worked.wording
    WorkedOut(study, draws=2**6).citing
    look(study)


@contextlib.contextmanager
def appearing(target):
    """A hidden folder to fill, moved to `target` when whole; whatever goes wrong, nothing is left of it."""
    out = target.parent
    made_here = [folder for folder in (out, *out.parents) if not folder.exists()]
    out.mkdir(parents=True, exist_ok=True)
    try:
        with drafting(out) as draft:   # first, so that a folder that cannot be written is told at once
            made = draft / "bundle"
            made.mkdir()
            yield made
            try:
                os.rename(made, target)
            except OSError as error:
                if error.errno not in (errno.EEXIST, errno.ENOTEMPTY):
                    raise   # else somebody else was first: the same inputs make the same folder, and theirs stands
    except BaseException:   # an interrupt too
        with contextlib.suppress(OSError):   # it holds something of somebody else's by now
            for folder in made_here:
                folder.rmdir()
        raise


def look(study):
    """Path of the DOCX whose styles the report takes over, None where the record names none."""
    path = citing.in_folder(study, "reference_docx")
    return path and citing.checked_reference(path)


def _inputs(worked, widths, formats, only, documents):
    """Digest of all that goes into a bundle, but for where the study's folder lies and for the day."""
    words = worked.study.folder / WORDING
    told = json.dumps([basis(worked.study), int(worked.draws), worked.seed, __version__, sorted(map(float, widths)),
                       sorted(formats), only and sorted(only), sorted(documents),
                       words.read_text(encoding="utf-8") if words.exists() else "", worked.words], sort_keys=True)
    return hashlib.sha256(told.encode()).hexdigest()[:12]


def _fill(folder, worked, widths, formats, known, chosen, date, documents):
    """Write every file of a bundle, and what describes them. known: all plates; chosen: (number, plate) of those whose
    files are wanted."""
    described = {}   # {path: (name, description, whether it was made here)}
    fields = {}      # {path of a CSV: (title, what its columns hold)}

    def put(path, content, name, description, made=True):
        path = folder / path
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        described[path.relative_to(folder).as_posix()] = (name, description, made)

    found = sheets(worked)
    reports = _reports(worked, known, found, documents)
    for number, plate in chosen:
        stem, name = f"figures/figure-{number}-{plate.name}", f"Figure {number}: {plate.name}"
        for width in widths:
            for end in formats:
                put(f"{file_of(number, plate, width)}.{end}", plate.printed(width, end), name, f"{width:g} mm wide")
        put(f"{stem}.txt", f"Figure {number}. {plate.caption}\n", name, "its caption")
        put(f"{stem}.alt.txt", f"{plate.alt}\n", name, "what it shows, in words, for those who cannot see it")
        put(f"{stem}.csv", tabular.as_csv(plate.data), name, "the data that drew it")
        fields[f"{stem}.csv"] = (f"Data of figure {number}: {plate.name}", _fields(plate.data))
    for sheet in found:
        put(f"tables/{sheet.name}.csv", tabular.as_csv(sheet.frame), sheet.caption, "table, every column")
        fields[f"tables/{sheet.name}.csv"] = (sheet.caption, sheet.fields or _fields(sheet.frame))
    for end, name in (("md", "Markdown"), ("tex", "LaTeX (booktabs, longtable)")):
        for sheet, text in zip(found, report.tables(end, [Table(s.print_, s.caption, s.name) for s in found],
                                                    worked.citing)):
            put(f"tables/{sheet.name}.{end}", text, sheet.caption, f"for print, as {name}")
    _put_texts(put, worked)
    for (name, called, end), content in reports.items():
        put(f"{name}.{end}", content.result(), called, report.FORMATS[end])
    _put_pointed_to(put, known, described, documents)
    for name in study_files(worked.study):
        if (worked.study.folder / name).exists():
            put(f"study/{name}", (worked.study.folder / name).read_bytes(), name, "the study as it was loaded",
                made=False)
    for row in worked.photographs.rows:
        put(f"study/{row['file']}", (worked.study.folder / row["file"]).read_bytes(),
            f"Photograph of trial {row['trial']}", f"{row['shows']}; scale: {row['scale']}", made=False)
    for name in ("assumptions", "bench_log"):
        if f"study/{name}.csv" in described:
            there = tables.header(worked.study.folder / f"{name}.csv")   # a column that is not required may be left out
            fields[f"study/{name}.csv"] = (f"{name.replace('_', ' ').capitalize()} of the study, as written", [
                field for field in tables.shared_schema(f"{name}.schema.json")["fields"] if field["name"] in there])
    _put_descriptions(put, worked, described, fields, date)
    files = [{"path": path, "name": name, "description": what, "size": (folder / path).stat().st_size, "made": made}
             for path, (name, what, made) in described.items()]
    (folder / archive.METADATA).write_text(_json(_crate(worked, files, date)), encoding="utf-8")


def _put_texts(put, worked):
    """The paragraphs by themselves. put(path, content, name, description) writes a file."""
    for name, text in (("verdict", verdict_text(worked)), ("methods", methods_text(worked))):
        said = list(map(Paragraph, worked.worded(name, text).split("\n\n")))
        put(f"text/{name}.md", report.markdown(said, citing=worked.citing), f"{name.capitalize()} paragraphs",
            "generated from the record, or as edited in wording.toml")
    put("text/references.md", report.markdown([References()], citing=worked.citing), "Reference list",
        "in the style that the record asks for; author and date where it asks for none")
    put("text/trace.txt", f"{worked.trace}\n", "Where the limiting number comes from",
        "claim, criterion, estimates, assumptions, sources")


def _reports(worked, known, found, documents):
    """Report and annex in every format asked for, being made, two at a time: {(file, what it is, ending): Future of its
    bytes}. known: all plates; found: all sheets."""
    title, width, styles, cites = worked.study.title, REPORT_WIDTH, look(worked.study), worked.citing
    for end in dict.fromkeys(report.HOLDS[end] for end in documents if end in report.HOLDS):
        for plate in known:   # here, for figures are drawn by one thread alone
            plate.printed(width, end)
    made = {("report", "Report"): (document(worked, known, found, width), title),
            ("annex", "Annex: all tables in full"): (annex(worked, known, found, width), f"{title}: annex")}
    pool, found = ThreadPoolExecutor(2), {}   # Pandoc and Typst work outside of Python, so both cores are used
    for (name, said), (blocks, called) in made.items():
        for end in documents:
            more = {"turned": name == "annex"} if end == "pdf" else {"reference": styles} if end == "docx" else {}
            found[name, said, end] = pool.submit(report.written, end, blocks, called, citing=cites, **more)
    pool.shutdown(wait=False)   # no more is asked of it
    return found


def _put_pointed_to(put, known, described, documents):
    """The pictures that LaTeX and JATS point to, as far as they are not there. known: all plates."""
    for end, picture in (("tex", "pdf"), ("xml", "png")):
        for number, plate in enumerate(known, 1) if end in documents else ():
            path = f"{file_of(number, plate, REPORT_WIDTH)}.{picture}"
            if path not in described:
                put(path, plate.printed(REPORT_WIDTH, picture), f"Figure {number}: {plate.name}", f"for report.{end}")


def _put_descriptions(put, worked, described, fields, date):
    """How to cite it, what every column holds, and what is here. described, fields, put: as in `_fill`."""
    study, day = worked.study, date.isoformat()
    put("CITATION.cff", archive.citation(study.title, study.record.get("authors", ()), day, "1.0.0",
                                         "If you use these data, please cite them.", abstract=_summary(worked),
                                         keywords=keywords(study), licence=study.record.get("licence", "")),
        "How to cite this archive", "Citation File Format 1.2.0")
    put("datapackage.json", _json(archive.dictionary(fields, study.title)), "Data dictionary",
        "every CSV, every column")
    listing = "\n".join(f"{path}\n    {name}: {what}" for path, (name, what, _) in sorted(described.items()))
    warning = "".join(f"\nThe study has changed since the text '{name}' was edited: read it again.\n"
                      for name in worked.outdated)
    put("README.txt",
        f"{study.title}{' (invented)' if study.invented else ''}\n\n"
        f"{worked.worded('verdict', verdict_text(worked))}\n\n"
        f"{worked.made_of}; written up {day}.\n{warning}\nFiles\n-----\n{listing}\n"
        "archive.zip\n    all of these in one file, for deposit\n", "What is here", "start with this")


def _crate(worked, files, date):
    """What ro-crate-metadata.json says. files: as `archive.crate` takes them."""
    study, said = worked.study, worked.verdict.provenance
    versions = dict(said["versions"])
    software = {"name": "ancient-method-kit", "version": versions.pop("kit")}
    run = {"draws": worked.verdict.n, "seed": worked.seed, "inputs": said["inputs"]}
    return archive.crate(study.title, _summary(worked), date.isoformat(), files, study.record.get("authors", ()),
                         study.record.get("licence", ""), software=software, libraries=versions, run=run,
                         keywords=keywords(study))


def keywords(study):
    """What a deposit is found by: the study's own drive, operations and metal."""
    operations = dict.fromkeys(doing(step.operation) for tube in study.parts for step in study.steps(tube))
    return ("experimental archaeology", "feasibility", "uncertainty", study.choices["drive"], *operations,
            study.part["alloy"])


def _summary(worked):
    """Claim and verdict, as a deposit describes itself."""
    return " ".join(f"{worked.study.claim} {verdict_text(worked)}".split())


def _json(value):
    return json.dumps(value, indent=1, ensure_ascii=False) + "\n"


def _fields(frame):
    """What the columns of a frame hold, for the data dictionary; an index that has a name comes first, as in its
    CSV."""
    from pandas.api.types import is_numeric_dtype
    columns = frame.reset_index() if any(frame.index.names) else frame
    known = {row["column"]: row for row in tables.load("columns")}

    def said(name):
        if name in known:
            return {"name": name, "type": known[name]["type"], "description": known[name]["holds"]}
        holds = "chance that every tube meets this criterion" if name in EVERY else "value that was swept"
        return {"name": str(name), "type": "number" if is_numeric_dtype(columns[name]) else "string",
                "description": holds}

    return [said(name) for name in columns.columns]
