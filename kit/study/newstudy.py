"""A new study folder from a few answers, with comments that teach: the demo's words, and a plan that the kit seeks."""
import contextlib
import csv
import functools
import io
import json
import os
import re
import tempfile
from pathlib import Path

from kit import study
from kit.base import files, tables, words
from kit.base.files import slug
from kit.base.units import Q
from kit.study import bench, planner
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
             ("barrel_length", "Length of that barrel?", "mm > 0", "60 mm"),
             ("barrel_wall", "Wall of that barrel (blank for the wall above, or 2 mm beside sleeves)?", "mm > 0", ""),
             ("packing", "What seals its plunger: a name in data/reference/packings.csv (blank for metal in metal)?",
              None, ""),
             ("drive", "What turns the work? A name in data/reference/drives.csv.", None, "bow lathe"))
OF_A_BARREL = "barrel_length", "barrel_wall", "packing"   # asked only where there is one
NAMED = {"alloy": "alloys", "packing": "packings", "drive": "drives"}   # answers that a table knows

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
[[part.barrels]]                      # cast on a core
name = "barrel"
bore = "{bore}"
core = "{core}"                       # hole that the core leaves in the casting
wall = "{wall}"
length = "{length}"
plunger = "{plunger}"                    # length of the plunger
'''
USE = '''
# --- how the finished part is used. A criterion is judged where its keys are here, and only then: take away the marks
# (#) in front of [use] and of what you want judged, and fill it in; what is half there is told on loading -------------
# [use]
# lubricant = "olive oil"               # data/reference/lubricants.csv, or "dry"
# temperature = "18 degC"
#
'''
# each: what must be there, and the lines in the file
ASKED = (("", '''# hours = "100 h"                       # labour: granted for all tubes, tools and arbors counted
# clearance_most = "{most}"            # clearance left: greatest allowed, on diameter
'''), ("sleeves", '''# push_arm = "10 mm"                    # jamming: farthest from the axis that a hand pushes
# pointer_reach = "50 mm"               # shake: along the axis, from the middle of a sleeve to its tip or pointer
# tip_play = "0.1 mm"                   # shake that is allowed there, to either side
# stray_most = "0.2 mm"                 # stray: how far off the axis a sleeve may run
#
# rate = "1 turn/h"                     # running, and the next five: of the train's input
# ratios = {ones}                       # turns of each sleeve for one of the input, from the inside out
# meshes = {ones}                       # meshing pairs between the input and each sleeve
# torque = "0.5 N*mm"                   # that the input grants to the sleeves and their pointers
# pointer_mass = "1 g"                  # of each pointer, and how far its centre of gravity stays off the axis
# pointer_arm = "4 mm"
'''), ("plunger", '''# plunger_push = "25 N"                 # plunger: that a hand gives to it
# vacuum = "85 kPa"                     # absolute pressure that it lifts by, and that at which it no longer does
# vacuum_end = "92 kPa"
# volume = "6 cm^3"                     # trapped above the plunger
# hold = "5 s"                          # how long it should last
'''), ("packing", '''# pressure = "20 kPa"                   # packing: above the air, that the plunger works against
# plunger_push = "25 N"                 # that a hand gives to it
# leak_most = 0.1                       # share of a stroke that may be lost
'''))
RECORD = '''\
# --- on record beside the numbers: used in no estimate, but for what may be claimed and in the write-up ---
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
# csl = "journal.csl"                 # the journal's citation style, a file in this folder; author and date without it
# reference_docx = "journal.docx"     # a Word file in this folder whose styles the report takes over
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
BIB = """What this study cites, in BibTeX; text outside of entries, like this, is ignored. An entry, which begins with \
the sign for "at" before its kind:

  book{surname_1999, author = {Surname, Given}, title = {Title}, publisher = {Publisher}, year = {1999}, \
note = {page 12}}

The key, surname_1999, is then written in the column `source` of assumptions.csv.
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
    for why, _ in conflicts(said):
        raise StudyError(why)
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


def conflicts(said):
    """What answers contradict each other: (why, with the remedy; the names of those answers). said: answers as `answer`
    gives them, by name; those not given yet are left out."""
    at = {name: said[name] for name, *_ in QUESTIONS if name in said}
    if not at.get("lengths", True) and not at.get("barrel", True):
        yield ("no sleeve and no barrel: there is nothing to make; give lengths, or the bore of a barrel",
               ("lengths", "barrel"))
    tubes = [("'sleeve 1'", "wall")] if at.get("lengths") else []
    tubes += [("'barrel'", "barrel_wall" if at.get("barrel_wall") else "wall")] if at.get("barrel") else []
    for tube, wall in tubes:
        if wall in at and "clearance" in at and at["clearance"] >= 2 * at[wall]:
            yield (f"{tube}: a clearance of {words.planned(at['clearance'])} leaves no wall of "
                   f"{words.planned(at[wall])}; give less clearance, or a thicker wall", ("clearance", wall))
    if at.get("packing") and not at.get("barrel", True):
        yield ("a packing, and no barrel whose plunger it seals; give the bore of a barrel, or leave the packing blank",
               ("barrel", "packing"))


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
    if name in NAMED and text:   # a name that the table does not have is told at once, not after the last question
        try:
            tables.rows_of(NAMED[name], text)
        except tables.TableError as fault:
            raise StudyError(f"{name}: {fault}") from None
    if not text or rule is None:
        return text
    values = [value_of(part.strip(), rule, name) for part in (text.split(",") if name == "lengths" else [text])]
    return values if name == "lengths" else values[0]


def _write(folder, said):
    said = said | {"barrel_wall": said["barrel_wall"] or (Q(2, "mm") if said["lengths"] else said["wall"])}
    texts = _texts()
    (folder / "sources.bib").write_text(BIB, encoding="utf-8")
    planned = _planned(*(_plain(said[name]) for name in OF_THE_PLAN))
    (folder / "study.toml").write_text(_study(said, planned, texts), encoding="utf-8")
    for name, schema in (("assumptions", "assumptions.schema.json"), ("bench_log", "bench_log.schema.json")):
        line = io.StringIO()
        csv.writer(line, lineterminator="\n").writerow(f["name"] for f in tables.shared_schema(schema)["fields"])
        (folder / f"{name}.csv").write_text(line.getvalue(), encoding="utf-8")
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


# --- the plan --------------------------------------------------------------------------------------------------------

OF_THE_PLAN = ("alloy", "bore", "wall", "clearance", "lengths", "barrel", "barrel_length", "barrel_wall", "packing",
               "drive")   # answers that it depends on


def _plain(value):
    """An answer as something that can be looked up again."""
    return tuple(map(_size, value)) if isinstance(value, list) else _size(value)


@functools.lru_cache(64)
def _planned(*plain):
    """The plan that the kit proposes for these answers."""
    said = {name: list(value) if isinstance(value, tuple) else value for name, value in zip(OF_THE_PLAN, plain)}
    said = {name: answer(name, ", ".join(v) or "none") if name == "lengths" else answer(name, v) if v else v
            for name, v in said.items()} | {"title": "sought", "claim": "sought"}
    texts = _texts()
    with contextlib.ExitStack() as stack:
        draft = Path(stack.enter_context(tempfile.TemporaryDirectory()))

        def tried(proposal):
            (draft / "study.toml").write_text(_study(said, proposal, texts), encoding="utf-8")
            return study.load(draft)

        begin = planner.first(bore=_bores(said)[0], outside=max(_outsides(said)),
                              clearance=said["clearance"].m_as("um"))
        try:
            return planner.search(begin, tried)
        except (StudyError, tables.TableError):   # it is told when the folder itself is checked
            return begin


def _bores(said):
    """Bores of the sleeves, then of the barrel, in mm."""
    found, bore = [], said["bore"].m_as("mm")
    for _ in said["lengths"]:
        found.append(bore)
        bore += 2 * said["wall"].m_as("mm") + said["clearance"].m_as("mm")
    return found + ([said["barrel"].m_as("mm")] if said["barrel"] else [])


def cored():
    """Of a blank cast on a core: from_bore, mm, and core_share, the hole over the bore.

    Source: data/reference/proposals.csv, with grade and reason."""
    return {row["key"]: row["value"] for row in tables.rows_of("proposals", "cored blank")}


def _core(bore):
    """The hole that the core leaves for a bore in mm, as text."""
    return _size(Q(round(cored()["core_share"] * bore, 1), "mm"))


def _drilled(said):
    """Whether the first sleeve is drilled from solid."""
    return bool(said["lengths"]) and _bores(said)[0] < cored()["from_bore"]


def _outsides(said):
    walls = [said["wall"]] * len(said["lengths"]) + ([said["barrel_wall"] or said["wall"]] if said["barrel"] else [])
    return [bore + 2 * wall.m_as("mm") for bore, wall in zip(_bores(said), walls)]


# --- the text --------------------------------------------------------------------------------------------------------

def _texts():
    return _sections((study.DEMO / "study.toml").read_text(encoding="utf-8"))


def _study(said, proposal, texts):
    """The text of study.toml."""
    used = USE + "".join(lines for has, lines in ASKED if has in _has(said)).format(
        ones=[1] * len(said["lengths"]), most=_size(Q(round(2 * said["clearance"].m_as("um") + 20, 6), "um"))) + "\n"
    used = re.sub(r"(?m)^(# \w.*?) +# ", lambda found: f"{found[1]:<40}# ", used)
    drilled = _drilled(said)
    tools = texts["the tools and their shapes"]
    if not drilled:
        tools = re.sub(r'\[tools\."flat drill"\]\n(?:.+\n)+\n', "", tools)
    return "".join((_part(said), used, _workshop(texts["the workshop"], said, proposal), tools,
                    _routes(texts["the routes"], said, proposal, drilled), RECORD,
                    texts["what goes together"].rstrip() + "\n"))


def _has(said):
    return {"", *(["sleeves"] if said["lengths"] else ()),
            *(["packing" if said["packing"] else "plunger"] if said["barrel"] else ())}


def _part(said):
    quoted = {f"{k}_quoted": json.dumps(said[k], ensure_ascii=False) for k in ("title", "alloy")}
    claim = "\n".join(said["claim"].splitlines()).replace("\\", "\\\\").replace('"""', '""\\"')
    head = HEAD.format(**quoted | {"title": said["title"], "claim": claim})
    text = PART.format(**{k: _size(v) for k, v in said.items() if k != "lengths"} | quoted)
    if not said["lengths"]:
        text = re.sub(r"(?m)^(bore|wall) = .*\n", "", text)
    for n, (length, bore) in enumerate(zip(said["lengths"], _bores(said)), 1):
        text += SLEEVE.format(n=n, length=_size(length))
        if bore >= cored()["from_bore"]:
            text += f'core = "{_core(bore)}"   # hole that the core leaves in the casting\n'
            if _drilled(said):
                text += 'route = "cored"   # the smaller ones are drilled from solid\n'
    if said["barrel"]:
        length, core = said["barrel_length"], _core(said["barrel"].m_as("mm"))
        text += BARREL.format(bore=_size(said["barrel"]), core=core, length=_size(length),
                              wall=_size(said["barrel_wall"]), plunger=_size(length / 2))
        if said["packing"]:
            text += f'packing = {json.dumps(said["packing"])}   # data/reference/packings.csv; without it metal seals\n'
    return head + re.sub(r"(?m)^(\w.*?) +# ", lambda found: f"{found[1]:<38}# ", text)


def _workshop(text, said, proposal):
    """The demo's workshop, with what was answered and what is proposed."""
    for key, value in (("drive", said["drive"]), ("pulley", f"{proposal.pulley:g} mm"),
                       ("wrap", f"{proposal.wrap:g} turn"), ("push", proposal.push),
                       ("blank_stock", f"{proposal.blank:g} mm"), ("left_on", f"{proposal.left_on:g} um")):
        text = re.sub(rf'(?m)^{key} = "[^"]*" *(?=#)', lambda _: f'{f"{key} = {json.dumps(value)}":<38}', text)
    return text.replace("at which the shaft is left\n", "at which the shaft is left; below nothing, under size\n")


def _routes(text, said, proposal, drilled):
    """What the demo says of routes, and those of these tubes."""
    head = text[:text.index("[[")]
    bowed = {"drive": "bow or hand", "held_by": "wooden clamp, fitted"}
    feeds = {"feed": f"{min(0.05, proposal.feed):g} mm", "feed_most": f"{proposal.feed:g} mm"} | bowed
    drills = [{"operation": "drill", "tool": "flat drill", "to": f"{size:g} mm", "feed": feed, "drive": "bow",
               "held_by": "wooden clamp, fitted"}
              for size, feed in ((proposal.pilot, "0.02 mm"), (proposal.opened, "0.05 mm"))] if drilled else []
    bit = {"operation": "ream", "tool": "half-round bit"}
    opened = [bit | {"to": "bore - 0.1 mm", "stock_on_diameter": f"{proposal.stock:g} mm"} | feeds]
    last = [{"operation": "ream", "tool": "fluted reamer" if drilled else "half-round bit", "to": "bore"} | feeds]
    turned = [{"operation": "turn", "to": "outside + 0.1 mm", "depth": "0.1 mm", "feed": "0.05 mm",
               "held_by": "rosin with brick dust"},
              {"operation": "file", "to": "outside", "held_by": "rosin with brick dust"}]
    press = {"pressure": f"{proposal.pressure:g} kPa", "pressure_most": f"{2 * proposal.pressure:g} kPa",
             "hours": f"{proposal.hours:g} h"}
    laps = [{"operation": "lap", "lap": "split lap, copper or lead", "abrasive": "emery, fine"} | press,
            {"operation": "lap", "abrasive": "haematite, levigated"} | press | {"stock_on_diameter": "6 um"}]
    laps = [lap | {"held_by": "wooden clamp, fitted"} for lap in laps] if proposal.laps else []
    face = [{"operation": "lap", "lap": "split lap, wood", "abrasive": "emery, fine"} | press |
            {"held_by": "wooden clamp, fitted"}]
    hollow = [*opened, bit | {"to": "bore"} | feeds, *turned, *laps]
    wide = any(bore >= cored()["from_bore"] for bore in _bores(said)[:len(said["lengths"])])
    routes = {"sleeve": [*drills, *opened, *last, *turned, *laps] if said["lengths"] else [],
              "cored": hollow if drilled and wide else [],
              "barrel": [*opened, bit | {"to": "bore"} | feeds, *turned,
                         *(face if said["packing"] else laps)] if said["barrel"] else []}
    return head + "".join(_step(name, step) for name, steps in routes.items() for step in steps)


def _step(route, step):
    return "\n".join([f"[[routes.{route}]]", *(f"{key} = {json.dumps(value)}" for key, value in step.items())]) + "\n\n"


def _size(value):
    return value if isinstance(value, str) else f"{value.m:.9g} {words.typed(value)}"


def _sections(text):
    """{heading: text with its heading} of the parts of the demo's study.toml."""
    parts = re.split(r"(?m)^(?=# --- )", text)[1:]
    return {re.match(r"# --- ([^.:,]+?)(?:[.:,]| -)", part)[1].strip(): part for part in parts}
