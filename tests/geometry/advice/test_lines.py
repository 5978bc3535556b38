"""Values on the way from what a measure is: round ones, never beyond the range."""

import pytest

from geometry.advice import Measure
from geometry.advice.lines import line_between, line_of


def measure(**told: float) -> Measure:
    return Measure(
        **{"key": "width", "value": 26.0, "low": 25.0, "high": 27.0, "step": 0.4, **told}
    )


def values(line) -> list[float]:
    return [line.at(number)[0][1] for number in range(1, line.count + 1)]


def test_round_values_then_the_end_of_the_range() -> None:
    # multiples of 0.4 beyond 26 (65 x 0.4): 26.4, 26.8, then the end
    assert values(line_of(measure(), up=True)) == [26.4, 26.8, 27.0]
    assert values(line_of(measure(), up=False)) == [25.6, 25.2, 25.0]


def test_nothing_lies_beyond_the_end() -> None:
    assert line_of(measure(value=27.0), up=True).count == 0
    assert line_of(measure(value=25.0), up=False).count == 0


def test_counts_stay_whole() -> None:
    count = measure(value=3.0, low=1.0, high=5.0, step=1.0)
    assert values(line_of(count, up=False)) == [2.0, 1.0]
    assert values(line_of(count, up=True)) == [4.0, 5.0]


def test_a_range_below_nought() -> None:
    angle = measure(value=-1.0, low=-2.0, high=1.0, step=0.5)
    assert values(line_of(angle, up=False)) == [-1.5, -2.0]
    assert values(line_of(angle, up=True)) == [-0.5, 0.0, 0.5, 1.0]


def test_two_measures_go_side_by_side_and_end_where_asked() -> None:
    one = measure(key="one", value=10.0, low=0.0, high=20.0, step=0.5)
    other = measure(key="other", value=4.0, low=0.0, high=8.0, step=0.5)
    line = line_between(one, 8.0, other, 5.1)
    # four steps of 0.5 one way; a quarter of 1.1 each the other way, rounded to 0.5
    assert line.count == 4
    assert [line.at(number) for number in range(1, 5)] == [
        (("one", 9.5), ("other", 4.5)),
        (("one", 9.0), ("other", 4.5)),
        (("one", 8.5), ("other", 5.0)),
        (("one", 8.0), ("other", 5.1)),
    ]
    # 2 / 20 and 1.1 / 8 of the ranges
    assert line.share(line.at(4)) == pytest.approx(0.1 + 0.1375)
