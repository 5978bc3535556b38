"""Rounded corners of an edge under a map: their sides follow it, and their radius is kept.

A rounded corner is taken out, its sides are mapped, and it is set between them again, turned
through a little more or less as they now meet, the sides cut shorter or drawn on straight to it.
A round end, such as a tang's, stays as round likewise, but gets as large as its sides are apart.
Directions and places are complex numbers here: to turn is to multiply.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from geometry.along import motion
from geometry.chain_parts import Side, between, without_ends
from geometry.curves import Arc, Chain, Cubic, Segment, chain_backward
from geometry.mapped import Map, joined, mapped_chain, mapped_pieces
from geometry.tight_bends import Bend, tight_bends

Offsets: TypeAlias = list[NDArray[np.complex128]]

TIGHT_MM = 6.0  # an outward bend that gets to a smaller radius than this keeps it
MOST_CORNER_RAD = math.radians(120)  # a bend that turns by more is a round end
MOST_RAD = math.radians(270)  # and by more than this no end of anything
MOST_STEPS = 20
CLOSE_MM = 1e-9  # sides and corner meet within this
MOST_CHANGE = 0.5  # of its turn: a corner that changes by more is mapped like all else
MORE_ARC_RAD = math.radians(30)  # an arc may turn by so much more
LEAST_LEFT_RAD = math.radians(2)  # and down to this: sides that go straight on meet nowhere
_LOOKED_AT = np.linspace(0.0, 1.0, 33)  # on a piece, to see how far it reaches
SAME_RAD = 1e-3  # a bend whose pieces do not turn as it does is no plain one


def round_corners(chain: Chain) -> tuple[Bend, ...]:
    """Return the bends of a closed edge that keep their radius, in its order.

    They are outward ones that get to less than 6 mm, and arcs of up to 16 mm: whoever drew such an
    arc meant its radius. Inward they are arcs alone: of what turns by 30 degrees or more there
    `geometry.rigid_zones` keeps all of the shape, where its sides allow it.

    Parameters
    ----------
    chain : tuple of segments
        The closed edge, counter-clockwise, mm.
    """
    return tuple(
        bend
        for bend in tight_bends(chain)
        if -MOST_CORNER_RAD < bend.turn_rad < MOST_RAD
        and (bend.of_arcs or bend.radius_mm < TIGHT_MM)
    )


def mapped_edge(chain: Chain, onto: Map) -> Chain:
    """Return a closed edge under a smooth map, its rounded corners with the radius they had.

    Parameters
    ----------
    chain : tuple of segments
        The closed edge, counter-clockwise, mm.
    onto : callable
        As for `geometry.mapped.mapped_chain`.

    Raises
    ------
    InputError
        If there is no room any more for two corners beside each other.
    """
    parts = _parted(chain)  # corner, side, corner, side
    if not parts:
        return mapped_chain(chain, onto)
    images = iter(mapped_pieces(tuple(piece for part in parts for piece in part), onto))
    mapped = [tuple(piece for _ in part for piece in next(images)) for part in parts]
    sides = mapped[1::2]
    fits = [
        _fitted(corner, mapped[2 * i], sides[i - 1], sides[i])
        for i, corner in enumerate(parts[::2])
    ]
    edge: list[Segment] = []
    for fit, side, after in zip(fits, sides, [*fits[1:], fits[0]], strict=True):
        edge += [*fit.pieces, *without_ends(side, fit.off_after_mm, after.off_before_mm)]
    [(x, y)] = onto(np.array([chain[0].start]))[0].tolist()
    first = min(range(len(edge)), key=lambda i: math.dist(edge[i].start, (x, y)))
    return joined([*edge[first:], *edge[:first]])


@lru_cache(maxsize=16)
def _parted(chain: Chain) -> tuple[Chain, ...]:
    """Return the rounded corners of an edge, each followed by the side after it."""
    bends = [
        bend
        for bend in round_corners(chain)
        if abs(sum(_turns(between(chain, bend.start, bend.end))) - bend.turn_rad) < SAME_RAD
    ]
    while bends:
        pairs = list(zip(bends, [*bends[1:], *bends[:1]], strict=True))
        sides = [between(chain, bend.end, after.start) for bend, after in pairs]
        bare = next((pair for pair, side in zip(pairs, sides, strict=True) if not side), None)
        if bare is None:
            corners = [between(chain, bend.start, bend.end) for bend in bends]
            return tuple(part for pair in zip(corners, sides, strict=True) for part in pair)
        bends.remove(min(bare, key=lambda bend: abs(bend.turn_rad)))  # two with nothing between
    return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fit:
    """A corner set between its sides, and what it takes off each, mm; less than 0 is drawn on."""

    pieces: Chain
    off_before_mm: float = 0.0
    off_after_mm: float = 0.0


def _fitted(corner: Chain, image: Chain, before: Chain, after: Chain) -> _Fit:
    """Return a drawn corner between the images of its sides; its own image where it cannot be.

    Newton's method on what is taken off both sides, and on the size of a round end, which has to
    reach as far as its image does.
    """
    ends = Side(before), Side(chain_backward(after))
    turn = sum(_turns(corner))
    least, most = _share_range(corner, turn)
    off_before = off_after = 0.0
    scale = 1.0
    for _ in range(MOST_STEPS):
        (p, u), (q, w) = ends[0].at(off_before), ends[1].at(off_after)  # both toward the corner
        share = 1 + cmath.phase(-w / u * cmath.exp(-1j * turn)) / turn
        if not least < share < most or not 0.1 < scale < 10.0:
            break
        offsets = _offsets(corner, share, u)
        across = complex(offsets[-1][-1])
        short, unknown = [p + scale * across - q], [[-u, w, across]]
        if turn > MOST_CORNER_RAD:
            out = -1j * u * cmath.exp(0.5j * turn * share)
            farthest = _farthest(_pieces(corner, offsets, share, 1.0, 0j), out)
            reached = _dot(_farthest(image, out), out)
            short.append(complex(_dot(p + scale * farthest, out) - reached))
            unknown.append([_dot(-u, out), 0.0, _dot(farthest, out)])
        if max(map(abs, short)) < CLOSE_MM:
            pieces = _pieces(corner, offsets, share, scale, p)
            return _Fit(pieces=pieces, off_before_mm=off_before, off_after_mm=off_after)
        step = _step(unknown, short)
        off_before, off_after = off_before + step[0], off_after + step[1]
        scale += step[2] if len(step) > 2 else 0.0
    return _Fit(pieces=image)


def _share_range(corner: Chain, turn: float) -> tuple[float, float]:
    """Return between which shares of its turn a corner keeps its radii.

    An arc that hardly turns may turn many times as far.
    """
    if not all(isinstance(piece, Arc) for piece in corner):
        return 1 - MOST_CHANGE, 1 + MOST_CHANGE
    return min(1 - MOST_CHANGE, LEAST_LEFT_RAD / abs(turn)), max(
        1 + MOST_CHANGE, 1 + MORE_ARC_RAD / abs(turn)
    )


def _turns(corner: Chain) -> list[float]:
    """Return how far each piece of a corner turns left, and each joint after it, rad."""
    found = []
    for piece, after in zip(corner, (*corner[1:], None), strict=True):
        if isinstance(piece, Cubic):
            found.append(sum(_legs(piece)[1]))
        else:
            found.append(piece.sweep_rad if isinstance(piece, Arc) else 0.0)
        if after is not None:
            found.append(_angle(complex(*piece.end_direction), complex(*after.start_direction)))
    return found


def _legs(cubic: Cubic) -> tuple[list[complex], tuple[float, float]]:
    """Return the three legs of a cubic's control polygon and the two angles between, rad."""
    legs = np.diff(cubic.controls @ (1, 1j)).tolist()
    return legs, (_angle(legs[0], legs[1]), _angle(legs[1], legs[2]))


def _angle(one: complex, other: complex) -> float:
    return cmath.phase(other * one.conjugate())


def _offsets(corner: Chain, share: float, way: complex) -> Offsets:
    """Return each piece's ends and controls from the corner's start, its turn a share of it.

    Parameters
    ----------
    corner : tuple of Arc and Cubic
        As drawn.
    share : float
        How much of its turn is left; its radii stay, so that it gets that much shorter, too.
    way : complex
        Its direction at the start.

    Notes
    -----
    A cubic for an arc of an angle has an outer leg of ``4 / 3 tan(angle / 4)`` radii, and its end
    has the radius ``3 a^2 / (2 b sin(turn))``, a and b its first two legs, turn the angle between.
    """
    found: Offsets = []
    at = 0j
    for piece, turn, joint in zip(corner, *_by_piece(_turns(corner)), strict=True):
        if isinstance(piece, Cubic):
            legs, (first, second) = _legs(piece)
            half = max((abs(first) + abs(second)) / 2, SAME_RAD)
            outer = math.tan(share * half / 2) / math.tan(half / 2)
            inner = outer**2 * math.sin(half) / math.sin(share * half)
            ways = way * np.exp(1j * share * np.array([0.0, first, first + second]))
            steps = np.array([outer, inner, outer]) * np.abs(legs) * ways
        else:
            sweep = share * turn
            steps = np.array([2 * _radius(piece) * math.sin(abs(sweep) / 2)])
            steps = steps * way * cmath.exp(0.5j * sweep)
        found.append(at + np.concatenate([[0.0], np.cumsum(steps)]))
        at = complex(found[-1][-1])
        way *= cmath.exp(1j * share * (turn + joint))
    return found


def _by_piece(turns: list[float]) -> tuple[list[float], list[float]]:
    """Return the turns of pieces and those of the joints after them, none after the last."""
    return turns[::2], [*turns[1::2], 0.0]


def _radius(piece: Segment) -> float:
    return piece.radius_mm if isinstance(piece, Arc) else 0.0


def _pieces(corner: Chain, offsets: Offsets, share: float, scale: float, start: complex) -> Chain:
    """Return a corner's pieces at their places."""
    pieces: list[Segment] = []
    for piece, part in zip(corner, offsets, strict=True):
        points = [(z.real, z.imag) for z in (start + scale * part).tolist()]
        if isinstance(piece, Arc):
            sweep = share * piece.sweep_rad
            pieces.append(Arc(start=points[0], end=points[-1], sweep_rad=sweep))
        else:
            p0, p1, p2, p3 = points
            pieces.append(Cubic(start=p0, control1=p1, control2=p2, end=p3))
    return tuple(pieces)


def _farthest(pieces: Chain, out: complex) -> complex:
    """Return the place of some pieces that reaches farthest in a direction."""
    places = np.concatenate([motion(piece, _LOOKED_AT)[0] for piece in pieces])
    return complex(*places[int((places @ (out.real, out.imag)).argmax())])


def _dot(one: complex, other: complex) -> float:
    return (one * other.conjugate()).real


def _step(unknown: list[list[complex]], short: list[complex]) -> list[float]:
    """Return Newton's step; a complex row is two real ones."""
    rows = np.array(unknown, complex)
    off = np.array(short, complex)
    real = np.vstack([rows[:1].real, rows[:1].imag, rows[1:].real])
    value = np.concatenate([off[:1].real, off[:1].imag, off[1:].real])
    count = len(value)
    step: list[float] = np.linalg.solve(real[:, :count], -value).tolist()
    return step
