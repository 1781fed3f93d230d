"""What was registered stays registered: digests of claim and plan as the kit first gave them. Our own values, no evidence."""
import pytest

from kit import claims, study, tables


@pytest.mark.parametrize("folder, digest", [("harbour-dial", "94cda0456ed5abdf"), ("workshop-piece", "741bfc392ee70a05")])
def test_the_digest_of_a_plan_does_not_change_with_the_kit(folder, digest):
    """Where the plan of one of these studies is changed on purpose, its digest here changes with it, and with nothing else."""
    assert claims.plan_digest(study.load(tables.DATA / folder)) == digest
