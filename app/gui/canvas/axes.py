"""From the sheet's millimetres, y up, to the scene's, y down: it turns here and nowhere else."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainterPath, QPolygonF, QTransform
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from geometry.pose import Pose

FLIP = np.array([1.0, -1.0])


def flipped(points: ArrayLike) -> NDArray[np.float64]:
    """Return (N, 2) points with y turned over: sheet to scene, and scene to sheet."""
    turned: NDArray[np.float64] = np.asarray(points, float).reshape(-1, 2) * FLIP
    return turned


def scene_point(point_mm: tuple[float, float]) -> QPointF:
    """Return where a point of the sheet stands in the scene."""
    [(x, y)] = flipped([point_mm]).tolist()
    return QPointF(x, y)


def sheet_point(point: QPointF) -> tuple[float, float]:
    """Return the point of the sheet, mm, at a place of the scene."""
    [(x, y)] = flipped([(point.x(), point.y())]).tolist()
    return x, y


def scene_rect(bounds_mm: tuple[float, float, float, float]) -> QRectF:
    """Return a box of the sheet, given as least x, least y, greatest x, greatest y."""
    x0, y0, x1, y1 = bounds_mm
    return QRectF(scene_point((x0, y1)), scene_point((x1, y0)))


def scene_path(points_mm: ArrayLike, *, closed: bool = False) -> QPainterPath:
    """Return (N, 2) points of the sheet as a line in the scene."""
    return plain_path(flipped(points_mm), closed=closed)


def plain_path(points: ArrayLike, *, closed: bool = False) -> QPainterPath:
    """Return (N, 2) points as a line, as they are."""
    path = QPainterPath()
    polygon = QPolygonF([QPointF(x, y) for x, y in np.asarray(points, float).tolist()])
    path.addPolygon(polygon)
    if closed:
        path.closeSubpath()
    return path


def scene_shape(shape: BaseGeometry) -> QPainterPath:
    """Return polygons of the sheet as a path in the scene, holes left open."""
    path = QPainterPath()
    for polygon in getattr(shape, "geoms", [shape]):
        if isinstance(polygon, Polygon) and not polygon.is_empty:
            for ring in (polygon.exterior, *polygon.interiors):
                path.addPath(scene_path(np.asarray(ring.coords), closed=True))
        elif isinstance(polygon, MultiPolygon):
            path.addPath(scene_shape(polygon))
    return path


def pose_transform(pose: Pose) -> QTransform:
    """Return the map from an outline's scene to the billet's scene."""
    turn = FLIP[:, None] * pose.linear() * FLIP[None, :]
    place = scene_point((pose.x_mm, pose.y_mm))
    return QTransform(turn[0, 0], turn[1, 0], turn[0, 1], turn[1, 1], place.x(), place.y())
