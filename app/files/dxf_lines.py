"""The lines of a DXF as chains in mm, wherever blocks put them."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.ellipse import Ellipse
from ezdxf.entities.line import Line
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.entities.polyline import Polyline
from ezdxf.entities.spline import Spline
from ezdxf.math import OCS, BSpline, Vec3, fit_points_to_cad_cv

from app.files.affine import Affine
from app.files.curves_in import (
    FIT_MM,
    arc_chain,
    bulged_chain,
    ellipse_chain,
    smooth_chain,
    straight_chain,
)
from app.files.dxf_parts import Part
from app.files.strokes import FARTHEST_MM
from geometry.curves import Chain, Point

PLACES = ("insert", "start", "center", "location", "defpoint", "text_midpoint")
CONTROL_FRAME = 16  # vertex flag: a point that steers a curve and is not on it
FLAT_MM = 0.01  # a line that rises by more does not lie in the drawing's plane
LEVEL = 1 - 1e-9  # of a normal's z: less is a plane that leans
LEANS = 1e-9  # of a block's axes: a greater rise is out of the plane
MOST_BULGE = 1e9  # of a polyline's arc; that is a full circle but for a hair


def place_of(part: Part, scale: float) -> Point | None:
    """Return where an entity is, mm; None where it does not say."""
    for name in PLACES:
        if part.entity.dxf.hasattr(name):
            at = Vec3(part.entity.dxf.get(name))
            x, y, _ = at if part.placed is None else part.placed.transform(at)
            return x * scale, y * scale
    return None


def chain_of(part: Part, scale: float) -> Chain | None:
    """Return a line's pieces in mm; empty if it has no length, None if it rises from the plane.

    The library's own way of taking nested blocks apart turns some of them wrongly where a block is
    stretched more one way than the other, so the blocks' maps are multiplied here.
    """
    chain = _own_chain(part.entity, scale)
    if not chain or part.placed is None:
        return chain
    (ux, uy, uz), (vx, vy, vz) = part.placed.ux, part.placed.uy
    if math.hypot(uz, vz) > LEANS * math.hypot(ux, uy, vx, vy):
        return None
    x, y, _ = part.placed.origin * scale
    return Affine(x_axis=(ux, uy), y_axis=(vx, vy), origin=(x, y)).chain(chain)


def _own_chain(entity: DXFEntity, scale: float) -> Chain | None:
    """Return a line's pieces where its block has them, mm."""
    if isinstance(entity, Line):
        return _line(entity, scale)
    plane = _Plane.of(entity, scale)
    if plane is None:
        return None
    if isinstance(entity, LWPolyline):
        vertices = [plane.vertex(x, y, bulge) for x, y, bulge in entity.get_points("xyb")]
        return bulged_chain(vertices, closed=entity.closed, turn=plane.turn)
    if isinstance(entity, Polyline):
        return _polyline(entity, plane)
    if isinstance(entity, Spline):
        return _spline(entity, scale)
    if isinstance(entity, Ellipse):
        return _ellipse(entity, plane)
    dxf = entity.dxf
    centre, radius = plane.at(*dxf.center.vec2), abs(dxf.radius) * scale
    if entity.dxftype() == "CIRCLE":
        return arc_chain(centre, radius, 0.0, 2 * math.pi)
    start, end = math.radians(dxf.start_angle), math.radians(dxf.end_angle)
    sweep = (end - start) % (2 * math.pi) or 2 * math.pi
    if plane.turn > 0:
        return arc_chain(centre, radius, start, sweep)
    return arc_chain(centre, radius, math.pi - start, -sweep)


def _line(entity: Line, scale: float) -> Chain | None:
    (x0, y0, z0), (x1, y1, z1) = entity.dxf.start, entity.dxf.end
    if not abs(z1 - z0) * scale <= FLAT_MM:
        return None
    return straight_chain([(x0 * scale, y0 * scale), (x1 * scale, y1 * scale)])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plane:
    """The plane that an entity's own coordinates lie in, level, seen from above or below."""

    ocs: OCS
    scale: float
    turn: int

    @classmethod
    def of(cls, entity: DXFEntity, scale: float) -> _Plane | None:
        """Return an entity's plane; None where it leans."""
        normal = Vec3(entity.dxf.get("extrusion", (0, 0, 1)))
        if not normal.magnitude:
            normal = Vec3(0, 0, 1)
        rise = normal.normalize().z
        if abs(rise) < LEVEL and entity.dxftype() != "SPLINE":
            return None
        return cls(ocs=OCS(normal), scale=scale, turn=1 if rise > 0 else -1)

    def vertex(self, x: float, y: float, bulge: float) -> tuple[Point, float]:
        """Return a corner of a polyline and its bulge; one that bulges without end is nowhere."""
        endless = not abs(bulge) < MOST_BULGE
        return ((math.nan, math.nan), 0.0) if endless else (self.at(x, y), bulge)

    def at(self, x: float, y: float) -> Point:
        """Return a point of the plane in the drawing, mm."""
        there = self.ocs.to_wcs(Vec3(x, y, 0))
        return there.x * self.scale, there.y * self.scale


def _polyline(entity: Polyline, plane: _Plane) -> Chain | None:
    vertices = [v for v in entity.vertices if not v.dxf.flags & CONTROL_FRAME]
    if entity.is_2d_polyline:
        bulged = [
            plane.vertex(v.dxf.location.x, v.dxf.location.y, float(v.dxf.get("bulge", 0.0)))
            for v in vertices
        ]
        return bulged_chain(bulged, closed=entity.is_closed, turn=plane.turn)
    if not entity.is_3d_polyline:
        return None  # meshes
    spots = np.array([v.dxf.location for v in vertices], float).reshape(-1, 3) * plane.scale
    if len(spots) and np.ptp(spots[:, 2]) > FLAT_MM:
        return None
    return straight_chain([(x, y) for x, y, _ in spots.tolist()], closed=entity.is_closed)


def _ellipse(entity: Ellipse, plane: _Plane) -> Chain | None:
    dxf, scale = entity.dxf, plane.scale
    major, minor = dxf.major_axis * scale, entity.minor_axis * scale  # both in the drawing
    if max(abs(major.z), abs(minor.z)) > FLAT_MM:
        return None
    start, end = float(dxf.start_param), float(dxf.end_param)
    sweep = (end - start) % (2 * math.pi)
    if abs(end - start) >= 2 * math.pi - 1e-9 or sweep < 1e-12:
        sweep = 2 * math.pi
    x, y, _ = dxf.center * scale
    return ellipse_chain((x, y), (major.x, major.y), (minor.x, minor.y), start, sweep)


def _spline(entity: Spline, scale: float) -> Chain | None:
    steering = np.array([*entity.control_points, *entity.fit_points], float).reshape(-1, 3) * scale
    if len(steering) < 2:
        return ()
    if not np.abs(steering).max() < FARTHEST_MM:
        return straight_chain([(x, y) for x, y, _ in steering.tolist()])  # told as damaged
    if np.ptp(steering[:, 2]) > FLAT_MM:
        return None
    curve = _steered(entity)
    knots, degree = curve.knots(), curve.degree
    inner = knots[degree : len(knots) - degree]
    breaks = [inner[0], *(b for a, b in itertools.pairwise(inner) if b > a)]

    def at(t: float) -> Point:
        x, y, _ = curve.point(t)
        return x * scale, y * scale

    def slope(t: float) -> Point:
        x, y, _ = curve.derivative(t, 1)[1]
        return x * scale, y * scale

    return smooth_chain(at, slope, breaks, max(FIT_MM, 1e-6 * float(np.ptp(steering))))


def _steered(entity: Spline) -> BSpline:
    """Return a spline by its control points, else through its fit points, closed if it says so."""
    fits = Vec3.list(entity.fit_points)
    if len(entity.control_points) or not entity.closed or len(fits) < 3:
        return entity.construction_tool()
    if fits[0].isclose(fits[-1]):
        fits.pop()
    around = (fits[1] - fits[-1]).normalize()
    return fit_points_to_cad_cv([*fits, fits[0]], tangents=[around, around])
