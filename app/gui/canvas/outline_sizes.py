"""The sizes drawn round an outline, each with its name in the trade's words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtWidgets import QGraphicsScene

from app.document.gallery import MainSizes, main_sizes
from app.document.lengths import Unit, format_length
from app.gui.canvas.axes import scene_path, scene_point, scene_rect
from app.gui.canvas.tag import Tag, add_dimension, cosmetic
from geometry.outline import Outline

GAP_SHARE = 0.08  # of the length: from the profile to the first row of sizes, and from row to row
TAG_SHARE = 0.4  # of the length: what a tag may take, at the smallest window
APART_SHARE = 0.5  # of the length: between tags of one row
SECTIONS = 80  # across a handle, to find where it is widest
SHOULDER_MM = 6.0  # behind the handle's front: the front's own rounding


@dataclass(frozen=True, slots=True, kw_only=True)
class Width:
    """A width across the outline: where it is, from which height to which, mm."""

    name: str
    x_mm: float
    low_mm: float
    high_mm: float


def draw_sizes(scene: QGraphicsScene, outline: Outline, unit: Unit) -> QRectF:
    """Draw an outline's main sizes round it, none over another; return the room they take.

    Parameters
    ----------
    scene : QGraphicsScene
    outline : Outline
        With the tip ahead along x. What its marks and places do not tell is not drawn.
    unit : Unit
        To write them in.

    Notes
    -----
    Lengths stand below, widths above, the width over all ahead of the tip.
    """
    x0, y0, x1, y1 = outline.bounds_mm
    gap = GAP_SHARE * (x1 - x0)
    below = _lengths(scene, outline, unit, gap)
    widths = widths_of(outline)
    ahead = Width(name="overall width", x_mm=x1 + gap / 2, low_mm=y0, high_mm=y1)
    above = _widths(scene, outline, (*widths, ahead), unit, gap)
    side = TAG_SHARE / 2 * (x1 - x0)
    left = min([x0 - gap / 2, *(width.x_mm - side for width in widths)])
    return scene_rect((left, y0 - below - gap, x1 + gap / 2 + side, y1 + above + gap))


def told(value_mm: float, unit: Unit) -> str:
    """Return a size as it is written on the canvas."""
    return format_length(value_mm, unit, decimals=1 if unit == "mm" else None)


def widths_of(outline: Outline) -> tuple[Width, ...]:
    """Return the width at the heel and the handle's widest, where the outline tells them."""
    heels = [station.x_mm for station in outline.stations if station.name == "heel"]
    found = [_widest("width at the heel", outline, heels[:1])] if heels else []
    front = _front(outline)
    butt = outline.bounds_mm[0]
    if front is not None and not _has_tang(outline) and front - SHOULDER_MM > butt:
        behind = np.linspace(butt, front - SHOULDER_MM, SECTIONS + 1)[1:].tolist()
        found.append(_widest("handle at its widest", outline, behind))
    return tuple(width for width in found if width is not None)


def _widest(name: str, outline: Outline, x_mm: list[float]) -> Width | None:
    low, high = outline.sections_mm(x_mm).T
    widths = np.where(np.isfinite(high - low), high - low, -1.0)
    at = int(widths.argmax())
    if widths[at] <= 0.0:
        return None
    return Width(name=name, x_mm=x_mm[at], low_mm=float(low[at]), high_mm=float(high[at]))


def _lengths(scene: QGraphicsScene, outline: Outline, unit: Unit, gap: float) -> float:
    """Draw the lengths below; return how far down they reach, mm."""
    x0, y0, x1, _ = outline.bounds_mm
    sizes, front = main_sizes(outline), _front(outline)
    row = gap
    if front is not None and _is_parted(sizes):
        held = "tang" if _has_tang(outline) else "handle"
        parts = ((x0, front, f"{held} length"), (front, x1, "blade length"))
        for start, end, name in parts:
            words = f"{name} {told(end - start, unit)}"
            _dimension(scene, (start, y0 - row), (end, y0 - row), words, gap)
        row += gap
    words = f"overall length {told(sizes.overall_mm, unit)}"
    _dimension(scene, (x0, y0 - row), (x1, y0 - row), words, gap)
    return row


def _is_parted(sizes: MainSizes) -> bool:
    """Return whether blade and handle are both told, and make up the whole."""
    blade, handle = sizes.blade_mm, sizes.handle_mm
    return blade is not None and handle is not None and min(blade, handle) > 0.0


def _widths(
    scene: QGraphicsScene, outline: Outline, widths: tuple[Width, ...], unit: Unit, gap: float
) -> float:
    """Draw the widths with their tags above; return how far up they reach, mm."""
    x0, _, x1, top = outline.bounds_mm
    rows: list[float] = []  # where the last words of each row are, from the lowest row up
    for width in sorted(widths, key=lambda one: one.x_mm):
        free = (row for row, x in enumerate(rows) if width.x_mm - x >= APART_SHARE * (x1 - x0))
        row = next(free, len(rows))
        rows[row : row + 1] = [width.x_mm]
        start, end = (width.x_mm, width.low_mm), (width.x_mm, width.high_mm)
        words = f"{width.name} {told(width.high_mm - width.low_mm, unit)}"
        _dimension(scene, start, end, words, gap, at=(width.x_mm, top + (row + 1) * gap))
    return len(rows) * gap


def _dimension(
    scene: QGraphicsScene,
    start: tuple[float, float],
    end: tuple[float, float],
    words: str,
    gap: float,
    *,
    at: tuple[float, float] | None = None,
) -> None:
    """Draw a dimension line, its words at its middle, or elsewhere with a line to there."""
    first, last = scene_point(start), scene_point(end)
    if at is None:
        add_dimension(scene, first, last, words, tick=gap / 4)
        return
    add_dimension(scene, first, last, "", tick=gap / 4)
    scene.addPath(scene_path([end, at]), cosmetic("hairline", 1.0)).setZValue(9)
    tag = Tag((words,), "hairline")
    tag.setPos(QPointF(scene_point(at)))
    scene.addItem(tag)


def _front(outline: Outline) -> float | None:
    """Return the x of the forward-most place of the handle; None without one on the outline."""
    fronts = [x for mark in outline.marks if mark.kind == "handle front" for x, _ in mark.points_mm]
    x0, _, x1, _ = outline.bounds_mm
    return max(fronts) if fronts and x0 < max(fronts) < x1 else None


def _has_tang(outline: Outline) -> bool:
    """Return whether the handle is put over a tang."""
    return any(station.name.endswith("shoulder") for station in outline.stations)
