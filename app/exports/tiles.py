"""Pages that are cut and joined: the grid, the crosses at the overlaps, the map of the pages."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from app.document.drawing import BoxMm, Cross, Drawing, Item, Polyline, Text, TitleBlock
from app.exports.arrangement import Arrangement, framed
from app.exports.rulers import rulers
from app.exports.sheet_text import paragraphs

OVERLAP_MM = 10.0
MAP_MM = 22.0  # the longer side of the map of the pages
CROSS_MM = 5.0
LABEL_MM = 1.8

Tile = tuple[int, int]  # row from the top, column from the left


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """How a drawing's box is covered by equal windows that overlap.

    Parameters
    ----------
    columns, rows : int
        Their numbers.
    window_mm : tuple
        The window on each page.
    size_mm : tuple of float
        Width and height of the drawing's box.
    """

    columns: int
    rows: int
    window_mm: BoxMm
    size_mm: tuple[float, float]

    def count(self) -> int:
        """Return the number of pages."""
        return self.columns * self.rows

    def tile_mm(self, tile: Tile, box: BoxMm) -> BoxMm:
        """Return the part of the drawing that a tile shows; the cover is centred on the box."""
        width, height = self._window_size()
        step_x, step_y = width - OVERLAP_MM, height - OVERLAP_MM
        left = (box[0] + box[2]) / 2 - (self.columns * step_x + OVERLAP_MM) / 2
        bottom = (box[1] + box[3]) / 2 - (self.rows * step_y + OVERLAP_MM) / 2
        x_mm, y_mm = left + tile[1] * step_x, bottom + (self.rows - 1 - tile[0]) * step_y
        return x_mm, y_mm, x_mm + width, y_mm + height

    def tiles(self) -> Iterator[Tile]:
        """Yield the tiles in reading order."""
        yield from ((row, column) for row in range(self.rows) for column in range(self.columns))

    def name(self, tile: Tile) -> str:
        """Return what a tile is called."""
        return f"row {_letter(tile[0])}, column {tile[1] + 1} of {self.columns}"

    def _window_size(self) -> tuple[float, float]:
        left, bottom, right, top = self.window_mm
        return right - left, top - bottom


def fitted_grid(size_mm: tuple[float, float], window_mm: BoxMm) -> Grid | None:
    """Return the smallest grid that covers a size, or None if the window is too small to step."""
    room = (window_mm[2] - window_mm[0], window_mm[3] - window_mm[1])
    if min(room) < 3 * OVERLAP_MM:
        return None
    columns, rows = (
        max(1, math.ceil((size - OVERLAP_MM) / (have - OVERLAP_MM) - 1e-9))
        for size, have in zip(size_mm, room, strict=True)
    )
    return Grid(columns=columns, rows=rows, window_mm=window_mm, size_mm=size_mm)


def tiled_arrangement(
    title: TitleBlock, usable_mm: tuple[float, float], extra: tuple[str, ...]
) -> Arrangement:
    """Return the arrangement whose window serves every tile, whatever its instruction says."""
    longest = _instruction(
        Grid(columns=10, rows=10, window_mm=(0, 0, 1, 1), size_mm=(0, 0)), (8, 8)
    )
    return framed(*usable_mm, paragraphs(title, (longest, *extra)), keep_right_mm=MAP_MM + 3.0)


def tile_items(
    drawing: Drawing, grid: Grid, usable_mm: tuple[float, float], extra: tuple[str, ...]
) -> Iterator[tuple[tuple[Item, ...], BoxMm, tuple[Item, ...], str]]:
    """Yield each page's content, window, furniture and name."""
    box = drawing.box_mm()
    left, bottom = grid.window_mm[:2]
    joins = _join_points(grid, box)
    for tile in grid.tiles():
        seen = grid.tile_mm(tile, box)
        shift = (left - seen[0], bottom - seen[1])
        words = framed(
            *usable_mm,
            paragraphs(drawing.title, (_instruction(grid, tile), *extra)),
            keep_right_mm=MAP_MM + 3.0,
        ).words
        lift_mm = bottom - 4.0 - max(line.y_mm + line.height_mm for line in words)
        furniture: list[Item] = [
            *rulers(0.0, 0.0),
            *(replace(line, y_mm=line.y_mm + lift_mm) for line in words),
            _frame(grid.window_mm),
            *_crosses(joins, seen, shift),
            *_map(drawing, grid, tile, box, (usable_mm[0], bottom - 4.0)),
        ]
        yield drawing.moved(*shift).items, grid.window_mm, tuple(furniture), grid.name(tile)


def _letter(row: int) -> str:
    return chr(ord("A") + row) if row < 26 else f"A{chr(ord('A') + row - 26)}"


def _instruction(grid: Grid, tile: Tile) -> str:
    row, column = tile
    cuts = [side for side, inner in (("left", column > 0), ("top", row > 0)) if inner]
    place = f"Row {_letter(row)}, column {column + 1} of {grid.columns}, crossed on the small map."
    if not cuts:
        return f"{place} Lay the other sheets over this one: crosses with one number must meet."
    return (
        f"{place} Cut along the thin border on the {' and '.join(cuts)}, lay it over the sheet "
        f"before it: crosses with one number must meet."
    )


def _join_points(grid: Grid, box: BoxMm) -> dict[tuple[float, float], int]:
    """Return the corners of all overlaps, numbered; the same point is the same cross."""
    points: set[tuple[float, float]] = set()
    for row, column in grid.tiles():
        here = grid.tile_mm((row, column), box)
        for other in ((row, column + 1), (row + 1, column)):
            if other[0] < grid.rows and other[1] < grid.columns:
                there = grid.tile_mm(other, box)
                xs = (max(here[0], there[0]), min(here[2], there[2]))
                ys = (max(here[1], there[1]), min(here[3], there[3]))
                points |= {(round(x, 6), round(y, 6)) for x in xs for y in ys}
    ordered = sorted(points, key=lambda point: (-point[1], point[0]))
    return {point: number for number, point in enumerate(ordered, 1)}


def _crosses(
    joins: dict[tuple[float, float], int], seen: BoxMm, shift: tuple[float, float]
) -> Iterator[Item]:
    middle = ((seen[0] + seen[2]) / 2, (seen[1] + seen[3]) / 2)
    for (x_mm, y_mm), number in joins.items():
        if not (seen[0] - 1e-3 <= x_mm <= seen[2] + 1e-3):
            continue
        if not (seen[1] - 1e-3 <= y_mm <= seen[3] + 1e-3):
            continue
        right, up = x_mm < middle[0], y_mm < middle[1]
        x_page, y_page = x_mm + shift[0], y_mm + shift[1]
        yield Cross(layer="JOINS", x_mm=x_page, y_mm=y_page, size_mm=CROSS_MM)
        yield Text(
            layer="TEXT",
            x_mm=x_page + (0.8 if right else -0.8),
            y_mm=y_page + (0.8 if up else -0.8 - LABEL_MM),
            text=str(number),
            height_mm=LABEL_MM,
            align="start" if right else "end",
        )


def _frame(box: BoxMm) -> Polyline:
    left, bottom, right, top = box
    corners = ((left, bottom), (right, bottom), (right, top), (left, top))
    return Polyline(layer="TRIM", points_mm=corners, closed=True)


def _map(
    drawing: Drawing, grid: Grid, tile: Tile, box: BoxMm, corner: tuple[float, float]
) -> Iterator[Polyline]:
    """Yield all pages in small with the profile on them, this one crossed; from a top right."""
    first, last = grid.tile_mm((grid.rows - 1, 0), box), grid.tile_mm((0, grid.columns - 1), box)
    scale = MAP_MM / max(last[2] - first[0], last[3] - first[1])

    def small(x_mm: float, y_mm: float) -> tuple[float, float]:
        return corner[0] - (last[2] - x_mm) * scale, corner[1] - (last[3] - y_mm) * scale

    for other in grid.tiles():
        left, bottom, right, top = grid.tile_mm(other, box)
        yield _frame((*small(left, bottom), *small(right, top)))
        if other == tile:
            for ends in (((left, bottom), (right, top)), ((left, top), (right, bottom))):
                yield Polyline(layer="TRIM", points_mm=tuple(small(*end) for end in ends))
    for item in drawing.items:
        if isinstance(item, Polyline) and item.layer == "PROFILE":
            yield replace(item, points_mm=tuple(small(*point) for point in item.points_mm))
