"""The piece's region among the lines of a sheet, gaps bridged where they keep it open."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.chosen import piece_region
from calibration.gaps import Bridge, bridges, drawn
from calibration.lines import Lines
from calibration.regions import Region
from calibration.repair import stepped
from calibration.thinning import Mask, without_loose_ends

Points = NDArray[np.float64]

WORTH = 1.1  # times the area without bridges that bridges must close; writing near the trace
LEANING = 1.25  # a letter sheet that fills a picture and leans by 20 degrees: 140 mm nearer the
# lens by sin 20 of 300 mm, 1 / (1 - 0.16) in scale, and somewhat for the lens not being ideal
KEPT = 0.9  # of the area that must stay when a bridge is left out again


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Finder:
    """Finds the piece among lines; what does not change while gaps are tried.

    Parameters
    ----------
    sheet_area : float
        In cells of the working size.
    near_edges : ndarray of bool, (h, w)
        Where the sheet's edges are near, at working size.
    inside : tuple of int, optional
        A cell within the piece.
    avoid : tuple of ndarray, (N, 2)
        References, at working size.
    """

    sheet_area: float
    near_edges: Mask
    inside: tuple[int, int] | None
    avoid: tuple[Points, ...]

    def __call__(self, thin: Mask) -> Region | None:
        """Return the piece's region, or None."""
        return piece_region(
            thin,
            sheet_area=self.sheet_area,
            near_edges=self.near_edges,
            inside=self.inside,
            avoid=self.avoid,
        )


def closed_region(
    lines: Lines, finder: Finder, *, gap_px: float
) -> tuple[Region | None, list[Bridge]]:
    """Return the piece's region and the bridges without which it would be open.

    Where a frame along the sheet's edges, or nothing, is all that closes, a second look reaches
    as far as a gap of that width may be on the nearer side of a sheet that leans.

    Parameters
    ----------
    lines : Lines
        Of the sheet.
    finder : Finder
        Picks the piece.
    gap_px : float
        The widest gap to bridge, full picture's pixels in its middle.
    """
    region, ways = _closed(lines, finder, gap_px)
    if region is None or region.along_sheet:
        nearer, longer = _closed(lines, finder, LEANING * gap_px)
        if nearer is not None and not nearer.along_sheet:
            return nearer, longer
    return region, ways


def _closed(lines: Lines, finder: Finder, gap_px: float) -> tuple[Region | None, list[Bridge]]:
    whole = finder(lines.thin)
    ways = bridges(
        lines.thin,
        gap_px=gap_px / lines.factor,
        width_px=lines.width_px / lines.factor,
        ink=lines.ink,
    )
    bridged = finder(drawn(lines.thin, ways)) if ways else None
    if bridged is None or (
        whole is not None and bridged.area < WORTH * whole.area and not _well_within(bridged, whole)
    ):
        return whole, []
    return _with_few(lines.thin, finder, ways, bridged)


def _with_few(
    thin: Mask, finder: Finder, ways: list[Bridge], region: Region
) -> tuple[Region, list[Bridge]]:
    """Return the region with only the bridges that it needs, the dearest tried first."""
    kernel = np.ones((5, 5), np.uint8)
    filled = region.filled.astype(np.uint8)
    rim = (cv2.dilate(filled, kernel) > 0) & (cv2.erode(filled, kernel) == 0)
    kept = [way for way in ways if _touches(way, rim)]
    thin = thin & without_loose_ends(drawn(thin, kept))  # fewer bridges leave no more of them
    for way in sorted(kept, key=lambda each: -each.cost):
        fewer = [each for each in kept if each is not way]
        without = finder(drawn(thin, fewer))
        if (
            without is not None
            and KEPT * region.area < without.area
            and not _well_within(region, without)
        ):
            kept, region = fewer, without
    return region, kept


def _well_within(region: Region, other: Region) -> bool:
    """Return whether a region keeps off the rim of another, a frame: no part cut off from it."""
    kernel = np.ones((7, 7), np.uint8)
    inner = cv2.erode(other.filled.astype(np.uint8), kernel, borderValue=0) > 0
    return bool(inner[region.outline[:, 1], region.outline[:, 0]].all())


def _touches(way: Bridge, rim: Mask) -> bool:
    """Return whether a bridge reaches a rim; one that turns a corner may do so with its ends."""
    column, row = np.rint(stepped(way.path_px)).astype(int).T
    inside = (row >= 0) & (row < rim.shape[0]) & (column >= 0) & (column < rim.shape[1])
    return bool(rim[row[inside], column[inside]].any())
