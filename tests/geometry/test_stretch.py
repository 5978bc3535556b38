"""Stretching a fixed profile: what stays, what moves, and that it stays smooth and true."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.curves import Arc, Chain, Cubic, Line
from geometry.errors import InputError
from geometry.mapped import mapped_chain
from geometry.outline import Outline
from geometry.stretch import RigidZone, Stretch, StretchAt, StretchMap

BLADE = Stretch(at=StretchAt(axis="x", start_mm=10, end_mm=90), by_mm=20)
HANDLE = Stretch(at=StretchAt(axis="x", start_mm=-10, end_mm=-90), by_mm=15)
WIDE = Stretch(
    at=StretchAt(axis="y", start_mm=0, end_mm=25, about_mm=25, gone_at_mm=-20, full_at_mm=0),
    by_mm=5,
)


def points(*places: tuple[float, float]) -> np.ndarray:
    return np.array(places, float)


def stadium() -> Chain:
    """100 mm straight between two half circles of radius 12, from x -50 to 50, y 0 to 24."""
    return (
        Line(start=(-50.0, 0.0), end=(50.0, 0.0)),
        Arc(start=(50.0, 0.0), end=(50.0, 24.0), sweep_rad=math.pi),
        Line(start=(50.0, 24.0), end=(-50.0, 24.0)),
        Arc(start=(-50.0, 24.0), end=(-50.0, 0.0), sweep_rad=math.pi),
    )


def turns_deg(chain: Chain) -> list[float]:
    found = []
    for before, after in zip([chain[-1], *chain[:-1]], chain, strict=True):
        (ux, uy), (vx, vy) = before.end_direction, after.start_direction
        found.append(abs(math.degrees(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy))))
    return found


def test_along_x_the_start_stays_and_what_lies_beyond_the_end_moves_by_the_whole() -> None:
    both = StretchMap(stretches=(BLADE, HANDLE))
    moved = both.points(points((0, 3), (10, 0), (50, 7), (90, 1), (120, 2), (-50, 0), (-95, 5)))
    # Half way along, half of the 20 or 15: a stretch is alike from both ends.
    assert moved == pytest.approx(
        points((0, 3), (10, 0), (60, 7), (110, 1), (140, 2), (-57.5, 0), (-110, 5))
    )


def test_one_that_goes_on_is_even_from_its_easing_on_and_beyond_its_end() -> None:
    on = StretchMap(
        stretches=(Stretch(at=StretchAt(axis="x", start_mm=0, end_mm=80, goes_on=True), by_mm=14),)
    )
    moved = on.points(points((-5, 3), (0, 0), (20, 0), (50, 1), (80, 0), (100, 2)))
    # 20 mm ease in and count by half: 70 in all, so 0.2 mm a millimetre from there on.
    assert moved == pytest.approx(points((-5, 3), (0, 0), (22, 0), (58, 1), (94, 0), (118, 2)))


def test_a_rounding_at_a_step_keeps_to_both_of_its_sides() -> None:
    """A heel that leans by 1 in 10 up to a rounding: within a degree of that, the neck as high."""
    widened = Stretch(
        at=StretchAt(
            axis="y",
            start_mm=0,
            end_mm=40,
            about_mm=40,
            gone_at_mm=-9,
            full_at_mm=-5,
            carried_mm=40,
        ),
        by_mm=8,
    )
    zone = RigidZone(
        x_mm=-7.0,
        y_mm=18.0,
        radius_mm=5.0,
        fade_mm=12.0,
        anchor_mm=(-9.0, 20.0),
        foot_mm=(0.0, 0.0),
        lean=-0.1,
    )
    whole = StretchMap(stretches=(widened,), rigid=(zone,))
    heel, *up = whole.points(points((0, 0), (-0.5, 5), (-1, 10), (-1.7, 17))).tolist()
    assert heel == pytest.approx([0.0, -8.0])
    for x, y in up:
        assert (x - heel[0]) / (y - heel[1]) == pytest.approx(-0.1, abs=math.tan(math.radians(1)))
    [(x0, y0), (x1, y1)] = whole.points(points((-3, 17), (-7, 22))).tolist()
    assert (x1 - x0, y1 - y0) == pytest.approx((-4.0, 5.0))  # as it was
    assert y1 == pytest.approx(22.0)


def test_along_y_widths_grow_by_their_share_about_the_height_that_stays() -> None:
    moved = StretchMap(stretches=(WIDE,)).points(points((30, 25), (30, 0), (30, 10), (-20, 0)))
    # 5 mm in 25: 10 mm lies 15 below the height that stays, and 18 afterwards.
    assert moved == pytest.approx(points((30, 25), (30, -5), (30, 7), (-20, 0)))


def test_a_place_may_be_kept_and_all_else_moves_about_it() -> None:
    kept = StretchMap(stretches=(WIDE,), kept=(0.0, 0.0))
    moved = kept.points(points((0, 0), (30, 25), (-30, 10)))
    assert moved == pytest.approx(points((0, 0), (30, 30), (-30, 15)))


@given(
    st.floats(-120, 120), st.floats(-30, 60), st.floats(-20, 30), st.floats(-20, 30),
    st.floats(-6, 10),
)  # fmt: skip
def test_the_slopes_are_those_of_the_map(
    x: float, y: float, blade: float, handle: float, width: float
) -> None:
    """Against differences over 1e-5 mm."""
    whole = StretchMap(
        stretches=(
            Stretch(at=StretchAt(axis="x", start_mm=10, end_mm=90), by_mm=blade),
            Stretch(at=StretchAt(axis="x", start_mm=-10, end_mm=-90), by_mm=handle),
            Stretch(
                at=StretchAt(
                    axis="y", start_mm=0, end_mm=25, about_mm=25, gone_at_mm=-20, full_at_mm=0
                ),
                by_mm=width,
            ),
        ),
        rigid=(RigidZone(x_mm=15.0, y_mm=4.0, radius_mm=3.0, fade_mm=6.0),),
    )
    step = 1e-5
    try:
        _, [slopes] = whole.with_slopes(points((x, y)))
        near = whole.points(points((x - step, y), (x + step, y), (x, y - step), (x, y + step)))
    except InputError:
        return
    assert slopes[:, 0] == pytest.approx((near[1] - near[0]) / (2 * step), abs=1e-4)
    assert slopes[:, 1] == pytest.approx((near[3] - near[2]) / (2 * step), abs=1e-4)


def test_a_rigid_zone_only_moves() -> None:
    zone = RigidZone(x_mm=40.0, y_mm=3.0, radius_mm=2.0, fade_mm=4.0)
    whole = StretchMap(stretches=(BLADE, WIDE), rigid=(zone,))
    ring = (
        Arc(start=(42.0, 3.0), end=(38.0, 3.0), sweep_rad=math.pi),
        Arc(start=(38.0, 3.0), end=(42.0, 3.0), sweep_rad=math.pi),
    )
    image = mapped_chain(ring, whole.with_slopes)
    assert [type(piece) for piece in image] == [Arc, Arc]
    radii = [piece.radius_mm for piece in image if isinstance(piece, Arc)]
    assert radii == pytest.approx([2.0, 2.0], abs=1e-9)
    # Not where it was: 37.5 % along with the eased stretch, and 22 of 25 below the spine.
    assert image[0].start[0] - 42.0 == pytest.approx(20 * (0.375 - 0.125) / 0.75, abs=1e-9)
    assert image[0].start[1] - 3.0 == pytest.approx(-5 * 22 / 25, abs=1e-9)


def test_no_change_gives_back_the_very_same_places() -> None:
    none = StretchMap(stretches=(Stretch(at=StretchAt(axis="x", start_mm=0, end_mm=9), by_mm=0.0),))
    assert none.is_none
    assert none.point((3.1, 4.7)) == (3.1, 4.7)


def test_an_even_stretch_makes_ellipses_of_circles() -> None:
    """Twice as wide in y: the area doubles, and the ends are half ellipses of 12 by 24."""
    twice = StretchMap(
        stretches=(Stretch(at=StretchAt(axis="y", start_mm=0, end_mm=24, about_mm=0), by_mm=24),)
    )
    image = mapped_chain(stadium(), twice.with_slopes)
    outline = Outline(name="stadium", chain=image)
    assert outline.area_mm2 == pytest.approx(
        2 * (100 * 24 + math.pi * 144), abs=0.2
    )  # 0.002 by 100
    assert [type(piece) for piece in image].count(Line) == 2
    ring = outline.ring(0.0005)
    x, y = ring[ring[:, 0] > 50].T
    off = np.hypot((x - 50) / 12, (y - 24) / 24) - 1
    assert np.abs(off).max() * 12 < 0.005


BY = st.floats(-0.3, 0.5)


@settings(max_examples=60, deadline=None)
@given(BY, BY, BY)
def test_the_image_is_true_within_five_thousandths_and_smooth(
    blade: float, handle: float, width: float
) -> None:
    whole = StretchMap(
        stretches=(
            Stretch(at=StretchAt(axis="x", start_mm=5, end_mm=62), by_mm=57 * blade),
            Stretch(at=StretchAt(axis="x", start_mm=-5, end_mm=-62), by_mm=57 * handle),
            Stretch(
                at=StretchAt(
                    axis="y", start_mm=0, end_mm=24, about_mm=24, gone_at_mm=-20, full_at_mm=0
                ),
                by_mm=24 * width,
            ),
        ),
        rigid=(RigidZone(x_mm=5.0, y_mm=0.0, radius_mm=3.0, fade_mm=6.0),),
    )
    image = mapped_chain(stadium(), whole.with_slopes)
    outline = Outline(name="stadium", chain=image)
    fine = shapely.segmentize(Outline(name="was", chain=stadium()).polygon(0.0005), 0.05)
    true = shapely.LinearRing(whole.points(shapely.get_coordinates(fine)[:-1]))
    drawn = outline.polygon(0.0005)
    assert shapely.hausdorff_distance(true, drawn.exterior) < 0.005
    assert max(turns_deg(image)) < 0.1


def test_a_cubic_that_is_carried_along_is_the_same_cubic() -> None:
    curve = Cubic(
        start=(100.0, 0.0), control1=(105.0, 1.0), control2=(150.0, 4.0), end=(160.0, 9.0)
    )
    back = Line(start=(160.0, 9.0), end=(100.0, 0.0))
    moved, _ = mapped_chain((curve, back), StretchMap(stretches=(BLADE,)).with_slopes)
    assert isinstance(moved, Cubic)
    assert moved.controls == pytest.approx(curve.controls + np.array([20.0, 0.0]), abs=1e-9)


@pytest.mark.parametrize(
    ("stretch", "message"),
    [
        (Stretch(at=StretchAt(axis="x", start_mm=10, end_mm=90), by_mm=-70), "leave no room near"),
        (Stretch(at=StretchAt(axis="y", start_mm=0, end_mm=24), by_mm=-24), "leave no room near"),
    ],
)
def test_pressing_it_together_to_nothing_is_refused(stretch: Stretch, message: str) -> None:
    with pytest.raises(InputError, match=message):
        mapped_chain(stadium(), StretchMap(stretches=(stretch,)).with_slopes)


def test_a_stretch_from_one_place_to_the_same_is_refused() -> None:
    with pytest.raises(InputError, match="begins and ends at one place"):
        Stretch(at=StretchAt(axis="x", start_mm=4, end_mm=4), by_mm=1)
