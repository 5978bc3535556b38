"""The steel's edge from the trace drawn round it, with no clicks.

Strokes are thinned, dead ends (overruns, writing) eaten away, and the largest region that is left
enclosed is the piece.  Its edge is then followed on the full picture at the half level of the ink.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.chosen import near_edges
from calibration.closing import Finder, closed_region
from calibration.darkness import Darkness
from calibration.errors import PhotoError
from calibration.follow import bare_gaps, followed
from calibration.holes import drilled_holes
from calibration.ink import Ink
from calibration.lines import Lines
from calibration.photo import Photo
from calibration.regions import Region, is_box, middle_of
from calibration.subpixel import Edge

Points = NDArray[np.float64]

MAX_GAP_MM = 5.0
GAP_WIDTHS = 9.0  # of the stroke's width, where millimetres are not known yet
LONG = 0.08  # of the picture's long side; a letter is shorter


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contour:
    """The steel's edge in the picture.

    Parameters
    ----------
    outer_px : ndarray, (N, 2)
        The closed edge, open in the array, about 1 px apart.
    holes_px : tuple of ndarray, each (M, 2)
        Drilled holes.
    bridges_px : tuple of ndarray, each (K, 2)
        Gaps in the trace: the way taken over the bare paper between the ends of the ink.
    sigma_px : ndarray, (N,)
        One standard deviation across the edge at each point of `outer_px`.
    hole_sigma_px : tuple of ndarray
        The same for the holes.
    notes : tuple of str
        What the maker should know.
    beyond_px : float
        How far the side of the ink that was followed lies outside the inner one.
    """

    outer_px: Points
    holes_px: tuple[Points, ...]
    bridges_px: tuple[Points, ...]
    sigma_px: NDArray[np.float64]
    hole_sigma_px: tuple[NDArray[np.float64], ...]
    notes: tuple[str, ...]
    beyond_px: float = 0.0


def find_contour(
    photo: Photo,
    ink: Ink,
    *,
    inside_px: tuple[float, float] | None = None,
    edge: Edge = "inner",
    avoid_px: Sequence[Points] = (),
    mm_per_px: float | None = None,
) -> Contour:
    """Return the edge of the traced piece.

    Parameters
    ----------
    photo : Photo
        The upright picture.
    ink : Ink
        Its ink.
    inside_px : tuple of float, optional
        A pixel within the piece; found if left out.
    edge : {"inner", "middle", "outer"}
        Which side of the stroke is the steel.
    avoid_px : sequence of ndarray, (N, 2)
        Lines and polygons of the references.
    mm_per_px : float, optional
        Scale at the piece, for the widest gap to bridge.

    Raises
    ------
    PhotoError
        If no closed trace is found.
    """
    lines, dark = Lines.of(ink), ink.darkness
    finder = Finder(
        sheet_area=float(np.count_nonzero(ink.sheet)),
        near_edges=lines.part(near_edges(ink.sheet)),
        inside=None if inside_px is None else lines.cell(dark.own(np.array(inside_px))),
        avoid=tuple(lines.to_work(dark.own(each)) for each in avoid_px),
    )
    scale = None if mm_per_px is None else mm_per_px * dark.pitch
    gap = GAP_WIDTHS * lines.width_px if scale is None else MAX_GAP_MM / scale
    region, ways = closed_region(lines, finder, gap_px=gap)
    near = lines if region is None else lines.along(region.outline)
    traced = (
        None if region is None else followed(ink, near, region, ways, edge=edge, mm_per_px=scale)
    )
    if region is None or traced is None:
        raise _no_trace(ink, inside_px)
    if region.along_sheet and ink.sheet_found and inside_px is None and is_box(region):
        raise _frame_alone(dark.photo(lines.to_full(np.array(middle_of(region.filled)[0], float))))
    holes = drilled_holes(ink, near, region, edge=edge, mm_per_px=scale)
    return Contour(
        outer_px=dark.photo(traced.points_px),
        holes_px=tuple(dark.photo(hole) for hole, _ in holes),
        bridges_px=tuple(dark.photo(gap) for gap in bare_gaps(ink, near, ways)),
        sigma_px=traced.sigma_px * dark.pitch,
        hole_sigma_px=tuple(sigma * dark.pitch for _, sigma in holes),
        beyond_px=traced.beyond_px * dark.pitch,
        notes=_notes(lines, dark, region),
    )


def _notes(lines: Lines, dark: Darkness, region: Region) -> tuple[str, ...]:
    """Return what else could have been taken for the piece, and how to have that."""
    notes = []
    if region.rivals:
        count = len(region.rivals)
        others = "Another closed trace is" if count == 1 else f"{count} other closed traces are"
        places = _told(lines, dark, region.rivals)
        notes.append(
            f"{others} on the sheet; the largest was taken. Point inside another to take that: "
            f"{places}."
        )
    if region.frames:
        places = _told(lines, dark, region.frames)
        notes.append(
            "Another line runs round the trace and was taken for a frame. If it is the piece, "
            f"point between the two: {places}."
        )
    if region.along_sheet:
        notes.append(
            "The trace runs along the sheet's edges. If it is a frame, close the gaps of the "
            "piece's own trace with a pen and photograph it again."
        )
    return tuple(notes)


def _told(lines: Lines, dark: Darkness, cells: Sequence[tuple[int, int]]) -> str:
    places = dark.photo(lines.to_full(np.array(cells, float)))
    return " or ".join(f"--inside {x:.0f},{y:.0f}" for x, y in places)


def _frame_alone(place: Points) -> PhotoError:
    x, y = place.tolist()
    return PhotoError(
        "all that is closed is a frame along the sheet's edges.",
        where="Trace",
        remedy="Close the gaps of the piece's own trace with a pen. If the frame is the piece, "
        f"point inside it with --inside {x:.0f},{y:.0f}.",
    )


def _no_trace(ink: Ink, inside_px: tuple[float, float] | None) -> PhotoError:
    """Return the error that says best why no closed trace was found."""
    if not ink.mask.any():
        message = "no ink is seen on the sheet."
        remedy = "Trace the piece with a dark pen, and photograph it sharp and in even light."
    elif inside_px is not None:
        message = f"no closed trace surrounds the pixel {inside_px[0]:g},{inside_px[1]:g}."
        remedy = "Point inside the piece, on clear paper, or close the gap with a pen."
    elif _runs_off(ink):
        message = "a stroke runs off the sheet or the picture."
        remedy = "Photograph the whole trace, or trace the piece again on a larger sheet."
    else:
        message = "no closed trace is seen on the sheet."
        remedy = (
            "Close its gaps with a pen, or point inside the piece with --inside X,Y. A photo of "
            "the steel itself is measured with --subject steel."
        )
    return PhotoError(message, where="Trace", remedy=remedy)


def _runs_off(ink: Ink) -> bool:
    """Return whether a long stroke reaches the rim of the sheet."""
    sheet = ink.sheet.astype(np.uint8)
    rim = (sheet > 0) & (cv2.erode(sheet, np.ones((7, 7), np.uint8), borderValue=0) == 0)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(
        ink.mask.astype(np.uint8), connectivity=8
    )
    touching = np.unique(labels[rim])
    long = stats[:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(axis=1) > LONG * max(rim.shape)
    return bool(long[touching[touching > 0]].any())
