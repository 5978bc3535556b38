"""Parts of an edge: what lies between two places, and an end cut off or drawn on straight."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from geometry.along import Along, motion, parameters
from geometry.curves import Arc, Chain, Cubic, Line, Point, Segment, chain_backward
from geometry.errors import InputError
from geometry.tight_bends import Place

LAST_PIECES = 8  # of a side: what is cut off it lies within these
SAME_MM = 1e-9


def between(chain: Chain, start: Place, end: Place) -> Chain:
    """Return the pieces of a closed chain from one place on to another."""
    (first, t0), (last, t1) = start, end
    if first == last and t0 < t1:
        return (part_of(chain[first], t0, t1),)
    count = (last - first) % len(chain) or len(chain)
    whole = [chain[(first + step) % len(chain)] for step in range(1, count)]
    ahead = [part_of(chain[first], t0, 1.0)] if t0 < 1 else []
    return (*ahead, *whole, *([part_of(chain[last], 0.0, t1)] if t1 > 0 else []))


def part_of(segment: Segment, t0: float, t1: float) -> Segment:
    """Return a piece from one of its parameters to another."""
    places, velocity = motion(segment, np.array([t0, t1]))
    (x0, y0), (x1, y1) = places.tolist()
    start, end = (segment.start if t0 == 0 else (x0, y0)), (segment.end if t1 == 1 else (x1, y1))
    if isinstance(segment, Line):
        return Line(start=start, end=end)
    if isinstance(segment, Arc):
        return Arc(start=start, end=end, sweep_rad=segment.sweep_rad * (t1 - t0))
    (u0, v0), (u1, v1) = (velocity * ((t1 - t0) / 3)).tolist()
    control1, control2 = (start[0] + u0, start[1] + v0), (end[0] - u1, end[1] - v1)
    return Cubic(start=start, control1=control1, control2=control2, end=end)


class Side:
    """The end of a chain: where it is with some of it cut off, or drawn on straight.

    Parameters
    ----------
    chain : tuple of segments
        Open; only its last pieces matter.
    """

    def __init__(self, chain: Chain) -> None:
        self._last = chain[-LAST_PIECES:]
        last = chain[-1]
        self._end = complex(*last.end), complex(*last.end_direction)

    @cached_property
    def _along(self) -> Along:
        """Their lengths, worked out where something is cut off only: it takes a while."""
        return Along(self._last)

    def at(self, off_mm: float) -> tuple[complex, complex]:
        """Return the end and the direction there, x + iy; less than 0 off is drawn on."""
        if off_mm <= 0:
            place, way = self._end
            return place - off_mm * way, way
        places, ways = self._along.at([self._along.length_mm - off_mm])
        return complex(*places[0]), complex(*ways[0])


def without_ends(chain: Chain, off_start_mm: float, off_end_mm: float) -> Chain:
    """Return an open chain with some of both ends cut off, or drawn on straight where less than 0.

    Raises
    ------
    InputError
        If nothing of it is left.
    """
    short = _without_end(chain, off_end_mm)
    return chain_backward(_without_end(chain_backward(short), off_start_mm)) if short else ()


def _without_end(chain: Chain, off_mm: float) -> Chain:
    if abs(off_mm) < SAME_MM:
        return chain
    *most, last = chain
    if off_mm < 0:
        (x, y), (u, v) = last.end, last.end_direction
        end: Point = x - off_mm * u, y - off_mm * v
        if isinstance(last, Line):
            return (*most, Line(start=last.start, end=end))
        return (*chain, Line(start=last.end, end=end))
    if off_mm < last.length_mm - SAME_MM:
        [t] = parameters(last, np.array([last.length_mm - off_mm])).tolist()
        return (*most, part_of(last, 0.0, t))
    if not most:
        x, y = last.start
        raise InputError(
            f"these values leave no room for the rounded corners near x {x:.1f}, y {y:.1f} mm.",
            where="Stretch",
            remedy="Change them less.",
        )
    return _without_end(tuple(most), off_mm - last.length_mm)
