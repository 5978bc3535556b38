"""A measured billet with all that was changed by hand, and what that claims beyond the measure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import shapely

from geometry.billet import Billet
from geometry.curves import Point
from geometry.editing.cut import Cut
from geometry.editing.flaws import AddFlaw, RemoveFlaw
from geometry.editing.redraw import Redraw
from geometry.errors import InputError
from geometry.overhang import deepest_point
from geometry.segments import Segments

Edit: TypeAlias = Redraw | Cut | AddFlaw | RemoveFlaw


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """Steel that was drawn in by hand where none was measured.

    Parameters
    ----------
    beyond_mm : float
        How far the changed edge lies outside the measured one at most, > 0.
    point_mm : tuple of float
        Where.
    """

    beyond_mm: float
    point_mm: Point


def edited(billet: Billet, edits: Sequence[Edit]) -> Billet:
    """Return a billet with changes applied in order; without any, the very same billet.

    Raises
    ------
    InputError
        If a change cannot be made; it names which.
    """
    for number, edit in enumerate(edits, start=1):
        try:
            billet = edit.applied(billet)
        except InputError as error:
            raise InputError(
                error.message, where=f"Change {number} ({edit.name})", remedy=error.remedy
            ) from error
    return billet


def claim(measured: Billet, changed: Billet) -> Claim | None:
    """Return where a changed billet reaches farthest beyond the measured one; None if nowhere.

    Notes
    -----
    To 0.001 mm: less is taken for none.
    """
    beyond = shapely.difference(changed.shape, measured.shape)
    if beyond.area == 0.0:
        return None
    worst = deepest_point(beyond, Segments(measured.shape))
    return (
        Claim(beyond_mm=worst.depth_mm, point_mm=worst.point_mm) if worst.depth_mm > 1e-3 else None
    )
