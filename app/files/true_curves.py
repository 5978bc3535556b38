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
    piece: NDArray[np.intp]  # of each chord, never falling
    share: Points  # where each chord begins on its piece, and ends
    ends: Points  # (N, 2, 2)
    tree: shapely.STRtree  # of the chords

    @classmethod
    def of(cls, sources: Sequence[Chain], chords: Sequence[Chords]) -> Drawn:
        """Return the chords of some chains, one or more."""
        pieces = np.array([len(chain) for chain in sources])
        before = np.cumsum(pieces) - pieces
        count = [len(flat.piece) for flat in chords]
        begins = np.concatenate([flat.share for flat in chords])
        upto = np.append(begins[1:], 0.0)  # a chord that ends its piece is followed by a first one
        starts = np.concatenate([flat.points[:-1] for flat in chords])
        ends = np.stack([starts, np.concatenate([flat.points[1:] for flat in chords])], axis=1)
        return cls(
            segments=list(itertools.chain.from_iterable(sources)),
            source=np.repeat(np.arange(len(sources)), pieces),
            piece=np.concatenate([flat.piece for flat in chords]) + np.repeat(before, count),
            share=np.column_stack([begins, np.where(upto == 0.0, 1.0, upto)]),
            ends=ends,
            tree=shapely.STRtree(np.asarray(shapely.linestrings(ends))),
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
        """Return the piece that each side of a ring lies on, -1 where it lies on none.

        Where several lie there it is the one that the neighbouring sides lie on, else the first.
        """
        middles = (ring + np.roll(ring, -1, axis=0)) / 2
        spots = np.asarray(shapely.points(middles))
        sides, chords = self.tree.query(spots, predicate="dwithin", distance=NEAR_MM)
        found = np.unique(np.column_stack([sides, self.piece[chords]]), axis=0)
        sides, first, count = np.unique(found[:, 0], return_index=True, return_counts=True)
        owner = np.full(len(ring), -1, np.intp)
        alone = count == 1
        owner[sides[alone]] = found[first[alone], 1]
        several = [
            (int(side), found[start : start + many, 1].tolist())
            for side, start, many in zip(sides[~alone], first[~alone], count[~alone], strict=True)
        ]
        for _ in range(2):  # twice round, so that the first sides know those before them
            for side, pieces in several:
                beside = (owner[side - 1], owner[(side + 1) % len(ring)])
                owner[side] = next((o for o in beside if o in pieces), pieces[0])
        return owner

    def shares_of(self, pieces: NDArray[np.intp], spots: Points) -> Points:
        """Return where on each of (N,) pieces one of (N, 2) points near it is, 0 to 1."""
        first = np.searchsorted(self.piece, pieces)
        count = np.searchsorted(self.piece, pieces + 1) - first
        number = np.repeat(np.arange(len(pieces)), count)
        chord = np.arange(count.sum()) + np.repeat(first - (np.cumsum(count) - count), count)
        start, end, spot = self.ends[chord, 0], self.ends[chord, 1], spots[number]
        along = end - start
        length2 = np.maximum((along**2).sum(axis=1), 1e-300)
        t = np.clip(((spot - start) * along).sum(axis=1) / length2, 0.0, 1.0)
        off = np.hypot(*(start + t[:, None] * along - spot).T)
        nearest = np.lexsort((off, number))[np.cumsum(count) - count]
        low, high = self.share[chord[nearest]].T
        return np.asarray(low + t[nearest] * (high - low))


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
    first = np.flatnonzero(owner != np.roll(owner, 1))
    last = np.append(first[1:], len(ring))
    on = np.maximum(owner[first], 0)  # no piece where it is less; the shares there are not used
    shares = np.column_stack(
        [drawn.shares_of(on, ring[first]), drawn.shares_of(on, ring[last % len(ring)])]
    )
    runs: list[Run] = []
    for start, end, (low, high) in zip(first.tolist(), last.tolist(), shares.tolist(), strict=True):
        if owner[start] < 0:
            runs += _across(np.vstack([ring[start:end], ring[end % len(ring)]]))
        else:
            runs += _part(drawn.segments[owner[start]], _whole(low), _whole(high))
    return _end_to_end(runs)


def _across(spots: Points) -> list[Run]:
    """Return the straight runs through spots where nothing was drawn."""
    places: list[Point] = [(x, y) for x, y in spots.tolist()]
    return [Run(segment=None, start=a, end=b) for a, b in itertools.pairwise(places)]


def _part(segment: Segment, low: float, high: float) -> list[Run]:
    """Return the run along a piece from one share of it to another, backward where that is less."""
    if low > high:
        segment, low, high = segment.backward(), 1 - low, 1 - high
    cut = part_of(segment, low, high)
    return [] if cut is None else [Run(segment=cut, start=cut.start, end=cut.end)]


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
