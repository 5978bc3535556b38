"""The border of a page drawn round everything: no edge of a piece.

A plain rectangle is a page's border where a shape inside of it has openings of its own: steel with
an opening cannot float in another opening. Without such a shape it may be a plate with a window,
so that it is kept, and doubted in a note if it is as large as a paper.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Polygon

from app.files.strokes import Points

# ISO 216, and the trade's American sizes of 8.5 x 11, 8.5 x 14 and 11 x 17 inches
PAPERS_MM = {
    "A5": (210.0, 148.0), "A4": (297.0, 210.0), "A3": (420.0, 297.0), "A2": (594.0, 420.0),
    "A1": (841.0, 594.0), "A0": (1189.0, 841.0), "Letter": (279.4, 215.9),
    "Legal": (355.6, 215.9), "Tabloid": (431.8, 279.4),
}  # fmt: skip
FRAME_MM = (30.0, 20.0)  # ISO 5457, from memory: 20 mm left free to the left, 10 elsewhere
LEAST_MM = 180.0  # a smaller rectangle, other than a paper's, is no page's border
NEAR_MM = 0.6
STRAIGHT_MM = 0.01


def paper_of(loop: Points) -> str:
    """Return the paper that a loop of (N, 2) points is as large as; empty if none.

    Its own size or that of the frame on it, upright or lying.

    Examples
    --------
    >>> paper_of(np.array([(0, 0), (297, 0), (297, 210), (0, 210)], float))
    'A4'
    """
    if not _is_plain_rectangle(loop):
        return ""
    sides = np.ptp(loop, axis=0)
    for name, (length, width) in PAPERS_MM.items():
        long, short = FRAME_MM
        sizes = [(length, width), (length - short, width - long), (length - long, width - short)]
        if any(np.abs(sides - turned).max() <= NEAR_MM for s in sizes for turned in (s, s[::-1])):
            return name
    return ""


def without_borders(loops: Sequence[Points]) -> tuple[int, tuple[str, ...]]:
    """Return which loop is the edge of the piece, and what to say of pages round it.

    Parameters
    ----------
    loops : sequence of (N, 2) arrays
        All that a drawing holds, the largest first, mm.
    """
    notes: list[str] = []
    for number, loop in enumerate(loops):
        if not _is_plain_rectangle(loop):
            return number, tuple(notes)
        paper = paper_of(loop)
        if not paper and np.ptp(loop, axis=0).max() < LEAST_MM:
            return number, tuple(notes)
        if not _holds_an_island(loop, loops[number + 1 :]):
            if not paper:
                return number, tuple(notes)
            doubt = f"The largest loop is a rectangle of {paper}'s size; if it is the page, "
            return number, (*notes, doubt + "take it out of the drawing.")
        along, up = np.ptp(loop, axis=0)
        size = f"{paper}'s size" if paper else f"{along:.0f} x {up:.0f} mm"
        notes.append(f"A rectangle of {size} round the piece was left out as the page's border.")
    return 0, ()


def _is_plain_rectangle(loop: Points) -> bool:
    """Return whether a loop is a rectangle that lies level."""
    shape = Polygon(loop)
    if not shape.is_valid or shapely.get_num_coordinates(shape.simplify(STRAIGHT_MM)) != 5:
        return False
    return bool(shape.area >= np.prod(np.ptp(loop, axis=0) - 2 * STRAIGHT_MM))


def _holds_an_island(loop: Points, smaller: Sequence[Points]) -> bool:
    """Return whether the largest loop inside of a loop has a loop inside of itself."""
    page = Polygon(loop)
    shapely.prepare(page)
    shapes = (Polygon(points) for points in smaller)
    inside = [shape for shape in shapes if shape.is_valid and page.contains_properly(shape)]
    return bool(inside) and any(inside[0].contains_properly(shape) for shape in inside[1:])
