"""What an alloy is, told by the table of metals; and that metal which came worked is cut as the fire has left it."""
from dataclasses import replace

import numpy as np
import pytest

from kit import fire, study, tables
from kit.outcomes import cases_of
from kit.units import Q

pytestmark = pytest.mark.filterwarnings("ignore::kit.units.OutOfRange")
N = 256


def case_of(alloy, heat=None, **pinned):
    """The demo's first sleeve of an alloy, its rod put into the fire before all else."""
    plan = study.load(study.DEMO).only("hours").with_(alloy=alloy)
    if heat is not None:
        first = {"operation": "anneal", "name": "anneal", "temperature": Q(heat, "degC"), "cover": "under charcoal"}
        plan = replace(plan, routes={name: [first, *steps] for name, steps in plan.routes.items()})
    plan = plan.with_(**pinned)
    return cases_of(plan, plan.draws(N, 1), "planned")[0]


def test_every_alloy_has_its_metal_and_what_stands_there_is_in_the_other_tables():
    alloys, chips, rubs = ({row["of"] for row in tables.load(name)} for name in ("alloys", "edge_life", "friction"))
    rows = tables.load("metals")
    assert {row["alloy"] for row in rows} == alloys
    for row in rows:
        assert row["chip"] in chips and f"{row['rubs_as']} on {row['rubs_as']}, oiled" in rubs and f"{row['rubs_as']} on iron, dry" in rubs
        assert (row["soft"] in alloys) == (row["state"] == "worked")
        if row["soft"]:
            assert fire.known(row["soft"])["state"] == "annealed" and fire.known(row["soft"])["metal"] == row["metal"]
            assert fire.annealed(row["alloy"]) == row["soft"]
    assert fire.known("pewter") is None and fire.annealed("pewter") is None and fire.annealed("leaded bronze, cast") is None


@pytest.mark.parametrize("alloy, heavier", [("tin bronze, worked", True), ("brass, worked", True), ("copper, worked", False)])
def test_the_fire_makes_it_cut_as_the_annealed_metal_does_by_the_table(alloy, heavier):
    """Hard bronze and brass resist an edge more than soft; soft copper, with its thick chip, rather more than worked (notes of alloys.csv)."""
    worked, soft = case_of(alloy), case_of(alloy, heat=850)
    for case in (worked, soft):
        means = case.done("ream")[0].means
        for name in ("kc11", "exponent"):
            np.testing.assert_allclose(means[f"alloy.{name}"].m, case[f"{'alloy' if case is worked else 'soft'}.{name}"].m, rtol=1e-9)
    for name in ("drill", "ream"):
        before, after = (np.median(case.done(name)[0].torque_at(Q(np.full((1, 1), 0.05), "mm")).m_as("N*m")) for case in (worked, soft))
        assert (before > after) == heavier, name


def test_a_cold_fire_changes_nothing_and_half_a_heat_half_of_it():
    pinned = {"alloy.kc11": "1400 MPa", "soft.kc11": "1000 MPa", "alloy.hardness": "200 HV", "soft.hardness": "100 HV",
              "metal.begins": "300 degC", "metal.full": "500 degC", "hearth.judged": 1.0}
    for heat, kc in ((100, 1400), (400, 1200), (700, 1000)):
        means = case_of("tin bronze, worked", heat, **pinned).done("turn")[0].means
        np.testing.assert_allclose(np.broadcast_to(means["alloy.kc11"].m, N), kc, err_msg=str(heat))


def test_what_a_cut_after_the_fire_rests_on_is_noted():
    case = case_of("tin bronze, worked", 600)
    case.used = set()
    case.asked("reaming pass")
    assert {"soft.kc11", "metal.full", "alloy.kc11"} <= case.used
    plain = case_of("tin bronze, worked")
    plain.used = set()
    plain.asked("reaming pass")
    assert not any(key.startswith(("soft.", "metal.")) for key in plain.used)
