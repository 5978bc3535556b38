"""A traced knife or a drawn design, photographed, becomes an outline within the stated doubt."""

import json
import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from scipy.optimize import minimize
from shapely import Polygon

from app.document.measured_outline import outline_of_billet, taken_off_sentence, tolerance_mm
from calibration.capture import Capture, capture
from calibration.photo import load_photo
from calibration.references import LineReference, SheetReference
from geometry.billet import Billet
from geometry.error_budget import Budget, Part
from geometry.family import family_named
from geometry.knife_parts import Pointed, parts_of
from geometry.outline import Outline, outline_from_rings
from geometry.pose import Pose
from tests.calibration.render import Camera, Mark, Scene, ruled_line
from tests.geometry.shapes import knife

PEN_MM = 0.5
LETTER = SheetReference(width_mm=279.4, height_mm=215.9)  # ANSI/ASME Y14.1 size A
LINE = LineReference(length_mm=100.0)


def traced(steel: Polygon) -> list[Mark]:
    """The pen runs outside the steel and inside its holes, half its width off."""
    outer = steel.buffer(PEN_MM / 2, quad_segs=32).exterior
    inner = [Polygon(ring).buffer(-PEN_MM / 2, quad_segs=16).exterior for ring in steel.interiors]
    return [Mark(points_mm=tuple(ring.coords), width_mm=PEN_MM) for ring in (outer, *inner)]


def drawn(steel: Polygon) -> list[Mark]:
    """The pen runs on the line itself."""
    rings = (steel.exterior, *steel.interiors)
    return [Mark(points_mm=tuple(ring.coords), width_mm=PEN_MM) for ring in rings]


def photographed(outline: Outline, *, on_the_line: bool, tilt_deg: float) -> Capture:
    lies = Pose(x_mm=170.0, y_mm=120.0, theta_rad=math.radians(7))
    steel = lies.shape(outline.polygon())
    camera = Camera(size_px=(2800, 2100), focal_px=2100, tilt_deg=tilt_deg, azimuth_deg=40)
    marks = drawn(steel) if on_the_line else traced(steel)
    scene = Scene(marks=[*marks, *ruled_line((60, 30), (160, 30))], camera=camera)
    edge = "middle" if on_the_line else "inner"
    return capture(scene.photo(), [LINE, LETTER], edge=edge)


def apart_mm(found: Outline, true: Outline) -> np.ndarray:
    """Distances of the found edge from the true one, laid on it by turning and shifting alone."""
    edge = shapely.segmentize(found.polygon().exterior, 0.5)
    points, there = shapely.get_coordinates(edge), true.polygon().exterior

    def distances(move: np.ndarray) -> np.ndarray:
        cos, sin = np.cos(move[0]), np.sin(move[0])
        turned = points @ np.array([[cos, sin], [-sin, cos]]) + move[1:]
        return np.asarray(shapely.distance(shapely.points(turned), there))

    best = minimize(
        lambda move: float((distances(move) ** 2).sum()),
        np.zeros(3),
        method="Nelder-Mead",
        options={"xatol": 1e-5, "fatol": 1e-8, "maxiter": 4000},
    )
    return distances(best.x)


@pytest.mark.parametrize("on_the_line", [False, True], ids=["traced knife", "drawn design"])
def test_a_known_shape_comes_back_within_the_doubt_that_is_stated(on_the_line: bool) -> None:
    true = family_named("drop point").outline()
    measured = photographed(true, on_the_line=on_the_line, tilt_deg=6.0)
    found = outline_of_billet(measured.billet, name="traced")
    off = apart_mm(found, true)
    stated = 2.0 * float(np.median(measured.billet.vertex_sigma_mm))
    assert np.quantile(off, 0.95) < min(stated, 0.1)
    assert sorted(hole.diameter_mm for hole in found.holes) == pytest.approx(
        sorted(hole.diameter_mm for hole in true.holes), abs=0.1
    )
    assert not found.cutouts
    places = {station.name: (station.x_mm, station.y_mm) for station in found.stations}
    known = {station.name: (station.x_mm, station.y_mm) for station in true.stations}
    heel_to_tip = math.dist(known["heel"], known["tip"])  # rounded by the pen: within its width
    assert math.dist(places["heel"], places["tip"]) == pytest.approx(heel_to_tip, abs=1.2)


def test_lines_and_arcs_are_as_fine_as_the_measure() -> None:
    count = len(Billet(shape=knife()).vertices_mm())
    for sigma_mm, expected in ((0.001, 0.05), (0.08, 0.08), (0.4, 0.15)):
        billet = Billet(shape=knife(), vertex_sigma_mm=(sigma_mm,) * count)
        assert tolerance_mm(billet) == pytest.approx(expected)
    assert tolerance_mm(Billet(shape=knife())) == pytest.approx(0.05)


@pytest.mark.parametrize("name", ["p02_a4_trapezoid_100mm", "p07_a4_drilled_grid"])
def test_a_photographed_trace_stays_within_the_stated_doubt(shared: Path, name: str) -> None:
    """Photos whose true edge and holes are known: the outline is as near as the doubt says."""
    truth = json.loads((shared / "photos" / f"{name}.truth.json").read_text())
    [line] = truth["references"]
    reference = LineReference(length_mm=line["length_mm"])
    measured = capture(load_photo(shared / "photos" / f"{name}.jpg"), [reference]).billet
    found = outline_of_billet(measured, name="traced")
    true = Polygon(truth["steel"])
    known = [math.sqrt(4.0 * Polygon(hole).area / math.pi) for hole in truth["holes"]]
    assert sorted(hole.diameter_mm for hole in found.holes) == pytest.approx(sorted(known), abs=0.1)
    parts = parts_of(true, Pointed())  # the truth in the outline frame by the same proposal
    there = parts.pose().shape(true)
    off = apart_mm(found, outline_from_rings("true", there.exterior.coords))
    assert np.quantile(off, 0.95) < 2.0 * float(np.median(measured.vertex_sigma_mm))


def test_a_copy_has_the_knife_s_size_where_the_stand_off_is_known() -> None:
    """By hand: a bar of 200 x 30 with a hole of 10, traced 0.6 mm outside of 4 mm steel.

    The trace is 201.2 x 31.2, its hole 8.8; 0.6 give or take 0.32 is what 4 mm of steel does.
    """
    ring = shapely.Point(60.0, 15.0).buffer(4.4, quad_segs=64).exterior.coords
    trace = Polygon(shapely.box(-0.6, -0.6, 200.6, 30.6).exterior.coords, [ring])
    told = Budget(parts=(Part(name="pen", bias_mm=0.6, sigma_mm=0.32),))
    untold = Budget(parts=(Part(name="pen", bias_mm=0.5, sigma_mm=0.5),))

    def sizes(budget: Budget, as_traced: bool | None = None) -> tuple[float, float, float]:
        found = outline_of_billet(
            Billet(shape=trace, budget=budget), name="bar", as_traced=as_traced
        )
        (a, b, c), [hole] = found.ring()[:3], found.holes  # it lies by its corners, askew
        long, short = sorted((math.dist(a, b), math.dist(b, c)), reverse=True)
        return long, short, hole.diameter_mm

    taken, left = (taken_off_sentence(Billet(shape=trace, budget=b)) for b in (told, untold))
    assert taken == "The trace is likely 0.60 mm too large all round: that is taken off."
    assert left.startswith("The trace is likely 0.50 mm too large all round: that stays on")
    assert taken_off_sentence(Billet(shape=trace)) == ""
    assert sizes(told) == pytest.approx((200.0, 30.0, 10.0), abs=0.02)
    assert sizes(told, as_traced=True) == pytest.approx((201.2, 31.2, 8.8), abs=0.02)
    assert sizes(untold) == pytest.approx((201.2, 31.2, 8.8), abs=0.02)
    assert sizes(untold, as_traced=False) == pytest.approx((200.2, 30.2, 9.8), abs=0.02)
