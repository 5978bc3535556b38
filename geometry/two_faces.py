"""What two traces of one piece, of its top and its bottom, both have: the smaller rules."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.polygon import orient

from geometry.billet import Billet
from geometry.curves import Point
from geometry.error_budget import Budget, Part
from geometry.errors import InputError
from geometry.pose import Pose
from geometry.registration import FINE, Registration, edge_normals, edge_points, register
from geometry.segments import Segments

Values = NDArray[np.float64]

BOTH_MM = 0.03  # a vertex that near to both edges is ruled by the less certain one


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoFaces:
    """Two billets of one piece, laid on each other, in the frame of the first.

    Parameters
    ----------
    first, second : Billet
        As they were traced.
    answers : tuple of Registration
        How the second lies on the first; several where the shape does not tell.
    shape : shapely.Polygon
        What both have, whichever answer is true: the largest part, holes of both in it.
    differ_mm : float
        How far apart the two edges are where they differ most, whichever has a place there.
    differ_at_mm : (x, y)
        Where that is.
    """

    first: Billet
    second: Billet
    answers: tuple[Registration, ...]
    shape: Polygon
    differ_mm: float
    differ_at_mm: tuple[float, float]

    @property
    def best(self) -> Registration:
        """The answer that fits best."""
        return self.answers[0]

    @property
    def budget(self) -> Budget:
        """What the common edge may be off by: the larger bias, and the larger deviation.

        Either edge may rule, so the one that is likely the more too large is followed; where the
        other is known less well, that is a part of its own.
        """
        most, other = sorted(
            (self.first.budget, self.second.budget), key=lambda each: each.bias_mm, reverse=True
        )
        if other.sigma_mm <= most.sigma_mm:
            return most
        more_mm = math.sqrt(other.sigma_mm**2 - most.sigma_mm**2)
        return Budget(parts=(*most.parts, Part(name="the other trace", sigma_mm=more_mm)))

    def sigma_mm(self, places_mm: NDArray[np.float64]) -> Values:
        """Return one standard deviation at places (N, 2) of the common edge.

        It is that of the face whose edge it is, with what its bias is more uncertain than that
        of the budget; where it is the second's, what the registration leaves in doubt is added.
        """
        known_mm = self.budget.bias_sigma_mm
        ruling, near = [], []
        for registration in (None, *self.answers):
            billet = self.first if registration is None else self.second
            pose = Pose() if registration is None else registration.pose
            edge = Segments(pose.shape(billet.shape))
            piece = edge.nearest(places_mm)
            more_mm = math.sqrt(max(billet.budget.bias_sigma_mm**2 - known_mm**2, 0.0))
            own = np.hypot(billet.edge_sigma_mm(pose.back(places_mm)), more_mm)
            if registration is not None:
                normals = edge_normals(edge, piece)
                own = np.hypot(own, registration.sigma_mm(places_mm, normals))
            ruling.append(own)
            near.append(edge.distance_mm(places_mm, piece))
        apart, sigma = np.array(near), np.array(ruling)
        rules = apart <= apart.min(axis=0) + BOTH_MM
        return np.asarray(np.where(rules, sigma, 0.0).max(axis=0))


def both_faces(
    first: Billet,
    second: Billet,
    *,
    turned: bool | None = None,
    stop: Callable[[], bool] | None = None,
) -> TwoFaces:
    """Return what two traces of one piece both have.

    Parameters
    ----------
    first, second : Billet
        Traces of its two faces, or of one face twice.
    turned : bool, optional
        Whether the piece was turned over between them; the fit decides if left out.
    stop : callable, optional
        Asked whether to stop.

    Raises
    ------
    InputError
        If they are not of one piece, or have nothing in common.
    Cancelled
        If `stop` said so.
    """
    answers = register(first.shape, second.shape, turned=turned, stop=stop)
    laid = [answer.pose.shape(second.shape) for answer in answers]
    common = shapely.intersection_all([first.shape, *laid])
    parts = [part for part in shapely.get_parts(common) if isinstance(part, Polygon)]
    shape = max(parts, key=lambda part: part.area, default=Polygon())
    if shape.is_empty:
        raise InputError("the two traces have nothing in common.", where="Traces")
    differ_mm, differ_at_mm = _most_apart(first.shape, laid[0])
    return TwoFaces(
        first=first,
        second=second,
        answers=answers,
        shape=orient(shape),
        differ_mm=differ_mm,
        differ_at_mm=differ_at_mm,
    )


def _most_apart(one: Polygon, other: Polygon) -> tuple[float, Point]:
    """Return how far a place of either outer edge lies from the other edge at most, and where."""
    found = []
    for here, there in ((one, other), (other, one)):
        ring = shapely.get_coordinates(here.exterior)[:-1]
        points = np.vstack([edge_points(here, FINE), ring])
        edge = Segments(Polygon(there.exterior))
        apart = edge.distance_mm(points, edge.nearest(points))
        worst = int(apart.argmax())
        x_mm, y_mm = points[worst].tolist()
        found.append((float(apart[worst]), (x_mm, y_mm)))
    return max(found)
