"""Smooth curves through given points: Hobby's interpolating splines.

J. D. Hobby, "Smooth, easy to compute interpolating splines", Discrete and Computational Geometry 1
(1986), 123-140. At each point the curve's direction is chosen so that the curvatures of the two
sides, to first order in the turning angles, agree ("mock curvature"); the lengths of the controls
follow from the angles. The directions solve one linear system, so the curve changes smoothly as
the points do, and it turns, moves and grows with them.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from geometry.curves import Cubic, Point

_SQRT2, _SQRT5 = math.sqrt(2), math.sqrt(5)
MAX_VELOCITY = 4.0  # of a chord; where the curve leaves straight backward it would be infinite
MIN_TENSION = 0.75  # Hobby's lower limit; below it the curve may loop


@dataclass(frozen=True, slots=True, kw_only=True)
class Knot:
    """A point that the curve goes through.

    Parameters
    ----------
    point : tuple of float
        Where, mm.
    corner : bool
        The curve may change direction here; without, it is smooth.
    into_rad, out_rad : float, optional
        The direction of travel on arriving and on leaving, counter-clockwise from x. At a smooth
        knot one of them serves for both.
    tension_in, tension_out : float
        How tightly the curve follows its chord before and after the knot, >= 0.75; 1 is natural.
    curl : float
        Where the direction is free at an end or a corner: the ratio of the mock curvature there to
        the next one's; 1 makes the end about as round as a circle, 0 straightens it.
    """

    point: Point
    corner: bool = False
    into_rad: float | None = None
    out_rad: float | None = None
    tension_in: float = 1.0
    tension_out: float = 1.0
    curl: float = 1.0

    def __post_init__(self) -> None:
        if not min(self.tension_in, self.tension_out) >= MIN_TENSION:
            raise ValueError(f"tension below {MIN_TENSION}")
        if not self.curl >= 0:
            raise ValueError("curl below 0")

    @property
    def splits(self) -> bool:
        """Whether the directions on both sides of the knot are found apart."""
        return self.corner or self.into_rad is not None or self.out_rad is not None

    def arriving_rad(self) -> float | None:
        """Return the given direction on arriving, if there is one."""
        return self.out_rad if self.into_rad is None and not self.corner else self.into_rad

    def leaving_rad(self) -> float | None:
        """Return the given direction on leaving, if there is one."""
        return self.into_rad if self.out_rad is None and not self.corner else self.out_rad


def hobby_curve(knots: Sequence[Knot], *, closed: bool = False) -> tuple[Cubic, ...]:
    """Return the curve through the knots, one cubic from each to the next.

    Parameters
    ----------
    knots : sequence of Knot
        At least two, none at the same place as the next.
    closed : bool
        Whether the curve returns from the last knot to the first.

    Raises
    ------
    ValueError
        With fewer than two knots, or two in a row at the same place.
    """
    if len(knots) < 2 or any(a.point == b.point for a, b in pairwise(knots)):
        raise ValueError("a curve needs two knots or more, each at a place of its own")
    if not closed:
        return _pieces(list(knots))
    first = next((i for i, knot in enumerate(knots) if knot.splits), None)
    if first is None:
        return _all_smooth_ring(knots)
    turned = [*knots[first:], *knots[: first + 1]]
    pieces = _pieces(turned)
    back = len(knots) - first
    return pieces[back:] + pieces[:back]


def _pieces(knots: list[Knot]) -> tuple[Cubic, ...]:
    """Return an open curve, each stretch between splitting knots solved by itself."""
    cuts = [0, *(i for i in range(1, len(knots) - 1) if knots[i].splits), len(knots) - 1]
    return tuple(
        cubic for start, stop in pairwise(cuts) for cubic in _one_stretch(knots[start : stop + 1])
    )


def _one_stretch(knots: list[Knot]) -> list[Cubic]:
    """Return the curve through knots that are all smooth but for the ends."""
    chords = _chords(knots)
    if len(knots) == 2 and knots[0].leaving_rad() is None and knots[1].arriving_rad() is None:
        return _cubics(knots, chords, [0.0], [0.0])  # a line: the system would be singular
    turns = np.append(_turns(chords), 0.0)  # the angle psi at each knot; index 0 is not used
    matrix, right = _inner_rows(knots, chords, turns)
    _set_start(matrix, right, knots, chords, turns)
    _set_end(matrix, right, knots, chords)
    theta = np.linalg.solve(matrix, right)
    return _cubics(knots, chords, theta[:-1].tolist(), (-turns[1:] - theta[1:]).tolist())


def _all_smooth_ring(knots: Sequence[Knot]) -> tuple[Cubic, ...]:
    """Return the closed curve in which no knot splits: one cyclic system."""
    count = len(knots)
    ring = [*knots, knots[0]]
    chords = _chords(ring)
    turns = np.array([_angle(chords[k] / chords[k - 1]) for k in range(count)])
    matrix, right = np.zeros((count, count)), np.zeros(count)
    for k in range(count):
        after = (k + 1) % count
        before, here_in, here_out, next_ = _weights(
            knots[k - 1], knots[k], knots[after], abs(chords[k - 1]), abs(chords[k])
        )
        matrix[k, k - 1] += before
        matrix[k, k] += here_in + here_out
        matrix[k, after] += next_
        right[k] = -here_in * turns[k] - next_ * turns[after]
    theta = np.linalg.solve(matrix, right)
    return tuple(_cubics(ring, chords, theta.tolist(), (-np.roll(turns + theta, -1)).tolist()))


def _chords(knots: Sequence[Knot]) -> list[complex]:
    places = [complex(*knot.point) for knot in knots]
    return [b - a for a, b in pairwise(places)]


def _turns(chords: list[complex]) -> list[float]:
    """Return the turn from each chord to the next, with a zero first, rad."""
    return [0.0, *(_angle(b / a) for a, b in pairwise(chords))]


def _angle(value: complex) -> float:
    return cmath.phase(value)


def _weights(
    before: Knot, here: Knot, after: Knot, in_mm: float, out_mm: float
) -> tuple[float, float, float, float]:
    """Return the four weights of the equal-mock-curvature condition at one knot."""
    arrive = here.tension_in**2 / in_mm
    leave = here.tension_out**2 / out_mm
    return (
        arrive / before.tension_out,
        arrive * (3 - 1 / before.tension_out),
        leave * (3 - 1 / after.tension_in),
        leave / after.tension_in,
    )


def _inner_rows(
    knots: list[Knot], chords: list[complex], turns: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    count = len(knots)
    matrix, right = np.zeros((count, count)), np.zeros(count)
    for k in range(1, count - 1):
        before, here_in, here_out, after = _weights(
            knots[k - 1], knots[k], knots[k + 1], abs(chords[k - 1]), abs(chords[k])
        )
        matrix[k, k - 1 : k + 2] = before, here_in + here_out, after
        right[k] = -here_in * turns[k] - after * turns[k + 1]
    return matrix, right


def _set_start(
    matrix: NDArray[np.float64],
    right: NDArray[np.float64],
    knots: list[Knot],
    chords: list[complex],
    turns: NDArray[np.float64],
) -> None:
    given = knots[0].leaving_rad()
    if given is not None:
        matrix[0, 0] = 1.0
        right[0] = _angle(cmath.rect(1, given) / chords[0])
        return
    out, into = 1 / knots[0].tension_out, 1 / knots[1].tension_in
    chi = out**2 * knots[0].curl / into**2
    matrix[0, :2] = chi * out + 3 - into, (3 - out) * chi + into
    right[0] = -matrix[0, 1] * turns[1]


def _set_end(
    matrix: NDArray[np.float64],
    right: NDArray[np.float64],
    knots: list[Knot],
    chords: list[complex],
) -> None:
    given = knots[-1].arriving_rad()
    if given is not None:
        matrix[-1, -1] = 1.0
        right[-1] = _angle(cmath.rect(1, given) / chords[-1])
        return
    out, into = 1 / knots[-2].tension_out, 1 / knots[-1].tension_in
    chi = into**2 * knots[-1].curl / out**2
    matrix[-1, -2:] = (3 - into) * chi + out, chi * into + 3 - out


def _cubics(
    knots: Sequence[Knot],
    chords: list[complex],
    theta: Sequence[float],
    phi: Sequence[float],
) -> list[Cubic]:
    """Return one cubic a chord, leaving at theta and arriving at phi from it."""
    cubics = []
    for k, chord in enumerate(chords):
        leave, arrive = theta[k], phi[k]
        start, end = complex(*knots[k].point), complex(*knots[k + 1].point)
        first = _velocity(leave, arrive) / knots[k].tension_out
        second = _velocity(arrive, leave) / knots[k + 1].tension_in
        control1 = start + cmath.rect(first, leave) * chord
        control2 = end - cmath.rect(second, -arrive) * chord
        cubics.append(
            Cubic(
                start=knots[k].point,
                control1=(control1.real, control1.imag),
                control2=(control2.real, control2.imag),
                end=knots[k + 1].point,
            )
        )
    return cubics


def _velocity(theta: float, phi: float) -> float:
    """Return the control's length as a share of the chord (Hobby's rho over 3)."""
    sin_t, sin_p, cos_t, cos_p = math.sin(theta), math.sin(phi), math.cos(theta), math.cos(phi)
    above = 2 + _SQRT2 * (sin_t - sin_p / 16) * (sin_p - sin_t / 16) * (cos_t - cos_p)
    below = 3 * (1 + (_SQRT5 - 1) / 2 * cos_t + (3 - _SQRT5) / 2 * cos_p)
    return min(above / below, MAX_VELOCITY) if below > 0 else MAX_VELOCITY
