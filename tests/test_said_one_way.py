"""One thing is said one way: no raw key, raw column, per cent of a chance or power of ten in whatever a person reads."""
import contextlib
import datetime
import io
import re
from html import unescape
from html.parser import HTMLParser
from pathlib import Path

import pytest
from pypdf import PdfReader

import kit
from kit import __main__ as command
from kit import claims, handouts, study, words

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")

DEMO = study.load(study.DEMO)
PREFIXES = ("alloy|drive|edge|cord|drift|push|guide|grain|file|hand|wrench|centre|jaws|arbor|turned|reamed|blank|pointer|"
            "margins|rub|rest|teeth|spent|lapped|washed|filed|setup|model|abrasive|oil")
NEVER = {
    "a raw key": rf"\b(?:{PREFIXES})\.[a-z_]{{2,}}\b(?<!\.csv)(?<!\.bib)(?<!\.toml)(?<!\.json)(?<!\.pdf)",
    "a raw column": r"\b[a-z]+_(?:um|mm|kPa|Nm|5|95)\b|\b(?:carried_by|weakest_evidence|within_reach|looked_at|stands_in)\b",
    "a raw unit": r"(?<=\d )um\b|\bN\*mm?\b|\bm·N\b|\bdeg[CF]?\b",
    "per cent without its space": r"\d%",
    "a chance that no number of draws can show": r"chance(?: of| is|:)?:? (?:1\.00|0\.00|100 ?%|0 ?%)(?!\d)|^(?:1|0)\.00  \w",
    "a chance in per cent": r"\bmet in [<>]?\d[\d.]* ?% of draws|\bchance(?: of)? [<>]?\d[\d.]* ?%",
    "a power of ten": r"\d[eE][-+]\d",
    "an infinity in letters": r"\b-?inf\b|\bnan\b",
    "ungrouped digits": r"(?<![\d.])\d{5,} (?:draws?|turns|strokes|mm|µm|N|MPa|h|min)\b"}


def faults(told, study=DEMO):
    """What is said in a way that it is not to be: (fault, what stands there)."""
    text = told.replace("\\_", "_").replace("\\%", "%").replace("\xa0", " ")
    found = [(fault, text[max(0, hit.start() - 40):hit.end() + 20]) for fault, pattern in NEVER.items()
             for hit in re.finditer(pattern, text, re.M)]
    return found + [("a raw key", key) for key in study.keys if re.search(rf"(?<![\w.]){re.escape(key)}(?![\w.])", text)]


@pytest.mark.parametrize("told, fault", [
    ("the drive.stroke_frequency matters", "a raw key"), ("abrasive.emery, coarse.hardness", "a raw key"),
    ("| stock\\_um | feed\\_mm |", "a raw column"), ("margin_5", "a raw column"), ("12 um", "a raw unit"), ("3 m·N", "a raw unit"),
    ("97% of draws", "per cent without its space"), ("(chance 1.00)", "a chance that no number of draws can show"),
    ("1.00  hours", "a chance that no number of draws can show"), ("met in 93 % of draws", "a chance in per cent"),
    ("5.00e-05", "a power of ten"), ("12 to inf walls", "an infinity in letters"), ("16384 draws", "ungrouped digits")])
def test_each_fault_is_seen(told, fault):
    assert fault in {found for found, _ in faults(told)}


@pytest.mark.parametrize("told", [
    "1.00 (0.500 to 2.00) mm", "data/reference/models.csv, line 4", "with a chance of >0.99; 4096 draws", "97 % of the variance",
    f"16{words.THIN}384 draws, seed 1", "the margins. Of these, a file is one.", "information", "chance of 0.93"])
def test_what_is_said_well_is_none(told):
    assert faults(told) == []


# --- what a person reads ----------------------------------------------------------------------------------------------

class Page(HTMLParser):
    """The words of a page: its text, its title and what stands for its pictures."""
    def __init__(self, text):
        super().__init__()
        self.told, self.hidden = [], False
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.hidden = tag in ("style", "script")
        self.told += [value for name, value in attrs if name in ("alt", "title", "aria-label") and value]

    def handle_endtag(self, tag):
        self.hidden = False

    def handle_data(self, data):
        if not self.hidden:
            self.told.append(data)


def drawn(svg):
    """The words of a figure, whose letters are outlines: matplotlib notes each text beside them."""
    return unescape("\n".join(re.findall(r"<!-- (.*?) -->", svg, re.S) + re.findall("<title>(.*?)</title>", svg, re.S)))


def read(path):
    """The words of a file."""
    if path.suffix == ".pdf":
        return "\n".join(page.extract_text() for page in PdfReader(path).pages)
    text = path.read_text(encoding="utf-8")
    return {".html": lambda: "\n".join(Page(text).told), ".svg": lambda: drawn(text)}.get(path.suffix, lambda: text)()


def all_faults(paths):
    return {path.name: found for path in paths if (found := faults(read(path)))}


@pytest.mark.slow
def test_the_write_up(made):
    """Its figures, captions, words for those who cannot see, tables for print, text, report; not the study's own files,
    nor the CSV for computing with."""
    paths = [path for path in made.rglob("*") if path.suffix in (".md", ".tex", ".txt", ".svg", ".html", ".pdf")
             and "study" not in path.relative_to(made).parts]
    assert len(paths) > 50 and len(drawn((made / "figures" / "figure-1-verdict-90mm.svg").read_text("utf-8"))) > 500
    assert all_faults(paths) == {}
    for path in made.glob("tables/*.md"):
        head, _, *rows = [line.split("|")[1:-1] for line in path.read_text("utf-8").splitlines() if line.startswith("|")]
        for i, name in enumerate(head):
            if name.strip() in ("chance", "within reach"):
                assert not {row[i].strip() for row in rows} & {"1.00", "0.00", "1", "0"}, path.name


@pytest.mark.slow
def test_a_label_stands_beside_every_key_of_the_data(made):
    import pandas as pd
    keyed = [pd.read_csv(path) for path in made.rglob("*.csv") if path.parent.name != "study"]
    keyed = [table for table in keyed if {"key", "carried_by"} & set(table)]
    assert len(keyed) >= 5
    for table in keyed:
        keys = table.get("key", table.get("carried_by")).fillna("")
        assert table["assumption"].fillna("").tolist() == [DEMO.labels.get(key, "") for key in keys]


@pytest.mark.slow
def test_the_sheets_of_a_session(tmp_path):
    """The bench sheet has the log's own names under its headings, so that it can be typed into the log."""
    made = handouts.write(tmp_path, DEMO)
    names = "|".join(name for name, _, _ in handouts.COLUMNS)
    found = {path.name: faults(re.sub(rf"\b(?:{names})\b", "", read(path)) if path.name == "bench-sheet.pdf" else read(path))
             for path in made}
    assert len(made) > 10 and {name: told for name, told in found.items() if told} == {}


def ran(*given):
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
        status = command.main([str(word) for word in given])
    assert status == 0
    return out.getvalue()


@pytest.mark.slow
def test_the_command_line(tmp_path):
    folder = Path(study.DEMO)
    told = {"assess": ran("assess", folder, "--draws", 256), "check": ran("check", folder, "--draws", 256)}
    told |= {name: ran("assess", folder, "--draws", 64, "--trace", name) for name in ("drilling thrust", "lapping stock", "running")}
    assert {name: found for name, text in told.items() if (found := faults(text))} == {}
    assert "moved most by" in told["assess"] and "assumption" in told["check"]


@pytest.mark.slow
@pytest.mark.parametrize("choices", [{}, pytest.param({"wall": "0.1 mm", "pulley": "10 mm", "edge": "used"}, marks=pytest.mark.long)])
def test_a_verdict_its_strength_its_registration_and_every_trace(choices):
    changed = DEMO.with_(**choices)
    verdict = changed.assess(draws=128)
    registration = claims.registration(verdict, datetime.date(2026, 1, 2))
    before, rest = registration.split("## Claim and test")   # the plan itself stays as it was first put, to the byte
    told = [verdict.words, claims.strength(verdict).words, before, rest.split("## What the kit predicts")[1],
            *map(str, claims.weaknesses(verdict)), *(str(verdict.trace(name)) for name in verdict.chances)]
    assert [found for text in told for found in faults(text, changed)] == []


def test_controls_and_cards_of_a_notebook():
    from kit import widgets
    told = []
    for unit, low, high, step in (("mm", 0.1, 0.8, 0.1), ("um", 5, 50, 5), ("N*mm", 1, 9, 1), ("kPa", 10, 90, 10), ("N", 10000, 90000, 10000)):
        slider = widgets.slider("size", low, low, high, step, unit, evidence=(low, high))
        slider.box.value = "much"
        told += [slider.box.description, slider.mark.value, slider.back.tooltip]
        kit.controls.NOTEBOOK.inch = True
        told += [slider.box.description, slider.mark.value]
        kit.controls.NOTEBOOK.inch = False
    register = DEMO.register.assign(note="")   # a note is quoted as its table has it
    told += ["\n".join(Page(widgets.card(row, DEMO).data).told) for _, row in register.iterrows()]
    found = [found for text in told for found in faults(re.sub("<[^>]*>", "\n", text))]
    assert found == []
