"""Words beside the things they name, where they cover no line."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import shapely
from shapely.geometry.base import BaseGeometry

from app.document.drawing import Circle, Cross, Drawing, Item, Label, Polyline, Text
from app.exports.lettering import text_width_mm

GAP_MM = 0.8  # between a thing and its words
REACHES_MM = (0.0, 2.5, 5.0, 8.0, 12.0, 16.0)  # further out each time, with a leader line
DIRECTIONS_DEG = (0, 180, 90, 270, 30, 150, 210, 330, 60, 120, 240, 300)
SLANT = 0.3  # a direction's share of an axis, from which words stand wholly to that side
WORDS_COUNT = 4  # words over a line are so many times as bad as a leader that crosses one
HOLE_COUNT = 100  # and a leader that meets a hole is worse than any of these: it points at that
CIRCLE_SEGMENTS = 8  # a quarter of a circle, good enough to keep words off it


def with_labels_settled(drawing: Drawing) -> Drawing:
    """Return the drawing with each label as words, and a leader line where they stand away.

    A place that covers no line and no other words is taken, the nearest first; where there is
    none, the place that covers the fewest, and whose leader meets no hole.
    """
    holes = [shape for item in drawing.items if (shape := _hole(item)) is not None]
    taken = [shape for item in drawing.items if (shape := _shape(item)) is not None]
    placed: list[Item] = []
    for item in drawing.items:
        if not isinstance(item, Label):
            placed.append(item)
            continue
        words, leader = _settled(item, shapely.STRtree(taken), shapely.STRtree(holes))
        parts: list[Item] = [words, *leader]
        taken += [shape for part in parts if (shape := _shape(part)) is not None]
        placed += parts
    return replace(drawing, items=tuple(placed))


def _settled(
    label: Label, taken: shapely.STRtree, holes: shapely.STRtree
) -> tuple[Text, tuple[Polyline, ...]]:
    best, fewest = None, math.inf
    own = set(holes.query(shapely.Point(label.x_mm, label.y_mm), predicate="intersects").tolist())
    for words, leader in _places(label):
        covered = WORDS_COUNT * len(taken.query(_box(words), predicate="intersects"))
        for line in leader:
            drawn = shapely.LineString(line.points_mm)
            covered += len(taken.query(drawn, predicate="intersects"))
            met = set(holes.query(drawn, predicate="intersects").tolist())
            covered += HOLE_COUNT * len(met - own)
        if covered < fewest:
            best, fewest = (words, leader), covered
        if covered == 0:
            break
    assert best is not None
    return best


def _places(label: Label) -> Iterator[tuple[Text, tuple[Polyline, ...]]]:
    width_mm = text_width_mm(label.text, label.height_mm)
    for reach_mm in REACHES_MM:
        for degrees in DIRECTIONS_DEG:
            cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
            out_mm = label.clear_mm + GAP_MM + reach_mm
            x_mm, y_mm = label.x_mm + cos * out_mm, label.y_mm + sin * out_mm
            words = Text(
                layer=label.layer,
                x_mm=x_mm + _back(cos) * width_mm,
                y_mm=y_mm + _back(sin) * label.height_mm,
                text=label.text,
                height_mm=label.height_mm,
            )
            leader = Polyline(
                layer="CENTRES",
                points_mm=(
                    (
                        label.x_mm + cos * (label.clear_mm + 0.4),
                        label.y_mm + sin * (label.clear_mm + 0.4),
                    ),
                    (x_mm - cos * 0.4, y_mm - sin * 0.4),
                ),
            )
            yield words, (leader,) if reach_mm else ()


def _back(toward: float) -> float:
    """Return how much of its size a text stands back from where it is pointed at."""
    return 0.0 if toward > SLANT else -1.0 if toward < -SLANT else -0.5


def _hole(item: Item) -> BaseGeometry | None:
    """Return a hole, or the cross over it, that no other thing's leader may meet."""
    return _shape(item) if isinstance(item, Circle | Cross) else None


def _shape(item: Item) -> BaseGeometry | None:
    """Return what words must not cover; nothing for a label that is still to be settled."""
    if isinstance(item, Polyline):
        points = [*item.points_mm, *item.points_mm[: 1 if item.closed else 0]]
        return shapely.LineString(points) if len(points) > 1 else None
    if isinstance(item, Circle):
        centre = shapely.Point(item.x_mm, item.y_mm)
        return centre.buffer(item.diameter_mm / 2, quad_segs=CIRCLE_SEGMENTS)
    if isinstance(item, Cross):
        return shapely.Point(item.x_mm, item.y_mm).buffer(item.size_mm / 2, cap_style="square")
    return _box(item) if isinstance(item, Text) else None


def _box(words: Text) -> shapely.Polygon:
    width_mm = text_width_mm(words.text, words.height_mm)
    left = words.x_mm - width_mm * {"start": 0.0, "middle": 0.5, "end": 1.0}[words.align]
    below = 0.3 * words.height_mm  # tails of letters
    return shapely.box(
        left - 0.3, words.y_mm - below, left + width_mm + 0.3, words.y_mm + words.height_mm + 0.3
    )
