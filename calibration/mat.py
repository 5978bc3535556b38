"""The printed mat: where its markers, bars and words stand on each paper, as data.

Blocks of a chequer, two squares deep, stand round a free field; every other square holds a marker
that tells which square of which paper it is.  Places are measured at the chequer's inner
corners, where two dark squares meet: neither blur nor spreading ink moves those.

Millimetres from the page's lower left corner, y up, as asked of the printer.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.references import PAPERS, Place
from geometry.errors import InputError

Box = tuple[float, float, float, float]  # left, bottom, right, top, mm

VERSION = 1  # of the layout: a printed mat stays readable, so a change takes a new number
SIDE_MM, FOOT_MM = 10.0, 15.0  # what common printers cannot reach, and a little more
BAR_MM = 120.0  # of both bars, on every paper: within reach of 150 mm calipers
TICK_MM = 5.0  # of the marks across a bar's ends
DEEP = 2  # squares, from the rim of the print to the free field
RIM = 1.0 / 8.0  # of a square, bare on each side of its marker
BITS = 4  # of a marker, across; one more on each side is dark
DICTIONARY = cv2.aruco.DICT_4X4_250
IDS = 60  # of each paper: its number times this is its first
LINE_MM = 0.15  # width of the bars' lines and marks
LABEL_MM = 12.0  # half of the room along a bar for what it is
CLEAR_MM = 3.0  # between words and what stands beside them

#: Squares of the corner blocks along and up, of the blocks between, and a square's side, mm.
_SMALL, _LARGE = (4, 6, 2, 7.0), (5, 8, 3, 8.0)
MATS = {"letter": _SMALL, "a4": _SMALL, "tabloid": _LARGE, "a3": _LARGE}


@dataclass(frozen=True, slots=True, kw_only=True)
class Square:
    """One square of the chequer: dark where it has no marker.

    Parameters
    ----------
    x_mm, y_mm : float
        Its lower left corner.
    marker : int or None
        The number of the marker in it.
    """

    x_mm: float
    y_mm: float
    marker: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MatLayout:
    """A mat on one paper.

    Parameters
    ----------
    paper : str
        Key of `PAPERS`.
    width_mm, height_mm : float
        The page, upright.
    square_mm : float
        Side of the chequer's squares.
    squares : tuple of Square
    corners_mm : tuple of (x, y)
        Where two dark squares meet two with markers.
    rising : tuple of bool
        Of each of those corners, whether its dark squares are upper right and lower left.
    bars_mm : pair of pairs of (x, y)
        Ends of the bar across and of the bar up.
    words_mm : tuple of Box
        Where words stand: name, instructions, and beside the bars across and up what they are.
    """

    paper: str
    width_mm: float
    height_mm: float
    square_mm: float
    squares: tuple[Square, ...]
    corners_mm: tuple[Place, ...]
    rising: tuple[bool, ...]
    bars_mm: tuple[tuple[Place, Place], tuple[Place, Place]]
    words_mm: tuple[Box, Box, Box, Box]

    @property
    def field_mm(self) -> Box:
        """The free field that the blocks stand round."""
        deep = DEEP * self.square_mm
        left, bottom, right, top = _usable(self.width_mm, self.height_mm)
        return left + deep, bottom + deep, right - deep, top - deep

    @property
    def dark_mm(self) -> tuple[Box, ...]:
        """All that is printed dark in the blocks, as boxes that overlap."""
        side = self.square_mm
        boxes: list[Box] = []
        for square in self.squares:
            x, y = square.x_mm, square.y_mm
            if square.marker is None:
                boxes.append((x, y, x + side, y + side))
            else:
                boxes += _marker_boxes(square.marker, x + RIM * side, y + RIM * side, self.bit_mm)
        return tuple(boxes)

    @property
    def lines_mm(self) -> tuple[tuple[Place, Place], ...]:
        """The bars' thin lines: each bar, and the marks across its ends."""
        half = TICK_MM / 2
        lines: list[tuple[Place, Place]] = []
        for ends, (x, y) in zip(self.bars_mm, ((0.0, half), (half, 0.0)), strict=True):
            lines += [ends, *(((a - x, b - y), (a + x, b + y)) for a, b in ends)]
        return tuple(lines)

    @property
    def bit_mm(self) -> float:
        """Side of a marker's smallest part."""
        return (1.0 - 2.0 * RIM) * self.square_mm / (BITS + 2)

    @property
    def count(self) -> int:
        """How many markers it has."""
        return sum(square.marker is not None for square in self.squares)

    @property
    def markers_mm(self) -> dict[int, NDArray[np.float64]]:
        """The corners of each marker by its number, (4, 2), as the detector orders them.

        From its upper left corner on, clockwise as printed.
        """
        low, high = RIM * self.square_mm, (1.0 - RIM) * self.square_mm
        ring = [[low, high], [high, high], [high, low], [low, low]]
        return {
            square.marker: np.add(ring, [square.x_mm, square.y_mm])
            for square in self.squares
            if square.marker is not None
        }


@functools.cache
def mat_layout(paper: str) -> MatLayout:
    """Return the mat on a named paper.

    Raises
    ------
    InputError
        If there is no mat for that paper.

    Examples
    --------
    >>> mat_layout("a4").field_mm
    (24.0, 29.0, 186.0, 273.0)
    """
    key = paper.strip().lower()
    if key not in MATS:
        raise InputError(
            f"there is no mat for the paper “{paper}”.",
            where="Mat",
            remedy=f"Use one of {', '.join(MATS)}.",
        )
    along, up, between, side = MATS[key]
    width, height = PAPERS[key]
    squares = _numbered(_blocks(width, height, along, up, between, side), key, side)
    corners = _corners(squares, side)
    usable = _usable(width, height)
    return MatLayout(
        paper=key,
        width_mm=width,
        height_mm=height,
        square_mm=side,
        squares=squares,
        corners_mm=tuple(place for place, _ in corners),
        rising=tuple(rising for _, rising in corners),
        bars_mm=_bars(usable),
        words_mm=_rooms(usable, along, side),
    )


def _usable(width: float, height: float) -> Box:
    return SIDE_MM, FOOT_MM, width - SIDE_MM, height - SIDE_MM


def _bars(usable: Box) -> tuple[tuple[Place, Place], tuple[Place, Place]]:
    """Return the ends of the bar along the foot and of the one up the right side."""
    left, bottom, right, top = usable
    middle, rise = (left + right) / 2, (bottom + top) / 2 - BAR_MM / 2
    bar_y, bar_x = bottom + TICK_MM / 2, right - TICK_MM / 2
    return (
        ((middle - BAR_MM / 2, bar_y), (middle + BAR_MM / 2, bar_y)),
        ((bar_x, rise), (bar_x, rise + BAR_MM)),
    )


def _rooms(usable: Box, along: int, side: float) -> tuple[Box, Box, Box, Box]:
    """Return the rooms for words: two at the head, then one beside each bar."""
    left, bottom, right, top = usable
    middle, centre = (left + right) / 2, (bottom + top) / 2
    half, words, deep = 1.5 * side + CLEAR_MM, along * side + CLEAR_MM, DEEP * side
    over_bar, before_bar = bottom + TICK_MM / 2 + LINE_MM, right - TICK_MM / 2 - LINE_MM
    return (
        (left + words, top - deep, middle - half, top),
        (middle + half, top - deep, right - words, top),
        (middle - LABEL_MM, over_bar, middle + LABEL_MM, bottom + deep),
        (right - deep, centre - LABEL_MM / 2, before_bar, centre + LABEL_MM / 2),
    )


def _blocks(
    width: float, height: float, along: int, up: int, between: int, side: float
) -> list[tuple[float, float, bool]]:
    """Return each square's lower left corner and whether it is dark."""
    left, bottom, right, top = _usable(width, height)
    found: list[tuple[float, float, bool]] = []
    for x0, step_x in ((left, 1), (right, -1)):
        for y0, step_y in ((bottom, 1), (top, -1)):
            for i in range(along):
                for j in range(up):
                    if i < DEEP or j < DEEP:
                        x = x0 + step_x * i * side - (side if step_x < 0 else 0.0)
                        y = y0 + step_y * j * side - (side if step_y < 0 else 0.0)
                        found.append((x, y, (i + j) % 2 == 0))
    centre, pitch = (left + right) / 2, (top - bottom - 2 * up * side) / (between + 1)
    starts = [(centre - 1.5 * side, top - DEEP * side, 3, DEEP)]
    for number in range(1, between + 1):
        starts.append((left, bottom + up * side + number * pitch - 1.5 * side, DEEP, 3))
    for x0, y0, columns, rows in starts:
        cells = [(i, j) for i in range(columns) for j in range(rows)]
        found += [(x0 + i * side, y0 + j * side, (i + j) % 2 == 0) for i, j in cells]
    return found


def _numbered(
    blocks: list[tuple[float, float, bool]], paper: str, side: float
) -> tuple[Square, ...]:
    """Return the squares in reading order, markers numbered."""
    number = IDS * tuple(MATS).index(paper)
    squares = []
    for x, y, dark in sorted(blocks, key=lambda block: (-round(block[1] / side), block[0])):
        squares.append(Square(x_mm=x, y_mm=y, marker=None if dark else number))
        number += not dark
    return tuple(squares)


def _corners(squares: tuple[Square, ...], side: float) -> list[tuple[Place, bool]]:
    """Return the places where four squares meet, and whether the dark ones rise to the right."""
    centres = np.array([(s.x_mm + side / 2, s.y_mm + side / 2) for s in squares])
    found = []
    for square in squares:  # that is the lower left one
        place = (square.x_mm + side, square.y_mm + side)
        if (np.hypot(*(centres - place).T) < 0.8 * side).sum() == 4:
            found.append((place, square.marker is None))
    return found


@functools.cache
def _dictionary() -> cv2.aruco.Dictionary:
    return cv2.aruco.getPredefinedDictionary(DICTIONARY)


@functools.lru_cache(maxsize=1024)
def _marker_boxes(number: int, x_mm: float, y_mm: float, bit_mm: float) -> tuple[Box, ...]:
    """Return the dark runs of a marker along and up, from its lower left corner."""
    cells = BITS + 2
    dark = _dictionary().generateImageMarker(number, cells, None, 1)[::-1] < 128
    boxes: list[Box] = []
    for runs, turned in ((dark, False), (dark.T, True)):
        for j, row in enumerate(runs):
            ends = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(np.int8), [0]])))
            for start, end in zip(ends[::2].tolist(), ends[1::2].tolist(), strict=True):
                box = (j, start, j + 1, end) if turned else (start, j, end, j + 1)
                left, low, right, high = (bit_mm * edge for edge in box)
                boxes.append((x_mm + left, y_mm + low, x_mm + right, y_mm + high))
    return tuple(boxes)
