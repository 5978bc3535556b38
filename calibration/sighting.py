"""What is seen on a picture: the references and the map by them, and the edge of the piece."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from calibration.calibrate import Calibration, calibrate
from calibration.contour import Contour, find_contour
from calibration.cores import beside
from calibration.desk import Asked
from calibration.faults import explained
from calibration.ink import Ink, find_ink
from calibration.mat_cleared import Cleared, cleared
from calibration.mat_marks import find_mat
from calibration.photo import Photo
from calibration.piece import Subject
from calibration.references import CrossReference, MatReference, Place, Reference, SheetReference
from calibration.sheet_edges import SheetEdges, find_sheet_edges
from calibration.steel import find_steel
from calibration.steel_rough import Thing, find_thing
from calibration.subpixel import Edge

Points = NDArray[np.float64]

RIM_MM = 1.0  # of the sheet left out: its cut edge, and the shadow under it
RIM_SHARE = 0.004  # of a sheet's long side: about as much, before it is measured


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sighting:
    """A picture in which the references were found.

    Parameters
    ----------
    whole, photo : Photo
        As it was taken; without the printing of the mat, if it shows one.
    bare : Cleared, optional
        What was done to clear the mat.
    ink : Ink
        Of the bare picture, within the sheet's edges.
    calibration : Calibration
    thing : Future of Thing, optional
        What lies on the sheet, if steel is to be measured.
    """

    whole: Photo
    photo: Photo
    bare: Cleared | None
    ink: Ink
    calibration: Calibration
    thing: Future[Thing | None] | None


def sighted(
    photo: Photo,
    references: Sequence[Reference],
    *,
    recognise_sheet: bool,
    subject: Subject,
    inside_px: tuple[float, float] | None,
    step: Callable[[float], None],
    stop: Callable[[], bool] | None,
) -> Sighting:
    """Return the picture with its map."""
    with explained(photo):
        mat = find_mat(photo) if any(isinstance(r, MatReference) for r in references) else None
    bare = None if mat is None else cleared(photo, mat)
    shown = photo if bare is None else bare.photo
    step(0.1)
    edges = _edges_beside(shown, Asked.sorted_out(references).wants_edges(recognise_sheet))
    ink = find_ink(shown)
    step(0.2)
    thing = None
    if subject == "steel":
        thing = beside(find_thing, shown, _within_edges(ink, edges), inside_px)
    with explained(photo, ink if subject == "trace" else None, on_mat=mat is not None):
        calibration = calibrate(
            shown,
            ink,
            references,
            recognise_sheet=recognise_sheet,
            mat=mat,
            edges=edges,
            stop=stop,
        )
    step(0.6)
    within = _within_sheet(ink, calibration)
    if thing is not None and edges is not None and edges.result() is not None and within is ink:
        thing = beside(find_thing, shown, ink, inside_px)  # what looked like a sheet was none
    return Sighting(
        whole=photo, photo=shown, bare=bare, ink=within, calibration=calibration, thing=thing
    )


def _edges_beside(photo: Photo, wanted: bool) -> Future[SheetEdges | None] | None:
    """Return the sheet's edges to come, looked for beside the ink; None if they are not wanted."""
    if not wanted:
        return None
    _ = photo.small  # both look at it, and only one should make it
    return beside(find_sheet_edges, photo)


def outlined(seen: Sighting, *, inside_px: tuple[float, float] | None, edge: Edge) -> Contour:
    """Return the edge of the piece in the picture."""
    drawn = seen.ink if seen.thing is None else None
    with explained(seen.whole, drawn, on_mat=seen.bare is not None):
        if seen.thing is None:
            return _traced(seen, inside_px=inside_px, edge=edge)
        unseen = None if seen.bare is None else seen.bare.filled
        thing = seen.thing.result()
        return find_steel(seen.photo, seen.ink, thing, inside_px=inside_px, unseen=unseen)


def _within_sheet(ink: Ink, calibration: Calibration) -> Ink:
    """Return the ink on the sheet where its edges are known: what lies beyond them is none."""
    sheets = [f for f in calibration.found if isinstance(f.reference, SheetReference)]
    if not sheets:
        return ink
    width, height = sheets[0].measured_mm
    rim = Polygon([(0, 0), (width, 0), (width, height), (0, height)]).buffer(-RIM_MM)
    if rim.is_empty:
        return ink
    ring = calibration.map.to_px(shapely.get_coordinates(shapely.segmentize(rim, 20.0)))
    return _within(ink, ring)


def _within_edges(ink: Ink, edges: Future[SheetEdges | None] | None) -> Ink:
    """Return the ink within what looks like a sheet's edges, if anything does."""
    seen = None if edges is None else edges.result()
    if seen is None:
        return ink
    sides = [side for side in seen.sides_px if len(side)]  # they end short of the corners
    sheet = Polygon(np.vstack([seen.corners_px, *sides]))
    longest = max(np.ptp(seen.corners_px, axis=0))
    rim = sheet.convex_hull.buffer(-RIM_SHARE * float(longest))
    return _within(ink, shapely.get_coordinates(rim)) if isinstance(rim, Polygon) else ink


def _within(ink: Ink, ring_px: Points) -> Ink:
    """Return the ink within a ring."""
    within = np.zeros(ink.mask.shape, np.uint8)
    cv2.fillPoly(within, [np.rint(ink.cells(ring_px)).astype(np.int32)], 1)
    on_it = within > 0
    return dataclasses.replace(ink, mask=ink.mask & on_it, sheet=ink.sheet & on_it)


def _traced(seen: Sighting, *, inside_px: tuple[float, float] | None, edge: Edge) -> Contour:
    """Return the edge of the trace; the references and a frame along the sheet's edges are none."""
    drawn: list[tuple[Place, ...]] = []
    for found in seen.calibration.found:
        crossing = isinstance(found.reference, CrossReference)
        drawn += found.lines_px if crossing else [found.points_px]
    middle = (seen.photo.width_px / 2, seen.photo.height_px / 2)
    return find_contour(
        seen.photo,
        seen.ink,
        inside_px=inside_px,
        edge=edge,
        avoid_px=[np.asarray(places, float) for places in drawn],
        mm_per_px=seen.calibration.map.mm_per_px(inside_px or middle),
    )
