"""The references of a sheet as they were found, in words and numbers for people."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.adjustment import Adjusted
from calibration.matched import Matched
from calibration.references import (
    PAPER_LABELS,
    CrossReference,
    LineReference,
    MatReference,
    RectangleReference,
    Reference,
    SheetReference,
)
from calibration.seen import PlacesSeen, SheetSeen
from calibration.sheet_map import SheetMap
from calibration.starts import box

Points = NDArray[np.float64]
Place = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundReference:
    """One reference as it was found.

    Parameters
    ----------
    reference : Reference
        What was asked for; for a recognised sheet the paper it was taken for.
    points_px : tuple of (x, y)
        Two ends of a line, four of crossing lines, or four corners from the lower left one on.
    measured_mm : tuple of float
        Its length or lengths, or width and height, through the finished map.
    residual_mm : float
        The largest difference between what was measured and what was given.
    name : str
        For people: "line 100 mm", "sheet Letter".
    """

    reference: Reference
    points_px: tuple[Place, ...]
    measured_mm: tuple[float, ...]
    residual_mm: float
    name: str

    @property
    def lines_px(self) -> tuple[tuple[Place, Place], ...]:
        """The lines between its points: one, two that cross, or the four sides of a box."""
        points = self.points_px
        if isinstance(self.reference, CrossReference) or len(points) == 2:
            return tuple((points[k], points[k + 1]) for k in range(0, len(points), 2))
        return tuple(zip(points, points[1:] + points[:1], strict=True))


def found_reference(one: Matched, sheet_map: SheetMap) -> FoundReference:
    """Return a drawn or printed reference as it was found, measured through the finished map."""
    measured: tuple[float, ...]
    if one.figures:
        points_px, measured, residual = _figure(one.figures[0], sheet_map)
    else:
        points_px = one.points_px
        true = [line.length_mm for line in one.lines]
        measured = tuple(math.dist(*sheet_map.to_mm(line.ends_px)) for line in one.lines)
        residual = max(abs(length - asked) for length, asked in zip(measured, true, strict=True))
    return FoundReference(
        reference=one.reference,
        points_px=_places(points_px),
        measured_mm=measured,
        residual_mm=residual,
        name=name_of(one.reference),
    )


def name_of(reference: Reference) -> str:
    """Return what to call a drawn or printed reference, for people."""
    match reference:
        case LineReference():
            return f"line {reference.length_mm:g} mm"
        case RectangleReference():
            return f"rectangle {reference.width_mm:g} x {reference.height_mm:g} mm"
        case CrossReference():
            return f"crossing lines {reference.first_mm:g} and {reference.second_mm:g} mm"
        case MatReference():
            return f"mat {PAPER_LABELS.get(reference.paper.lower(), '')}".rstrip()
    return f"sheet {reference.width_mm:.5g} x {reference.height_mm:.5g} mm"


def _figure(figure: PlacesSeen, sheet_map: SheetMap) -> tuple[Points, tuple[float, float], float]:
    """Return a figure's corners, px, its width and height as measured, and its worst place, mm."""
    true = figure.places_mm - figure.places_mm.mean(axis=0)
    seen = sheet_map.to_mm(figure.points_px)
    middle = seen.mean(axis=0)
    angle = np.angle(np.vdot(true @ (1.0, 1.0j), (seen - middle) @ (1.0, 1.0j)))
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    upright = (seen - middle) @ turn.T
    worst = float(np.hypot(*(upright - true).T).max())
    low, high = true.min(axis=0), true.max(axis=0)
    size = (high - low) * (upright * true).sum(axis=0) / (true**2).sum(axis=0)
    corners = figure.points_px
    if len(corners) != 4:
        corners = sheet_map.to_px(box(low, high) @ turn + middle)
    return corners, (float(size[0]), float(size[1])), worst


def found_sheet(
    reference: SheetReference, sheet: SheetSeen, paper: str | None, final: Adjusted
) -> FoundReference:
    """Return the sheet as it was found; `paper` is its name if it was recognised."""
    width, height = (float(v) for v in final.sides_mm)
    corners = final.map.to_px([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    return FoundReference(
        reference=reference,
        points_px=_places(corners),
        measured_mm=(width, height),
        residual_mm=max(abs(width - sheet.width_mm), abs(height - sheet.height_mm)),
        name=f"sheet {paper}" if paper else name_of(reference),
    )


def _places(points_px: Points) -> tuple[Place, ...]:
    return tuple((float(x), float(y)) for x, y in points_px)
