"""What a measure moves, drawn over the outline: dashed lines, the place, and words below."""

from __future__ import annotations

import math
import textwrap

from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainterPath
from PySide6.QtWidgets import QGraphicsItem

from app.gui.canvas.axes import scene_path, scene_point
from app.gui.canvas.sheet_scene import SheetScene
from app.gui.canvas.tag import Tag, cosmetic
from geometry.moved_lines import MovedLines

MINE = 0  # the items' own data: whether they belong to a measure
LINE_LETTERS = 64
HEAD_PX, LEAST_ARROW_PX, RING_PX = 7.0, 14.0, 9.0
BELOW_PX = 6.0  # between the outline's sizes and the words


def draw_measure(
    scene: SheetScene, moved: MovedLines, heading: str, help_words: str, px_a_mm: float
) -> None:
    """Draw what a measure moves, with its name and its line of help below the outline.

    The place that moves most has an arrow, or a ring where it does not move far; the ring is told.
    """
    dashed = QPainterPath()
    for line in moved.lines_mm:
        dashed.addPath(scene_path(line))
    _add(scene, scene.addPath(dashed, cosmetic("accent", 2.0, (5, 3))), 11)
    way = scene.addPath(_way(moved, px_a_mm), cosmetic("accent", 1.8))
    _add(scene, way, 12)
    if _is_short(moved, px_a_mm):
        heading = f"{heading}; ring: where most"
    tag = Tag((heading, *textwrap.wrap(help_words, LINE_LETTERS)), "accent")
    height = tag.frame().height()
    tag = Tag((heading, *textwrap.wrap(help_words, LINE_LETTERS)), "accent", (0.0, height / 2 - 1))
    content = scene.content
    tag.setPos(QPointF(content.center().x(), content.bottom() + BELOW_PX / px_a_mm))
    scene.addItem(tag)
    _add(scene, tag, 20)


def clear_measure(scene: SheetScene) -> None:
    """Take away what was drawn of a measure."""
    for item in scene.items():
        if item.data(MINE):
            scene.removeItem(item)


def _add(scene: SheetScene, item: QGraphicsItem, z: float) -> None:
    item.setData(MINE, True)
    item.setZValue(z)


def _way(moved: MovedLines, px_a_mm: float) -> QPainterPath:
    """Return an arrow to the place that moved most; a ring round it where that is not far."""
    start, end = scene_point(moved.start_mm), scene_point(moved.end_mm)
    along = end - start
    length = math.hypot(along.x(), along.y())
    path = QPainterPath()
    if _is_short(moved, px_a_mm):
        path.addEllipse(end, RING_PX / px_a_mm, RING_PX / px_a_mm)
        return path
    path.moveTo(start)
    path.lineTo(end)
    back = along * (HEAD_PX / px_a_mm / length)
    for side in (0.5, -0.5):
        path.moveTo(end)
        path.lineTo(end - back + QPointF(-back.y(), back.x()) * side)
    return path


def _is_short(moved: MovedLines, px_a_mm: float) -> bool:
    """Return whether the way of what moved most is too short for an arrow."""
    return math.dist(moved.start_mm, moved.end_mm) * px_a_mm < LEAST_ARROW_PX
