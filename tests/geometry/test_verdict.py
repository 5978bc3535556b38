import math

import pytest

from geometry.errors import InputError
from geometry.verdict import Verdict, judge


@pytest.mark.parametrize(
    ("clearance_mm", "sigma_mm", "margin_mm", "verdict"),
    [
        (2.0, 0.25, 1.5, Verdict.FITS),  # 2.0 - 0.5 is the margin itself
        (1.999, 0.25, 1.5, Verdict.DOUBTFUL),
        (1.0, 0.25, 1.5, Verdict.DOUBTFUL),  # 1.0 + 0.5 is the margin itself
        (0.999, 0.25, 1.5, Verdict.DOES_NOT_FIT),
        (0.0, 0.0, 0.0, Verdict.FITS),
        (-0.1, 0.2, 0.0, Verdict.DOUBTFUL),
    ],
)
def test_two_deviations_on_either_side_of_the_margin(
    clearance_mm: float, sigma_mm: float, margin_mm: float, verdict: Verdict
) -> None:
    assert judge(clearance_mm, sigma_mm, margin_mm) is verdict


@pytest.mark.parametrize("numbers", [(1.0, -0.1, 0.0), (math.nan, 0.1, 0.0), (1.0, math.nan, 0.0)])
def test_numbers_that_cannot_be_judged_are_refused(numbers: tuple[float, float, float]) -> None:
    with pytest.raises(InputError, match="cannot be judged"):
        judge(*numbers)
