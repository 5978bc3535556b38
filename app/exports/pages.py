"""A drawing laid on pages of one size: turned so that few are needed, tiled where one is too small.

Positions are millimetres from the lower left corner of what printers can reach. A correction of the
printer stretches everything drawn about that corner, never the page itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from app.document.drawing import BoxMm, Drawing, Item, Polyline
from app.document.paper import Paper
from app.exports.arrangement import Arrangement, arrangements
from app.exports.labels import with_labels_settled
from app.exports.rulers import rulers
from app.exports.sheet_text import paragraphs
from app.exports.tiles import Grid, fitted_grid, tile_items, tiled_arrangement
from geometry.errors import InputError

SIDE_MM, FOOT_MM = 10.0, 15.0  # what common printers cannot reach, and a little more
MOST_PAGES = 100
TURN_STEP_DEG = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """What one page carries.

    Parameters
    ----------
    content : tuple of Item
        The drawing, already moved to where it lies on this page, mm before correction, from the
        usable area's corner. Only what lies in the window is to be shown.
    window_mm : tuple
        Left, bottom, right, top of the window.
    furniture : tuple of Item
        Bars, words, joins: shown whole.
    name : str
        "" or the tile's, like "row A, column 2 of 3".
    """

    content: tuple[Item, ...]
    window_mm: BoxMm
    furniture: tuple[Item, ...]
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pages:
    """All pages of a pattern, each as large as the paper.

    Parameters
    ----------
    paper : Paper
        As it lies.
    turn_rad : float
        How far the drawing was turned to lie well.
    corner_mm : tuple of float
        The usable area's lower left corner, on the page.
    pages : tuple of Page
        In reading order.
    """

    paper: Paper
    turn_rad: float
    corner_mm: tuple[float, float]
    pages: tuple[Page, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """One way to lie on paper, judged by its pages and then by how early it was tried."""

    paper: Paper
    turn_rad: float
    arrangement: Arrangement | None
    grid: Grid


def laid_out(
    drawing: Drawing,
    paper: Paper,
    *,
    stretch: tuple[float, float] = (1.0, 1.0),
    extra: tuple[str, ...] = (),
) -> Pages:
    """Return the pages of a pattern, as few as a search over turns finds.

    Parameters
    ----------
    drawing : Drawing
        The pattern, at true size.
    paper : Paper
        Every page is exactly this size, upright or lying.
    stretch : tuple of float
        What drawn lengths will be multiplied by, across and up: more of it, less fits on a page.
    extra : tuple of str
        Further lines below the title.

    Raises
    ------
    InputError
        If the paper leaves no room beside the bars, or more than `MOST_PAGES` would be needed.
    """
    way = _fewest_pages(drawing, paper, stretch, extra)
    turned = with_labels_settled(drawing.turned(way.turn_rad))
    if way.arrangement is not None:
        pages: tuple[Page, ...] = (_single_page(turned, way.arrangement),)
    else:
        usable = _usable_mm(way.paper, stretch)
        pages = tuple(
            Page(content=content, window_mm=window, furniture=furniture, name=name)
            for content, window, furniture, name in tile_items(turned, way.grid, usable, extra)
        )
    return Pages(paper=way.paper, turn_rad=way.turn_rad, corner_mm=(SIDE_MM, FOOT_MM), pages=pages)


def _usable_mm(paper: Paper, stretch: tuple[float, float]) -> tuple[float, float]:
    return (
        (paper.width_mm - 2 * SIDE_MM) / stretch[0],
        (paper.height_mm - SIDE_MM - FOOT_MM) / stretch[1],
    )


def _fewest_pages(
    drawing: Drawing, paper: Paper, stretch: tuple[float, float], extra: tuple[str, ...]
) -> _Way:
    words = paragraphs(drawing.title, extra)
    sheets = [(lie, _usable_mm(lie, stretch)) for lie in (paper.lying(), paper.upright())]
    singles = [(lie, found) for lie, usable in sheets for found in arrangements(*usable, words)]
    tiled = [(lie, tiled_arrangement(drawing.title, usable, extra)) for lie, usable in sheets]
    hull = _hull(drawing)
    ways: list[_Way] = []
    for turn_rad in _turns_rad(hull):
        size = _size_mm(hull, turn_rad)
        for lie, arrangement in singles:
            room = arrangement.size_mm()
            if size[0] <= room[0] and size[1] <= room[1]:
                one = Grid(columns=1, rows=1, window_mm=arrangement.window_mm, size_mm=size)
                return _Way(paper=lie, turn_rad=turn_rad, arrangement=arrangement, grid=one)
        for lie, arrangement in tiled:
            grid = fitted_grid(size, arrangement.window_mm)
            if grid is not None:
                ways.append(_Way(paper=lie, turn_rad=turn_rad, arrangement=None, grid=grid))
    return _affordable(min(ways, key=lambda way: way.grid.count(), default=None), paper)


def _affordable(way: _Way | None, paper: Paper) -> _Way:
    if way is None:
        raise InputError(
            f"{paper.name} leaves no room beside the bars that prove the scale.",
            where="Paper",
            remedy="Use larger paper.",
        )
    if way.grid.count() > MOST_PAGES:
        raise InputError(
            f"the pattern would take more than {MOST_PAGES} pages of {paper.name}.",
            where="Paper",
            remedy="Use larger paper, or check the outline's unit.",
        )
    return way


def _hull(drawing: Drawing) -> NDArray[np.float64]:
    """Return the corners of the drawing's convex hull, (N, 2)."""
    points: list[tuple[float, float]] = []
    for item in drawing.items:
        if isinstance(item, Polyline):
            points += item.points_mm
    hull = shapely.MultiPoint(points or [(0.0, 0.0)]).convex_hull
    return shapely.get_coordinates(hull)


def _turns_rad(hull: NDArray[np.float64]) -> list[float]:
    """Return turns to try: as it stands, upright, along its narrowest box, then all round."""
    corners = shapely.get_coordinates(shapely.MultiPoint(hull).minimum_rotated_rectangle)
    turns = [0.0, math.pi / 2]
    if len(corners) == 5:
        side = corners[1] - corners[0]
        lean = math.atan2(side[1], side[0]) % (math.pi / 2)
        turns += [-lean, math.pi / 2 - lean]
    return turns + [math.radians(d) for d in range(TURN_STEP_DEG, 180, TURN_STEP_DEG)]


def _size_mm(hull: NDArray[np.float64], turn_rad: float) -> tuple[float, float]:
    cos, sin = math.cos(turn_rad), math.sin(turn_rad)
    turned = hull @ np.array([[cos, sin], [-sin, cos]])
    width, height = np.ptp(turned, axis=0)
    return float(width), float(height)


def _single_page(turned: Drawing, arrangement: Arrangement) -> Page:
    left, bottom, right, top = arrangement.window_mm
    box = turned.box_mm()
    moved = turned.moved((left + right - box[0] - box[2]) / 2, (bottom + top - box[1] - box[3]) / 2)
    return Page(
        content=moved.items,
        window_mm=arrangement.window_mm,
        furniture=(*rulers(0.0, 0.0), *arrangement.words),
    )
