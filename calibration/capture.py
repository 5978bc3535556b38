"""The whole way from a photo to the piece of steel in true size."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from shapely import Polygon

from calibration.calibrate import Calibration, calibrate
from calibration.calipers import Check
from calibration.contour import Contour, find_contour
from calibration.faults import blur_notes, explained
from calibration.ink import Ink, find_ink
from calibration.mat_cleared import cleared
from calibration.mat_marks import find_mat
from calibration.photo import Photo
from calibration.piece import Piece, Subject, nearest
from calibration.references import CrossReference, MatReference, Place, Reference, SheetReference
from calibration.remarks import bridge_notes, shade_notes, thickness_notes
from calibration.simplify import simplified
from calibration.steel import find_steel
from calibration.steel_holes import with_holes
from calibration.subpixel import Edge
from calibration.trace_offset import Corrected, OffsetTold, corrected
from calibration.untold_thickness import too_large
from geometry.billet import Billet
from geometry.error_budget import Budget
from geometry.errors import Cancelled, InputError
from geometry.stand_off import Offset

RIM_MM = 1.0  # of the sheet left out: its cut edge, and the shadow under it
NOTHING_TOLD = OffsetTold()


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
    offset : Offset
        What was taken off the trace all round.
    checks : tuple of Check
        Sizes of the steel against the piece.
    budget : Budget
        What the edge may be off by, and why.
    notes : tuple of str
        What the maker should know.
    """

    billet: Billet
    calibration: Calibration
    contour: Contour
    edge: Edge
    subject: Subject
    offset: Offset
    checks: tuple[Check, ...]
    budget: Budget
    notes: tuple[str, ...]

    @property
    def pen_offset(self) -> Offset | None:
        """What sizes of the steel tell that the pen stands off; None where nothing does."""
        if self.subject != "trace" or not self.checks:
            return None
        left = self.budget
        return Offset(
            value_mm=self.offset.value_mm + left.bias_mm,
            sigma_mm=math.hypot(self.offset.sigma_mm, left.bias_sigma_mm),
        )


def capture(
    photo: Photo,
    references: Sequence[Reference],
    *,
    inside_px: tuple[float, float] | None = None,
    edge: Edge = "inner",
    subject: Subject = "trace",
    thickness_mm: float | None = None,
    told: OffsetTold = NOTHING_TOLD,
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
    told : OffsetTold
        Sizes of the steel, which check the trace or correct it; what the pen stands off.
    recognise_sheet : bool
        Whether the sheet's edges may be used although its size was not given.
    progress, stop : callable, optional
        Told the share done, 0..1; asked whether to stop.

    Raises
    ------
    PhotoError
        If the picture cannot be measured.
    InputError
        If the references, the sizes or the pen cannot be used.
    Cancelled
        If `stop` said so.
    """
    step = _Steps(progress=progress, stop=stop)
    step(0.0)
    _require_within(photo, inside_px)
    with explained(photo):
        mat = find_mat(photo) if any(isinstance(r, MatReference) for r in references) else None
    bare = None if mat is None else cleared(photo, mat)
    photo = photo if bare is None else bare.photo
    step(0.1)
    ink = find_ink(photo)
    step(0.2)
    with explained(photo, drawn := ink if subject == "trace" else None):
        calibration = calibrate(
            photo, ink, references, recognise_sheet=recognise_sheet, mat=mat, stop=stop
        )
    step(0.6)
    ink = _within_sheet(ink, calibration)
    with explained(photo, drawn):
        if subject == "steel":
            contour = find_steel(
                photo, ink, inside_px=inside_px, unseen=None if bare is None else bare.filled
            )
        else:
            contour = _traced(photo, ink, calibration, inside_px=inside_px, edge=edge)
    step(0.9)
    raised_mm = (thickness_mm or 0.0) if subject == "steel" else 0.0
    if subject == "steel":
        contour = with_holes(photo, contour, calibration.map, raised_mm)
    piece = Piece.of(contour, calibration.map, raised_mm=raised_mm, subject=subject)
    settled = corrected(piece, told, thickness_mm=thickness_mm, edge=edge)
    billet = _billet(piece, settled, thickness_mm)
    step(1.0)
    return Capture(
        billet=billet,
        calibration=calibration,
        contour=_as_seen(piece, billet, settled.offset),
        edge=edge,
        subject=subject,
        offset=settled.offset,
        checks=settled.checks,
        budget=settled.budget,
        notes=(
            *calibration.notes,
            *contour.notes,
            *bridge_notes(contour, calibration),
            *settled.notes,
            *(
                thickness_notes(calibration, thickness_mm)
                if subject == "steel"
                else (
                    *shade_notes(photo, ink, contour, calibration),
                    *blur_notes(photo, ink, calibration.map),
                )
            ),
        ),
    )


def _require_within(photo: Photo, place_px: tuple[float, float] | None) -> None:
    x, y = place_px or (0.0, 0.0)
    if not (-0.5 <= x <= photo.width_px - 0.5 and -0.5 <= y <= photo.height_px - 0.5):
        raise InputError(
            f"the pixel {x:g},{y:g} lies outside the picture, which has {photo.width_px} x "
            f"{photo.height_px}.",
            where="Trace",
            remedy="Point inside the piece, in pixels of the upright picture.",
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
    if rim.is_empty:
        return ink
    ring = calibration.map.to_px(shapely.get_coordinates(shapely.segmentize(rim, 20.0)))
    within = np.zeros(ink.mask.shape, np.uint8)
    cv2.fillPoly(within, [np.rint(ink.cells(ring)).astype(np.int32)], 1)
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
    drawn: list[tuple[Place, ...]] = []
    for found in calibration.found:
        crossing = isinstance(found.reference, CrossReference)
        drawn += found.lines_px if crossing else [found.points_px]
    middle = (photo.width_px / 2, photo.height_px / 2)
    return find_contour(
        photo,
        ink,
        inside_px=inside_px,
        edge=edge,
        avoid_px=[np.asarray(places, float) for places in drawn],
        mm_per_px=calibration.map.mm_per_px(inside_px or middle),
    )


def _billet(piece: Piece, settled: Corrected, thickness_mm: float | None) -> Billet:
    """Return the simplified piece with the doubt of each vertex, and what it may be off by.

    Map, edge of the ink, hand or plate's side, and what was taken off add in squares.
    """
    simple = simplified(settled.shape)
    rings = [simple.exterior, *simple.interiors]
    vertices = np.vstack([shapely.get_coordinates(ring)[:-1] for ring in rings])
    each = np.hypot(piece.edge_sigma_mm(simple), piece.ink_sigma_mm(vertices))
    if piece.subject == "steel" and thickness_mm is None:
        each = np.hypot(each, too_large(piece).uneven_sigma_mm(vertices))
    sigmas = np.hypot(each, math.hypot(piece.hand_sigma_mm, settled.even_sigma_mm))
    return Billet(
        shape=simple,
        vertex_sigma_mm=tuple(sigmas.tolist()),
        thickness_mm=thickness_mm,
        budget=settled.budget,
    )


def _as_seen(piece: Piece, billet: Billet, offset: Offset) -> Contour:
    """Return the contour as the billet has it: of a plate its top, of a trace what was left."""
    if piece.subject == "trace" and offset.value_mm == 0.0:
        return piece.contour
    outer, *holes = (
        piece.plane.to_px(shapely.get_coordinates(ring)[:-1])
        for ring in (billet.shape.exterior, *billet.shape.interiors)
    )
    known = np.vstack([piece.contour.outer_px, *piece.contour.holes_px])
    sigma_px = np.concatenate([piece.contour.sigma_px, *piece.contour.hole_sigma_px])
    return dataclasses.replace(
        piece.contour,
        outer_px=outer,
        holes_px=tuple(holes),
        sigma_px=sigma_px[nearest(outer, known)],
        hole_sigma_px=tuple(sigma_px[nearest(hole, known)] for hole in holes),
    )
