"""Recognising a named paper from its measured sides."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from calibration.references import PAPERS

FITS = 9.2  # squared deviations, two sides: 99 in 100 of right papers are nearer (chi-square)
CLEAR = 16.0  # by which the next named paper must fit worse
SIDE_MM = 0.7  # of a paper's sides from their nominal: cut, humidity
SAME_SHAPE = 0.01  # of the ratio of the sides: Letter and A4 differ by 0.09
SLIPS = (1.0, 2.0, 10.0, 25.4, 2.54)  # of a length: nothing, another line, units mistaken
SAME_SLIP = 0.02  # of the logarithm
HAND = 0.004  # of the line that gave the scale, beyond what its own deviation says


def recognise_paper(
    sides_mm: NDArray[np.float64], covariance: NDArray[np.float64]
) -> tuple[str, tuple[float, float]] | None:
    """Return the named paper that measured sides belong to, and its sides in their order.

    Parameters
    ----------
    sides_mm : ndarray, shape (2,)
        Measured along and up.
    covariance : ndarray, shape (2, 2)
        Of them; a common error of scale is part of it.

    Returns
    -------
    name, (along_mm, up_mm) : str and two floats, or None
        None if no paper fits, or two do about as well.
    """
    best, *others = paper_fits(sides_mm, covariance)
    other = next(fit for fit in others if fit[1] != best[1])
    if best[0] > FITS or other[0] < best[0] + CLEAR:
        return None
    return best[1], best[2]


def paper_fits(
    sides_mm: NDArray[np.float64], covariance: NDArray[np.float64]
) -> list[tuple[float, str, tuple[float, float]]]:
    """Return every named paper both ways round, best first.

    Squared deviations, the name, and its sides along and up, mm; the arguments are those of
    `recognise_paper`.
    """
    spread = covariance + np.eye(2) * SIDE_MM**2 + np.outer(sides_mm, sides_mm) * HAND**2
    weight = np.linalg.inv(spread)
    found = []
    for name, (short, long) in PAPERS.items():
        for sides in ((short, long), (long, short)):
            off = np.asarray(sides) - sides_mm
            found.append((float(off @ weight @ off), name, sides))
    return sorted(found)


def paper_of_shape(sides_mm: NDArray[np.float64]) -> tuple[str, float] | None:
    """Return the named paper that has the shape of measured sides, and how large they are of it.

    Parameters
    ----------
    sides_mm : ndarray, shape (2,)
        Measured, in either order.

    Returns
    -------
    name, times : str and float, or None
        ``times`` is measured over nominal; of papers with one shape (the A series) the one that
        a common slip makes so large or small, else the one whose size is nearest. None if no
        paper has the shape.

    Examples
    --------
    >>> name, times = paper_of_shape(np.array([372.5, 287.9]))
    >>> name, round(times, 3)
    ('letter', 1.333)
    >>> name, times = paper_of_shape(np.array([148.5, 105.0]))
    >>> name, round(times, 3)
    ('a4', 0.5)
    """
    short, long = sorted(float(side) for side in sides_mm)
    alike = [
        (name, long / paper_long)
        for name, (paper_short, paper_long) in PAPERS.items()
        if abs(short / long * paper_long / paper_short - 1.0) < SAME_SHAPE
    ]

    def unlikely(one: tuple[str, float]) -> tuple[float, float]:
        size = abs(math.log(one[1]))
        slips = [k for k, s in enumerate(SLIPS) if abs(size - math.log(s)) < SAME_SLIP]
        return min(slips, default=len(SLIPS)), size

    return min(alike, key=unlikely, default=None)
