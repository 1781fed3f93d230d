"""kit.pooling against printed values; the source stands beside each."""
import pytest

from kit import pooling

# R. Kacker, Combining information from interlaboratory evaluations using a random effects model, Metrologia 41 (2004)
# 132-136, table 1, first row, p. 135 (seen as another's tests quote it): results of nine laboratories and their
# variances; standard deviation between them by Paule and Mandel, by DerSimonian and Laird.
NINE = [61.00, 61.40, 62.21, 62.30, 62.34, 62.60, 62.70, 62.84, 65.90]
VARIANCES = [0.2025, 1.2100, 0.0900, 0.2025, 0.3844, 0.5625, 0.0676, 0.0225, 1.8225]


# The second is sensitive to the rounding of the variances (that of 62.84 has two figures): it is held to a unit of
# the third digit, the first to the printed precision.
@pytest.mark.parametrize("method, printed, within", [("paule-mandel", 0.8399, 0.00006), ("dersimonian-laird", 0.5359, 0.001)])
def test_spread_between_nine_laboratories(method, printed, within):
    assert pooling.between(NINE, [v**0.5 for v in VARIANCES], method) == pytest.approx(printed, abs=within)
