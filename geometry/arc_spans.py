"""Which stretches of a dense line one straight line or one arc can stand for, within a band.

All arcs through two given ends are one family. Its parameter is the half sweep: the angle between
the way from the one end to a point of the arc and the way from there to the other end, which is
the same at every point of the arc (the inscribed angle). So each point of the dense line, moved to
one side and to the other of the band, gives the least and the greatest half sweep that pass it,
and there is an arc within the band where the greatest of the least is below the least of the
greatest. Arrays are (ends, samples): all ends ahead of one start at once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]

MOST_HALF_SWEEP_RAD = 0.7 * math.pi  # an arc beyond is told better as two
FEW_SAMPLES = 256  # of more, not all are asked for the half sweep; all are asked to prove it
FIRST_BLOCK = 16  # ends tried at once; each block is twice the one before


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """How far a line or arc may lie to either side of the dense line, mm; the left is the wider."""

    right_mm: float
    left_mm: float


class Spans(NamedTuple):
    """From one start: the ends that are reached, the half sweeps (0: straight), the misfits.

    A misfit is the square of the deviation times the length, mm3.
    """

    ends: Ints
    half_sweep_rad: Floats
    misfit_mm3: Floats


def spans_from(start: int, last: int, line_mm: Floats, breaks_mm: Floats, band: Band) -> Spans:
    """Return the spans that begin at a vertex of a dense line.

    Parameters
    ----------
    start, last : int
        The vertex to begin at, and the last one to end at; start < last.
    line_mm : ndarray, (N, 2)
        The dense line.
    breaks_mm : ndarray, (N, 2)
        Where spans meet at each vertex: there, or at a place in the band beside it.
    band : Band
        What may be strayed.
    """
    found: list[Spans] = []
    begin, block = start + 1, FIRST_BLOCK
    while begin <= last:
        ends = np.arange(begin, min(begin + block, last + 1))
        samples = _Samples(line_mm[start : int(ends[-1]) + 1])
        chords = _Chords(breaks_mm[start], breaks_mm[ends], samples, ends - start)
        spans = chords.spans(ends, band)
        found.append(spans)
        if not len(spans.ends) or spans.ends[-1] < ends[len(ends) // 2]:
            break
        begin, block = begin + block, 2 * block
    return Spans(*(np.concatenate(column) for column in zip(*found, strict=True)))


class _Samples:
    """The vertices of a stretch of the dense line, with the middles of its pieces between them."""

    def __init__(self, line_mm: Floats) -> None:
        self.points = np.empty((2 * len(line_mm) - 1, 2))
        self.points[::2], self.points[1::2] = line_mm, (line_mm[1:] + line_mm[:-1]) / 2
        half_mm = np.repeat(np.hypot(*np.diff(line_mm, axis=0).T) / 2, 2)
        self.share_mm = (np.append(half_mm, 0.0) + np.append(0.0, half_mm)) / 2


class _Chords:
    """From one start to several ends: the samples between, in the frame of each chord."""

    def __init__(self, start_mm: Floats, ends_mm: Floats, samples: _Samples, count: Ints) -> None:
        chord = ends_mm - start_mm
        self.length = np.maximum(np.hypot(*chord.T), 1e-12)[:, None]
        along = chord / self.length
        off = samples.points - start_mm
        self.u = along[:, :1] * off[:, 0] + along[:, 1:] * off[:, 1]
        self.v = along[:, :1] * off[:, 1] - along[:, 1:] * off[:, 0]
        number = np.arange(len(samples.points))
        self.between: Bools = (number > 0) & (number < 2 * count[:, None])
        self.pieces: Bools = number[: len(number) // 2] < count[:, None]
        self.middle, self.share_mm = count, samples.share_mm

    def spans(self, ends: Ints, band: Band) -> Spans:
        """Return the ends that a line or an arc reaches within the band."""
        half, possible = self._half_sweep(band)
        chosen = np.flatnonzero(possible)
        self.length, self.u, self.v, self.between, self.pieces = (
            each[chosen] for each in (self.length, self.u, self.v, self.between, self.pieces)
        )
        half = half[chosen]
        deviation, over = self._deviation(half[:, None])
        kept = self._within(deviation, over, band) & self._pieces_within(half[:, None], band)
        misfit = (np.where(self.between, deviation, 0.0) ** 2 * self.share_mm).sum(axis=1)
        return Spans(ends[chosen][kept], half[kept], misfit[kept])

    def _half_sweep(self, band: Band) -> tuple[Floats, Bools]:
        """Return the half sweep that follows best within the band, and where there is one."""
        row, middle = np.arange(len(self.middle)), self.middle
        rough = self._inscribed(self.u[row, middle][:, None], self.v[row, middle][:, None])
        step = 2 * (len(self.share_mm) // FEW_SAMPLES) + 1  # odd: vertices and middles in turn
        u, v, between = self.u[:, ::step], self.v[:, ::step], self.between[:, ::step]
        share_mm = self.share_mm[::step]
        sin, cos = 2 * np.sin(rough) / self.length, np.cos(rough)
        du, dv = (u - self.length / 2) * sin, v * sin - cos  # across the arc, right
        size = np.maximum(np.hypot(du, dv), 1e-12)
        du, dv = du / size, dv / size
        most = self._inscribed(u + band.right_mm * du, v + band.right_mm * dv)
        least = self._inscribed(u - band.left_mm * du, v - band.left_mm * dv)
        near = np.minimum(np.hypot(u, v), np.hypot(u - self.length, v))
        told = between & (near > band.left_mm / 2)  # nearer, the end itself is near enough
        low = np.where(told, least, -MOST_HALF_SWEEP_RAD).max(axis=1)
        high = np.where(told, most, MOST_HALF_SWEEP_RAD).min(axis=1)
        weight = np.where(told, share_mm, 0.0) / np.maximum(most - least, 1e-12) ** 2
        total = weight.sum(axis=1)
        mean = (weight * self._inscribed(u, v)).sum(axis=1) / np.maximum(total, 1e-300)
        straight = ((low <= 0.0) & (high >= 0.0)) | (total == 0.0)
        possible = (low <= high) & ~(told & (least > most)).any(axis=1)
        return np.where(straight, 0.0, np.clip(mean, low, high)), possible

    def _inscribed(self, u: Floats, v: Floats) -> Floats:
        angle: Floats = np.arctan2(-v * self.length, u * (self.length - u) - v * v)
        return angle

    def _deviation(self, half: Floats) -> tuple[Floats, Floats]:
        """Return how far the arc lies to the right of each sample, and each sample past its end."""
        sign, rise, radius = self._circle(half)
        q, w = self.u - self.length / 2, self.v - rise
        across = self.u * (self.length - self.u) - self.v**2 + 2 * self.v * rise
        arc_deviation = sign * across / (radius + np.hypot(q, w))  # R - r, without its rounding
        arc_over = (np.abs(np.arctan2(q, -sign * w)) - np.abs(half)) * radius
        line_over = np.maximum(-self.u, self.u - self.length)
        straight = half == 0.0
        deviation = np.where(straight, self.v, arc_deviation)
        return deviation, np.maximum(np.where(straight, line_over, arc_over), 0.0)

    def _circle(self, half: Floats) -> tuple[Floats, Floats, Floats]:
        """Return the turn's sign, the centre's height over the chord's middle, and the radius."""
        bent = np.where(half == 0.0, 1.0, half)
        radius = self.length / (2 * np.abs(np.sin(bent)))
        return np.sign(bent), self.length / (2 * np.tan(bent)), radius

    def _within(self, deviation: Floats, over: Floats, band: Band) -> Bools:
        far = np.where(self.between, np.hypot(deviation, over), 0.0).max(axis=1)
        right = np.where(self.between, deviation, 0.0).max(axis=1)
        kept: Bools = (far <= band.left_mm + 1e-12) & (right <= band.right_mm + 1e-12)
        return kept

    def _pieces_within(self, half: Floats, band: Band) -> Bools:
        """Return where no straight piece of the dense line cuts deeper into the circle."""
        sign, rise, radius = self._circle(half)
        q, w = (self.u - self.length / 2)[:, ::2], (self.v - rise)[:, ::2]
        dq, dw = np.diff(q, axis=1), np.diff(w, axis=1)
        length = np.maximum(np.hypot(dq, dw), 1e-12)
        foot = -(q[:, :-1] * dq + w[:, :-1] * dw) / length**2
        deviation = sign * (radius - np.abs(q[:, :-1] * dw - w[:, :-1] * dq) / length)
        hit = self.pieces & (foot > 0.0) & (foot < 1.0) & (half != 0.0)
        good = (deviation <= band.right_mm + 1e-9) & (deviation >= -band.left_mm - 1e-9)
        kept: Bools = (good | ~hit).all(axis=1)
        return kept
