"""Many small linear programs at once: how large the least of some slopes can be in a box.

Each program asks for the greatest t with ``t <= values[k] + slopes[k] @ d`` for all k, over d in
[-1, 1]^A. The dual simplex method walks from one bound on t to a lower one: it starts from the
slope whose own greatest is least, takes in the row that its point breaks most, and lets go of the
row whose weight falls to nothing first. Stopped anywhere it still gives a bound, since any weights
>= 0 of sum 1 do: ``t <= sum w values + |sum w slopes|_1``; what is returned is worked out from the
weights by that rule, so rounding on the way cannot make it too low.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from geometry.segments import Floats, Ints

EXCHANGES = 12
BROKEN = 1e-7  # less is rounding
LEAST_PIVOT = 1e-10


class BoxBounds(NamedTuple):
    """What the programs found.

    ``greatest`` (B,) is a bound on t; ``at`` (B, A) the point where it is nearly reached; ``lean``
    (B, A) >= 0 how much of the bound is owed to the box's width along each axis.
    """

    greatest: Floats
    at: Floats
    lean: Floats


def box_bounds(
    values: Floats, slopes: Floats, *, enough: float, most: int = EXCHANGES
) -> BoxBounds:
    """Bound the least of some slopes over a box, for many boxes.

    Parameters
    ----------
    values, slopes : numpy.ndarray
        (B, K) and (B, K, A): each of the K rows at the middle of the box, and how it changes to
        the box's sides.
    enough : float
        A bound at or below this is not lowered further; minus infinity: all are.
    most : int
        Exchanges at most.

    Examples
    --------
    >>> values, slopes = np.array([[1.0, 0.0]]), np.array([[[1.0, 0, 0], [-1.0, 0, 0]]])
    >>> float(box_bounds(values, slopes, enough=-np.inf).greatest[0])
    0.5
    """
    program = _Program(values, slopes)
    going = np.arange(len(values))
    for _ in range(most):
        going = program.exchange(going, enough)
        if not len(going):
            break
    return program.bounds()


class _Program:
    """The rows held by each program, and the inverse of their matrix.

    Row numbers below K are slopes, ``t - slope @ d <= value``; K + axis are sides of the box.
    """

    def __init__(self, values: Floats, slopes: Floats) -> None:
        self._values, self._slopes = values, slopes
        count, axes = len(values), slopes.shape[2]
        self._axes = axes
        every = np.arange(count)
        first = (values + np.abs(slopes).sum(axis=2)).argmin(axis=1)
        slope = slopes[every, first]
        side = np.where(slope >= 0.0, 1.0, -1.0)
        self._held: Ints = np.empty((count, axes + 1), dtype=np.intp)
        self._held[:, 0] = first
        self._held[:, 1:] = values.shape[1] + np.arange(axes)
        self._inverse = np.zeros((count, axes + 1, axes + 1))
        self._inverse[:, -1, 0] = 1.0
        for axis in range(axes):
            self._inverse[:, axis, axis + 1] = side[:, axis]
            self._inverse[:, -1, axis + 1] = np.abs(slope[:, axis])
        self._right = np.ones((count, axes + 1))
        self._right[:, 0] = values[every, first]
        self._point = (self._inverse @ self._right[:, :, None])[:, :, 0]

    def exchange(self, going: Ints, enough: float) -> Ints:
        """Exchange one row of each program that is not done; return which were not."""
        point = self._point[going]
        rows = self._values[going] + (self._slopes[going] @ point[:, :-1, None])[:, :, 0]
        lowest = rows.argmin(axis=1)
        every = np.arange(len(going))
        broken = point[:, -1] - rows[every, lowest]
        axis = np.abs(point[:, :-1]).argmax(axis=1)
        out = np.abs(point[every, axis]) - 1.0
        # A side is taken in first: beyond the box the slopes say nothing.
        go = (point[:, -1] > enough) & (np.maximum(broken, out) > BROKEN)
        going, point, lowest, axis = going[go], point[go], lowest[go], axis[go]
        by_side = out[go] > BROKEN
        if len(going):
            self._take_in(going, np.where(by_side, self._values.shape[1] + axis, lowest), point)
        return going

    def _take_in(self, going: Ints, entering: Ints, point: Floats) -> None:
        kinds = self._values.shape[1]
        every = np.arange(len(going))
        axis = entering - kinds
        by_side = axis >= 0
        number = np.where(by_side, 0, entering)
        row = np.empty((len(going), self._axes + 1))
        row[:, :-1] = -self._slopes[going, number]
        row[:, -1] = 1.0
        right = self._values[going, number]
        row[by_side] = 0.0
        sides = np.flatnonzero(by_side)
        row[sides, axis[sides]] = np.sign(point[sides, axis[sides]])
        right = np.where(by_side, 1.0, right)
        inverse = self._inverse[going]
        shares = (row[:, None, :] @ inverse)[:, 0, :]
        weights = np.maximum(inverse[:, -1, :], 0.0)
        giving = shares > LEAST_PIVOT
        ratios = np.where(giving, weights / np.where(giving, shares, 1.0), np.inf)
        leaving = ratios.argmin(axis=1)
        shares[~giving.any(axis=1)] = 1.0  # cannot be but for rounding: the bound stays one
        column = inverse[every, :, leaving] / shares[every, leaving][:, None]
        inverse = inverse - column[:, :, None] * shares[:, None, :]
        inverse[every, :, leaving] = column
        self._inverse[going] = inverse
        self._right[going, leaving] = right
        self._held[going, leaving] = entering
        self._point[going] = (inverse @ self._right[going][:, :, None])[:, :, 0]

    def bounds(self) -> BoxBounds:
        kinds = self._values.shape[1]
        weights = np.where(self._held < kinds, np.maximum(self._inverse[:, -1, :], 0.0), 0.0)
        weights /= weights.sum(axis=1, keepdims=True)
        rows = np.minimum(self._held, kinds - 1)
        every = np.arange(len(rows))[:, None]
        slope = (weights[:, :, None] * self._slopes[every, rows]).sum(axis=1)
        lean = np.abs(slope)
        greatest = (weights * self._values[every, rows]).sum(axis=1) + lean.sum(axis=1)
        at = np.clip(self._point[:, :-1], -1.0, 1.0)
        return BoxBounds(greatest, at, lean)
