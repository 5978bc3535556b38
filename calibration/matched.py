"""A reference and what of it was seen in the picture."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.references import Reference
from calibration.seen import LineSeen, PlacesSeen, SquareSeen


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rival:
    """Another stroke that could be the line, and how far it is behind in its marks."""

    line: LineSeen
    behind: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Matched:
    """A reference and what of it was seen.

    Parameters
    ----------
    reference : Reference
    lines, squares, figures : tuple
        What it gives the adjustment.
    note : str
        A sentence for the maker, if there is one.
    rivals : tuple of Rival
        Other strokes that could be it, likeliest first.
    """

    reference: Reference
    lines: tuple[LineSeen, ...] = ()
    squares: tuple[SquareSeen, ...] = ()
    figures: tuple[PlacesSeen, ...] = ()
    note: str = ""
    rivals: tuple[Rival, ...] = ()

    @property
    def points_px(self) -> NDArray[np.float64]:
        """All places in the picture that belong to it, (N, 2)."""
        parts = [line.ends_px for line in self.lines]
        parts += [figure.points_px for figure in self.figures]
        return np.vstack([np.empty((0, 2)), *parts])


def sides_of(one: Matched) -> tuple[LineSeen, ...]:
    """Return a figure's longest ways between two of its places, along and up, as known lines."""
    found = []
    for figure in one.figures:
        ways = np.abs(figure.places_mm[:, None] - figure.places_mm)
        for axis in (0, 1):
            spans = np.where(ways[..., 1 - axis] < 1e-6, ways[..., axis], 0.0)
            a, b = np.unravel_index(np.argmax(spans), spans.shape)
            length_mm = float(spans[a, b])
            stretch_mm = figure.stretch_sigma[axis] * length_mm
            sigma_mm = math.hypot(math.sqrt(2.0) * figure.sigma_mm, stretch_mm)
            ends_px = figure.points_px[[a, b]]
            found.append(LineSeen(ends_px=ends_px, length_mm=length_mm, sigma_mm=sigma_mm))
    return tuple(found)
