"""Drill sizes against ASME B94.11M.

The sizes below were typed from published copies of the standard's table (nominal, inch), not from
the project's own.
"""

import pytest

from app.document.drills import drill_for, drills, hole_label

ASME_B94_11M_IN = {
    "#80": 0.0135, "#70": 0.0280, "#60": 0.0400, "#52": 0.0635, "#50": 0.0700, "#43": 0.0890,
    "#41": 0.0960, "#40": 0.0980, "#36": 0.1065, "#33": 0.1130, "#30": 0.1285, "#29": 0.1360,
    "#25": 0.1495, "#21": 0.1590, "#20": 0.1610, "#18": 0.1695, "#12": 0.1890, "#10": 0.1935,
    "#7": 0.2010, "#5": 0.2055, "#3": 0.2130, "#2": 0.2210, "#1": 0.2280,
    "A": 0.2340, "B": 0.2380, "C": 0.2420, "D": 0.2460, "E": 0.2500, "F": 0.2570, "G": 0.2610,
    "H": 0.2660, "I": 0.2720, "J": 0.2770, "K": 0.2810, "L": 0.2900, "M": 0.2950, "N": 0.3020,
    "O": 0.3160, "P": 0.3230, "Q": 0.3320, "R": 0.3390, "S": 0.3480, "T": 0.3580, "U": 0.3680,
    "V": 0.3770, "W": 0.3860, "X": 0.3970, "Y": 0.4040, "Z": 0.4130,
}  # fmt: skip


@pytest.mark.parametrize(("label", "inch"), ASME_B94_11M_IN.items())
def test_numbers_and_letters_are_asme_b94_11m(label: str, inch: float) -> None:
    (drill,) = [d for d in drills() if d.label == label and d.kind in ("number", "letter")]
    assert drill.diameter_mm == pytest.approx(inch * 25.4, abs=1e-9)


def test_the_standard_has_80_numbers_and_26_letters() -> None:
    for kind, count in (("number", 80), ("letter", 26)):
        sizes = [drill.diameter_mm for drill in drills() if drill.kind == kind]
        assert len(sizes) == count
        assert len(set(sizes)) == count


def test_numbers_shrink_as_they_count_up_and_letters_grow() -> None:
    by_label = {d.label: d.diameter_mm for d in drills()}
    numbers = [by_label[f"#{n}"] for n in range(1, 81)]
    assert numbers == sorted(numbers, reverse=True)
    letters = [by_label[chr(c)] for c in range(ord("A"), ord("Z") + 1)]
    assert letters == sorted(letters)
    assert by_label["#1"] < by_label["A"]


def test_fractions_are_sixty_fourths() -> None:
    for drill in drills():
        if drill.kind == "fraction":
            top, bottom = drill.label.split("/")
            assert drill.diameter_mm == pytest.approx(int(top) / int(bottom) * 25.4, abs=1e-9)


def test_metric_labels_are_their_size() -> None:
    for drill in drills():
        if drill.kind == "metric":
            assert float(drill.label) == drill.diameter_mm


@pytest.mark.parametrize(
    ("inch", "name"),
    [(0.2010, "#7"), (13 / 64, "13/64 in"), (0.1285, "#30"), (0.1250, "1/8 in"), (0.1590, "#21")],
)
def test_neighbours_are_not_confused(inch: float, name: str) -> None:
    drill = drill_for(inch * 25.4, "in")
    assert drill is not None
    assert drill.name() == name


def test_a_quarter_inch_is_called_so_and_not_letter_e() -> None:
    assert hole_label(6.35, "in") == "1/4 in"
