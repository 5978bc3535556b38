"""References that are trusted less, because something else does not agree with them."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import numpy as np

from calibration.matched import Matched
from calibration.papers import paper_of_shape
from calibration.seen import PlacesSeen, SheetSeen

HALVES = 0.6  # of what two differ by, to doubt each by: either may be right, up to three lines
LIKE = 0.04  # of its size: a sheet that is nearer to a paper of its shape may be that paper


def doubted_by_paper(matched: tuple[Matched, ...], sheet: SheetSeen | None) -> tuple[Matched, ...]:
    """Return references doubted by what a sheet of their making is off the paper it is like."""
    if sheet is None or not sheet.free:
        return matched
    _, times = paper_of_shape(np.array([sheet.width_mm, sheet.height_mm])) or ("", 1.0)
    off = abs(times - 1.0)
    if off > LIKE:
        return matched
    lengths = [[line.length_mm for line in one.lines] for one in matched]
    less = [
        doubted(one, [off * length for length in each])
        for one, each in zip(matched, lengths, strict=True)
    ]
    return tuple(stretched(one, HALVES * off) for one in less)


def doubted(one: Matched, off_mm: Sequence[float]) -> Matched:
    """Return lines whose lengths are doubted by a good half of what they are off, mm."""
    if not one.lines:
        return one
    lines = tuple(
        dataclasses.replace(line, sigma_mm=max(line.sigma_mm, HALVES * off))
        for line, off in zip(one.lines, off_mm, strict=True)
    )
    return dataclasses.replace(one, lines=lines)


def stretched(one: Matched, share: float) -> Matched:
    """Return figures whose scale is doubted by at least a share."""

    def loose(figure: PlacesSeen) -> PlacesSeen:
        x, y = (max(share, sigma) for sigma in figure.stretch_sigma)
        return dataclasses.replace(figure, stretch_sigma=(x, y))

    return dataclasses.replace(one, figures=tuple(map(loose, one.figures)))


def sheet_doubted(sheet: SheetSeen | None, share: float) -> SheetSeen | None:
    """Return a sheet whose sides, together, give the scale with at least a share of doubt."""
    if sheet is None or share == 0.0:
        return sheet
    doubt_mm = share * math.hypot(sheet.width_mm, sheet.height_mm)
    return dataclasses.replace(sheet, side_sigma_mm=max(sheet.side_sigma_mm, doubt_mm))
