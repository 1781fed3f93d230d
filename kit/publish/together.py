"""Several studies of one object in one report: their claims and verdicts side by side, and what they share.

    kit.together.bundle(["wrapped", "bored"], "out")      # or: python -m kit writeup wrapped bored --out DIR

Each study is judged by itself and has its own write-up, whole, in the folder 'studies'. Chances are not multiplied: the
studies rest on some of the same assumptions, which are named.
"""
import datetime
import hashlib
import json
from dataclasses import replace
from pathlib import Path

from kit import __version__, study as studies
from kit.base import references, words
from kit.base.evidence import PLAIN_SOURCES
from kit.base.files import slug
from kit.publish import archive, citing, report, tabular, writeup, writeup_figures
from kit.publish.report import Bullets, Heading, Note, Paragraph, Picture, References, Table
from kit.publish.worked_out import WorkedOut, source_said
from kit.publish.writeup_document import CARE, INVENTED, file_of
from kit.publish.writeup_tables import as_planned
from kit.publish.writeup_texts import verdict_text
from kit.study import worlds
from kit.study.verdict import MATTERS

SAME = ["median", "low_5", "high_95", "unit", "shape", "source"]   # of an assumption that two studies take alike
SHARED = 12   # assumptions that the report names; the others stand in the CSV


def loaded(folders):
    """The studies of these folders, all read before any is worked out.

    Raises ValueError for a folder given twice or two studies of one title, StudyError or tables.TableError for a study
    with a fault.
    """
    places = [Path(folder).resolve() for folder in folders]
    for i, place in enumerate(places):
        if place in places[:i]:
            raise ValueError(f"{folders[i]} is given twice; name each study once")
    found, called = [studies.load(folder) for folder in folders], {}
    for each in found:
        other = called.setdefault(slug(each.title), each)
        if other is not each:
            raise ValueError(f"{other.folder} and {each.folder} are both called {each.title!r}; give each a title of "
                             "its own in its study.toml")
    return found


def bundle(folders, out, title=None, draws=2**17, seed=1, **how):
    """Write one report on several studies, and the write-up of each, into a new folder of `out`; its path.

    folders: of the studies. title: of the report; those of the studies where None. how: widths, formats, date and
    documents, as `writeup.bundle` takes them. Whole or not at all, nothing written over, as there.
    Raises what `loaded` and `writeup.bundle` raise, and ValueError where two studies cite different works by one key.
    """
    return bundled([WorkedOut(each, draws, seed) for each in loaded(folders)], out, title, **how)


def bundled(worked, out, title=None, widths=writeup.WIDTHS, formats=writeup.FORMATS, date=None,
            documents=writeup.DOCUMENTS):
    """As `bundle`, of studies that are loaded: a list of WorkedOut."""
    title, date = title or " and ".join(each.study.title for each in worked), date or datetime.date.today()
    how = {"widths": widths, "formats": formats, "documents": documents}
    for each in worked:
        writeup.refuse(each, **how)
    cites = _citing(worked)
    told = json.dumps([title, *(writeup.named(each, **how) for each in worked), __version__])
    target = Path(out, f"{slug(title)}-{hashlib.sha256(told.encode()).hexdigest()[:12]}")
    if target.exists():
        return target
    with writeup.appearing(target) as made:
        own = [writeup.bundled(each, made / "studies", date=date, **how).relative_to(made).as_posix()
               for each in worked]
        sheets = tables(worked, cites)
        blocks = document(worked, own, sheets)
        described = {f"report.{end}": report.FORMATS[end] for end in documents}
        looks = filter(None, (writeup.look(each.study) for each in worked))   # the first study's that names one
        for end in documents:
            more = {"reference": next(looks, None)} if end == "docx" else {}
            content = report.written(end, blocks, title, citing=cites, **more)
            (made / f"report.{end}").write_bytes(content)
        (made / "tables").mkdir()
        for name, (frame, caption, *_) in sheets.items():
            (made / "tables" / f"{name}.csv").write_text(tabular.as_csv(frame), encoding="utf-8")
            described[f"tables/{name}.csv"] = caption
        fields = {f"tables/{name}.csv": (caption, _fields(frame)) for name, (frame, caption, *_) in sheets.items()}
        (made / "datapackage.json").write_text(
            json.dumps(archive.dictionary(fields, title), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
        described |= {"datapackage.json": "what every column of these tables holds"}
        described |= {f"{folder}/": f"the write-up of {each.study.title!r}, with its archive for a deposit"
                      for folder, each in zip(own, worked)}
        (made / "README.txt").write_text(
            f"{title}\n\n{shared_said(worked, sheets['shared'][0])}\n\nFiles\n-----\n"
            + "\n".join(f"{path}\n    {what}" for path, what in described.items()) + "\n", encoding="utf-8")
    return target


def document(worked, own, sheets):
    """The report as blocks. worked: WorkedOuts; own: where the write-up of each lies, beside the report; sheets: of
    `tables`."""
    blocks = [Note(INVENTED)] if all(each.study.invented for each in worked) else []
    blocks += [Heading("The object"), _table("object", sheets, 1), Heading("The claims")]
    for each in worked:
        invented = " Invented." if each.study.invented else ""
        blocks += [Heading(each.study.title, 2), Paragraph(f"{each.study.claim}{invented}"),
                   Paragraph(f"The claim fails if: {each.study.fails_if or 'not said.'}")]
    blocks += [Heading("The verdicts"), _table("verdicts", sheets, 2), Note(CARE),
               Heading("What they share"), Paragraph(shared_said(worked, sheets["shared"][0])),
               _table("shared", sheets, 3), Heading("What limits each")]
    width = writeup.REPORT_WIDTH
    for number, (each, folder) in enumerate(zip(worked, own), 1):
        plate = writeup_figures.plates(each)[0]   # the verdict's
        blocks += [Heading(each.study.title, 2),
                   *map(Paragraph, each.worded("verdict", verdict_text(each)).split("\n\n")),
                   Picture(plate.drawn(width), f"Figure {number}. {plate.caption}", plate.alt,
                           f"{folder}/{file_of(1, plate, width)}",
                           lambda end, plate=plate: plate.printed(width, end))]
    return blocks + [Heading("Methods and tables in full"),
                     Paragraph("Each study was judged by itself. Its methods, plan, trials, rivals and all its tables "
                               "stand in its own report and annex:"),
                     Bullets(tuple(f"{each.study.title}: {folder}" for each, folder in zip(worked, own))),
                     Heading("References"), References()]


def _table(name, sheets, number):
    frame, caption, printed = sheets[name]
    return Table(printed, f"Table {number}. {caption}", name)


# --- tables -----------------------------------------------------------------------------------------------------------

HOLDS = {"study": ("string", "title of the study"), "alloy": ("string", "alloy of the part"),
         "tube": ("string", "name of the tube"), "bore_mm": ("number", "bore as planned, in mm"),
         "wall_mm": ("number", "wall as planned, in mm"), "outside_mm": ("number", "outside diameter, in mm"),
         "length_mm": ("number", "length, in mm"), "clearance_um": ("number", "clearance wanted, on diameter, in um"),
         "chance": ("number", "chance that every step is within reach, in one draw"),
         "chance_world_5": ("number", "its 5 % point over worlds of what is weakly known"),
         "chance_world_95": ("number", "its 95 % point over worlds of what is weakly known"),
         "word": ("string", "probability word of chance and band"), "draws": ("integer", "number of draws"),
         "seed": ("integer", "seed of the draws"), "inputs": ("string", "digest of the inputs"),
         "criterion": ("string", "criterion that limits"), "of": ("string", "where it limits"),
         "margin": ("number", "its margin, median"), "margin_5": ("number", "its margin, 5 % point"),
         "margin_95": ("number", "its margin, 95 % point"), "rung": ("string", "how strong the claim may be put"),
         "key": ("string", "key of the assumption"), "assumption": ("string", "what the assumption is called"),
         "alike": ("string", "yes where the studies take the same range from the same source, else no"),
         "median": ("number", "median, in the first of the studies"), "low_5": ("number", "5 % point there"),
         "high_95": ("number", "95 % point there"), "unit": ("string", "unit of the three"),
         "grade": ("string", "grade of the evidence there"), "source": ("string", "source there")}


def _fields(frame):
    """What the columns of a table hold; one called by a study holds shares."""
    share = "number", ("share of the variance of this study's least margin that goes with the assumption; empty where "
                       "the study does not ask for it")
    return [dict(zip(("name", "type", "description"), (name, *HOLDS.get(name, share)))) for name in frame]


def tables(worked, cites):
    """The tables of the report: {name: (every column, caption, the columns that print has room for)}."""
    return {"object": _object(worked), "verdicts": _verdicts(worked), "shared": _shared(worked, cites)}


def _object(worked):
    import pandas as pd
    frame = pd.concat([each.study.dimensions.reset_index().assign(alloy=each.study.part["alloy"])
                       for each in worked], keys=[each.study.title for each in worked], names=["study", None])
    frame = frame.reset_index(level="study").reset_index(drop=True)
    return (frame, "The object as each study has it: sizes as planned; clearance on diameter",
            words.headed(as_planned(frame)))


def _verdicts(worked):
    import pandas as pd
    rows = []
    for each in worked:
        verdict, line = each.verdict, each.verdict.limiting_line
        low, mid, high = line.quantiles("margin")
        rows.append({"study": each.study.title, "chance": verdict.chance, "chance_world_5": verdict.band[0],
                     "chance_world_95": verdict.band[1], "word": worlds.likelihood(verdict.chance, verdict.worlds),
                     "criterion": line.criterion, "of": verdict.place(line), "margin": mid, "margin_5": low,
                     "margin_95": high, "rung": each.strength.rung, "draws": verdict.n, "seed": each.seed,
                     "inputs": verdict.provenance["inputs"]})
    frame = pd.DataFrame(rows)
    printed = pd.DataFrame([{
        "study": row.study, "chance": words.chance(row.chance), "in words": row.word,
        "chance in nine of ten worlds": f"{words.chance(row.chance_world_5)} to {words.chance(row.chance_world_95)}",
        "limited by": f"{row.criterion}, {row.of}",
        "its margin (5 % to 95 %)": words.ranged(row.margin_5, row.margin, row.margin_95),
        "the claim is": row.rung} for row in frame.itertuples()])
    made_of = "; ".join(f"{each.study.title}: {each.made_of}" for each in worked)
    return frame, ("Chance that every step is within reach, under the ranges that each study assumes, with its 5 % to "
                   "95 % range over worlds of what is weakly known, its word (Intergovernmental Panel on Climate "
                   f"Change), what limits it, and how strong the claim may be put. {made_of}"), printed


def _shared(worked, cites):
    """Assumptions that two studies or more ask for, those that carry most first."""
    import pandas as pd
    known = [(each, each.register, _shares(each.verdict)) for each in worked]
    keys = [key for each in worked for key in each.register.index]
    rows = []
    for key in sorted({key for key in keys if keys.count(key) > 1}):
        mine = [(each, register.loc[key], shares.get(key, 0.0)) for each, register, shares in known
                if key in register.index]
        (first, row, _), *others = mine
        alike = row["each"] < 1 and all(row[SAME].equals(other[SAME]) for _, other, _ in others)
        said = {name: row[name] for name in ("assumption", "median", "low_5", "high_95", "unit", "grade")}
        rows.append({"key": key, **said, "source": source_said(first.study, key, row["source"], _said(cites)),
                     "alike": "yes" if alike else "no", **{each.study.title: share for each, _, share in mine}})
    columns = ["key", "assumption", "median", "low_5", "high_95", "unit", "grade", "source", "alike",
               *(each.study.title for each in worked)]
    frame = pd.DataFrame(rows, columns=columns)
    titles = columns[9:]
    frame = frame.assign(most=frame[titles].max(axis=1)).sort_values(["most", "key"], ascending=[False, True])
    frame = frame.drop(columns="most").reset_index(drop=True)
    first = frame[frame["alike"] == "yes"].head(SHARED)
    printed = pd.DataFrame({
        "assumption": first["assumption"],
        "median (5 % to 95 %)": [words.ranged(r.low_5, r.median, r.high_95, r.unit) for r in first.itertuples()],
        "grade": first["grade"], "source": first["source"],
        **{title: ["" if share != share else words.percent(share) for share in first[title]] for title in titles}})
    return frame, ("Assumptions that the studies share: the same range from the same source. Beneath each study: the "
                   "share of the variance of its least margin, over all steps (squared rank correlation), that goes "
                   f"with the assumption, empty where it is not asked for. The {len(first)} that carry most; all, and "
                   "those of one name that the studies take otherwise, in tables/shared.csv"), printed


def _shares(verdict):
    """{key: share of the variance of the least margin of all steps that goes with it}; of a key that each tube has a
    draw of, the greatest."""
    used = tuple(dict.fromkeys(key for line in verdict.lines for key in line.used))
    least, found = replace(verdict.limiting_line, margin=verdict.least_margin, used=used), {}
    for key, share in verdict.influence(least).items():
        found.setdefault(key.partition("@")[0], share)   # the largest come first
    return found


def shared_said(worked, shared):
    """Why the chances must not be multiplied, and between which bounds the chance of all together lies whatever they
    share: at least the sum less the number of claims but one, at most the least.

    Source, from memory: M. Fréchet, Généralisations du théorème des probabilités totales, Fundamenta Mathematicae 25
    (1935), 379-387.
    """
    chances = [each.verdict.chance for each in worked]
    low, high = max(0.0, sum(chances) - len(chances) + 1), min(chances)
    alike = shared[shared["alike"] == "yes"]
    carry = int(((alike[[each.study.title for each in worked]] >= MATTERS).sum(axis=1) > 1).sum())
    otherwise = len(shared) - len(alike)
    return (f"{words.counted(len(alike), 'assumption')} {'is' if len(alike) == 1 else 'are'} the same in two studies "
            f"or more, of one range and one source; {words.count(carry) if carry else 'none'} of them "
            f"{'carries' if carry == 1 else 'carry'} {words.percent(MATTERS)} or more of the variance of the least "
            "margin in more than one study. Where such an assumption is off, it is off for all of these claims at "
            "once; so the chance that all of them hold is not the product of their chances. Whatever they share, it "
            f"lies between {words.chance(low)} and {words.chance(high)} (bounds of Fréchet 1935), under the ranges "
            f"assumed. {words.counted(otherwise, 'more assumption')} of one name "
            f"{'is' if otherwise == 1 else 'are'} taken otherwise by the studies, or drawn afresh for each tube: "
            "another metal, tool or hand, or another source.")


# --- citing -----------------------------------------------------------------------------------------------------------

def _citing(worked):
    """The works that any of the studies cites, each once; in the style of the first study that names one.

    Raises ValueError where a key stands for different works in two studies.
    """
    meant = {}
    for each in worked:
        works = {key: work for path in each.sources for key, work in references.read(path).items()}
        for key in each.cited:
            other, work = meant.setdefault(key, (each, works.get(key)))
            if work != works.get(key):
                raise ValueError(f"{other.study.folder} and {each.study.folder} both cite {key!r}, and mean different "
                                 "works by it; give one of them another key in its sources.bib and its tables")
    paths = list(dict.fromkeys(path for each in worked for path in each.sources))
    labels = {said: key for key, said in references.citations(meant, *paths).items() if key not in PLAIN_SOURCES}
    styles = (citing.in_folder(each.study, "csl") for each in worked)
    return citing.citing(labels, *paths, style=next(filter(None, styles), None))


def _said(cites):
    """{source: how it is cited}."""
    return references.PLAIN | {key: said for said, key in cites.labels.items()}
