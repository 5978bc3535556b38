"""How far a measured plate is from the rendered one."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from calibration.capture import Capture, capture
from calibration.photo import Photo
from calibration.references import LineReference, SheetReference
from tests.calibration.steel_render import SteelScene

STEP_MM = 0.5  # between the places that are judged
ROUNDS = 12


@dataclass(frozen=True, kw_only=True)
class HoleScore:
    """One found hole beside the true one, mm: off centre, too wide by, edge off by at p95."""

    centre_mm: float
    wider_mm: float
    p95_mm: float


@dataclass(frozen=True, kw_only=True)
class SteelScore:
    """Errors of a measured plate, registered without scale."""

    p95_mm: float  # of the distance of the edges, both ways
    worst_mm: float
    bias_mm: float  # positive: larger than the steel
    covered: float  # share of places within two stated standard deviations
    holes: tuple[HoleScore, ...]
    missed_holes: int
    false_holes: int


def captured(scene: SteelScene, photo: Photo) -> Capture:
    """Measure a rendered photo, told what a maker would tell."""
    width_mm, height_mm = scene.sheet_mm
    return capture(
        photo,
        [
            LineReference(length_mm=scene.length_mm),
            SheetReference(width_mm=width_mm, height_mm=height_mm),
        ],
        subject="steel",
        thickness_mm=scene.thickness_mm,
    )


def scored(scene: SteelScene, found: Capture) -> SteelScore:
    """Return the errors of a measured plate."""
    shape = _laid_on(scene, found)
    true, rim = scene.plate.exterior, shape.exterior
    along = shapely.points(_dense(rim))
    off = shapely.distance(along, true)
    both = np.concatenate([off, shapely.distance(shapely.points(_dense(true)), rim)])
    vertices = shapely.get_coordinates(rim)[:-1]
    nearest = shapely.STRtree(shapely.points(vertices)).nearest(along)
    sigma = np.array(found.billet.vertex_sigma_mm)[nearest]
    area = Polygon(rim).area - Polygon(true).area
    holes, missed, false = _holes(scene.plate, shape)
    return SteelScore(
        p95_mm=float(np.quantile(both, 0.95)),
        worst_mm=float(both.max()),
        bias_mm=area / true.length,
        covered=float(np.mean(off <= 2.0 * sigma)),
        holes=holes,
        missed_holes=missed,
        false_holes=false,
    )


def _laid_on(scene: SteelScene, found: Capture) -> Polygon:
    """Return the measured plate, turned and shifted onto the true one."""
    top = dataclasses.replace(scene.camera, height_mm=scene.thickness_mm)
    true = shapely.get_coordinates(scene.plate.exterior)
    plane = found.calibration.map.raised(scene.thickness_mm)
    turn, shift = _rigid(plane.to_mm(top.to_px(true)), true)
    shape = shapely.transform(found.billet.shape, lambda points: points @ turn + shift)
    for _ in range(ROUNDS):
        places = _dense(shape.exterior)
        at = shapely.line_locate_point(scene.plate.exterior, shapely.points(places))
        onto = shapely.get_coordinates(shapely.line_interpolate_point(scene.plate.exterior, at))
        turn, shift = _rigid(places, onto)
        shape = shapely.transform(shape, lambda points: points @ turn + shift)  # noqa: B023
    return shape


def _rigid(points: np.ndarray, onto: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    a, b = points - points.mean(axis=0), onto - onto.mean(axis=0)
    u, _, vt = np.linalg.svd(a.T @ b)
    turn = u @ np.diag([1.0, np.sign(np.linalg.det(u @ vt))]) @ vt
    return turn, onto.mean(axis=0) - points.mean(axis=0) @ turn


def _dense(ring: shapely.LinearRing) -> np.ndarray:
    return shapely.get_coordinates(shapely.segmentize(ring, STEP_MM))[:-1]


def _holes(true: Polygon, found: Polygon) -> tuple[tuple[HoleScore, ...], int, int]:
    """Return the scores of the holes found, how many were missed, how many are none."""
    left = [Polygon(ring) for ring in found.interiors]
    scores = []
    for hole in map(Polygon, true.interiors):
        own = [each for each in left if each.intersects(hole.centroid)]
        if not own:
            continue
        left = [each for each in left if each is not own[0]]
        wide, known = (np.sqrt(4.0 * each.area / np.pi) for each in (own[0], hole))
        off = shapely.distance(shapely.points(_dense(own[0].exterior)), hole.exterior)
        scores.append(
            HoleScore(
                centre_mm=own[0].centroid.distance(hole.centroid),
                wider_mm=float(wide - known),
                p95_mm=float(np.quantile(off, 0.95)),
            )
        )
    return tuple(scores), len(true.interiors) - len(scores), len(left)
