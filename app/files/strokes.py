"""What a drawing made elsewhere holds: its lines as true curves, and what was left out of them."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from app.document.counted import counted
from geometry.curves import Arc, Chain, Cubic, Line, Point, Segment
from geometry.outline import Mark, Outline, Station

CHORD_MM = 0.005  # how far chords may lie from a curve while loops are looked for
FINEST, COARSEST = 1e-7, 2e-3  # a chord's distance over a curve's size: 7000 or 50 to a circle
FARTHEST_MM = 1e10  # damaged numbers; maps of a country still have less
SAME_MM = 1e-3  # ends this close are one point however the drawing was rounded
PLACES_TOLD = 3  # of the things of one kind that were left out

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One line of a drawing: pieces end to end, mm, y up.

    Parameters
    ----------
    chain : tuple of Line, Arc and Cubic
        Closed when its last end is its first start.
    what : str
        What it is in the drawing, in words: ``circle``.
    layer : str
        Its layer or group.
    label : str
        What our own files say that it is: a hole's or mark's kind, a station's name.
    told : tuple of (float, float)
        Where our own files say that corners of it lay in the outline frame, mm.
    """

    chain: Chain
    what: str
    layer: str = ""
    label: str = ""
    told: tuple[Point, ...] = ()

    @property
    def closed(self) -> bool:
        """Whether it ends where it starts."""
        return math.dist(self.chain[0].start, self.chain[-1].end) <= SAME_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A thing of a drawing that is no part of the outline; its place in mm, None if unknown."""

    what: str
    at_mm: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Strokes:
    """All that was found in a drawing.

    Parameters
    ----------
    lines : tuple of Stroke
        What may be the edge and its holes.
    marks, stations : tuple
        Those that a file of ours carries.
    left_out : tuple of LeftOut
        Words, hidden lines and the like.
    in_frame : bool
        Whether the numbers are those of the outline frame already, as in a file of ours.
    name : str
        The outline's name, if the file tells it.
    notes : tuple of str
        What is to be told of the drawing as a whole.
    """

    lines: tuple[Stroke, ...]
    marks: tuple[Mark, ...] = ()
    stations: tuple[Station, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    in_frame: bool = False
    name: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherLoop:
    """A closed loop that may be the edge instead: its number, 1 the largest, and its size."""

    number: int
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Imported:
    """An outline from a drawing made elsewhere.

    Parameters
    ----------
    outline : Outline
        In mm.
    left_out : tuple of LeftOut
        What is no part of it, places in the outline's own coordinates.
    notes : tuple of str
        What was mended on the way, a sentence each.
    others : tuple of OtherLoop
        Loops that may be the edge instead, the likeliest first; none where it is sure.
    """

    outline: Outline
    left_out: tuple[LeftOut, ...] = ()
    notes: tuple[str, ...] = ()
    others: tuple[OtherLoop, ...] = ()

    def told(self) -> list[str]:
        """Return lines on what was left out, by kind, with the first places of each.

        Examples
        --------
        >>> left = (LeftOut(what="words", at_mm=(3.0, 4.0)), LeftOut(what="words"))
        >>> Imported(outline=None, left_out=left).told()  # type: ignore[arg-type]
        ['words, 2 times: x 3.0, y 4.0']
        """
        lines = []
        for what, count in Counter(thing.what for thing in self.left_out).items():
            places = [t.at_mm for t in self.left_out if t.what == what and t.at_mm is not None]
            shown = "; ".join(f"x {x:.1f}, y {y:.1f}" for x, y in places[:PLACES_TOLD])
            more = "; …" if len(places) > PLACES_TOLD else ""
            lines.append(f"{counted(what, count)}{': ' if shown else ''}{shown}{more}")
        return lines


@dataclass(frozen=True, slots=True, kw_only=True)
class Chords:
    """A chain as straight chords, each with the piece it belongs to and where on it."""

    points: Points
    piece: NDArray[np.intp]
    share: Points

    @classmethod
    def of(cls, chain: Chain) -> Chords:
        """Return the chords of a chain; ``points`` has one more row, the last end."""
        pieces = [
            [segment.start]
            if isinstance(segment, Line)
            else segment.flattened(chord_for(size_of(segment)))
            for segment in chain
        ]
        counts = np.array([len(points) for points in pieces])
        piece = np.repeat(np.arange(len(counts)), counts)
        step = np.arange(len(piece)) - np.repeat(np.cumsum(counts) - counts, counts)
        return cls(
            points=np.concatenate([*pieces, [chain[-1].end]]),
            piece=piece,
            share=step / counts[piece],
        )


def size_of(segment: Segment) -> float:
    """Return how large a curve is: its radius, or the box of its controls, mm."""
    if isinstance(segment, Arc):
        return segment.radius_mm
    if isinstance(segment, Cubic):
        return float(np.ptp(segment.controls, axis=0).max())
    return segment.length_mm


def chord_for(size: float, chord: float = CHORD_MM) -> float:
    """Return how far chords may lie from a curve of a size: finer for a small one, as a pin is.

    A curve that a damaged file makes kilometres large is not cut into millions of pieces.
    """
    return max(min(chord, COARSEST * size), FINEST * size)


def lies_within(points: Points, of: shapely.Geometry, reach_mm: float) -> bool:
    """Return whether all of (N, 2) points are as near to a shape as that; quick for many."""
    shapely.prepare(of)
    return bool(shapely.dwithin(of, shapely.points(points), reach_mm).all())
