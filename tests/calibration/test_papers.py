import numpy as np
import pytest

from calibration.papers import paper_of_shape, recognise_paper


def spread(sigma_mm: float, common: float = 0.0, sides=(210.0, 297.0)) -> np.ndarray:
    return np.eye(2) * sigma_mm**2 + np.outer(sides, sides) * common**2


@pytest.mark.parametrize(
    ("sides", "name"),
    [
        ((210.4, 296.5), "a4"),
        ((297.2, 209.8), "a4"),
        ((216.3, 279.9), "letter"),
        ((355.0, 215.6), "legal"),
        ((279.0, 432.2), "tabloid"),
        ((419.2, 297.4), "a3"),
    ],
)
def test_measured_sides_are_known_lying_and_standing(sides, name):
    found = recognise_paper(np.array(sides), spread(0.5))
    assert found is not None
    assert found[0] == name
    assert np.allclose(found[1], sides, atol=1.0)


@pytest.mark.parametrize("sides", [(203.2, 254.0), (200.0, 200.0), (213.0, 288.0)])
def test_other_sheets_are_not_taken_for_a_paper(sides):
    assert recognise_paper(np.array(sides), spread(0.5)) is None


def test_a_measure_too_rough_to_tell_two_papers_apart_tells_none():
    # between Letter (215.9 x 279.4) and A4 (210 x 297), give or take 20
    assert recognise_paper(np.array([213.0, 288.0]), spread(20.0)) is None


def test_a_doubtful_scale_alone_does_not_hide_the_shape():
    # 1.5 % too large in both sides at once: the shape is A4's and no other's
    found = recognise_paper(np.array([213.2, 301.5]), spread(0.3, common=0.01))
    assert found is not None
    assert found[0] == "a4"


# Hand sums: Letter 215.9 x 279.4 (ANSI/ASME Y14.1 A), A4 210 x 297 (ISO 216).
@pytest.mark.parametrize(
    ("sides", "name", "times"),
    [
        ((287.87, 372.53), "letter", 4 / 3),  # a line of 3 in typed as 4 in
        ((8.5, 11.0), "letter", 1 / 25.4),  # inches typed as millimetres
        ((231.0, 326.7), "a4", 1.1),  # and not A3 at 0.78: the nearest size
        ((297.0, 210.0), "a4", 1.0),
    ],
)
def test_a_paper_of_the_same_shape_tells_a_mistyped_length(sides, name, times):
    found = paper_of_shape(np.array(sides))
    assert found is not None
    assert found[0] == name
    assert found[1] == pytest.approx(times, rel=1e-3)


def test_a_square_has_no_papers_shape():
    assert paper_of_shape(np.array([200.0, 200.0])) is None
