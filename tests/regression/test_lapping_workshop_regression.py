"""kit.lapping, workshop abrasive, clearance left and polish: values worked out by ourselves, to show that a result has
moved; no evidence that it was right. The data they start from are published, where a source stands beside them."""
import pytest

from kit import lapping


def test_yields_of_a_hundred_grams_of_swarf():
    made = lapping.oxide_yields(iron="100 g")
    assert made.rust.m_as("g") == pytest.approx(159.10, abs=0.005)
    assert made.haematite.m_as("g") == pytest.approx(142.97, abs=0.005)


@pytest.mark.parametrize("metal, abrasive, ratio, words", [
    ("240 HV", "1050 HV", 4.4, "scratches"),    # quartz, or haematite, on the hardest bronze skin
    ("240 HV", "670 HV", 2.8, "scratches"),     # goethite
    ("240 HV", "400 HV", 1.7, "scratches"),     # lepidocrocite
    ("240 HV", "120 HV", 0.5, "too soft"),      # chalk
    ("700 HV", "1050 HV", 1.5, "marginal"),     # haematite on hard steel
    ("700 HV", "670 HV", 0.96, "too soft"),     # goethite on hard steel
])
def test_grains_on_metals(metal, abrasive, ratio, words):
    got = lapping.hard_enough(metal=metal, abrasive=abrasive)
    assert got.ratio.m == pytest.approx(ratio, abs=0.05)
    assert got.words == words


@pytest.mark.parametrize("bridging, spent_share, clearance", [(1, 0.4, 4), (3, 0.8, 24), (1, 0.8, 8), (3, 0.4, 12)])
def test_clearance_left_by_emery_of_10_um(bridging, spent_share, clearance):
    got = lapping.clearance_left(grain="10 um", spent_share=spent_share, bridging=bridging, shaft_roughness="0 um",
                                 bore_roughness="0 um")
    assert got.m_as("um") == pytest.approx(clearance)


@pytest.mark.parametrize("passes, share", [(1, 0.139), (3, 0.0027)])
def test_haematite_of_5_um_washed_for_four_minutes(passes, share):
    got = lapping.fines_left(grain="5 um", depth="100 mm", time="4 min", passes=passes, grain_density="5250 kg/m^3",
                             fluid_density="998 kg/m^3", viscosity="1 mPa*s")
    assert got.m == pytest.approx(share, rel=0.01)


# n and k as printed: brass 70/30, M. R. Querry, Optical constants, Contractor Report CRDC-CR-85034 (1985), at 500, 550
# and 600 nm; silver, P. B. Johnson and R. W. Christy, Physical Review B 6 (1972) 4370, at 548.6 nm. R is ours.
@pytest.mark.parametrize("n, k, share", [(0.686, 2.250, 0.653), (0.527, 2.765, 0.789), (0.450, 3.253, 0.858),
                                         (0.06, 3.586, 0.983)])
def test_reflectance_of_brass_and_silver(n, k, share):
    assert lapping.reflectance(refractive_index=n, extinction=k).m == pytest.approx(share, abs=0.0005)


def test_a_polish_from_the_file_to_a_mirror():
    """Filed to Rz 6 um, then emery of 15 um: 18 um to clear; at 0.3 um/min an hour. It leaves Ra 0.15, Rz 1 um."""
    stock = lapping.scratch_stock(previous_roughness="6 um")
    assert stock.m_as("um") == pytest.approx(18)
    assert lapping.polish_minutes(stock=stock, rate="0.3 um/min").m_as("min") == pytest.approx(60)
    assert lapping.roughness_from_grain(grain="15 um").m_as("um") == pytest.approx(0.15)
