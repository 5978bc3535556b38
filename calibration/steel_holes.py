"""Drilled holes in photographed steel: round rims in the top face.

Through a hole the paper is seen, or its far wall, lighter or darker than the steel; all of its rim
lies at the height of the top. A round rim is a hole only if nearly all of it is a sharp edge on
one circle: glints and rust are not that round.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import numpy as np
from shapely import Polygon

from calibration.contour import Contour
from calibration.photo import Photo
from calibration.round_rims import LARGEST_MM, SMALLEST_MM, Circle, TopPicture
from calibration.sheet_map import SheetMap
from calibration.top_face import top_face

DEVIATIONS = 2.0  # that a rim may lie farther in: no hole is cut that it would reach
LANDS_MM = 1.0  # of steel that is left round a hole, at least
SIGMA_MM = 0.15  # of a rim: it is broken, and the far wall shades it; one standard deviation
SURE_SHARE, LIKELY_SHARE = 0.9, 0.7  # of the rim that is seen as a sharp edge on the circle
ROUND_MM = 0.05  # root mean square of a rim's places off their circle


@dataclass(frozen=True, slots=True, kw_only=True)
class Holes:
    """Circles that are holes, and those that may be."""

    sure: tuple[Circle, ...]
    likely: tuple[Circle, ...]


def with_holes(photo: Photo, contour: Contour, sheet_map: SheetMap, thickness_mm: float) -> Contour:
    """Return a plate's contour with the holes drilled through it, and a note of those unsure.

    Parameters
    ----------
    photo : Photo
    contour : Contour
        The silhouette of the plate.
    sheet_map : SheetMap
        Of the paper.
    thickness_mm : float
        Of the plate, >= 0.
    """
    top = sheet_map.raised(thickness_mm)
    found = find_holes(photo, top, top_face(contour.outer_px, sheet_map, thickness_mm))
    sure = [one for one in found.sure if _is_within(one, contour, top)]
    likely = (*found.likely, *(one for one in found.sure if one not in sure))
    rings = tuple(top.to_px(one.ring_mm()) for one in sure)
    sigmas = tuple(
        np.full(len(ring), SIGMA_MM / top.mm_per_px((float(ring[0, 0]), float(ring[0, 1]))))
        for ring in rings
    )
    notes = tuple(_note(one, top) for one in likely)
    return dataclasses.replace(
        contour, holes_px=rings, hole_sigma_px=sigmas, notes=(*contour.notes, *notes)
    )


def _is_within(circle: Circle, contour: Contour, top: SheetMap) -> bool:
    """Return whether a circle is all steel wherever the doubtful rim of the steel lies."""
    middle = top.to_px([[circle.x_mm, circle.y_mm]])
    radius_px = circle.radius_mm / top.mm_per_px((float(middle[0, 0]), float(middle[0, 1])))
    off_px = np.hypot(*(contour.outer_px - middle).T)
    return bool(np.all(off_px - radius_px > DEVIATIONS * contour.sigma_px))


def _note(circle: Circle, top: SheetMap) -> str:
    (x_px, y_px), *_ = top.to_px([[circle.x_mm, circle.y_mm]])
    return (
        f"A round place {2 * circle.radius_mm:.1f} mm wide at pixel {x_px:.0f},{y_px:.0f} may be a "
        "hole; its rim, or the steel's edge beside it, is not clear: it was taken for steel."
    )


def find_holes(photo: Photo, top: SheetMap, face: Polygon) -> Holes:
    """Return the holes drilled through a plate.

    Parameters
    ----------
    photo : Photo
    top : SheetMap
        Of the plane that the plate's top face lies in.
    face : shapely.Polygon
        The top face, mm.
    """
    inner = face.buffer(-LANDS_MM)
    if inner.is_empty:
        return Holes(sure=(), likely=())
    picture = TopPicture.cut_out(photo, top, face)
    fitted = [picture.fitted(one) for one in picture.candidates(face)]
    whole = [one for one in fitted if one is not None and _fits(one, inner)]
    whole.sort(key=lambda one: -one.seen)
    kept: list[Circle] = []
    for one in whole:
        if all(math.hypot(one.x_mm - k.x_mm, one.y_mm - k.y_mm) > k.radius_mm for k in kept):
            kept.append(one)
    return Holes(
        sure=tuple(one for one in kept if _is_sure(one)),
        likely=tuple(one for one in kept if not _is_sure(one)),
    )


def _is_sure(circle: Circle) -> bool:
    """Return whether it is one circle: rim and far wall together are none, and less round."""
    return circle.seen >= SURE_SHARE and circle.sigma_mm <= ROUND_MM


def _fits(circle: Circle, inner: Polygon) -> bool:
    return (
        circle.seen >= LIKELY_SHARE
        and SMALLEST_MM <= 2.0 * circle.radius_mm <= LARGEST_MM
        and bool(inner.contains(Polygon(circle.ring_mm(24))))
    )
