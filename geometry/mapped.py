"""Chains under a smooth map of the plane: what stays straight stays a line, the rest are cubics.

Each piece is followed as ``map(piece(t))``, and replaced by the cubics that have its true places
and its true directions at their ends (Hermite interpolation), parted until they agree.  Since both
sides of a joint get the direction that the map gives it, a smooth joint stays smooth.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from geometry.curves import Arc, Chain, Cubic, Line, Point, Segment

Array: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.intp]
Map: TypeAlias = Callable[[Array], tuple[Array, Array]]

TOLERANCE_MM = 0.002  # how far a cubic may lie from the true curve; a fifth of a pattern's chord
STRAIGHT_RAD = math.radians(0.02)  # a line whose ends turn by less stays one
CORNER_RAD = math.radians(0.1)  # a joint that turns more was no smooth one
SAME_MM = 1e-9  # a piece whose places all move alike within this is only shifted
FIRST_TURN_RAD, FIRST_MM = math.pi / 4, 30.0  # the longest stretch that one cubic is tried on
MOST_PARTINGS = 12
_LOOKED_AT = np.linspace(0.0, 1.0, 17)  # on a whole piece
_CHECKED_AT = np.array([0.0, 0.15, 0.35, 0.5, 0.65, 0.85, 1.0])  # on a cubic, ends first and last
_CUBIC_WEIGHTS = np.column_stack(
    [
        (1 - _CHECKED_AT) ** 3,
        3 * _CHECKED_AT * (1 - _CHECKED_AT) ** 2,
        3 * _CHECKED_AT**2 * (1 - _CHECKED_AT),
        _CHECKED_AT**3,
    ]
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """The pieces of a chain as arrays, so that all are followed at once."""

    controls: Array  # (n, 4, 2): lines and cubics; an arc's are not used
    centres: Array  # (n, 2): arcs
    spokes: Array  # (n, 2): from the centre to the arc's start
    sweeps: Array  # (n,): 0 for what is no arc

    def at(self, which: Indices, t: Array) -> tuple[Array, Array]:
        """Return (N, 2) places and derivatives of some pieces at parameters (N,), mm."""
        p0, p1, p2, p3 = np.moveaxis(self.controls[which], 1, 0)
        u, v = (1 - t)[:, None], t[:, None]
        places = u**3 * p0 + 3 * u * u * v * p1 + 3 * u * v * v * p2 + v**3 * p3
        slopes = 3 * (u * u * (p1 - p0) + 2 * u * v * (p2 - p1) + v * v * (p3 - p2))
        arcs = self.sweeps[which] != 0
        if arcs.any():
            sweep = self.sweeps[which[arcs]]
            cos, sin = np.cos(sweep * t[arcs]), np.sin(sweep * t[arcs])
            x, y = self.spokes[which[arcs]].T
            spoke = np.column_stack([x * cos - y * sin, x * sin + y * cos])
            places[arcs] = self.centres[which[arcs]] + spoke
            slopes[arcs] = sweep[:, None] * np.column_stack([-spoke[:, 1], spoke[:, 0]])
        return places, slopes


def mapped_chain(chain: Chain, onto: Map) -> Chain:
    """Return a chain under a smooth map, within 0.002 mm of its true image.

    Parameters
    ----------
    chain : tuple of Line, Arc and Cubic
        The pieces; smooth joints stay smooth.
    onto : callable
        Gives for (N, 2) places where they go, and the (N, 2, 2) derivative of the map there.
    """
    return joined([piece for image in mapped_pieces(chain, onto) for piece in image])


def mapped_pieces(chain: Chain, onto: Map) -> list[list[Segment]]:
    """Return the images of a closed chain's pieces, as `mapped_chain` makes them, for each."""
    if not chain:
        return []
    followed, corners, places, slopes = _looked_at(chain)
    count, looks = len(chain), len(_LOOKED_AT)
    images, derivatives = onto(places)
    moves = (images - places).reshape(count, looks, 2)
    shifted = np.ptp(moves, axis=1).max(axis=1) < SAME_MM
    directions = np.einsum("nij,nj->ni", derivatives, slopes).reshape(count, looks, 2)
    straight = _stays_straight(images.reshape(count, looks, 2), directions, corners)
    pieces: dict[int, list[Segment]] = {}
    ends = images.reshape(count, looks, 2)[:, [0, -1]].tolist()
    for i, segment in enumerate(chain):
        start, end = (tuple(place) for place in ends[i])
        if isinstance(segment, Line) and straight[i]:
            pieces[i] = [Line(start=start, end=end)]
        elif not isinstance(segment, Line) and shifted[i]:
            pieces[i] = [_shifted(segment, start, end)]
    bent = [i for i in range(count) if i not in pieces]
    pieces |= _cubics(chain, followed, onto, bent)
    return [pieces[i] for i in range(count)]


@lru_cache(maxsize=4)  # one edge is mapped again and again
def _looked_at(chain: Chain) -> tuple[Followed, NDArray[np.bool_], Array, Array]:
    """Return a chain as arrays, its corners, and (N, 2) places on it and its directions there."""
    followed = _followed(chain)
    which = np.repeat(np.arange(len(chain)), len(_LOOKED_AT))
    return followed, _corners(chain), *followed.at(which, np.tile(_LOOKED_AT, len(chain)))


def _followed(chain: Chain) -> Followed:
    count = len(chain)
    sweeps = np.zeros(count)
    centres, spokes = np.zeros((count, 2)), np.zeros((count, 2))
    starts, ends = (np.array(way) for way in zip(*((s.start, s.end) for s in chain), strict=True))
    controls = np.stack([starts, (2 * starts + ends) / 3, (starts + 2 * ends) / 3, ends], axis=1)
    for i, segment in enumerate(chain):
        if isinstance(segment, Cubic):
            controls[i] = segment.controls
        elif isinstance(segment, Arc):
            centres[i], sweeps[i] = segment.centre, segment.sweep_rad
            spokes[i] = np.array(segment.start) - centres[i]
    return Followed(controls=controls, centres=centres, spokes=spokes, sweeps=sweeps)


def _shifted(segment: Arc | Cubic, start: Point, end: Point) -> Segment:
    """Return a piece shifted to other ends."""
    if isinstance(segment, Arc):
        return replace(segment, start=start, end=end)
    dx, dy = start[0] - segment.start[0], start[1] - segment.start[1]
    (x1, y1), (x2, y2) = segment.control1, segment.control2
    controls = (x1 + dx, y1 + dy), (x2 + dx, y2 + dy)
    return Cubic(start=start, control1=controls[0], control2=controls[1], end=end)


def _corners(chain: Chain) -> NDArray[np.bool_]:
    """Return (n, 2) whether the joints at each piece's start and end are corners."""
    into = np.array([segment.end_direction for segment in chain])
    out = np.array([segment.start_direction for segment in chain])
    before = np.roll(into, 1, axis=0)
    at_start = np.abs(_turn(before, out)) > CORNER_RAD
    return np.column_stack([at_start, np.roll(at_start, -1)])


def _turn(before: Array, after: Array) -> Array:
    """Return the turns from some directions to others, rad; the last axis is x, y."""
    turn: Array = np.arctan2(
        before[..., 0] * after[..., 1] - before[..., 1] * after[..., 0],
        (before * after).sum(axis=-1),
    )
    return turn


def _stays_straight(
    images: Array, directions: Array, corners: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Return which pieces' images, looked at (n, looks, 2) places, are straight.

    At a corner the direction of the end does not matter, as long as the places do.
    """
    chords = images[:, -1] - images[:, 0]
    lengths = np.maximum(np.hypot(*chords.T), 1e-300)
    along = chords / lengths[:, None]
    off = images - images[:, :1]
    aside = np.abs(off[..., 0] * along[:, None, 1] - off[..., 1] * along[:, None, 0]).max(axis=1)
    turned = np.abs(_turn(along[:, None], directions[:, [0, -1]]))
    straight: NDArray[np.bool_] = (aside < TOLERANCE_MM) & ((turned < STRAIGHT_RAD) | corners).all(
        axis=1
    )
    return straight


def _cubics(
    chain: Chain, followed: Followed, onto: Map, which: list[int]
) -> dict[int, list[Segment]]:
    """Return the cubics of the pieces that the map bends."""
    index, start, end = _first_parts(chain, which)
    found: list[tuple[int, float, Cubic]] = []
    for parting in range(MOST_PARTINGS + 1):
        if not index.size:
            break
        controls, off_mm = _hermite(followed, onto, index, start, end)
        good = (off_mm <= TOLERANCE_MM) | (parting == MOST_PARTINGS)
        for i, t, points in zip(index[good], start[good], controls[good].tolist(), strict=True):
            p0, p1, p2, p3 = (tuple(point) for point in points)
            cubic = Cubic(start=p0, control1=p1, control2=p2, end=p3)
            found.append((int(i), float(t), cubic))
        index, start, end = _parted(index[~good], start[~good], end[~good], off_mm[~good])
    pieces: dict[int, list[Segment]] = {i: [] for i in which}
    for i, _, cubic in sorted(found, key=lambda entry: entry[:2]):
        pieces[i].append(cubic)
    return pieces


def _first_parts(chain: Chain, which: list[int]) -> tuple[Indices, Array, Array]:
    """Return the index and the parameters of the parts that a cubic is first tried on."""
    index: list[int] = []
    edges: list[tuple[float, float]] = []
    for i in which:
        segment = chain[i]
        turn = abs(segment.sweep_rad) / FIRST_TURN_RAD if isinstance(segment, Arc) else 0.0
        count = max(1, math.ceil(turn), math.ceil(segment.length_mm / FIRST_MM))
        index += [i] * count
        edges += [(k / count, (k + 1) / count) for k in range(count)]
    start, end = np.array(edges).reshape(-1, 2).T
    return np.array(index, dtype=np.intp), start, end


def _parted(
    index: Indices, start: Array, end: Array, off_mm: Array
) -> tuple[Indices, Array, Array]:
    """Return parts cut into two to four equal ones: the error falls with the fourth power."""
    cuts = np.clip(np.ceil((off_mm / TOLERANCE_MM) ** 0.25), 2, 4).astype(np.intp)
    which = np.repeat(np.arange(len(index)), cuts)
    number = np.arange(len(which)) - np.repeat(np.cumsum(cuts) - cuts, cuts)
    length = (end - start) / cuts
    from_ = start[which] + number * length[which]
    return index[which], from_, from_ + length[which]


def _hermite(
    followed: Followed, onto: Map, index: Indices, start: Array, end: Array
) -> tuple[Array, Array]:
    """Return the (N, 4, 2) controls of the cubics with each part's true ends, and how far off."""
    count, looks = len(index), len(_CHECKED_AT)
    t = start[:, None] + (end - start)[:, None] * _CHECKED_AT
    places, slopes = followed.at(np.repeat(index, looks), t.ravel())
    images, derivatives = onto(places)
    images = images.reshape(count, looks, 2)
    velocity = np.einsum("nij,nj->ni", derivatives, slopes).reshape(count, looks, 2)
    third = ((end - start) / 3)[:, None, None] * velocity[:, [0, -1]]
    first, last = images[:, 0], images[:, -1]
    controls = np.stack([first, first + third[:, 0], last - third[:, 1], last], axis=1)
    apart = np.einsum("kj,njd->nkd", _CUBIC_WEIGHTS, controls) - images
    speed = np.maximum(np.hypot(velocity[..., 0], velocity[..., 1]), 1e-12)
    beside = apart[..., 0] * velocity[..., 1] - apart[..., 1] * velocity[..., 0]
    off_mm: Array = np.abs(beside / speed).max(axis=1)  # along the curve it may run ahead
    return controls, off_mm


def joined(segments: list[Segment]) -> Chain:
    """Return the pieces with each one's end exactly at the next one's start, where they met."""
    if not segments:
        return ()
    exact = []
    for segment, after in zip(segments, [*segments[1:], segments[0]], strict=True):
        gap_mm = math.dist(segment.end, after.start)
        exact.append(replace(segment, end=after.start) if 0 < gap_mm < 1e-6 else segment)
    return tuple(exact)
