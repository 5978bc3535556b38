"""What two traces of one piece, of its top and its bottom, both have: the smaller rules."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.polygon import orient

from geometry.billet import Billet
from geometry.errors import InputError
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
        How far apart the two edges are where they differ most.
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

    def sigma_mm(self, places_mm: NDArray[np.float64]) -> Values:
        """Return one standard deviation at places (N, 2) of the common edge.

        It is that of the face whose edge it is; where that is the second's, what the
        registration leaves in doubt is added in squares.
        """
        ruling, near = [], []
        for registration in (None, *self.answers):
            billet = self.first if registration is None else self.second
            laid = billet.shape if registration is None else registration.pose.shape(billet.shape)
            edge = Segments(laid)
            piece = edge.nearest(places_mm)
            own = _vertex_sigma_mm(billet, laid, places_mm)
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
    points = edge_points(first.shape, FINE)
    edge = Segments(Polygon(laid[0].exterior))
    apart = edge.distance_mm(points, edge.nearest(points))
    worst = int(apart.argmax())
    x_mm, y_mm = points[worst].tolist()
    return TwoFaces(
        first=first,
        second=second,
        answers=answers,
        shape=orient(shape),
        differ_mm=float(apart[worst]),
        differ_at_mm=(x_mm, y_mm),
    )


def _vertex_sigma_mm(billet: Billet, laid: Polygon, places_mm: NDArray[np.float64]) -> Values:
    """Return the deviation of the vertex nearest each place; zeros where a billet has none."""
    if not billet.vertex_sigma_mm:
        return np.zeros(len(places_mm))
    rings = [laid.exterior, *laid.interiors]
    vertices = np.vstack([shapely.get_coordinates(ring)[:-1] for ring in rings])
    tree = shapely.STRtree(np.asarray(shapely.points(vertices)))
    nearest = tree.nearest(np.asarray(shapely.points(places_mm)))
    return np.asarray(billet.vertex_sigma_mm)[nearest]
