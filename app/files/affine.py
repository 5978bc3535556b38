"""A plane map that may stretch and lean: how a block's or a group's lines come into a drawing."""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.files.curves_in import ellipse_chain, fastened
from geometry.curves import Arc, Chain, Cubic, Line, Point, Segment

ALIKE = 1e-9  # relative: a map that is a similarity but for rounding keeps arcs arcs


@dataclass(frozen=True, slots=True, kw_only=True)
class Affine:
    """The map of ``(x, y)`` to ``x * x_axis + y * y_axis + origin``."""

    x_axis: Point
    y_axis: Point
    origin: Point

    def at(self, point: Point) -> Point:
        """Return where a point comes to."""
        x, y = self.along(point)
        return x + self.origin[0], y + self.origin[1]

    def along(self, vector: Point) -> Point:
        """Return what a direction becomes."""
        x, y = vector
        (ux, uy), (vx, vy) = self.x_axis, self.y_axis
        return x * ux + y * vx, x * uy + y * vy

    @property
    def keeps_circles(self) -> bool:
        """Whether circles stay circles."""
        (ux, uy), (vx, vy) = self.x_axis, self.y_axis
        size = ux * ux + uy * uy
        return (
            abs(size - vx * vx - vy * vy) <= ALIKE * size and abs(ux * vx + uy * vy) <= ALIKE * size
        )

    @property
    def mirrors(self) -> bool:
        """Whether left becomes right."""
        return self.x_axis[0] * self.y_axis[1] - self.x_axis[1] * self.y_axis[0] < 0

    def chain(self, chain: Chain) -> Chain:
        """Return a chain as it comes to lie; an arc becomes an ellipse's where it has to."""
        return tuple(piece for old in chain for piece in self._pieces(old))

    def _pieces(self, piece: Segment) -> Chain:
        start, end = self.at(piece.start), self.at(piece.end)
        if isinstance(piece, Cubic):
            controls = self.at(piece.control1), self.at(piece.control2)
            return (Cubic(start=start, control1=controls[0], control2=controls[1], end=end),)
        if isinstance(piece, Line):
            return (Line(start=start, end=end),) if start != end else ()
        if self.keeps_circles:
            if start == end:
                return ()
            sweep = -piece.sweep_rad if self.mirrors else piece.sweep_rad
            return (Arc(start=start, end=end, sweep_rad=sweep),)
        return self._ellipse(piece, start, end)

    def _ellipse(self, arc: Arc, start: Point, end: Point) -> Chain:
        (cx, cy), radius = arc.centre, arc.radius_mm
        from_rad = math.atan2(arc.start[1] - cy, arc.start[0] - cx)
        major, minor = self.along((radius, 0.0)), self.along((0.0, radius))
        chain = ellipse_chain(self.at((cx, cy)), major, minor, from_rad, arc.sweep_rad)
        return fastened(chain, start, end)
