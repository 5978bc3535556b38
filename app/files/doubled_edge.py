"""An edge drawn as two lines, told from a window that leaves a narrow frame.

A pen's line that was made into shapes, or traced by a program, has two sides: the inner one follows
the outer one as far apart as the pen is wide, all round. Steel that narrow is no frame: it could
not be sawn, so that an inner line nearer than a pen is wide everywhere is the edge's other side. An
inner line that is farther off anywhere encloses an opening, however much of the plate that takes.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

PEN_MM = 1.0  # pens for drawings are 0.13 to 1.0 mm wide, markers to 2.0 (ISO 128, from memory)
MARKER_MM = 2.0  # a frame as narrow as a marker's line is kept, and doubted
STEP_MM = 0.5  # how closely lines are looked at between their corners


def edge_again(
    edge: Polygon, openings: NDArray[np.object_], inside: NDArray[np.intp]
) -> tuple[set[int], tuple[str, ...]]:
    """Return which shapes inside an edge are the edge's other side, and what to say of them.

    Parameters
    ----------
    edge : shapely.Polygon
        The piece without its holes, mm.
    openings : array of shapely.Polygon
        Shapes of a drawing.
    inside : array of int
        Those that lie inside the edge, by number.

    Returns
    -------
    doubled : set of int
        Of the numbers.
    notes : tuple of str
        How far apart the lines are; also of a frame as narrow as a marker's line.
    """
    doubled: dict[int, float] = {}
    narrow: list[float] = []
    length, width = (edge.bounds[2] - edge.bounds[0], edge.bounds[3] - edge.bounds[1])
    for number in inside.tolist():
        x0, y0, x1, y1 = openings[number].bounds
        if length - (x1 - x0) > 2 * MARKER_MM or width - (y1 - y0) > 2 * MARKER_MM:
            continue  # farther off at one of its ends
        apart = apart_mm(edge, openings[number])
        if apart <= PEN_MM:
            doubled[number] = apart
        elif apart <= MARKER_MM:
            narrow.append(apart)
    return set(doubled), _notes(list(doubled.values()), narrow)


def _notes(doubled_mm: list[float], narrow_mm: list[float]) -> tuple[str, ...]:
    """Return what to say of lines as far apart as that: of each kind a sentence at most."""
    notes = []
    if doubled_mm:
        lines = "two" if len(doubled_mm) == 1 else str(len(doubled_mm) + 1)
        notes.append(
            f"The edge is drawn as {lines} lines up to {max(doubled_mm):.2f} mm apart; "
            "the outer one counts."
        )
    if narrow_mm:
        notes.append(
            f"An opening leaves a frame of at most {min(narrow_mm):.2f} mm; "
            "if it is the other side of a drawn line, take it out of the drawing."
        )
    return tuple(notes)


def apart_mm(edge: Polygon, opening: Polygon) -> float:
    """Return how far two rings, one in the other, are apart at most, mm."""
    outer, inner = edge.exterior, opening.exterior
    spots = [shapely.get_coordinates(ring.segmentize(STEP_MM)) for ring in (outer, inner)]
    return max(
        float(shapely.distance(shapely.points(these), other).max())
        for these, other in zip(spots, (inner, outer), strict=True)
    )
