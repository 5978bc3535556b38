"""A shape that becomes an outline, its parts named where they are."""

from __future__ import annotations

import math

import shapely
from PySide6.QtGui import QBrush
from shapely import Polygon

from app.gui.canvas.axes import scene_path, scene_point, scene_rect, scene_shape
from app.gui.canvas.sheet_scene import SheetScene
from app.gui.canvas.tag import Tag, cosmetic
from app.gui.theme import colour
from geometry.curves import Point
from geometry.knife_parts import Parts

TAG_PX = 44.0  # from a place to the middle of its tag
ROOM_SHARE = 0.08  # of the length, free for the tags round the piece


def draw_shape(scene: SheetScene, shape: Polygon) -> None:
    """Draw a shape as a piece of steel, quietly."""
    steel = scene.addPath(scene_shape(shape), cosmetic("steel_edge", 1.5), QBrush(colour("steel")))
    steel.setZValue(0)
    scene.set_content(scene_rect(shape.bounds))


def draw_parts(
    scene: SheetScene, shape: Polygon, parts: Parts, doubted: frozenset[str] = frozenset()
) -> None:
    """Draw the axis from butt to tip, and name tip, butt, heel and spine outside the steel.

    What is doubted has a question mark and the tone of doubt.
    """
    (x0, y0), (x1, y1) = parts.butt_mm, parts.tip_mm
    length = math.dist(parts.butt_mm, parts.tip_mm)
    along = ((x1 - x0) / length, (y1 - y0) / length)
    up = (-along[1], along[0]) if parts.spine == "left" else (along[1], -along[0])
    axis = scene.addPath(
        scene_path([parts.butt_mm, parts.tip_mm]), cosmetic("accent", 1.2, (8, 4, 2, 4))
    )
    axis.setZValue(5)
    back, down = (-along[0], -along[1]), (-up[0], -up[1])
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    over = _edge_toward(shape, middle, up, length)
    named = (("tip", parts.tip_mm, along), ("butt", parts.butt_mm, back))
    for name, place, way in (*named, ("heel", parts.heel_mm, down), ("spine", over, up)):
        unsure = name in doubted
        words, tone = (f"{name}?", "doubt") if unsure else (name, "accent")
        tag = Tag((words,), tone, (way[0] * TAG_PX, -way[1] * TAG_PX))
        tag.setPos(scene_point(place))
        scene.addItem(tag)
    room = ROOM_SHARE * length
    scene.set_content(scene.content.adjusted(-room, -room, room, room))


def _edge_toward(shape: Polygon, start: Point, way: Point, reach: float) -> Point:
    """Return the farthest place of the edge from a point toward a direction."""
    end = (start[0] + way[0] * reach, start[1] + way[1] * reach)
    met = shapely.get_coordinates(shape.exterior.intersection(shapely.LineString([start, end])))
    if not len(met):
        return start
    x, y = max(met.tolist(), key=lambda point: math.dist(point, start))
    return x, y
