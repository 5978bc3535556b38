"""Sentences for the maker about a finished capture."""

from __future__ import annotations

import numpy as np

from calibration.calibrate import Calibration
from calibration.contour import Contour
from calibration.ink import Ink
from calibration.photo import Photo
from calibration.shade import looks_like_steel


def bridge_notes(contour: Contour, calibration: Calibration) -> tuple[str, ...]:
    """Return how many gaps of the trace were bridged, and how long the longest was."""
    lengths = [
        float(np.hypot(*np.diff(calibration.map.to_mm(way), axis=0).T).sum())
        for way in contour.bridges_px
    ]
    if not lengths:
        return ()
    gaps, were = ("A gap", "was") if len(lengths) == 1 else (f"{len(lengths)} gaps", "were")
    return (f"{gaps} in the trace {were} bridged, the longest {max(lengths):.1f} mm.",)


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


def thickness_notes(calibration: Calibration, thickness_mm: float | None) -> tuple[str, ...]:
    """Return how the steel's nearer top face was allowed for."""
    height_mm = calibration.height_mm
    if not thickness_mm:
        return (
            "The steel's thickness is not given: its top looks larger than it is, "
            "and sides that are seen are counted in.",
        )
    if height_mm is None:
        return (
            "How high the camera stood is not known well: the correction for the steel's "
            "thickness is a guess from the picture's angle.",
        )
    percent = 100.0 * thickness_mm / height_mm
    return (
        f"The top face lies {thickness_mm:g} mm nearer to the lens, which stood {height_mm:.0f} mm "
        f"above the paper: {percent:.1f} % were taken off.",
    )
