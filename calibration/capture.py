"""The whole way from a photo to the piece of steel in true size."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from calibration.calibrate import Calibration, calibrate
from calibration.contour import Contour, find_contour
from calibration.errors import PhotoError
from calibration.ink import Ink, find_ink
from calibration.photo import Photo
from calibration.references import Reference, SheetReference
from calibration.remarks import bridge_notes, shade_notes, thickness_notes
from calibration.sheet_map import SheetMap
from calibration.simplify import simplified
from calibration.steel import find_steel
from calibration.subpixel import Edge
from calibration.top_face import largest, top_face
from geometry.billet import Billet
from geometry.errors import Cancelled

Points = NDArray[np.float64]
Subject = Literal["trace", "steel"]

HAND_MM = 0.05  # a hand leads a pen along steel to about this, one standard deviation
SIDE_MM = 0.10  # a plate's rounded and slanting sides, the same
RIM_MM = 1.0  # of the sheet left out: its cut edge, and the shadow under it
MIN_PIECE_MM = 5.0  # a smaller one is a letter or a smudge


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Capture:
    """A measured piece and what it was measured from.

    Parameters
    ----------
    billet : Billet
        The piece with the uncertainty of each vertex.
    calibration : Calibration
        The map of the photo.
    contour : Contour
        The edge in the picture.
    edge : {"inner", "middle", "outer"}
        The side of the stroke taken for the steel.
    subject : {"trace", "steel"}
        What was measured.
    notes : tuple of str
        What the maker should know.
    """

    billet: Billet
    calibration: Calibration
    contour: Contour
    edge: Edge
    subject: Subject
    notes: tuple[str, ...]


def capture(
    photo: Photo,
    references: Sequence[Reference],
    *,
    inside_px: tuple[float, float] | None = None,
    edge: Edge = "inner",
    subject: Subject = "trace",
    thickness_mm: float | None = None,
    recognise_sheet: bool = True,
    progress: Callable[[float], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Capture:
    """Measure the piece of steel on a photo.

    Parameters
    ----------
    photo : Photo
        The upright picture.
    references : sequence of Reference
        Things of known size on the sheet.
    inside_px : tuple of float, optional
        A pixel within the piece; found by itself if left out.
    edge : {"inner", "middle", "outer"}
        Which side of the stroke is the steel.
    subject : {"trace", "steel"}
        A trace, or the steel itself.
    thickness_mm : float, optional
        Of the steel; takes off the sides that are seen, and corrects for its nearer top.
    recognise_sheet : bool
        Whether the sheet's edges may be used although its size was not given.
    progress, stop : callable, optional
        Told the share done, 0..1; asked whether to stop.

    Raises
    ------
    PhotoError
        If the picture cannot be measured.
    InputError
        If the references cannot be used.
    Cancelled
        If `stop` said so.
    """
    step = _Steps(progress=progress, stop=stop)
    step(0.0)
    ink = find_ink(photo)
    step(0.2)
    calibration = calibrate(photo, ink, references, recognise_sheet=recognise_sheet, stop=stop)
    step(0.6)
    ink = _within_sheet(ink, calibration)
    if subject == "steel":
        contour = find_steel(photo, ink, inside_px=inside_px)
    else:
        contour = _traced(photo, ink, calibration, inside_px=inside_px, edge=edge)
    step(0.9)
    raised_mm = (thickness_mm or 0.0) if subject == "steel" else 0.0
    shape = simplified(_shape(contour, calibration.map, raised_mm, subject))
    billet = Billet(
        shape=shape,
        vertex_sigma_mm=_sigmas(shape, contour, calibration.map, raised_mm, subject),
        thickness_mm=thickness_mm,
    )
    step(1.0)
    return Capture(
        billet=billet,
        calibration=calibration,
        contour=_as_seen(contour, billet, calibration.map, raised_mm, subject),
        edge=edge,
        subject=subject,
        notes=(
            *calibration.notes,
            *contour.notes,
            *bridge_notes(contour, calibration),
            *(
                thickness_notes(calibration, thickness_mm)
                if subject == "steel"
                else shade_notes(photo, ink, contour, calibration)
            ),
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Steps:
    """Tells how far the work is, and ends it when asked."""

    progress: Callable[[float], None] | None
    stop: Callable[[], bool] | None

    def __call__(self, share: float) -> None:
        if self.stop is not None and self.stop():
            raise Cancelled
        if self.progress is not None:
            self.progress(share)


def _within_sheet(ink: Ink, calibration: Calibration) -> Ink:
    """Return the ink on the sheet where its edges are known: what lies beyond them is none."""
    sheets = [f for f in calibration.found if isinstance(f.reference, SheetReference)]
    if not sheets:
        return ink
    width, height = sheets[0].measured_mm
    rim = Polygon([(0, 0), (width, 0), (width, height), (0, height)]).buffer(-RIM_MM)
    ring = calibration.map.to_px(shapely.get_coordinates(shapely.segmentize(rim, 20.0)))
    within = np.zeros(ink.mask.shape, np.uint8)
    cv2.fillPoly(within, [np.rint(ring).astype(np.int32)], 1)
    on_it = within > 0
    return dataclasses.replace(ink, mask=ink.mask & on_it, sheet=ink.sheet & on_it)


def _traced(
    photo: Photo,
    ink: Ink,
    calibration: Calibration,
    *,
    inside_px: tuple[float, float] | None,
    edge: Edge,
) -> Contour:
    """Return the edge of the trace; the references and a frame along the sheet's edges are none."""
    avoid = tuple(np.asarray(found.points_px, float) for found in calibration.found)
    middle = (photo.width_px / 2, photo.height_px / 2)
    return find_contour(
        photo,
        ink,
        inside_px=inside_px,
        edge=edge,
        avoid_px=avoid,
        mm_per_px=calibration.map.mm_per_px(inside_px or middle),
    )


def _shape(contour: Contour, sheet_map: SheetMap, raised_mm: float, subject: Subject) -> Polygon:
    """Return the measured polygon, mm."""
    if subject == "steel":
        shape = top_face(contour.outer_px, sheet_map, raised_mm)
    else:
        shape = _polygon(sheet_map.to_mm(contour.outer_px))
        holes = [_polygon(sheet_map.to_mm(hole)) for hole in contour.holes_px]
        shape = largest(shapely.difference(shape, shapely.union_all(holes)))
    if shape.is_empty or min(_sides(shape)) < MIN_PIECE_MM:
        raise PhotoError(
            "what was taken for the piece is too small to be steel.",
            where="Trace",
            remedy="Check the reference's length, or point inside the piece with --inside X,Y.",
        )
    return shape


def _polygon(points: Points) -> Polygon:
    polygon = Polygon(points)
    return polygon if polygon.is_valid else largest(shapely.make_valid(polygon))


def _sides(shape: Polygon) -> tuple[float, float]:
    left, low, right, high = shape.bounds
    return right - left, high - low


def _sigmas(
    shape: Polygon, contour: Contour, sheet_map: SheetMap, raised_mm: float, subject: Subject
) -> tuple[float, ...]:
    """Return the uncertainty of each vertex: map, edge of the ink, and hand or side, in squares."""
    rings = [shape.exterior, *shape.interiors]
    vertices = np.vstack([shapely.get_coordinates(ring)[:-1] for ring in rings])
    plane = sheet_map.raised(raised_mm) if raised_mm else sheet_map
    places = plane.to_px(vertices)
    known = np.vstack([contour.outer_px, *contour.holes_px])
    sigma_px = np.concatenate([contour.sigma_px, *contour.hole_sigma_px])
    edge_mm = sigma_px[_nearest(places, known)] * _pitch_mm(plane, places)
    other_mm = SIDE_MM if subject == "steel" else HAND_MM
    total = np.sqrt(plane.sigma_mm(places) ** 2 + edge_mm**2 + other_mm**2)
    return tuple(float(each) for each in total)


def _nearest(places: Points, known: Points) -> NDArray[np.intp]:
    """Return, for each place, the index of the nearest known point."""
    tree = shapely.STRtree([shapely.Point(point) for point in known])
    return np.asarray(tree.nearest([shapely.Point(place) for place in places]), np.intp)


def _pitch_mm(plane: SheetMap, places: Points) -> NDArray[np.float64]:
    """Return millimetres per pixel at each place, the larger of the two directions."""
    here = plane.to_mm(places)
    steps = [np.hypot(*(plane.to_mm(places + step) - here).T) for step in ((1.0, 0.0), (0.0, 1.0))]
    return np.asarray(np.maximum(*steps))


def _as_seen(
    contour: Contour, billet: Billet, sheet_map: SheetMap, raised_mm: float, subject: Subject
) -> Contour:
    """Return the contour; of a plate, that of its top face instead of its silhouette."""
    if subject != "steel":
        return contour
    plane = sheet_map.raised(raised_mm) if raised_mm else sheet_map
    ring = shapely.get_coordinates(billet.shape.exterior)[:-1]
    outer = plane.to_px(ring)
    sigma = contour.sigma_px[_nearest(outer, contour.outer_px)]
    return dataclasses.replace(contour, outer_px=outer, sigma_px=sigma)
