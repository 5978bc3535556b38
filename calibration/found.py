"""The references of a sheet as they were found, in words and numbers for people."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.adjustment import Adjusted
from calibration.matching import MatchedLine
from calibration.references import (
    LineReference,
    RectangleReference,
    Reference,
    SheetReference,
)
from calibration.seen import FrameSeen, SheetSeen
from calibration.sheet_map import SheetMap

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
        Two ends of a line, or four corners from the lower left one on.
    measured_mm : tuple of float
        Its length, or width and height as seen, through the finished map.
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


def found_references(
    asked: Sequence[Reference],
    matched: tuple[MatchedLine, ...],
    frame: FrameSeen | None,
    sheet: SheetSeen | None,
    paper: str | None,
    final: Adjusted,
) -> tuple[FoundReference, ...]:
    """Return each asked reference as it was found, and the sheet that was recognised, last."""
    lines = iter(matched)
    found = []
    for reference in asked:
        if isinstance(reference, LineReference):
            found.append(_found_line(next(lines), final.map))
        elif isinstance(reference, RectangleReference) and frame is not None:
            found.append(_found_frame(reference, frame, final.map))
        elif isinstance(reference, SheetReference) and sheet is not None:
            found.append(_found_sheet(reference, sheet, paper, final))
    if sheet is not None and not any(isinstance(r, SheetReference) for r in asked):
        guess = SheetReference(width_mm=sheet.width_mm, height_mm=sheet.height_mm)
        found.append(_found_sheet(guess, sheet, paper, final))
    return tuple(found)


def _found_line(line: MatchedLine, sheet_map: SheetMap) -> FoundReference:
    ends = sheet_map.to_mm(line.seen.ends_px)
    length = math.dist(ends[0], ends[1])
    return FoundReference(
        reference=line.reference,
        points_px=_places(line.seen.ends_px),
        measured_mm=(length,),
        residual_mm=abs(length - line.reference.length_mm),
        name=f"line {line.reference.length_mm:g} mm",
    )


def _found_frame(
    reference: RectangleReference, frame: FrameSeen, sheet_map: SheetMap
) -> FoundReference:
    corners = sheet_map.to_mm(frame.corners_px)
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    off = np.abs(sides - [frame.width_mm, frame.height_mm] * 2)
    return FoundReference(
        reference=reference,
        points_px=_places(frame.corners_px),
        measured_mm=(float(sides[[0, 2]].mean()), float(sides[[1, 3]].mean())),
        residual_mm=float(off.max()),
        name=f"rectangle {reference.width_mm:g} x {reference.height_mm:g} mm",
    )


def _found_sheet(
    reference: SheetReference, sheet: SheetSeen, paper: str | None, final: Adjusted
) -> FoundReference:
    width, height = (float(v) for v in final.sides_mm)
    corners = final.map.to_px([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    size = f"{reference.width_mm:.5g} x {reference.height_mm:.5g} mm"
    return FoundReference(
        reference=reference,
        points_px=_places(corners),
        measured_mm=(width, height),
        residual_mm=max(abs(width - sheet.width_mm), abs(height - sheet.height_mm)),
        name=f"sheet {paper}" if paper else f"sheet {size}",
    )


def _places(points_px: Points) -> tuple[Place, ...]:
    return tuple((float(x), float(y)) for x, y in points_px)
