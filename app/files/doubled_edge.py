"""An edge drawn as two lines, told from a window that leaves a narrow frame.

A pen's line that was made into shapes, or traced by a program, has two sides: the inner one lies as
far from the outer one as the pen is wide, all round. Steel that narrow is no frame: it could not be
sawn, so that an inner line which is nowhere farther from the edge than a pen is wide is the edge's
other side. One that is farther off anywhere encloses an opening, however much of the plate that
takes. It is the inner line that is looked at: into a sharp tip no pen's inner side follows the
outer one, and at a corner that points inward a mitre reaches farther than the pen is wide.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

PEN_MM = 1.0  # pens for drawings are 0.13 to 1.0 mm wide, markers to 2.0 (ISO 128, from memory)
MARKER_MM = 2.0  # a frame as narrow as a marker's line is kept, and doubted
STEP_MM = 0.5  # how closely lines are looked at between their corners
MOST_STEPS = 4000  # round an edge; one of kilometres is looked at less closely
MITRE = 4.0  # pen widths that a mitre reaches at most (SVG 1.1, the usual miter limit)
SPREAD = 0.1  # of a pen's width: how far its line strays
SPREAD_MM = 0.1  # beside: a dot of a scan at 250 to the inch
ROUNDED_MM = 0.02  # chords of curves, and numbers that a program rounded


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
    rims_mm2 = edge.area - shapely.area(openings[inside])
    for number in inside[rims_mm2 <= MARKER_MM * edge.length].tolist():
        apart = apart_mm(edge, openings[number])
        if apart <= PEN_MM + ROUNDED_MM:
            doubled[number] = apart
        elif apart < MARKER_MM:
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
            f"An opening leaves a frame of {min(narrow_mm):.2f} mm at most; "
            "if it is the other side of a drawn line, take it out of the drawing."
        )
    return tuple(notes)


def apart_mm(edge: Polygon, opening: Polygon) -> float:
    """Return how far from an edge a line in it lies, mm.

    That is half of the line's way where none of it is farther off than a pen's line strays, its
    mitres apart; else where it is farthest.
    """
    step = max(STEP_MM, edge.length / MOST_STEPS)
    places = shapely.get_coordinates(opening.exterior.segmentize(step))
    spots = np.asarray(shapely.points(places))
    outer = edge.exterior
    shapely.prepare(outer)
    far = shapely.distance(spots, outer)
    wide = float(np.median(far))
    spread = SPREAD * wide + SPREAD_MM
    beyond = spots[far > wide + spread]
    if not len(beyond):
        return wide
    drawn = edge.buffer(-wide, join_style="mitre", mitre_limit=MITRE).boundary
    are_mitres = shapely.distance(beyond, drawn).max() <= spread  # never where none is drawn
    return wide if are_mitres else float(far.max())
