"""Drawings at true scale: the piece of steel, and the outline by itself."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QPainterPath
from PySide6.QtWidgets import QGraphicsScene

from app.document.lengths import Unit, format_length
from app.document.pattern import hatched
from app.gui.canvas.axes import scene_path, scene_point, scene_rect, scene_shape
from app.gui.canvas.outline_sizes import draw_sizes
from app.gui.canvas.tag import Tag, add_dimension, cosmetic
from app.gui.theme import colour
from geometry.billet import Billet
from geometry.outline import Outline

NO_STEEL = ("No steel yet", "Measure a photo first: step Photo.")
NO_CHANGE = ("What was changed by hand does not go with this piece", "See the step Steel.")
SPARE = 3.0  # the scene reaches this many times its content to each side, so that panning is free


class SheetScene(QGraphicsScene):
    """A scene in mm on paper; knows the box of its content."""

    def __init__(self) -> None:
        super().__init__()
        self.content = QRectF()

    def clear_drawing(self) -> None:
        """Take everything away."""
        self.clear()
        self.content = QRectF()

    def set_content(self, content: QRectF) -> None:
        """Tell what there is to fit."""
        self.content = content
        dx, dy = content.width() * SPARE, content.height() * SPARE
        room = max(dx, dy)
        self.setSceneRect(content.adjusted(-room, -room, room, room))


def draw_billet(scene: SheetScene, billet: Billet, unit: Unit, *, dimensions: bool) -> None:
    """Draw a piece of steel with its flaws and its doubt, and its two sizes on request."""
    steel = scene.addPath(
        scene_shape(billet.shape), cosmetic("steel_edge", 1.5), QBrush(colour("steel"))
    )
    steel.setZValue(0)
    if billet.vertex_sigma_mm:
        band = scene.addPath(_doubt_band(billet))
        band.setPen(Qt.PenStyle.NoPen)
        band.setBrush(colour("doubt", 110))
        band.setZValue(1)
    if billet.flaws:
        _draw_flaws(scene, billet)
    content = scene_rect(billet.shape.bounds)
    if dimensions:
        content = content.united(_draw_sizes(scene, billet, unit))
    scene.set_content(content)


def _draw_flaws(scene: SheetScene, billet: Billet) -> None:
    """Draw flaws as holes in the paper, hatched as they print, so that colour is not alone."""
    edges, hatch = QPainterPath(), QPainterPath()
    for line in hatched(billet):
        path = scene_path(line.points_mm, closed=line.closed)
        (edges if line.closed else hatch).addPath(path)
    room = scene.addPath(edges, cosmetic("doubt", 1.2), QBrush(colour("paper")))
    room.setToolTip("A flaw to keep out of")
    lines = scene.addPath(hatch, cosmetic("doubt", 1.0))
    for item in (room, lines):
        item.setZValue(1.5)


def sides_mm(billet: Billet) -> tuple[float, float]:
    """Return length and width of the smallest box, turned as it may be, round a piece."""
    corners = _box_corners(billet)
    first, second = (float(side) for side in np.hypot(*np.diff(corners[:3], axis=0).T))
    return max(first, second), min(first, second)


def draw_outline(scene: SheetScene, outline: Outline, unit: Unit) -> None:
    """Draw an outline in its own frame with holes, marks and its named sizes."""
    shape = outline.polygon()
    body = scene.addPath(scene_shape(shape), cosmetic("blank", 2.0), QBrush(colour("steel", 140)))
    body.setZValue(2)
    draw_details(scene, outline)
    scene.set_content(draw_sizes(scene, outline, unit))


def draw_details(scene: QGraphicsScene, outline: Outline) -> None:
    """Draw hole centres, the lines that are not cut, and the names of places."""
    scene.addPath(_crosses(outline), cosmetic("blank", 1.0)).setZValue(3)
    for mark in outline.marks:
        line = scene.addPath(scene_path(mark.points_mm), cosmetic("blank", 1.2, (5, 4)))
        line.setZValue(3)
        line.setToolTip(mark.kind)


def outline_path(outline: Outline, scale: float = 1.0) -> QPainterPath:
    """Return edge, holes and centre crosses of an outline, in its own scene.

    Drilled holes are drawn so that they have their own size again once the path is scaled.
    """
    path = scene_shape(replace(outline, holes=()).polygon())
    for hole in outline.holes:
        radius = hole.diameter_mm / 2 / scale
        path.addEllipse(scene_point((hole.x_mm, hole.y_mm)), radius, radius)
    path.addPath(_crosses(outline, scale))
    return path


def _crosses(outline: Outline, scale: float = 1.0) -> QPainterPath:
    """Return a centre cross for each hole, half as wide again as the hole."""
    path = QPainterPath()
    for hole in outline.holes:
        reach = hole.diameter_mm * 0.75 / scale
        for dx, dy in ((reach, 0.0), (0.0, reach)):
            path.moveTo(scene_point((hole.x_mm - dx, hole.y_mm - dy)))
            path.lineTo(scene_point((hole.x_mm + dx, hole.y_mm + dy)))
    return path


def draw_hint(scene: SheetScene, words: tuple[str, ...]) -> None:
    """Say on an empty paper what is missing."""
    scene.set_content(QRectF(0, 0, 200, 120))
    tag = Tag(words, "hairline")
    tag.setPos(QPointF(100, 60))
    scene.addItem(tag)


def _draw_sizes(scene: SheetScene, billet: Billet, unit: Unit) -> QRectF:
    """Draw length and width beside the smallest box; return the room they take."""
    corners = _box_corners(billet)
    middle = corners.mean(axis=0)
    sides = np.hypot(*np.diff(corners, axis=0).T)
    gap = 0.07 * float(sides.max())
    room = QRectF()
    for index in (0, 1):
        start, end = corners[index], corners[index + 1]
        outward = (start + end) / 2 - middle
        # the lower and the right side, so that numbers stand where rulers are not
        if (abs(outward[1]) > abs(outward[0]) and outward[1] > 0) or (
            abs(outward[0]) >= abs(outward[1]) and outward[0] < 0
        ):
            start, end = corners[(index + 2) % 4], corners[(index + 3) % 4]
            outward = -outward
        shift = outward / math.hypot(*outward) * gap
        first = scene_point((float(start[0] + shift[0]), float(start[1] + shift[1])))
        last = scene_point((float(end[0] + shift[0]), float(end[1] + shift[1])))
        text = format_length(float(sides[index]), unit, decimals=1 if unit == "mm" else None)
        add_dimension(scene, first, last, text, tick=gap / 5)
        room = room.united(QRectF(first, last).normalized().adjusted(-gap, -gap, gap, gap))
    return room


def _box_corners(billet: Billet) -> NDArray[np.float64]:
    box = shapely.minimum_rotated_rectangle(billet.shape)
    return np.asarray(shapely.get_coordinates(box), float)


def _doubt_band(billet: Billet) -> QPainterPath:
    """Return the band of two standard deviations to both sides of the edge, at true scale."""
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.OddEvenFill)
    first = 0
    for ring in (billet.shape.exterior, *billet.shape.interiors):
        points = shapely.get_coordinates(ring)[:-1]
        sigma = np.asarray(billet.vertex_sigma_mm[first : first + len(points)])
        first += len(points)
        along = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
        length = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)
        across = np.column_stack([along[:, 1], -along[:, 0]]) / length[:, None]
        for side in (2.0, -2.0):
            path.addPath(scene_path(points + side * sigma[:, None] * across, closed=True))
    return path
