"""Telling a printer's own error from a scaled print."""

import pytest

from app.document.print_scale import likely_causes, stretch_for, stretch_line
from geometry.errors import InputError


@pytest.mark.parametrize(
    ("ratio", "words"),
    [
        (279.4 / 297, "A4 page was fitted on Letter"),  # the longer sides: 0.9407
        (210 / 215.9, "Letter page was fitted on A4"),  # the shorter sides: 0.9727
        ((215.9 - 2 * 25.4 / 6) / 215.9, "1/6 in"),
        ((210 - 2 * 6.35) / 210, "1/4 in"),
        (0.75, "72 and 96"),
        (4 / 3, "72 and 96"),
        (25.4, "inches and millimetres"),
        (1 / 25.4, "inches and millimetres"),
    ],
)
def test_known_mishaps_are_recognised(ratio: float, words: str) -> None:
    assert words in likely_causes(ratio)[0]


def test_a_true_print_has_no_cause() -> None:
    assert likely_causes(1.0) == ()


@pytest.mark.parametrize("ratio", [0.97, 0.9963, 1.0, 1.03])
def test_a_printers_own_error_is_taken_back(ratio: float) -> None:
    assert stretch_for(ratio, "x") * ratio == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("ratio", [0.9699, 1.0301, 0.0, -1.0, float("inf"), float("nan")])
def test_anything_else_is_refused_with_what_to_do(ratio: float) -> None:
    with pytest.raises(InputError, match=r"--correct-x: .* Print again at 100 %"):
        stretch_for(ratio, "--correct-x")


def test_the_sheet_states_its_factors() -> None:
    assert stretch_line(1.0, 1.0) == ""
    assert "1.00402 across" in stretch_line(1 / 0.996, 1.0)
