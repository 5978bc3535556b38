"""A loop of short chords turned back into the lines, arcs and curves that it was drawn with."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from app.files.strokes import SAME_MM, Chords, Points, lies_within
from geometry.curves import Arc, Chain, Cubic, Line, Point, Segment, flatten_chain

NEAR_MM = 5e-4  # a loop's chord lies on the drawn one within this: five steps of the grid
STRAYS_MM = 0.01  # a chain that lies farther from its loop is not taken: the chords are
WHOLE = 1e-6  # of a piece: an end this near to the piece's end is that


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A stretch of a loop along one drawn piece; None where it runs across a gap."""

    segment: Segment | None
    start: Point
    end: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """Chords of all that was drawn: their piece, its source, and where on the piece they are."""

    segments: list[Segment]
    source: NDArray[np.intp]  # of each segment
    piece: NDArray[np.intp]  # of each chord
    share: Points  # where each chord begins on its piece, and ends
    ends: Points  # (N, 2, 2)

    @classmethod
    def of(cls, sources: Sequence[Chain], chords: Sequence[Chords]) -> Drawn:
        """Return the chords of some chains."""
        segments: list[Segment] = []
        source, piece, share, ends = [], [], [], []
        for number, (chain, flat) in enumerate(zip(sources, chords, strict=True)):
            piece.append(flat.piece + len(segments))
            upto = np.append(flat.share[1:], 0.0)
            share.append(np.column_stack([flat.share, np.where(upto == 0.0, 1.0, upto)]))
            ends.append(np.stack([flat.points[:-1], flat.points[1:]], axis=1))
            segments.extend(chain)
            source += [number] * len(chain)
        return cls(
            segments=segments,
            source=np.array(source, np.intp),
            piece=np.concatenate(piece),
            share=np.vstack(share),
            ends=np.concatenate(ends),
        )

    def curves_along(self, ring: Points) -> tuple[Chain, set[int]]:
        """Return a closed chain along a ring, and which of the sources it is made of.

        Parameters
        ----------
        ring : (N, 2) array
            A loop that runs along what was drawn, not repeated at the end, mm.

        Returns
        -------
        chain : tuple of Line, Arc and Cubic
            Within 0.01 mm of the ring; straight pieces where nothing was drawn.
        used : set of int
        """
        ring = _thinned(ring)
        if not shapely.LinearRing(ring).is_ccw:
            ring = ring[::-1]
        owner = self.owners(ring)
        used = {int(self.source[o]) for o in np.unique(owner) if o >= 0}
        chain = _chain(ring, owner, self)
        if chain and _along(chain, ring):
            return chain, used
        places: list[Point] = [(x, y) for x, y in ring.tolist()]
        around = [*places[1:], places[0]]
        return tuple(Line(start=a, end=b) for a, b in zip(places, around, strict=True)), used

    def owners(self, ring: Points) -> NDArray[np.intp]:
        """Return the piece that each side of a ring lies on, -1 where it lies on none."""
        middles = (ring + np.roll(ring, -1, axis=0)) / 2
        tree = shapely.STRtree(np.asarray(shapely.linestrings(self.ends)))
        sides, chords = tree.query(shapely.points(middles), predicate="dwithin", distance=NEAR_MM)
        near: list[list[int]] = [[] for _ in ring]
        for side, chord in zip(sides.tolist(), chords.tolist(), strict=True):
            near[side].append(int(self.piece[chord]))
        owner = np.full(len(ring), -1, np.intp)
        for _ in range(2):  # twice round, so that the first sides know those before them
            for side, found in enumerate(near):
                if found:
                    before, after = owner[side - 1], owner[(side + 1) % len(ring)]
                    owner[side] = next((o for o in (before, after) if o in found), found[0])
        return owner

    def share_of(self, piece: int, spot: Points) -> float:
        """Return where on a piece a point near it is, 0 to 1."""
        first, last = np.searchsorted(self.piece, [piece, piece + 1])
        a, b = self.ends[first:last, 0], self.ends[first:last, 1]
        along = b - a
        length2 = np.maximum((along**2).sum(axis=1), 1e-300)
        t = np.clip(((spot - a) * along).sum(axis=1) / length2, 0.0, 1.0)
        best = int(np.hypot(*(a + t[:, None] * along - spot).T).argmin())
        low, high = self.share[first + best]
        return float(low + t[best] * (high - low))


def _thinned(ring: Points) -> Points:
    """Return a ring without points that are the same but for rounding."""
    step = np.hypot(*(ring - np.roll(ring, 1, axis=0)).T)
    kept = ring[step > SAME_MM]
    return kept if len(kept) > 2 else ring


def _chain(ring: Points, owner: NDArray[np.intp], drawn: Drawn) -> Chain:
    """Return the pieces along a ring, joined end to end; empty where it is all of one piece.

    The first is the one that was drawn first.
    """
    changes = np.flatnonzero(owner != np.roll(owner, 1))
    if len(changes) < 2:
        return ()
    first_drawn = np.where(owner[changes] < 0, len(drawn.segments), owner[changes]).argmin()
    owner, ring = (
        np.roll(owner, -changes[first_drawn]),
        np.roll(ring, -changes[first_drawn], axis=0),
    )
    changes = np.flatnonzero(owner != np.roll(owner, 1))
    runs: list[Run] = []
    for first, last in zip(changes, [*changes[1:], changes[0] + len(ring)], strict=True):
        start, end = ring[first], ring[last % len(ring)]
        if owner[first] < 0:
            sides = [ring[side % len(ring)] for side in range(first, last + 1)]
            runs += [
                Run(segment=None, start=(float(a[0]), float(a[1])), end=(float(b[0]), float(b[1])))
                for a, b in itertools.pairwise(sides)
            ]
            continue
        piece = int(owner[first])
        shares = [_whole(drawn.share_of(piece, spot)) for spot in (start, end)]
        segment = drawn.segments[piece]
        if shares[0] > shares[1]:
            segment, shares = segment.backward(), [1 - shares[0], 1 - shares[1]]
        cut = part_of(segment, shares[0], shares[1])
        if cut is not None:
            runs.append(Run(segment=cut, start=cut.start, end=cut.end))
    return _end_to_end(runs)


def _whole(share: float) -> float:
    return 0.0 if share < WHOLE else 1.0 if share > 1 - WHOLE else share


def part_of(segment: Segment, low: float, high: float) -> Segment | None:
    """Return a piece from one share of it to another; None where nothing is left."""
    if high - low <= WHOLE:
        return None
    if (low, high) == (0.0, 1.0):
        return segment
    if isinstance(segment, Cubic):
        return _part_of_cubic(segment, low, high)
    start, end = _at(segment, low), _at(segment, high)
    if start == end:
        return None
    if isinstance(segment, Arc):
        return Arc(start=start, end=end, sweep_rad=segment.sweep_rad * (high - low))
    return Line(start=start, end=end)


def _at(segment: Line | Arc, share: float) -> Point:
    if share in (0.0, 1.0):
        return segment.end if share else segment.start
    (x0, y0), (x1, y1) = segment.start, segment.end
    if isinstance(segment, Line):
        return x0 + share * (x1 - x0), y0 + share * (y1 - y0)
    (cx, cy), turn = segment.centre, share * segment.sweep_rad
    cos, sin = math.cos(turn), math.sin(turn)
    x, y = x0 - cx, y0 - cy
    return cx + x * cos - y * sin, cy + x * sin + y * cos


def _part_of_cubic(curve: Cubic, low: float, high: float) -> Cubic:
    (start, end), third = curve.at(np.array([low, high])), (high - low) / 3
    slope0, slope1 = curve.derivative(np.array([low, high])) * third
    corners = (start, start + slope0, end - slope1, end)
    p, q, r, s = ((float(x), float(y)) for x, y in corners)
    return Cubic(start=p, control1=q, control2=r, end=s)


def _end_to_end(runs: list[Run]) -> Chain:
    """Return runs with each end moved onto the next start; what has no length is left out."""
    runs = [run for run in runs if run.segment is not None or _is_gap(run)]
    after = [*runs[1:], *runs[:1]]
    joints = [a.end if a.segment is not None else b.start for a, b in zip(runs, after, strict=True)]
    pieces: list[Segment] = []
    for run, start, end in zip(runs, [*joints[-1:], *joints[:-1]], joints, strict=True):
        if start == end and not isinstance(run.segment, Cubic):
            continue
        pieces.append(_between(run.segment, start, end))
    return tuple(pieces)


def _is_gap(run: Run) -> bool:
    return math.dist(run.start, run.end) > SAME_MM


def _between(segment: Segment | None, start: Point, end: Point) -> Segment:
    """Return a piece with its ends moved by a hair, a straight one where nothing was drawn."""
    if segment is None or isinstance(segment, Line):
        return Line(start=start, end=end)
    if isinstance(segment, Arc):
        return Arc(start=start, end=end, sweep_rad=segment.sweep_rad)
    return Cubic(start=start, control1=segment.control1, control2=segment.control2, end=end)


def _along(chain: Chain, ring: Points) -> bool:
    flat = flatten_chain(chain, STRAYS_MM / 2)
    if len(flat) < 3:
        return False
    return lies_within(flat, shapely.LinearRing(ring), STRAYS_MM) and lies_within(
        ring, shapely.LinearRing(flat), STRAYS_MM
    )
