"""Holes with the steel to leave round them, and the front that lightening holes keep off."""

import pytest

from geometry.errors import InputError
from geometry.family import family_from_text
from geometry.outline import Outline
from tests.geometry.family.test_features import TANG
from tests.geometry.family.test_reading import PLATE

HOLE = '[[hole]]\nkind = "{}"\nx = {}\ny = 20\ndiameter = 6\nweb = {}\n'


def holed(*holes: tuple[float, float]) -> Outline:
    """A plate of 100 x 40 mm and more with two holes of 6 mm, each an x and its web."""
    plate = PLATE[: PLATE.index("[[hole]]")].replace("default = 40", "default = 100")
    text = "".join(HOLE.format(kind, *at) for kind, at in zip(("tube", "pin"), holes, strict=True))
    return family_from_text(plate.replace('"width / 2"', '"40"') + text, "plate").outline()


@pytest.mark.parametrize("webs", [(5, 2), (2, 5)])
def test_the_larger_web_of_two_holes_is_kept_whichever_comes_first(webs: tuple[int, int]) -> None:
    # 8.5 mm from middle to middle leaves 2.5 mm; 11.01 leaves 5.01.
    with pytest.raises(InputError, match="have less than 5 mm of steel between them"):
        holed((30, webs[0]), (38.5, webs[1]))
    assert len(holed((30, webs[0]), (41.01, webs[1])).holes) == 2


def front_told_by(mark: str) -> Outline:
    """The tang, its front told by something else than the mark at x = -8."""
    start, end = TANG.index("[[mark]]"), TANG.index("[[lightening]]")
    return family_from_text(TANG[:start] + mark + TANG[end:], "tang").outline()


def foremost_mm(outline: Outline) -> float:
    return max(h.x_mm + h.diameter_mm / 2 for h in outline.holes if h.kind == "lightening")


@pytest.mark.parametrize("name", ["plunge", "heel", "handle front"])
def test_a_station_tells_the_front_where_no_mark_does(name: str) -> None:
    by_mark = family_from_text(TANG, "tang").outline()
    by_station = front_told_by(f'[[station]]\nname = "{name}"\nx = -8\ny = 0\n\n')
    assert foremost_mm(by_station) <= -8 - 12 + 1e-6
    assert by_station.holes == by_mark.holes
    assert foremost_mm(front_told_by("")) > -8 - 12  # nothing tells it
    beside = front_told_by('[[station]]\nname = "tip"\nx = -8\ny = 0\n\n')
    assert foremost_mm(beside) > -8 - 12


def test_of_several_stations_the_nearest_to_the_butt_is_kept_off() -> None:
    both = "".join(
        f'[[station]]\nname = "{name}"\nx = {x}\ny = 0\n\n'
        for name, x in (("plunge", -2), ("handle front", -20))
    )
    assert foremost_mm(front_told_by(both)) <= -20 - 12 + 1e-6


TWICE = '[[node]]\nx = 0\ny = "height"\njoint = "corner"\nnext = "line"\n'


@pytest.mark.parametrize("first", [True, False])
def test_a_node_that_lies_on_the_next_keeps_its_station(first: bool) -> None:
    named = f'{TWICE}station = "butt"\n'
    both = f"{named}\n{TWICE}" if first else f"{TWICE}\n{named}"
    doubled = family_from_text(PLATE.replace(TWICE, both), "plate").outline()
    plain = family_from_text(PLATE, "plate").outline()
    assert doubled.chain == plain.chain
    assert ("butt", 0.0, 20.0) in [(s.name, s.x_mm, s.y_mm) for s in doubled.stations]
