"""Verdict.trace: where each number of a verdict comes from, held against direct perturbation; and units.watched, which sees what is called."""
import dataclasses
import importlib
import re
import warnings

import numpy as np
import pytest

from kit import evidence, study, tables, units, words
from kit.units import Q, ureg
from kit.outcomes import said
from kit.trace import Formula
from kit.studyfile import STEP, TUBE
from kit.verdict import MATTERS, Line

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")

# These two say where they are used, but not where their formula comes from


@pytest.fixture(scope="module")
def demo():
    return study.load(study.DEMO)


@pytest.fixture(scope="module")
def verdict(demo):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return demo.assess(draws=2**10, seed=1)


@pytest.fixture(scope="module")
def traced(verdict):
    """Every line of the demo's verdict with its trace."""
    return [(line, verdict.trace(line.criterion, line.tube)) for line in verdict.lines]


# --- the trace says what the verdict says ---------------------------------------------------------------------------------------------

def test_every_criterion_of_every_tube_has_its_trace(verdict, traced):
    assert len(traced) > 90 and {line.criterion for line, _ in traced} == set(verdict.chances)
    assert all((trace.criterion, trace.tube) == (line.criterion, line.tube) for line, trace in traced)


def test_the_numbers_are_those_of_the_verdict(verdict, traced):
    for line, trace in traced:
        for name in ("demand", "capacity", "margin"):
            assert getattr(trace, name) == pytest.approx(np.quantile(getattr(line, name), [0.05, 0.5, 0.95]), rel=1e-12), (line.criterion, name)
        assert trace.chance == np.mean(line.margin >= 1) and (trace.unit, trace.where) == (line.unit, line.where)
        assert (trace.n, trace.seed) == (2**10, 1) and trace.claim == verdict.study.claim.strip()
        assert trace.says == said(line.criterion) and trace.says[0].isupper() and "\n" not in trace.says


def test_the_assumptions_are_those_that_were_asked_for(verdict, traced):
    for line, trace in traced:
        assert sorted(g.key for g in trace.assumptions) == sorted(line.used)


def test_the_shares_are_those_of_the_verdict_largest_first(verdict, traced):
    for line, trace in traced:
        influence = verdict.influence(line)
        assert {g.key: g.share for g in trace.assumptions if g.share} == {key: share for key, share in influence.items() if share}
        assert [g.share for g in trace.assumptions] == sorted((g.share for g in trace.assumptions), reverse=True)
        assert all(g.matters == (g.share >= MATTERS) for g in trace.assumptions)


def test_the_weakest_mark_is_the_verdicts(verdict, traced):
    marked = 0
    for line, trace in traced:
        weakest = [g for g in trace.assumptions if g.weakest]
        assert [(g.grade, g.key) for g in weakest] == ([verdict.weakest(line)] if verdict.weakest(line) else [])
        for g in weakest:   # none that matters is weaker
            assert g.matters and max(evidence.GRADES.index(o.grade) for o in trace.assumptions if o.matters) == evidence.GRADES.index(g.grade)
        marked += len(weakest)
    assert marked > 80


def test_ranges_grades_and_sources_are_those_of_the_assumptions(demo, verdict, traced):
    cited = tables.source_keys(tables.REFERENCE / "sources.bib") | tables.source_keys(study.DEMO / "sources.bib") | set(evidence.PLAIN_SOURCES)
    strays = []
    for _, trace in traced:
        for g in trace.assumptions:
            row = demo.assumptions[g.key]
            assert (g.grade, g.source, g.note) == (row.grade, row.source, row.note) and g.source in cited and g.grade in evidence.GRADES
            assert ureg.Unit(g.unit) == ureg.Unit(row.unit)
            assert (g.low, g.median, g.high) == pytest.approx(np.quantile(np.atleast_1d(verdict.draws[g.key].m), (0.05, 0.5, 0.95)), rel=1e-12), g.key
            ends = row.quantile([0.05, 0.5, 0.95])
            strays.append(np.abs(np.array([g.low, g.median, g.high]) - ends).max() / (ends[2] - ends[0] or 1))
    assert np.mean(strays) < 0.02 and np.quantile(strays, 0.95) < 0.06   # of a thousand draws: 0.25 the farthest, a tube's own part and the shared one unlucky


def test_the_choices_are_the_makers_own(demo, traced):
    """As many as are asked for by the estimates, each as study.toml has it."""
    for _, trace in traced:
        tubes = {t.name: t for t in demo.tubes}
        keys = {words.choice(key): key for key in (*demo.choices, *demo.use, *TUBE, *STEP)} | {"stock on diameter": "stock_on_diameter"}
        for name, text in trace.choices.items():
            place, _, said = name.rpartition(": ")   # the tube's name where the whole part is judged, or that of a step
            tube = tubes.get(place, tubes.get(trace.tube))
            key = keys.get(said, said.replace(" ", "_"))
            step = {s.name: s for s in demo.steps(tube)}.get(place) if tube else None
            of = step or (tube if hasattr(tube, key) else None)
            value = getattr(of, key) if of is not None else (demo.choices | demo.use)[key]
            assert text == (words.planned(value) if isinstance(value, Q) else str(value)), (trace.criterion, name)
    by_name = {(trace.criterion, trace.tube): trace.choices for _, trace in traced}
    assert by_name["cord", "hours"]["wrap of the cord"] == "2 turn" and by_name["lapping stock", "hours"]["lapping allowance"] == "10 µm"
    assert by_name["jamming", "hours"]["arm of a sideways push"] == "20 mm" and "wrap of the cord" not in by_name["jamming", "hours"]


# --- feeds: against direct perturbation through Study.assess ---------------------------------------------------------------------------

@pytest.mark.parametrize("criterion, key, side", [   # as the design's table of criteria has them
    ("drilling thrust", "alloy.material_factor", "demand"), ("drilling thrust", "push.push", "capacity"), ("drilling torque", "alloy.kc11", "demand"),
    ("lapping torque", "drive.pull_sustained", "capacity"), ("holding", "hold.wooden clamp, fitted.force", "both"), ("tool hard enough", "chip.hardness", "demand"),
    ("drill buckling", "tool.modulus", "capacity"), ("tool shank", "drive.peak", "demand"),
    ("tool shank", "tool.shear_yield", "capacity"), ("cord", "cord.friction", "capacity"), ("cord", "centre.friction", "demand"), ("lapping torque", "grain.friction", "demand"),
    ("lapping stock", "model.removal", "capacity"), ("wall: pinch", "alloy.yield_strength", "capacity"), ("jamming", "rub_arbor.friction", "capacity")])
def test_an_assumption_feeds_the_side_that_it_should(verdict, criterion, key, side):
    [ground] = [g for g in verdict.trace(criterion, "hours").assumptions if g.key.partition("@")[0] == key]
    assert ground.feeds == side


def middles(one):
    """The study with every assumption pinned at its median."""
    return one.with_(**{key: one.assumptions[key if key in one.assumptions else f"{key}@{one.tubes[0].name}"].middle for key in one.keys})


def sides(pinned, monkeypatch):
    """{(criterion, tube): (demand, capacity)} of a study, every place of it, as Study.assess works them out."""
    found, of = {}, Line.of

    def noting(tube, criterion, outcome, n, used):
        found[criterion, tube] = tuple(np.ravel(q.m_as(outcome.unit)) for q in (outcome.demand, outcome.capacity))
        return of(tube, criterion, outcome, n, used)

    with monkeypatch.context() as patched:
        patched.setattr(Line, "of", noting)
        pinned.assess(draws=1, seed=1, adapt="planned")
    return found


@pytest.mark.slow
@pytest.mark.parametrize("tube", ["hours", pytest.param("lamp-oil barrel", marks=pytest.mark.long)])
def test_what_feeds_what_agrees_with_moving_each_assumption_alone(demo, tube, monkeypatch):
    """As planned: settled by feel, one draw would be its own idea of what tools usually stand, and here it is one of many."""
    one = demo.only(tube)
    verdict = one.assess(draws=2**9, seed=1, adapt="planned")
    traces = {(line.criterion, line.tube): verdict.trace(line.criterion, line.tube) for line in verdict.lines}
    looked_at = {g.key.partition("@")[0]: g for trace in traces.values() for g in trace.assumptions}
    assert len(looked_at) > 30
    pinned = middles(one).with_(**{key: Q(g.median, g.unit) for key, g in looked_at.items()})
    start, moved = sides(pinned, monkeypatch), {}
    for key, g in looked_at.items():
        for value in {g.low, g.high}:
            for at, both in sides(pinned.with_(**{key: Q(value, g.unit)}), monkeypatch).items():
                for name, before, after in zip(("demand", "capacity"), start[at], both):
                    if len(before) != len(after) or np.any(np.abs(after - before) > 1e-9 * np.abs(before)):
                        moved.setdefault((*at, key), set()).add(name)
    compared = 0
    for at, trace in traces.items():
        for g in trace.assumptions:
            direct = moved.get((*at, g.key.partition("@")[0]), set())
            assert g.feeds == {0: "neither", 1: next(iter(direct), ""), 2: "both"}[len(direct)], (*at, g.key, direct)
            compared += 1
    assert compared > 150
    asked = {at: {g.key.partition("@")[0] for g in trace.assumptions} for at, trace in traces.items()}
    for criterion, of, key in moved:   # what moves a criterion stands in its trace
        assert key in asked[criterion, of], (criterion, of, key)


# --- formulas ----------------------------------------------------------------------------------------------------------------------------

def test_every_formula_says_what_it_is_and_where_it_comes_from(traced):
    formulas = {f for _, trace in traced for f in trace.formulas}
    assert len(formulas) > 40
    for f in formulas:
        module, name = f.name.split(".")
        assert callable(getattr(importlib.import_module(f"kit.{module}"), name))
        assert 10 < len(f.says) < 200 and f.says[0].isupper() and "\n" not in f.says + f.source, f
        assert "Raises" not in f.source and "Validity" not in f.source
    assert not {f.name for f in formulas if not f.source}


def test_a_formula_is_read_from_its_docstring():
    def whole():
        """Torque of the
        cut. Formula: a times b.

        Source: A. Writer, A Book (1900),
        p. 3. Raises ValueError for none.
        """

    def bare():
        """A torque"""

    def silent():
        pass

    assert Formula.of(whole) == Formula("tests.test_trace.whole" if __name__.startswith("tests") else f"{__name__}.whole", "Torque of the cut", "A. Writer, A Book (1900), p. 3")
    assert (Formula.of(bare).says, Formula.of(bare).source) == ("A torque", "")
    assert (Formula.of(silent).says, Formula.of(silent).source) == ("", "")


def test_the_formulas_are_those_that_are_called(demo, monkeypatch):
    """With one estimate out of order, the criteria fail whose trace names it, and no others."""
    pinned = middles(demo.only("hours", "lamp-oil barrel"))
    verdict = pinned.assess(draws=1, seed=1)
    named = {}
    for line in verdict.lines:
        for f in verdict.trace(line.criterion, line.tube).formulas:
            named.setdefault(f.name, set()).add(line.criterion)
    assert len(named) > 40
    for name in ("cutting.handbook_drill", "bow.cord_limit", "lapping.depth_rate", "walls.torsion_buckling", "sleeves.start_torque", "pistons.drain_time", "bow.centre_torque"):
        module, function = name.split(".")

        def broken(*args, **kwargs):
            raise ValueError("out of order")

        with monkeypatch.context() as patched:
            patched.setattr(importlib.import_module(f"kit.{module}"), function, broken)
            failed = set()
            for criterion in verdict.chances:
                try:
                    pinned.assess(draws=1, seed=1, criteria=(criterion,))
                except study.StudyError as fault:
                    assert "out of order" in str(fault)
                    failed.add(criterion)
        assert failed == named[name], name


def test_a_second_look_finds_the_same_formulas(verdict, traced):
    """Nothing that is remembered from the first hides a call."""
    for line, trace in traced[::9]:
        again = verdict.trace(line.criterion, line.tube)
        assert again.formulas == trace.formulas and again == trace


# --- how it reads ---------------------------------------------------------------------------------------------------------------------------

def test_it_prints_as_a_tree_one_line_an_assumption(traced):
    for line, trace in traced:
        text = str(trace)
        rows = text.split("\n")
        assert rows[0].startswith("claim: A harbour workshop") and rows[1].startswith(f"  criterion '{line.criterion}' of {line.tube}")
        assert rows[2].startswith("    median (5 % to 95 %): demand ") and rows[3] == f"    chance of being met {words.chance(line.chance)}; 1024 draws, seed 1"
        for f in trace.formulas:
            assert sum(row.startswith(f"      {words.key_label(f.name)}: {f.says} [") for row in rows) == 1
        for g in trace.assumptions:
            [row] = [row for row in rows if f"  {g.label}: " in row]
            assert row.startswith(f"      {words.percent(g.share):>6}") and f"; {g.rests_on}" in row and f"enters {g.feeds};" in row
            assert row.endswith("<- weakest evidence that matters") == g.weakest
        assert len(rows) == 7 + len(trace.formulas) + len(trace.assumptions)
        told = " ".join(rows[4:5] + rows[-len(trace.assumptions):])   # what a docstring names of the kit stands as it is
        assert not re.search(r"\w\.[a-z]+_|from-memory|own-trial|model-only|lengthens|_", told), "a raw key"
        assert "nan" not in text and "Quantity" not in text and "  \n" not in text


def test_a_pinned_assumption_is_one_number_and_moves_nothing(demo):
    verdict = demo.with_(**{"push.push": "100 N"}).assess(draws=256, seed=1, criteria=("drilling thrust",))
    trace = verdict.trace("drilling thrust", "hours")
    [ground] = [g for g in trace.assumptions if g.key == "push.push"]
    assert (ground.low, ground.median, ground.high, ground.share, ground.feeds, ground.matters) == (100, 100, 100, 0, "neither", False)
    assert "  push by a lever: 100 N, enters neither; " in str(trace)


def test_it_is_data_that_cannot_be_written_over(traced):
    _, trace = traced[0]
    with pytest.raises(dataclasses.FrozenInstanceError):
        trace.chance = 1
    with pytest.raises(dataclasses.FrozenInstanceError):
        trace.assumptions[0].share = 1


# --- which line ------------------------------------------------------------------------------------------------------------------------------

def test_without_a_tube_it_is_the_one_that_finds_it_hardest(verdict):
    for criterion in verdict.chances:
        lines = [line for line in verdict.lines if line.criterion == criterion]
        worst = min(lines, key=lambda line: (np.mean(line.margin >= 1), np.median(line.margin)))
        assert verdict.hardest(criterion) is worst and verdict.trace(criterion).tube == worst.tube


@pytest.mark.parametrize("criterion, tube, words", [
    ("lapping stok", None, "this verdict has no criterion 'lapping stok'; did you mean 'lapping stock'"), ("lapping stok", "hours", "did you mean 'lapping stock'"),
    ("cord", "hour", "'cord' is not asked of 'hour'; did you mean 'hours'?"), ("running", "hours", "'running' is not asked of 'hours'; known: 'whole part'"),
    ("plunger: hold", "moon", "'plunger: hold' is not asked of 'moon'; known: 'lamp-oil barrel'")])
def test_an_unknown_word_is_told_with_the_nearest(verdict, criterion, tube, words):
    with pytest.raises(ValueError) as told:
        verdict.trace(criterion, tube)
    assert words in str(told.value)


def test_a_criterion_that_was_not_looked_at_has_no_trace(demo):
    with pytest.raises(ValueError, match="this verdict has no criterion 'labour'; known: 'cord'"):
        demo.assess(draws=16, criteria=("cord",)).trace("labour")


# --- watched ----------------------------------------------------------------------------------------------------------------------------------

@units.units("mm", length="mm > 0")
def inner(length):
    return 2 * length


@units.units("mm", length="mm > 0")
def outer(length):
    return inner(length=Q(length, "mm")).m + 1


def names(called):
    return [function.__name__ for function in called]


def test_nested_calls_are_seen_each_once_in_their_order():
    with units.watched() as called:
        outer(length="3 mm")
        inner(length="3 mm")
        outer(length="4 mm")
    assert names(called) == ["outer", "inner"] and list(called)[0] is outer


def test_nothing_is_seen_before_or_after():
    outer(length="3 mm")
    with units.watched() as called:
        pass
    inner(length="3 mm")
    assert names(called) == [] and units._watching == []


def test_two_watchers_at_once_see_each_their_own():
    with units.watched() as first:
        inner(length="3 mm")
        with units.watched() as second:
            outer(length="3 mm")
        assert names(second) == ["outer", "inner"]
        inner(length="3 mm")
    assert names(first) == ["inner", "outer"] and names(second) == ["outer", "inner"]


def test_two_empty_watchers_are_not_taken_for_one_another():
    """Equal as they are while nothing is called, leaving the inner one must not close the outer."""
    with units.watched() as first:
        with units.watched() as second:
            pass
        inner(length="3 mm")
    assert names(first) == ["inner"] and names(second) == []


def test_an_exception_ends_the_watch_and_is_passed_on():
    with pytest.raises(ValueError, match="-3 mm makes no sense"):
        with units.watched() as called:
            inner(length="3 mm")
            outer(length="-3 mm")
    assert names(called) == ["inner", "outer"] and units._watching == []
    inner(length="3 mm")
    assert names(called) == ["inner", "outer"]
