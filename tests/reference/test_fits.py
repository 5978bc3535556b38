"""Placements with a known answer: instances beside the project, and closed forms drawn here.

The instances in ../shared/fits are checked with that folder's own checker. A closed form names its
source; what fits in a rectangle or a triangle is also worked out by a second method, from how wide
the outline is in every direction.
"""

from __future__ import annotations

import importlib.util
import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from geometry.largest import largest
from geometry.placement import PROVEN_GAP_MM, Placement, roomiest
from tests.geometry.shapes import knife, moved, regular

ROOT = Path(__file__).resolve().parent.parent.parent
FITS = ROOT.parent / "shared" / "fits"
ROOMIEST = sorted(path.stem for path in FITS.glob("f*.json"))
LARGEST = sorted(path.stem for path in FITS.glob("scale*.json"))
EXACT_MM = 0.02
PROVEN_SHARE = 1e-3


@pytest.fixture(scope="module")
def check(shared: Path) -> Callable[[dict[str, Any], dict[str, Any]], dict[str, Any]]:
    """Return the checker that lies beside the instances."""
    path = shared / "fits" / "check_fit.py"
    if not path.is_file():
        pytest.skip("the placement instances are not beside the project")
    spec = importlib.util.spec_from_file_location("check_fit", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    found: Callable[[dict[str, Any], dict[str, Any]], dict[str, Any]] = module.check
    return found


def instance(name: str) -> tuple[dict[str, Any], Polygon, Polygon]:
    """Return an instance as it is read, its outline and its region."""
    given = json.loads((FITS / f"{name}.json").read_text(encoding="utf-8"))
    return (
        given,
        Polygon(given["outline"]),
        Polygon(given["region"]["outer"], given["region"]["holes"]),
    )


def answer(found: Placement) -> dict[str, Any]:
    """Return a placement in the checker's words."""
    pose = found.pose
    return {
        "x": pose.x_mm,
        "y": pose.y_mm,
        "theta_deg": math.degrees(pose.theta_rad),
        "mirrored": pose.mirrored,
        "scale": pose.scale,
    }


def test_the_instances_are_there(shared: Path) -> None:
    if not FITS.is_dir():
        pytest.skip("the placement instances are not beside the project")
    assert len(ROOMIEST) >= 24
    assert len(LARGEST) >= 8


@pytest.mark.parametrize("name", ROOMIEST)
def test_the_roomiest_pose_of_an_instance(
    name: str, check: Callable[[dict[str, Any], dict[str, Any]], dict[str, Any]]
) -> None:
    given, outline, region = instance(name)
    found = roomiest(outline, region, mirror=given["mirror_allowed"])
    said = answer(found) | {
        "clearance_mm": found.clearance.value_mm,
        "upper_bound_mm": found.upper_bound_mm,
    }
    result = check(given, said)
    assert result["ok"], result["messages"]
    assert abs(result["claimed_error_mm"]) <= EXACT_MM
    assert result["bound_valid"]
    assert result["gap_mm"] <= PROVEN_GAP_MM
    assert found.proven
    known = given["known"]
    if known["kind"] == "infeasible":
        assert found.upper_bound_mm < given["margin_mm"]
        assert found.upper_bound_mm <= 0.0
    else:
        assert result["short_of_known_mm"] <= EXACT_MM


@pytest.mark.parametrize("name", LARGEST)
def test_the_largest_scale_of_an_instance(
    name: str, check: Callable[[dict[str, Any], dict[str, Any]], dict[str, Any]]
) -> None:
    given, outline, region = instance(name)
    found = largest(outline, region, margin_mm=given["margin_mm"], mirror=given["mirror_allowed"])
    assert found.upper_bound_scale is not None
    result = check(given, answer(found) | {"upper_bound_scale": found.upper_bound_scale})
    assert result["ok"], result["messages"]
    assert result["bound_valid"]
    assert found.proven
    assert result["scale_error_rel"] >= -PROVEN_SHARE
    assert found.upper_bound_scale <= given["known"]["scale"] * (1.0 + PROVEN_SHARE)


def proves(
    outline: Polygon,
    steel: Polygon,
    scale: float,
    *,
    margin_mm: float = 0.0,
    true_to: float = 1e-6,
) -> None:
    """Check that the largest scale, known so truly, is found and proven to 0.1 %."""
    found = largest(outline, steel, margin_mm=margin_mm, mirror=False)
    assert found.proven
    assert found.upper_bound_scale is not None
    assert found.pose.scale <= scale * (1.0 + true_to)
    assert found.pose.scale >= scale * (1.0 - PROVEN_SHARE)
    assert scale * (1.0 - true_to) <= found.upper_bound_scale
    assert found.upper_bound_scale <= found.pose.scale * (1.0 + PROVEN_SHARE)


def polygon(count: int, turn_deg: float = 0.0) -> Polygon:
    """Return a regular polygon with sides of 1 mm."""
    return regular(count, 0.5 / math.sin(math.pi / count), turn_deg)


# Half discs and discs are drawn by corners on the circle: as large as it, so no larger fits.
HALF = Polygon([(math.cos(t), math.sin(t)) for t in np.linspace(0, math.pi, 181)])
SIDE_MM = 60.0
SQUARE = moved(box(0, 0, SIDE_MM, SIDE_MM), 12, -7, 21)


def grown(shape: Polygon) -> Polygon:
    """Return a shape of unit sides with sides of 60 mm, turned and shifted."""
    return moved(shapely.transform(shape, lambda points: points * SIDE_MM), -30, 8, 47)


@pytest.mark.parametrize(
    ("outline", "steel", "share"),
    [
        # J. S. Madachy, Mathematical Recreations, Dover 1979
        pytest.param(polygon(3), SQUARE, math.sqrt(6) - math.sqrt(2), id="triangle in square"),
        # The largest square in a triangle stands on one of its sides, as a h / (a + h):
        # J. E. Wetzel, Squares in triangles, Mathematical Gazette 86, 2002 (from memory)
        pytest.param(polygon(4), grown(polygon(3)), 2 * math.sqrt(3) - 3, id="square in triangle"),
        pytest.param(
            polygon(4), grown(Polygon([(0, 0), (4, 0), (0, 3)])), 12 / 7, id="square in 3-4-5"
        ),
        # E. Friedman's collection of the largest shapes in others (from memory)
        pytest.param(polygon(4), grown(polygon(6)), 3 - math.sqrt(3), id="square in hexagon"),
        # By its widths along both sides and the diagonal; also in ../shared/fits
        pytest.param(HALF, SQUARE, 2 - math.sqrt(2), id="half disc in square"),
        # An odd polygon is d cos(t) and d cos(90 / n - t) wide, d = s / (2 sin(90 / n)), t from a
        # longest diagonal: both least at t = 45 / n.
        pytest.param(
            polygon(5),
            SQUARE,
            2 * math.sin(math.radians(18)) / math.cos(math.radians(9)),
            id="pentagon in square",
        ),
        pytest.param(
            polygon(7),
            SQUARE,
            2 * math.sin(math.radians(90 / 7)) / math.cos(math.radians(45 / 7)),
            id="heptagon in square",
        ),
        # The same of an even one with diagonals of 2 sides 60 degrees apart.
        pytest.param(
            polygon(6), SQUARE, 1 / (2 * math.cos(math.radians(15))), id="hexagon in square"
        ),
        # A shape in another has no larger an enclosing circle: every other corner touches.
        pytest.param(polygon(3), grown(polygon(6)), math.sqrt(3), id="triangle in hexagon"),
        pytest.param(
            polygon(4),
            grown(polygon(8)),
            math.sqrt(2) / (2 * math.sin(math.pi / 8)),
            id="square in octagon",
        ),
        pytest.param(
            polygon(5),
            grown(polygon(10)),
            math.sin(math.pi / 5) / math.sin(math.pi / 10),
            id="pentagon in decagon",
        ),
        # Three of its sides lie along the triangle's: a third of the triangle's side.
        pytest.param(polygon(6), grown(polygon(3)), 1 / 3, id="hexagon in triangle"),
        # Circles in regular polygons; 720 corners reach the circle to 1e-5 of it.
        pytest.param(
            regular(720, 1), grown(polygon(3)), 1 / (2 * math.sqrt(3)), id="disc in triangle"
        ),
        pytest.param(
            regular(720, 1), grown(polygon(5)), 0.5 / math.tan(math.pi / 5), id="disc in pentagon"
        ),
        # The diagonal of a rectangle is the diameter of the circle round it.
        pytest.param(box(0, 0, 4, 3), grown(regular(720, 1)), 2 / 5, id="rectangle in disc"),
    ],
)
def test_closed_forms(outline: Polygon, steel: Polygon, share: float) -> None:
    many = max(len(shape.exterior.coords) for shape in (outline, steel)) > 700
    # The sides of a 720-gon lie within 1 - cos(pi / 720) of the circle.
    proves(outline, steel, SIDE_MM * share, true_to=2e-5 if many else 1e-6)


@pytest.mark.parametrize(("p", "q", "a", "b"), [(10, 1, 90, 60), (10, 1, 60, 60), (6, 1, 90, 84)])
def test_a_rectangle_in_a_rectangle(p: float, q: float, a: float, b: float) -> None:
    """p by q lies askew in a by b if ((a + b) / (p + q))^2 + ((a - b) / (p - q))^2 >= 2.

    W. B. Carver, solution of problem E 1225, American Mathematical Monthly 64, 1957 (from memory);
    else as it lies along: the larger of both.
    """
    askew = math.sqrt((((a + b) / (p + q)) ** 2 + ((a - b) / (p - q)) ** 2) / 2.0)
    along = min(a / p, b / q)
    assert askew * p > a
    assert askew * q < b
    proves(box(0, 0, p, q), moved(box(0, 0, a, b), 4, 5, 33), max(askew, along))


SHARP = Polygon([(0, 0), (50, -9), (93, 4), (70, 21), (30, 17)])
OUTLINES = {"knife": knife(), "sharp": SHARP, "half disc": HALF}


def reaches(outline: Polygon, way_rad: float, turns_rad: np.ndarray) -> np.ndarray:
    """Return how far the outline, turned by each of some angles, reaches in a direction."""
    corners = shapely.get_coordinates(shapely.convex_hull(outline))[:-1]
    ways = way_rad - turns_rad
    reach: np.ndarray = (corners @ np.array([np.cos(ways), np.sin(ways)])).max(axis=0)
    return reach


def best_turned(values: Callable[[np.ndarray], np.ndarray]) -> float:
    """Return the greatest value over all angles, by looking ever closer."""
    middle, half = math.pi, math.pi
    for _ in range(5):
        turns = np.linspace(middle - half, middle + half, 7201)
        found = values(turns)
        middle, half = float(turns[found.argmax()]), half / 1000.0
    return float(found.max())


def widths(outline: Polygon, turns_rad: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return how wide the outline is along x and y when turned by each of some angles."""
    half = math.pi / 2.0
    right, top, left, bottom = (reaches(outline, way * half, turns_rad) for way in range(4))
    return right + left, top + bottom


@pytest.mark.parametrize("name", OUTLINES)
@pytest.mark.parametrize(("a", "b"), [(120.0, 90.0), (110.0, 36.0)])
def test_any_outline_in_a_rectangle(name: str, a: float, b: float) -> None:
    """What is no wider than a rectangle along both of its sides lies in it."""

    def scales(turns: np.ndarray) -> np.ndarray:
        across, up = widths(OUTLINES[name], turns)
        return np.minimum(a / across, b / up)

    proves(OUTLINES[name], moved(box(0, 0, a, b), -9, 4, 13), best_turned(scales))


@pytest.mark.parametrize("name", OUTLINES)
def test_any_outline_in_a_triangle(name: str) -> None:
    """It lies in a triangle if its reaches beyond the three sides' directions allow.

    Of a triangle with sides s and twice the area A: the sum of s times the reach is at most A.
    """
    corners = np.array([(0.0, 0.0), (150.0, 10.0), (40.0, 110.0)])
    sides = np.roll(corners, -1, axis=0) - corners

    def scales(turns: np.ndarray) -> np.ndarray:
        needed = np.zeros(len(turns))
        for x, y in sides:
            needed += math.hypot(x, y) * reaches(OUTLINES[name], math.atan2(-x, y), turns)
        return 2.0 * Polygon(corners).area / needed

    proves(OUTLINES[name], Polygon(corners), best_turned(scales))


@pytest.mark.parametrize("name", ["knife", "sharp"])
def test_the_room_in_a_rectangle(name: str) -> None:
    """Half of what the rectangle is wider by than the outline, along the tighter of its sides."""
    a, b = 215.0, 60.0

    def rooms_mm(turns: np.ndarray) -> np.ndarray:
        across, up = widths(OUTLINES[name], turns)
        return np.minimum(a - across, b - up) / 2.0

    room_mm = best_turned(rooms_mm)
    found = roomiest(OUTLINES[name], moved(box(0, 0, a, b), 3, 3, 71), mirror=False)
    assert found.proven
    assert found.clearance.value_mm == pytest.approx(room_mm, abs=2e-3)
    assert room_mm - 1e-6 <= found.upper_bound_mm <= found.clearance.value_mm + PROVEN_GAP_MM


def test_a_margin_is_as_steel_moved_in() -> None:
    """A square keeps 2 mm in a triangle whose inner circle is 2 mm larger: sides move by it."""
    inner = regular(3, SIDE_MM / math.sqrt(3))
    outer = regular(3, SIDE_MM / math.sqrt(3) + 4.0)  # the corners go twice as far out
    assert inner.buffer(2.0, join_style="mitre").symmetric_difference(outer).area < 1e-6
    proves(polygon(4), outer, SIDE_MM * (2 * math.sqrt(3) - 3), margin_mm=2.0)
