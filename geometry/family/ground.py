"""The edge that a family's holes and marks lie on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from geometry.along import Along
from geometry.curves import Chain, Point
from geometry.family.expressions import Expression
from geometry.sections import section_mm
from geometry.stretch import StretchMap

Values: TypeAlias = Mapping[str, float]
Ring: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """A family's edge for some values, and where places of a drawn profile went.

    Parameters
    ----------
    name : str
        The family's, for messages.
    chain : tuple of segments
        The closed edge, counter-clockwise.
    ring : (N, 2) array
        The same flattened, mm.
    steel : shapely.Polygon
        What is inside it, openings that are not round taken out.
    stretched : StretchMap
        From a profile as it was drawn to the edge; no change where it goes through nodes.
    moved : mapping
        Where some places went, worked out all at once: one by one takes longer than the edge.
    """

    name: str
    chain: Chain
    ring: Ring
    steel: Polygon
    stretched: StretchMap
    moved: Mapping[Point, Point] = field(default_factory=dict)

    def spot(self, x: Expression, y: Expression | None, values: Values) -> Point:
        """Return a point, midway between the two sides where no y is given."""
        if y is not None:
            place = (x.value(values), y.value(values))
            return self.moved.get(place) or self.stretched.point(place)
        across = self.x(x, values)
        low, high = self.section(across)
        return across, (low + high) / 2

    def x(self, x: Expression, values: Values) -> float:
        """Return where an x that was drawn went."""
        return self.stretched.point((x.value(values), 0.0))[0]

    def section(self, x_mm: float) -> tuple[float, float]:
        """Return the edge's and the spine's y at an x, mm; InputError when it is not there."""
        return section_mm(self.ring, x_mm)

    def along(self) -> Along:
        """Return the lengths along the edge."""
        return Along(self.chain)
