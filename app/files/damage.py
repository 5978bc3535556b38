"""Lines with numbers that no drawing has: named, or refused where they may be the edge.

A corner that is not a number, or lies farther off than any map reaches, says nothing of where its
line runs. Left out without a word, it would turn a hole into the profile.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from app.files.errors import FileError
from app.files.strokes import FARTHEST_MM, LeftOut, Points, Stroke, size_of
from geometry.curves import Arc, Cubic, Point

DAMAGED = "with damaged numbers"


def is_damaged(stroke: Stroke) -> bool:
    """Return whether a line has numbers that no drawing has."""
    return not all(map(_is_of_this_world, _corners(stroke))) or any(
        size_of(piece) > FARTHEST_MM and piece.length_mm > FARTHEST_MM
        for piece in stroke.chain
        if isinstance(piece, Arc)
    )


def left_out(damaged: Sequence[Stroke]) -> list[LeftOut]:
    """Return damaged lines in words, each with its first sound corner."""
    return [
        LeftOut(what=f"{stroke.what} {DAMAGED}", at_mm=next(iter(_sound(stroke)), None))
        for stroke in damaged
    ]


def refuse_lost_edge(damaged: Sequence[Stroke], edge: Points, where: str) -> None:
    """Raise where a damaged line may be the edge of the piece, or a part of it.

    One whose sound corners all lie in the box of the edge that was found would be a hole in it. One
    that has only numbers too large is no knife. Of any other nobody can tell.

    Parameters
    ----------
    damaged : sequence of Stroke
        Of the same drawing.
    edge : (N, 2) array
        The largest loop of its sound lines, mm; empty where there is none.
    where : str
        The file.

    Raises
    ------
    FileError
        Naming the first such line and where it is.
    """
    for stroke in damaged:
        if _may_be_edge(stroke, edge):
            spots = _sound(stroke)
            near = f" near x {spots[0][0]:.1f}, y {spots[0][1]:.1f} mm" if spots else ""
            raise FileError(
                f"a {stroke.what}{near} has a corner that is no number or lies beyond all measure,"
                " and it may be the profile.",
                where=where,
                remedy="Draw it again, or take it away if it is no part of the outline, and save.",
            )


def _may_be_edge(stroke: Stroke, edge: Points) -> bool:
    numbers = all(math.isfinite(number) for corner in _corners(stroke) for number in corner)
    spots = np.array(_sound(stroke), float).reshape(-1, 2)
    if not len(spots):
        return not numbers
    if numbers and len(stroke.chain) == 1:
        return False  # a straight line without end
    if not len(edge):
        return True
    within = (spots >= edge.min(axis=0)) & (spots <= edge.max(axis=0))
    return not bool(within.all())


def _corners(stroke: Stroke) -> list[Point]:
    corners = []
    for piece in stroke.chain:
        corners += [piece.start, piece.end]
        if isinstance(piece, Cubic):
            corners += [piece.control1, piece.control2]
    return corners


def _sound(stroke: Stroke) -> list[Point]:
    return [corner for corner in _corners(stroke) if _is_of_this_world(corner)]


def _is_of_this_world(corner: Point) -> bool:
    return all(abs(number) < FARTHEST_MM for number in corner)  # nan is not
