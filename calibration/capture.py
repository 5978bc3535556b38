"""The whole way from a photo to the piece of steel in true size."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from calibration.blur_doubt import blur_along
from calibration.calibrate import Calibration
from calibration.calipers import Check
from calibration.contour import Contour
from calibration.photo import Photo
from calibration.piece import Piece, Subject, nearest
from calibration.references import Reference
from calibration.remarks import blur_notes, bridge_notes, shade_notes, thickness_notes
from calibration.sighting import Sighting, outlined, sighted
from calibration.simplify import simplified
from calibration.steel_holes import with_holes
from calibration.subpixel import Edge
from calibration.trace_offset import Corrected, OffsetTold, corrected
from geometry.billet import Billet
from geometry.error_budget import Budget
from geometry.errors import Cancelled, InputError
from geometry.stand_off import Offset

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
    _require_within(photo, inside_px, subject)
    seen = sighted(
        photo,
        references,
        recognise_sheet=recognise_sheet,
        subject=subject,
        inside_px=inside_px,
        step=step,
        stop=stop,
    )
    contour = outlined(seen, inside_px=inside_px, edge=edge)
    step(0.9)
    piece = _piece(seen, contour, subject, thickness_mm)
    settled = corrected(piece, told, thickness_mm=thickness_mm, edge=edge)
    billet = _billet(piece, settled, thickness_mm)
    step(1.0)
    return Capture(
        billet=billet,
        calibration=seen.calibration,
        contour=_as_seen(piece, billet, settled.offset),
        edge=edge,
        subject=subject,
        offset=settled.offset,
        checks=settled.checks,
        budget=settled.budget,
        notes=_notes(seen, piece, settled, thickness_mm),
    )


def _piece(seen: Sighting, contour: Contour, subject: Subject, thickness_mm: float | None) -> Piece:
    """Return the piece in true size, of steel with its holes."""
    raised_mm = 0.0
    if subject == "steel":
        raised_mm = thickness_mm or 0.0
        contour = with_holes(seen.photo, contour, seen.calibration.map, raised_mm)
    return Piece.of(
        contour,
        seen.calibration.map,
        raised_mm=raised_mm,
        subject=subject,
        blur=blur_along(seen.photo, contour.outer_px),
    )


def _notes(
    seen: Sighting, piece: Piece, settled: Corrected, thickness_mm: float | None
) -> tuple[str, ...]:
    """Return what the maker should know."""
    if piece.subject == "steel":
        special = thickness_notes(seen.calibration, thickness_mm)
    else:
        special = shade_notes(seen.photo, seen.ink, piece.contour, seen.calibration)
    return (
        *seen.calibration.notes,
        *piece.contour.notes,
        *bridge_notes(piece.contour, seen.calibration),
        *settled.notes,
        *special,
        *blur_notes(piece),
    )


def _require_within(photo: Photo, place_px: tuple[float, float] | None, subject: Subject) -> None:
    x, y = place_px or (0.0, 0.0)
    if not (-0.5 <= x <= photo.width_px - 0.5 and -0.5 <= y <= photo.height_px - 0.5):
        place = "on the steel" if subject == "steel" else "inside the trace"
        raise InputError(
            f"the pixel {x:g},{y:g} lies outside the picture, which has {photo.width_px} x "
            f"{photo.height_px}.",
            where="Steel" if subject == "steel" else "Trace",
            remedy=f"Point {place}, in pixels of the upright picture.",
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


def _billet(piece: Piece, settled: Corrected, thickness_mm: float | None) -> Billet:
    """Return the simplified piece with the doubt of each vertex, and what it may be off by.

    Map, edge of the ink, hand or plate's side, and what was taken off add in squares.
    """
    simple = simplified(settled.shape)
    rings = [simple.exterior, *simple.interiors]
    vertices = np.vstack([shapely.get_coordinates(ring)[:-1] for ring in rings])
    each = np.hypot(piece.edge_sigma_mm(simple), piece.ink_sigma_mm(vertices))
    each = np.hypot(each, piece.blur_sigma_mm(vertices))
    if settled.untold_top is not None:
        each = np.hypot(each, settled.untold_top.uneven_sigma_mm(vertices))
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
