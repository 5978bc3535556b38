"""The sheet as a reference: of given size, recognised as a named paper, or just square."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from calibration.adjustment import Adjusted, adjust, start_cost
from calibration.desk import Desk
from calibration.errors import PhotoError
from calibration.matched import Matched
from calibration.papers import paper_of_shape, recognise_paper
from calibration.references import LEAST_SHEET_MM, MOST_SHEET_MM, PAPER_LABELS, SheetReference
from calibration.seen import SheetSeen
from calibration.sheet_edges import SheetEdges
from calibration.tilts import adjust_lines

Points = NDArray[np.float64]

CLEAR_SIDE = 0.5  # of each side must be seen before the edges are used unasked
ODD_SIDE_MM = 2.5  # ISO 216 allows 2; adjusted sides that are off by more are another paper's
ODD_SHAPE = 0.004  # of the ratio of the sides: paper's own, and a little curl
ODD = 4.0  # deviations of the ratio beyond which it is another paper's
MAX_GUESSED_TILT_DEG = 40.0
SLIPS = (10.0, 25.4, 2.54)  # of units: cm or inches taken for mm, and for each other
PLAIN = {0.5: "half its size", 2.0: "twice its size"}  # how people say it
SAME_SLIP = 0.02  # of the logarithm
LENIENT_PX = 6.0  # beyond a side: a lens bows it


def given_sheets(desk: Desk, notes: list[str]) -> tuple[tuple[SheetSeen, Adjusted], ...]:
    """Return the ways round in which a sheet of given size fits its edges, and the maps from them.

    There are two where the picture cuts a side off, so that nothing shows its length; none where
    no edges are seen but other references are given.
    """
    asked = desk.asked.sheet
    if asked is None:
        return ()
    if desk.edges is None:
        if len(desk.asked.all) > 1:
            notes.append(
                "The sheet's edges were not found: its size is not used. "
                "Lay it on a darker ground with all four edges in the picture."
            )
            return ()
        raise PhotoError(
            "the sheet's edges were not found.",
            where="Sheet",
            remedy="Lay it on a darker ground with all four edges in the picture.",
        )
    notes += _slip_of_unit(asked)
    for side, seen in zip(("lower", "right", "upper", "left"), desk.edges.seen, strict=True):
        if seen == 0.0:
            notes.append(f"The sheet's {side} edge is not seen; the other three are used.")
    ways = _ways_round(desk, desk.edges, asked.width_mm, asked.height_mm)
    fitting = tuple(way for way in ways if _shaped(desk, *way))
    if not fitting:
        raise PhotoError(
            f"the sheet in the picture has not the shape of {asked.width_mm:g} x "
            f"{asked.height_mm:g} mm.",
            where="Sheet",
            remedy="Check its size, and that the picture shows its four edges and no other sheet.",
        )
    return fitting


def _slip_of_unit(asked: SheetReference) -> list[str]:
    """Return a warning about a size that is a named paper's with the unit mistaken."""
    name, times = paper_of_shape(np.array([asked.width_mm, asked.height_mm])) or ("", 1.0)
    if not any(abs(abs(math.log(times)) - math.log(slip)) < SAME_SLIP for slip in SLIPS):
        return []
    return [
        f"The sheet's size as told is {times:.3g} times that of {PAPER_LABELS[name]}: "
        "check its numbers and their unit."
    ]


def _shaped(desk: Desk, sheet: SheetSeen, alone: Adjusted) -> bool:
    """Return whether a sheet's edges show the shape that was told.

    Where the focal length is not known a tilt explains much, so the shape is also measured with
    the sides left open.
    """
    told = np.array([sheet.width_mm, sheet.height_mm])
    if np.abs(alone.sides_mm - told).max() > ODD_SIDE_MM:
        return False
    if min(sheet.edges.seen) == 0.0:
        return True
    free = adjust(desk.seen(sheet=dataclasses.replace(sheet, free=True)))
    off = math.log(free.sides_mm[1] / free.sides_mm[0]) - math.log(told[1] / told[0])
    slope = np.array([-1.0, 1.0]) / free.sides_mm
    sigma = math.hypot(math.sqrt(slope @ free.sides_covariance @ slope), ODD_SHAPE)
    return abs(off) < ODD * sigma


def _ways_round(
    desk: Desk, edges: SheetEdges, one_mm: float, other_mm: float
) -> list[tuple[SheetSeen, Adjusted]]:
    """Return the sheet lying and standing, likelier first; the likelier only if all is seen."""
    ways = [
        SheetSeen(edges=edges, width_mm=width, height_mm=height)
        for width, height in ((one_mm, other_mm), (other_mm, one_mm))
    ]
    ways.sort(key=lambda sheet: start_cost(desk.seen(sheet=sheet)))
    whole = min(edges.seen) > 0.0
    if whole and start_cost(desk.seen(sheet=ways[1])) > 9.0 * start_cost(desk.seen(sheet=ways[0])):
        del ways[1]
    fits = [(sheet, adjust(desk.seen(sheet=sheet))) for sheet in ways]
    fits.sort(key=lambda fit: fit[1].cost)
    return fits[:1] if whole else fits


def holds(edges: SheetEdges, places_px: Points) -> bool:
    """Return whether places (N, 2) lie within the sheet, as what is drawn on it must."""
    for k, side in enumerate(edges.sides_px):
        if len(side):
            a, b = edges.corners_px[k], edges.corners_px[(k + 1) % 4]
            inward = np.array([b[1] - a[1], a[0] - b[0]]) / np.hypot(*(b - a))
            if ((places_px - a) @ inward < -LENIENT_PX).any():
                return False
    return True


def on_it(edges: SheetEdges, matched: Sequence[Matched]) -> bool:
    """Return whether the drawn references lie on the sheet."""
    return not matched or holds(edges, np.vstack([one.points_px for one in matched]))


def guessed_sheet(
    desk: Desk, edges: SheetEdges, matched: Sequence[Matched], notes: list[str]
) -> tuple[SheetSeen | None, str | None]:
    """Return a sheet nobody told of: a named paper if it is one, else an unknown rectangle.

    Where several references do not lead to a named paper together, one of them may be wrong:
    then the paper that the others lead to counts.
    """
    several = [[other for other in matched if other is not one] for one in matched]
    for some in (matched, *(several if len(matched) > 1 else ())):
        told: list[str] = []
        sheet, paper = _guessed(desk, edges, some, told)
        if paper is not None or sheet is None:
            notes += told
            return sheet, paper
    return _guessed(desk, edges, matched, notes)


def _guessed(
    desk: Desk, edges: SheetEdges, matched: Sequence[Matched], notes: list[str]
) -> tuple[SheetSeen | None, str | None]:
    """Return the sheet by some references, and its paper's name if it has one."""
    measured_sheet = freed(desk, edges, matched)
    if measured_sheet is None:
        return None, None
    free, measured = measured_sheet
    width, height = (float(v) for v in measured.sides_mm)
    if not LEAST_SHEET_MM <= min(width, height) <= max(width, height) <= MOST_SHEET_MM:
        raise PhotoError(
            f"by the length that was typed the sheet measures {width:.4g} x {height:.4g} mm.",
            where="Reference",
            remedy="Check the number, and give its unit: 100mm or 4in.",
        )
    known = recognise_paper(measured.sides_mm, measured.sides_covariance)
    if known is None:
        notes.append(
            f"The sheet measures {width:.0f} x {height:.0f} mm, which is no paper known here; its "
            f"corners were taken as square to find the tilt. {_doubt_of_size(measured.sides_mm)}"
        )
        return dataclasses.replace(free, width_mm=width, height_mm=height), None
    name, (along, up) = known
    label = PAPER_LABELS[name]
    notes.append(
        f"The sheet looks like {label}; its edges took the tilt out. "
        "Tell the sheet's size if it is another."
    )
    return SheetSeen(edges=edges, width_mm=along, height_mm=up), label


def freed(
    desk: Desk, edges: SheetEdges, matched: Sequence[Matched]
) -> tuple[SheetSeen, Adjusted] | None:
    """Return a sheet whose sides the references give, and the map; None if it is no clear sheet."""
    if min(edges.seen) < CLEAR_SIDE or not on_it(edges, matched):
        return None
    seen = desk.seen(matched)
    start = (adjust(seen) if seen.shaped else adjust_lines(seen)).map
    corners = start.to_mm(edges.corners_px)
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    free = SheetSeen(
        edges=edges,
        width_mm=float(0.5 * (sides[0] + sides[2])),
        height_mm=float(0.5 * (sides[1] + sides[3])),
        free=True,
    )
    measured = adjust(desk.seen(matched, free))
    return None if measured.map.tilt_deg > MAX_GUESSED_TILT_DEG else (free, measured)


def _doubt_of_size(sides_mm: Points) -> str:
    """Return what to do about a sheet of no known size: perhaps a length was typed wrong."""
    alike = paper_of_shape(sides_mm)
    if alike is None:
        return "Tell its size to make that sure."
    name, times = alike
    plain = (words for size, words in PLAIN.items() if abs(math.log(times / size)) < SAME_SLIP)
    size = next(plain, f"{times:.3g} times its size")
    return (
        f"It has the shape of {PAPER_LABELS[name]} at {size}: check the length "
        "that was typed and its unit, or tell the sheet's size."
    )
