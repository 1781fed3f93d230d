"""One reamer of one size is one tool, whatever tubes it opens: it is made once, and each goes on with what stoning has left of it."""
from dataclasses import replace

import numpy as np
import pytest

from kit import study, use
from kit.outcomes import cases_of
from kit.units import Q

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
N = 128


def pumps(*bores, **changes):
    """The demo's barrel alone, as many times as there are bores."""
    demo = study.load(study.DEMO).only("lamp-oil barrel")
    barrel = demo.part["barrels"][0]
    part = {"alloy": demo.part["alloy"], "barrels": [barrel | {"name": f"barrel {n}", "bore": Q(bore, "mm"), "core": Q(bore - 2, "mm")} for n, bore in enumerate(bores, 1)]}
    return replace(demo, part=part, kept=(), use={"hours": Q(500, "h")}).with_(**changes)


def asked(plan):
    """How often the passes of each barrel send their tool to the stone, all told."""
    cases = cases_of(plan, plan.draws(N, 1), "planned")
    return cases, [case.asked("edge life").demand.m for case in cases]


def own_of(case):
    return np.concatenate([np.broadcast_to(each.at_setting.m, (len(each.steps), N)) for each in case.done("ream")])


def test_the_second_barrel_comes_to_a_tool_that_the_first_has_stoned():
    cases, (first, second, third) = asked(pumps(16, 16, 16))
    own = [own_of(case) for case in cases]
    np.testing.assert_allclose(first, own[0])
    np.testing.assert_allclose(second, own[0] + own[1])
    np.testing.assert_allclose(third, own[0] + own[1] + own[2])
    cases[1].used = set()
    cases[1].asked("edge life")
    assert {"edge_life.wear_coefficient"} <= {key.partition("@")[0] for key in cases[1].used}


def test_tools_of_other_sizes_are_others():
    cases, stoned = asked(pumps(16, 18))
    for case, each in zip(cases, stoned):
        np.testing.assert_allclose(each, own_of(case))


def test_one_tool_is_made_once():
    made = [len(use.tools(use.Whole(cases_of(plan, values), plan.use, values))) for plan in (pumps(16), pumps(16, 16), pumps(16, 18)) for values in [plan.draws(4, 1)]]
    assert made[0] == made[1] and made[2] == 2 * made[0]


def test_what_is_traced_counts_the_tubes_before():
    verdict = pumps(16, 16).assess(draws=N, adapt="planned")
    one, two = (next(line for line in verdict.lines if line.criterion == "edge life" and line.tube == name) for name in ("barrel 1", "barrel 2"))
    assert np.median(two.margin) < 0.6 * np.median(one.margin)
    said = [str(verdict.trace("edge life", name)) for name in ("barrel 1", "barrel 2")]
    assert said[0] != said[1] and "barrel 2" in said[1]
