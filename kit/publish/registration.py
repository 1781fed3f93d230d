"""Claim and plan, registered before the trials: the text of it, its digest, and what a study's folder holds of one."""
import datetime
import hashlib
import re

from kit.base import words
from kit.base.units import Q
from kit.study import worlds
from kit.study.studyfile import StudyError

REGISTRATION = "registration.md"
BEFORE = "No trial was on record when this was written."
_SHAPES = {"two-lip drill": ("point_angle",), "half-round bit": (), "fluted reamer": ("teeth", "lead_angle"),
           "polygon broach": ("teeth", "lead_angle")}


def plan_digest(study):
    """Digest of what is registered: claim, fail condition, part, workshop, tools, steps and what the record plans."""
    return hashlib.sha256(_plan(study).encode()).hexdigest()[:16]


def _plan(study):
    """The plan as text. A digest of it stands in every registration: a change of one byte here changes them all."""
    record = study.record
    level = f"{100 * record['success_level']:.9g} %" if "success_level" in record else "not said"
    rows = [("claim", _in_a_line(study.claim)), ("shown wrong if", _in_a_line(study.fails_if) or "not said"),
            ("kind of work", record.get("stage", "not said")),
            ("period, region", ", ".join(filter(None, (record.get("period"), record.get("region")))) or "not said"),
            ("rival ways of making it", ", ".join(record.get("rivals", ())) or "none named"),
            ("trials planned", record.get("trials_planned", "not said")),
            ("stop rule", _in_a_line(record.get("stop_rule", "")) or "not said"),
            ("rate of success to be exceeded (lower bound, 95 %)", level)]
    lines = [f"- {name}: {text}" for name, text in rows]
    lines += ["", "## The part", "", f"- alloy: {study.part['alloy']}"]
    sizes = "bore", "wall", "length", "clearance", "core", "plunger", "route"
    lines += [f"- {t.name}: {_listed(t, *(sizes if not t.solid else ('outside', 'length', 'route')))}"
              for t in study.parts]
    lines += [f"- {t.name}, {each.end} end: {_listed(each, 'length', 'bore', 'outside')}"
              for t in study.tubes for each in t.lengths]
    lines += ["", "## The workshop", ""]
    lines += [f"- {name.replace('_', ' ')}: {_exact(value)}" for name, value in study.choices.items()]
    if study.use:
        lines += ["", "## How it is used", ""]
        lines += [f"- {name.replace('_', ' ')}: {_exact(value)}" for name, value in study.use.items()]
    lines += ["", "## The tools", ""]
    lines += [f"- {name}: {_listed(tool, 'kind', *_SHAPES[tool.kind], 'shank', 'shank_ratio')}"
              for name, tool in study.tools.items()]
    lines += ["", "## The steps", ""]
    for route in dict.fromkeys(t.route for t in study.parts):
        tube = next(t for t in study.parts if t.route == route)
        for i, step in enumerate(study.steps(tube), 1):
            stock = [] if step.stock_on_diameter is None else [f"stock {_exact(step.stock_on_diameter)}"]
            rest = _listed(step, "feed", "depth", "pressure", "hours", "drive", "over")
            lines.append(f"- {route}, {i}: {step.operation}, {step.name}, {', '.join([*stock, rest])}")
    return "\n".join(lines) + "\n"


def _in_a_line(text):
    return " ".join(text.split())


def _shown(text):
    """Text in which a page that shows the Markdown finds no tag and no link of its own."""
    return re.sub(r"<(?=[A-Za-z/!?])|\[(?=[^\]]*\]\()", r"\\\g<0>", text)


def _listed(thing, *names):
    """What a tube, tool or step has of these, in words; what it has not is left out."""
    said = {name: getattr(thing, name, None) for name in names}
    return ", ".join(f"{name.replace('_', ' ')} {_exact(value)}" for name, value in said.items() if value is not None)


def _exact(value):
    """A planned value, to more digits than any workshop holds: what is registered is not rounded."""
    if not isinstance(value, Q):
        return str(value)
    unit = words.unit(value)   # an angle as it is typed: so it was first registered, and a digest is for good
    return f"{value.m:.9g} {'deg' if unit == '°' else unit}".strip()


def registration(verdict, date=None, log=None):
    """Text (Markdown) of the claim and plan, to be registered before the trials, with its digest and date.

    verdict: of the study as planned; its chance stands as the prediction. date: a datetime.date; today where None.
    log: the study's bench log, None where there is none; rows in it are told.
    """
    study, date, said = verdict.study, date or datetime.date.today(), verdict.provenance
    rows = len(log.rows) + len(log.faults) if log else 0   # a row that is refused is on record all the same
    stood = f"{words.counted(rows, 'row')} of trials {'was' if rows == 1 else 'were'} on record already"
    before = BEFORE if not rows else f"{stood} when this was written: it registers what follows, not those."
    predicted = [f"- {name}: met with a chance of {words.chance(chance)}" for name, chance in verdict.chances.items()]
    return "\n".join([
        f"# Registered {'before the trials' if not rows else 'with trials on record'}: "
        f"{_shown(_in_a_line(study.title))}", "",
        f"Date: {date.isoformat()}. Digest of claim and plan: {plan_digest(study)}.", before, "",
        "## Claim and test", "", _shown(_plan(study)), "## What the kit predicts", "",
        f"All steps are within reach with a chance of {words.chance(verdict.chance)} "
        f"({worlds.likelihood(verdict.chance, verdict.worlds)}; {verdict.worlds.said}); {verdict.drawn}, "
        f"inputs {said['inputs']}, "
        f"kit {said['versions']['kit']}.", "",
        *predicted, "", "## Analysis", "",
        "Every trial is counted, or excluded with a reason written before its result is known. Success rate: "
        "Clopper-Pearson, 95 %. Measurements are compared with the predicted 90 % intervals; the share inside is "
        "reported with its own interval.", ""])


def registered(study):
    """Digest in the study folder's registration, or None where there is none."""
    if not (study.folder / REGISTRATION).exists():
        return None
    found = re.search(r"Digest of claim and plan: ([0-9a-f]{16})", _registered_text(study))
    return found[1] if found else ""


def _registered_text(study):
    path = study.folder / REGISTRATION
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        raise StudyError(f"{path}: not a text that can be read; put back the file that was registered, from the copy "
                         f"that "
                         "you sent or deposited") from None


def registered_when(study):
    """(date, whether no trial was on record) as the study folder's registration says it."""
    text = _registered_text(study)
    found = re.search(r"Date: (\d{4}-\d\d-\d\d)", text)
    return found[1] if found else "without a date", BEFORE in text
