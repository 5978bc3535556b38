"""Sentences for the maker about a finished capture."""

from __future__ import annotations

import numpy as np

from calibration.calibrate import Calibration
from calibration.contour import Contour
from calibration.ink import Ink
from calibration.photo import Photo
from calibration.piece import Piece
from calibration.shade import looks_like_steel

SOFT_PX = 1.4  # spread of an edge; what is in focus has 0.6 to 1.1
LEAST_SHIFT_MM = 0.005  # less is told as nothing
TOLD_GAPS = 4  # one by one; a maker looks at the picture for more


def bridge_notes(contour: Contour, calibration: Calibration) -> tuple[str, ...]:
    """Return how long each bridged gap of the trace was, and where it is in the picture."""
    gaps = []
    for way in contour.bridges_px:
        length_mm = float(np.hypot(*np.diff(calibration.map.to_mm(way), axis=0).T).sum())
        x_px, y_px = way.mean(axis=0)
        gaps.append((length_mm, f"{length_mm:.1f} mm at pixel {x_px:.0f},{y_px:.0f}"))
    gaps.sort(reverse=True)
    if not gaps:
        return ()
    if len(gaps) == 1:
        return (f"A gap in the trace was bridged: {gaps[0][1]}; see it in the picture.",)
    told = ", ".join(place for _, place in gaps[:TOLD_GAPS])
    more = f", and {len(gaps) - TOLD_GAPS} shorter" if len(gaps) > TOLD_GAPS else ""
    return (f"{len(gaps)} gaps in the trace were bridged: {told}{more}; see them in the picture.",)


def shade_notes(
    photo: Photo, ink: Ink, contour: Contour, calibration: Calibration
) -> tuple[str, ...]:
    """Return a warning where what was measured as a trace seems to be the steel itself."""
    x_px, y_px = contour.outer_px.mean(axis=0).tolist()
    mm_per_px = calibration.map.mm_per_px((x_px, y_px))
    if not looks_like_steel(photo, ink, contour.outer_px, mm_per_px):
        return ()
    return (
        "The piece is much darker than the paper round it. If the photo shows the steel itself, "
        "measure it with --subject steel and its thickness: as a trace it comes out too large.",
    )


def blur_notes(piece: Piece) -> tuple[str, ...]:
    """Return a warning where the picture is blurred, with what that does to a trace."""
    if piece.blur is None or float(np.median(piece.blur.spread_px)) < SOFT_PX:
        return ()
    told = (
        "The picture is blurred: the piece's edge is spread over at least "
        f"{2 * piece.spread_mm:.1f} mm."
    )
    again = "Photograph it again, in focus and held still."
    if piece.blur_shift_mm < LEAST_SHIFT_MM:
        return (f"{told} {again}",)
    return (
        f"{told} That hides how wide the line is, and moves its inner side in by about "
        f"{piece.blur_shift_mm:.2f} mm, which the doubt counts. {again}",
    )


def thickness_notes(calibration: Calibration, thickness_mm: float | None) -> tuple[str, ...]:
    """Return how the steel's nearer top face was allowed for."""
    height_mm = calibration.height_mm
    if not thickness_mm:
        return (
            "The steel's thickness is not told: its top looks larger than it is, and sides that "
            "are seen are counted in. Measure it with calipers and tell it.",
        )
    if height_mm is None:
        return (
            "How high the camera stood is not known well: the correction for the steel's "
            "thickness is a guess from the picture's angle.",
        )
    percent = 100.0 * thickness_mm / height_mm
    return (
        f"The top face lies {thickness_mm:.2f} mm nearer to the lens, which stood "
        f"{height_mm:.0f} mm above the paper: {percent:.1f} % were taken off.",
    )
