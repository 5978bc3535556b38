"""The flat lines of a DXF entity as points in the drawing's own plane and unit."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator

import numpy as np
from ezdxf.disassemble import recursive_decompose
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.ellipse import Ellipse
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.entities.polyline import Polyline
from ezdxf.entities.spline import Spline
from ezdxf.math import OCS, Vec3
from numpy.typing import NDArray

from app.files.loops import FARTHEST_MM, chord_for
from geometry.curves import Arc

CURVES = ("ARC", "CIRCLE", "ELLIPSE", "SPLINE")
LINES = ("LINE", "LWPOLYLINE", "POLYLINE", *CURVES)
CONTROL_FRAME = 16  # vertex flag: a point that steers a curve and is not on it
MOST_POINTS = 2_000_000

Points3 = NDArray[np.float64]


def entity_lines(entities: Iterable[DXFEntity], chord: float) -> Iterator[tuple[str, Points3]]:
    """Yield layer and (N, 3) points of every line, blocks taken apart, hidden ones left out.

    Parameters
    ----------
    entities : iterable of DXFEntity
        A model space.
    chord : float
        The farthest that a chord may lie from a curve, in the drawing's unit.

    Raises
    ------
    OverflowError
        If there is more than a drawing of a knife can hold.
    """
    total = 0
    for entity in entities:
        if entity.dxftype() == "INSERT":
            parts: Iterable[DXFEntity] = recursive_decompose([entity])
        else:
            parts = (entity,)
        for part in parts:
            if part.dxftype() not in LINES or part.dxf.get("invisible", 0):
                continue
            points = np.array([tuple(point) for point in _points(part, chord)], float)
            total += len(points)
            if total > MOST_POINTS:
                raise OverflowError("too many points")
            if len(points) > 1 and np.isfinite(points).all():
                yield part.dxf.get("layer", "0"), points


def _points(entity: DXFEntity, chord: float) -> list[Vec3]:
    """Return an entity's points in world coordinates; mirrored and turned ones read rightly."""
    kind = entity.dxftype()
    if kind == "LINE":
        return [entity.dxf.start, entity.dxf.end]
    if kind in ("ARC", "CIRCLE"):
        return list(entity.flattening(chord_for(abs(entity.dxf.radius), chord)))  # type: ignore[attr-defined]
    if isinstance(entity, Ellipse):
        return list(entity.flattening(chord_for(entity.dxf.major_axis.magnitude, chord)))
    if isinstance(entity, Spline):
        return _spline(entity, chord)
    if isinstance(entity, LWPolyline):
        bulged = [((x, y), bulge) for x, y, bulge in entity.get_points("xyb")]
        return _bulged(bulged, entity.closed, entity.dxf.elevation, entity.ocs(), chord)
    assert isinstance(entity, Polyline)
    return _polyline(entity, chord)


def _spline(entity: Spline, chord: float) -> list[Vec3]:
    steering = [*entity.control_points, *entity.fit_points]
    if not steering:
        return []
    size = float(np.ptp(np.array(steering, float), axis=0).max())
    if not size < FARTHEST_MM:
        return []  # the library would halve it without end
    return list(entity.flattening(chord_for(size, chord)))


def _polyline(entity: Polyline, chord: float) -> list[Vec3]:
    vertices = [v for v in entity.vertices if not v.dxf.flags & CONTROL_FRAME]
    if entity.is_3d_polyline:
        points = [Vec3(v.dxf.location) for v in vertices]
        return points + points[:1] if entity.is_closed else points
    if not entity.is_2d_polyline:
        return []  # meshes
    bulged = [((v.dxf.location.x, v.dxf.location.y), v.dxf.get("bulge", 0.0)) for v in vertices]
    elevation = Vec3(entity.dxf.get("elevation", Vec3())).z
    return _bulged(bulged, entity.is_closed, elevation, entity.ocs(), chord)


def _bulged(
    vertices: list[tuple[tuple[float, float], float]],
    closed: bool,
    elevation: float,
    ocs: OCS,
    chord: float,
) -> list[Vec3]:
    """Return points through vertices whose pieces are arcs: a bulge is the tangent of a quarter."""
    if not vertices:
        return []
    flat: list[tuple[float, float]] = []
    for (start, bulge), (end, _) in itertools.pairwise([*vertices, *vertices[: int(closed)]]):
        flat.append(start)
        if bulge and start != end:
            arc = Arc(start=start, end=end, sweep_rad=4 * math.atan(bulge))
            fine = arc.flattened(chord_for(arc.radius_mm, chord))
            flat += [(x, y) for x, y in fine.tolist()[1:]]
    flat.append(vertices[0][0] if closed else vertices[-1][0])
    return list(ocs.points_to_wcs(Vec3(x, y, elevation) for x, y in flat))
