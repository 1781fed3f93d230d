"""tests/benchmarks/findings.py still tells apart what it says it does: every finding alone, and revisions that make up the demo's plan."""
import pytest
from benchmarks import findings

import kit

pytestmark = [pytest.mark.slow, pytest.mark.filterwarnings("ignore::kit.OutOfRange")]


@pytest.fixture(scope="module")
def plans():
    try:
        return findings.before(), kit.study.load(findings.DEMO)
    except SystemExit as without:   # a copy without this repository's history
        pytest.skip(str(without))


def test_the_revisions_make_up_the_plan_as_it_stands(plans):
    old, new = plans
    plan = findings.replace(old, use=old.use | findings.ASKED, correlations=new.correlations)
    for revise in findings.revisions(old, new).values():
        changed = revise(plan, new)
        assert changed != plan
        plan = changed
    assert (plan.routes, plan.choices, plan.use, plan.tubes) == (new.routes, new.choices, new.use, new.tubes)


def test_every_finding_can_be_told_alone(plans, monkeypatch):
    monkeypatch.setattr(findings, "WALLS", (0.3, 0.4))
    old, _ = plans
    neutral = findings.chances(*with_criteria(findings.with_findings(old, ())))
    assert 0 < neutral[1][0] < 1
    told = {name: findings.chances(*with_criteria(findings.with_findings(old, (name,)))) for name in findings.neutral()}
    assert any(found[1][0] < neutral[1][0] for found in told.values()) and all(len(found) == 2 for found in told.values())


def with_criteria(found):
    plan, criteria = found
    return plan, 64, criteria
