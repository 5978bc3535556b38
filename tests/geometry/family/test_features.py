"""What a family puts on its outline: jimping, lightening holes, curved marks."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from geometry.errors import InputError
from geometry.family import Family, family_from_text
from geometry.outline import Hole, Outline

# A tang 140 mm long and 24 mm wide with a half round butt, its back part of a circle of radius
# 400 mm, so that lengths along it are known; the handle's front at x = -8.
TANG = """
format = 2
name = "Tang"

[[parameter]]
key = "diameter"
label = "Diameter"
unit = "mm"
default = 6
low = 0
high = 20
help = "Of the lightening holes."

[[parameter]]
key = "web"
label = "Web"
unit = "mm"
default = 3
low = 0
high = 12
help = "Steel between them."

[[parameter]]
key = "bow"
label = "Bow"
unit = "deg"
default = 20
low = 1
high = 60
help = "How far the back turns."

[[node]]
x = -140
y = 0
joint = "corner"
next = "line"
station = "butt"

[[node]]
x = 0
y = 0
joint = "corner"
next = "line"

[[node]]
x = 0
y = 24
joint = "corner"
next = "arc"
sweep = "bow"

[[node]]
x = -140
y = 24
joint = "corner"
next = "line"

[[hole]]
kind = "pin"
x = "-30 - 80 * i"
y = 13
diameter = 6
count = 2
web = 5

[[mark]]
kind = "handle front"
across = -8

[[lightening]]
from = -135
to = 0
diameter = "diameter"
web = "web"
"""

JIMPING = """
[[jimping]]
start = -100
pitch = 1.6
count = 20
depth = 1.2
"""


def tang(extra: str = "", **values: float) -> Outline:
    return family_from_text(TANG + extra, "tang").outline(values)


def lightening(outline: Outline) -> list[Hole]:
    return [hole for hole in outline.holes if hole.kind == "lightening"]


@settings(max_examples=60, deadline=None)
@given(st.floats(0.5, 20), st.floats(0, 12), st.floats(1, 60))
def test_lightening_holes_keep_their_webs(diameter: float, web: float, bow: float) -> None:
    outline = tang(diameter=diameter, web=web, bow=bow)
    edge = Polygon(outline.ring(1e-4)).exterior
    centres = np.array([(hole.x_mm, hole.y_mm) for hole in outline.holes])
    radii = np.array([hole.diameter_mm / 2 for hole in outline.holes])
    pins = np.array([hole.kind == "pin" for hole in outline.holes])
    apart = np.hypot(*(centres[:, None] - centres[None]).T) - radii - radii[:, None]
    np.fill_diagonal(apart, np.inf)
    filled = ~pins
    to_edge = shapely.distance(edge, shapely.points(centres)) - radii
    assert to_edge[filled].min(initial=np.inf) >= max(web, 4.0) - 1e-3
    assert apart[filled][:, filled].min(initial=np.inf) >= max(web, 3.0) - 1e-6
    assert apart[filled][:, pins].min(initial=np.inf) >= max(web, 5.0) - 1e-6
    assert (centres[filled, 0] + radii[filled] <= -8 - 12 + 1e-6).all()  # behind the front
    assert (centres[filled, 0] - radii[filled] >= -135 - 1e-6).all()


def test_lightening_holes_fill_the_stretch() -> None:
    """No hole more goes between those that are there and the right-hand pin: it is full."""
    outline = tang(bow=20)
    holes = lightening(outline)
    assert len(holes) >= 16  # two rows of twelve less what the pins take
    # Two rows at most go in: 24 + bow less 2 x 4 of web less 2 x 3 of radius is 10 to 16 mm high.
    steel = Polygon(outline.ring(1e-3)).buffer(-(3 + 4))
    room = steel.intersection(shapely.box(-132, -50, -8 - 12 - 3, 50))
    for hole in outline.holes:
        reach = 3 + hole.diameter_mm / 2 + (5 if hole.kind == "pin" else 3)
        room = room.difference(shapely.Point(hole.x_mm, hole.y_mm).buffer(reach, 64))
    area_of_one = math.sqrt(3) / 2 * 9**2  # of a hexagonal lattice 9 mm apart
    assert room.area < 3 * area_of_one


def test_hexagonal_rows_are_staggered() -> None:
    holes = lightening(tang(diameter=3, bow=1))
    rows: dict[int, list[float]] = {}
    for hole in holes:
        rows.setdefault(round(hole.y_mm / 5.2), []).append(hole.x_mm)
    assert len(rows) >= 2
    for xs in rows.values():
        steps = np.diff(sorted(xs)) / 6  # pitch 3 + 3
        assert steps == pytest.approx(np.round(steps), abs=1e-6)
    first, second = (sorted(rows[key])[0] for key in sorted(rows)[:2])
    assert ((first - second) / 6) % 1 == pytest.approx(0.5, abs=1e-6)


def test_no_lightening_holes_where_none_go() -> None:
    assert lightening(tang(diameter=0)) == []
    assert lightening(tang(diameter=0.4)) == []
    assert lightening(tang(diameter=20, bow=1)) == []  # 20 + 2 x 4 is more than 24.3 mm
    narrow = TANG.replace("from = -135", "from = -25")  # 5 mm of it is behind the 12 mm
    assert lightening(family_from_text(narrow, "tang").outline()) == []


def turned_way(family: Family) -> list[float]:
    return [hole.x_mm for hole in lightening(family.outline())]


def test_a_web_beyond_all_measure_leaves_no_holes() -> None:
    vast = TANG.replace('web = "web"', "web = 1e300")
    assert lightening(family_from_text(vast, "tang").outline()) == []


def test_the_stretch_may_be_told_from_either_end() -> None:
    swapped = TANG.replace("from = -135\nto = 0", "from = 0\nto = -135")
    told, other = family_from_text(TANG, "tang"), family_from_text(swapped, "tang")
    assert turned_way(told) == turned_way(other)


@pytest.mark.parametrize(
    ("was", "slip", "message"),
    [
        ('web = "web"', "web = -1", "a web cannot be negative"),
        ("from = -135", "", "“from”: it is missing"),
        ('diameter = "diameter"', 'diameter = "1 / 0"', "no value here"),
        ('diameter = "diameter"', "diameter = 1e400", "“diameter”: it has to be a finite number"),
        ('diameter = "diameter"', "diameter = nan", "“diameter”: it has to be a finite number"),
    ],
)
def test_a_slip_in_lightening_gets_one_clear_line(was: str, slip: str, message: str) -> None:
    assert was in TANG
    head, filling = TANG.split("[[lightening]]")
    text = f"{head}[[lightening]]{filling.replace(was, slip)}"
    with pytest.raises(InputError, match=message) as caught:
        family_from_text(text, "tang").outline()
    assert len(str(caught.value).splitlines()) == 1


def test_a_plate_that_holes_would_riddle_is_refused() -> None:
    vast = TANG.replace("-140", "-9000").replace("y = 24", "y = 900").replace("-135", "-8000")
    with pytest.raises(InputError, match=r"far too many lightening holes 4 mm apart"):
        family_from_text(vast, "tang").outline({"diameter": 1})


def back_circle(bow_deg: float) -> tuple[tuple[float, float], float]:
    """The circle of the back: its chord is 140 mm at y = 24, it bulges upward."""
    radius = 70 / math.sin(math.radians(bow_deg) / 2)
    return (-70.0, 24 - radius * math.cos(math.radians(bow_deg) / 2)), radius


@pytest.mark.parametrize("bow", [1.0, 20.0, 60.0])
def test_ticks_lie_at_their_pitch_along_the_true_curve(bow: float) -> None:
    outline = tang(JIMPING, bow=bow)
    (cx, cy), radius = back_circle(bow)
    ticks = [mark.points_mm for mark in outline.marks if mark.kind == "jimping"]
    assert len(ticks) == 20
    starts = np.array([start for start, _ in ticks])
    assert np.hypot(*(starts - (cx, cy)).T) == pytest.approx(radius, abs=1e-6)
    assert starts[0][0] == pytest.approx(-100, abs=0.01)
    angles = np.arctan2(starts[:, 0] - cx, starts[:, 1] - cy)
    assert np.diff(angles) * radius == pytest.approx(1.6, abs=1e-6)  # along the arc, to the tip
    for (x0, y0), (x1, y1) in ticks:  # toward the middle of the circle is square to it
        assert math.hypot(x1 - x0, y1 - y0) == pytest.approx(1.2)
        assert math.hypot(x1 - cx, y1 - cy) == pytest.approx(radius - 1.2, abs=1e-6)


def test_jimping_goes_on_the_edge_side_too() -> None:
    outline = tang(JIMPING.replace("depth = 1.2", 'side = "edge"'))
    ticks = [mark.points_mm for mark in outline.marks if mark.kind == "jimping"]
    expected = [((-100 + 1.6 * k, 0.0), (-100 + 1.6 * k, 1.0)) for k in range(20)]
    assert np.array(ticks) == pytest.approx(np.array(expected), abs=1e-9)


def test_no_ticks_where_none_are_asked_for() -> None:
    outline = tang(JIMPING.replace("count = 20", "count = 0"))
    assert [mark.kind for mark in outline.marks] == ["handle front"]


@pytest.mark.parametrize(
    ("was", "slip", "message"),
    [
        ("count = 20", "count = 101", "101 ticks of jimping. At most 100"),
        ("count = 20", 'count = "1e9 * web"', "ticks of jimping. At most 100"),
        ("pitch = 1.6", "pitch = 0.01", "jimping 0.01 mm apart. At least 0.3"),
        ("pitch = 1.6", "pitch = -2", "jimping -2 mm apart"),
        ("depth = 1.2", "depth = 0", "jimping 0 mm deep"),
        ("depth = 1.2", "depth = 9", "jimping 9 mm deep. Above 0, at most 5 mm"),
        ("start = -100", "start = -10", "20 ticks runs on round the end of the spine"),
        ("start = -100", "start = 10", "does not reach x 10.0 mm"),
        ("pitch = 1.6", "pitch = 1e5", "runs on round the end"),
        ("start = -100", 'start = "i"', "uses “i”, which nothing above it gives"),
        ("start = -100", 'start = "1/(web - 3)"', "no value here"),
        ("depth = 1.2", 'side = "belly"', "“side”: it has to be one of spine, edge"),
        ("depth = 1.2", "dpeth = 1", "“dpeth”: it is not known here"),
        ("start = -100", f"start = '{'(' * 50}1{')' * 50}'", None),
        ("start = -100", f"start = '{'-' * 60}1'", "nested too deeply"),
    ],
)
def test_a_slip_in_jimping_gets_one_clear_line(was: str, slip: str, message: str | None) -> None:
    text = TANG + JIMPING.replace(was, slip)
    if message is None:  # brackets alone are no depth
        with pytest.raises(InputError, match=r"does not reach x 1\.0"):
            family_from_text(text, "tang").outline()
        return
    with pytest.raises(InputError, match=message) as caught:
        family_from_text(text, "tang").outline()
    assert len(str(caught.value).splitlines()) == 1


def test_a_bevel_line_may_curve() -> None:
    points = "points = [[-100, 10], [-50, 16], [-10, 10]]"
    straight = tang(f'[[mark]]\nkind = "bevel line"\n{points}').marks[-1]
    assert straight.points_mm == ((-100.0, 10.0), (-50.0, 16.0), (-10.0, 10.0))
    curved = tang(f'[[mark]]\nkind = "bevel line"\njoint = "smooth"\n{points}').marks[-1]
    assert curved.kind == "bevel line"
    assert curved.points_mm[0] == (-100.0, 10.0)
    assert curved.points_mm[-1] == (-10.0, 10.0)
    line = np.array(curved.points_mm)
    assert np.hypot(*(line - (-50, 16)).T).min() < 1e-9
    turns = np.diff(np.unwrap(np.arctan2(*np.diff(line, axis=0).T[::-1])))
    assert np.abs(turns).max() < math.radians(5)


def test_too_many_holes_in_all_are_refused_at_once() -> None:
    def row(y: int) -> str:
        return (
            f'[[hole]]\nkind = "pin"\nx = "-125 + i"\ny = {y}\ndiameter = 0.6\ncount = 64\n'
            "web = 0.3\n"
        )

    with pytest.raises(InputError, match="more than 400 holes"):
        family_from_text(
            TANG.split("[[hole]]")[0] + "".join(row(y) for y in range(2, 23, 2)), "tang"
        ).outline()


def test_a_hole_as_large_as_its_web_is_negative_is_refused() -> None:
    with pytest.raises(InputError, match="a web cannot be negative"):
        tang('[[hole]]\nkind = "pin"\nx = -60\ndiameter = 5000\nweb = -5000')
