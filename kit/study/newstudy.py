"""A new study folder from a few answers, with comments that teach; workshop and routes are taken from the demo."""
import contextlib
import csv
import io
import json
import os
import re
from pathlib import Path

from kit import study
from kit.base import files, tables, words
from kit.base.files import slug
from kit.base.units import Q
from kit.study import bench
from kit.study.studyfile import StudyError, value_of

# What is asked: name, question, unit and bounds (None: words), default
QUESTIONS = (("title", "What is the part called?", None, "My part"),
             ("claim", "What do you claim, in a sentence or two?", None,
              "A workshop with these tools could have made this part."),
             ("alloy", "Of which alloy? A name in data/reference/alloys.csv.", None, "tin bronze, cast"),
             ("bore", "Bore of the innermost sleeve, or of the tube?", "mm > 0", "6 mm"),
             ("wall", "Wall thickness?", "mm > 0", "0.5 mm"),
             ("clearance", "Clearance wanted between a bore and what runs in it, on diameter?", "um > 0", "20 um"),
             ("lengths", "Lengths of the sleeves, from the inside out, separated by commas (one for a single tube, "
              "none for a barrel alone)?", "mm > 0", "60 mm"),
             ("barrel", "Bore of a barrel with a plunger, if there is one (blank for none)?", "mm > 0", ""),
             ("barrel_length", "Length of that barrel?", "mm > 0", "60 mm"))

# In these texts a \ at the end of a line joins it to the next
HEAD = '''# {title}
# A study of your own. Every number carries its unit. `python -m kit check` says what is wrong or weak, with file, \
line and remedy.

title = {title_quoted}
claim = """
{claim}"""
'''
PART = '''fails_if = ""                         # when the claim fails; write it before the trials

# --- the part: what is to be made -----------------------------------------------------------------------------------\
----
[part]
alloy = {alloy_quoted}            # a name in data/reference/alloys.csv
bore = "{bore}"                         # of the innermost sleeve; each next bore is the last outside plus the clearance
wall = "{wall}"                       # of every tube that does not give its own
clearance = "{clearance}"                   # wanted, on diameter, between a bore and what runs in it
'''
SLEEVE = '''
[[part.sleeves]]                      # from the inside out
name = "sleeve {n}"
length = "{length}"
'''
BARREL = '''
[[part.barrels]]                      # cast on a core; its plunger is the shaft that is lapped into it
name = "barrel"
bore = "{bore}"
core = "{core}"                       # hole that the core leaves in the casting
wall = "2 mm"
length = "{length}"
plunger = "{plunger}"                    # length of the plunger that is lapped into it
'''
USE = '''
# --- how the finished part is used. Without this table, running, shake, plunger and labour are not judged: take away \
the marks (#)
# in front, and fill it in. A key that is missing is named when the study is loaded --------------------------------\
---------
'''
RECORD = '''\
# --- on record beside the numbers: used in no estimate, but for what may be claimed and in the write-up -------------\
----------
[record]
stage = "pre-test"                    # or "experiment", "repeat", "demonstration"
# period = ""
# region = ""
# trials_planned = 5
# stop_rule = ""
# success_level = 0.3                 # rate of success that the lower bound (95 %) is to exceed; fix it before the \
trials
# rivals = ["cast on a core and reamed"]   # data/reference/rival_routes.csv
# licence = ""                        # of text, data and figures: yours to choose before you deposit them
#
# [[record.authors]]
# family = ""
# given = ""
# orcid = ""
#
# [[record.support]]                  # evidence for an operation in the period, or in a living craft
# step = "drill"                      # an operation, or "whole process"
# grade = "image"                     # a grade of evidence, as in assumptions.csv
# source = ""                         # a key of sources.bib
# shows = ""
# does_not_show = ""
#
# [[record.deviations]]               # from the plan, and modern substitutes: what, why, with what effect
# step = "drill"
# planned = ""
# done = ""
# why = ""
# effect = ""

'''
BIB = """What this study cites, in BibTeX; text outside of entries, like this, is ignored. For example:

  @ book{surname_1999, author = {Surname, Given}, title = {Title}, publisher = {Publisher}, year = {1999}, \
note = {page 12}}

(without the blank after the sign). The key, surname_1999, is then written in the column `source` of assumptions.csv.
"""


def new(folder, **answers):
    """Write a new study folder that loads: study.toml, assumptions.csv, bench_log.csv with its printable sheet,
    sources.bib, datapackage.json.

    folder: that is not there yet, or is empty. answers: by the names of QUESTIONS, as text; what is not answered gets
    its default. A new folder appears whole or not at all; one that was there, empty, gets its
    study.toml last. Returns its path.
    Raises FileExistsError for a folder that holds something, StudyError for an answer that cannot be used, or that
    nobody asked for.
    """
    folder = Path(folder)
    refuse_filled(folder)
    for name in answers:
        if name not in (known := [name for name, *_ in QUESTIONS]):
            raise StudyError(f"nobody asks for {name!r}; {tables.nearest(name, known)}")
    said = {name: answer(name, answers.get(name)) for name, *_ in QUESTIONS}
    if not said["lengths"] and not said["barrel"]:
        raise StudyError("no sleeve and no barrel: there is nothing to make; give lengths, or the bore of a barrel")
    home = folder if folder.exists() else folder.parent   # one that stands, empty, may be where somebody is working
    with contextlib.ExitStack() as undo:   # whatever goes wrong, nothing is left behind
        for parent in reversed([p for p in (home, *home.parents) if not p.exists()]):
            parent.mkdir()
            undo.callback(parent.rmdir)
        with files.drafting(home) as hidden:
            draft = hidden / "study"
            draft.mkdir()
            _write(draft, said)
            faults = study.faults(draft)
            if faults:
                told = "; ".join(fault.replace(f"{draft}{os.sep}", "") for fault in faults)
                raise StudyError(f"these answers do not make a study: {told}")
            if home == folder:
                files.fill(folder, draft, last="study.toml")
            else:
                os.chmod(draft, 0o755)
                os.rename(draft, folder)
        undo.pop_all()
    return folder


def refuse_filled(folder):
    """Raises FileExistsError for a folder that holds something, or a file of that name. What a dead process has left
    half-written in it does not count, and is cleared away."""
    folder = Path(folder)
    files.clear(folder)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise FileExistsError(f"{folder} is there already and holds something; give another name")


def answer(name, text):
    """What an answer to one of QUESTIONS says, or the default where it is blank.

    Raises StudyError for one that cannot be used.
    """
    rule, default = next((rule, default) for asked, _, rule, default in QUESTIONS if asked == name)
    text = text or default
    if name == "title":
        return " ".join(text.split()) or default
    if name == "lengths" and text.strip().lower() == "none":
        return []
    if name == "alloy":   # a name that the table does not have is told at once, not after the last question
        try:
            tables.rows_of("alloys", text)
        except tables.TableError as fault:
            raise StudyError(f"alloy: {fault}") from None
    if not text or rule is None:
        return text
    values = [value_of(part.strip(), rule, name) for part in (text.split(",") if name == "lengths" else [text])]
    return values if name == "lengths" else values[0]


def _write(folder, said):
    sections = _sections((study.DEMO / "study.toml").read_text(encoding="utf-8"))
    routes = _routes(sections["the routes"], said)
    used = sections["how the finished part is used"].splitlines()[1:]
    use = "\n".join(f"# {line}" if line else "#" for line in used).rstrip("#\n ") + "\n\n"
    correlations = sections["what goes together"].rstrip() + "\n"
    written = [_part(said), USE, use, sections["the workshop"], sections["the tools and their shapes"], routes, RECORD,
               correlations]
    (folder / "study.toml").write_text("".join(written), encoding="utf-8")
    for name, schema in (("assumptions", "assumptions.schema.json"), ("bench_log", "bench_log.schema.json")):
        line = io.StringIO()
        csv.writer(line, lineterminator="\n").writerow(f["name"] for f in tables.shared_schema(schema)["fields"])
        (folder / f"{name}.csv").write_text(line.getvalue(), encoding="utf-8")
    (folder / "sources.bib").write_text(BIB, encoding="utf-8")
    package = json.dumps(described(said["title"]), indent=1, ensure_ascii=False) + "\n"
    (folder / "datapackage.json").write_text(package, encoding="utf-8")
    bench.sheet(folder / "bench_sheet.html", f"Bench log: {said['title']}")


def described(title):
    """What the datapackage.json of a study says: its tables with their schemas, to be read without the kit too."""
    held = {"assumptions": "what this study knows better than the reference tables",
            "bench_log": "bench log: every trial"}
    resources = [{"name": name, "path": f"{name}.csv", "title": what,
                  "schema": tables.shared_schema(f"{name}.schema.json")} for name, what in held.items()]
    return {"name": slug(title), "title": title, "resources": resources}


def _part(said):
    quoted = {f"{k}_quoted": json.dumps(said[k], ensure_ascii=False) for k in ("title", "alloy")}
    claim = "\n".join(said["claim"].splitlines()).replace("\\", "\\\\").replace('"""', '""\\"')
    head = HEAD.format(**quoted | {"title": said["title"], "claim": claim})
    text = PART.format(**{k: _size(v) for k, v in said.items() if k != "lengths"} | quoted)
    for n, length in enumerate(said["lengths"], 1):
        text += SLEEVE.format(n=n, length=_size(length))
    if said["barrel"]:
        length, core = said["barrel_length"], Q(round(0.875 * said["barrel"].m_as("mm"), 1), "mm")
        text += BARREL.format(bore=_size(said["barrel"]), core=_size(core), length=_size(length),
                              plunger=_size(length / 2))
    return head + re.sub(r"(?m)^(\w.*?) +# ", lambda found: f"{found[1]:<38}# ", text)


def _routes(text, said):
    """The demo's routes, its two drills made to suit the first bore."""
    bore = said["bore"].m_as("mm")
    # from there on the D-bit opens it, pass by pass
    opened = min(6.0, max(round(bore - 0.5, 2), round(0.6 * bore, 2)))
    # a wide first drill needs more push than there is
    sizes = iter((_size(Q(min(2.5, round(0.55 * opened, 2)), "mm")), _size(Q(opened, "mm"))))
    text = re.sub(r'(operation = "drill"\ntool = "flat drill"\nto = )"[^"]+"',
                  lambda found: f'{found[1]}"{next(sizes)}"', text)
    for route, tubes in (("sleeve", said["lengths"]), ("barrel", said["barrel"])):
        if not tubes:
            text = re.sub(rf"\[\[routes\.{route}\]\]\n(?:.+\n)+\n?", "", text)
    return text


def _size(value):
    return value if isinstance(value, str) else f"{value.m:.9g} {words.typed(value)}"


def _sections(text):
    """{heading: text with its heading} of the parts of the demo's study.toml."""
    parts = re.split(r"(?m)^(?=# --- )", text)[1:]
    return {re.match(r"# --- ([^.:,]+?)(?:[.:,]| -)", part)[1].strip(): part for part in parts}
