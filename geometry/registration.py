"""One outline laid on another of the same piece: turned, shifted, and turned over if need be.

From many starts round the circle the second outline is drawn to the first by least squares of
the distances across the edge; places where the two really differ count less and less.  One face
may be smaller all round: what counts is how much the distance varies along the edge, not how large
it is.  Poses that fit as well as the best, as far as the outlines can tell, are all returned.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.polygon import orient

from geometry.calipers import width_of
from geometry.errors import Cancelled, InputError
from geometry.pose import Pose
from geometry.segments import Segments

Points = NDArray[np.float64]
Values = NDArray[np.float64]

STARTS = 36  # round the circle, for each face up
MOST_WAYS = 4  # best starts that are followed to the end, for each face up
COARSE, FINE = 96, 400  # points along the edge
ROUNDS, SETTLED_MM = 40, 1e-5
CLOSE = 2.5  # times the typical distance, beyond which a place counts little
NOISE_MM = 0.15  # two hands and two ink edges; differences below tell nothing
WANDER_MM = 10.0  # along the edge, over which a hand's error stays the same
EITHER_WAY = 9.0  # squared deviations: a fit worse by less speaks for neither
SAME_RAD = math.radians(4.0)  # apart, two answers are one
ONE_PIECE = 0.2  # of the width: edges that stay further apart are of two pieces
ONE_SHAPE = 0.05  # of the width, by which that distance may vary: more is another shape


@dataclass(frozen=True, slots=True, kw_only=True)
class Registration:
    """How a second outline lies on a first.

    Parameters
    ----------
    pose : Pose
        From the second outline's frame to the first's; scale 1.
    apart_mm : float
        Mean distance between the two edges.
    uneven_mm : float
        Mean deviation of that distance, with its sign, from its median: 0 where one outline is
        the other, smaller by the same all round.
    alike_mm : float
        How far along the edge such a deviation stays about the same.
    centre_mm : (x, y)
        Of the second outline as moved, the point that it turns about.
    covariance : tuple of tuples of float, 3 x 3
        Of shift in x and y, mm, and turn about the centre, rad.
    """

    pose: Pose
    apart_mm: float
    uneven_mm: float
    alike_mm: float
    centre_mm: tuple[float, float]
    covariance: tuple[tuple[float, ...], ...]

    def sigma_mm(self, places_mm: Points, normals: Points) -> Values:
        """Return what the pose leaves in doubt across the edge, at places (N, 2) of it."""
        moves = _moves(places_mm, normals, np.asarray(self.centre_mm))
        spread = np.einsum("ni,ij,nj->n", moves, np.asarray(self.covariance), moves)
        return np.asarray(np.sqrt(np.maximum(spread, 0.0)))


def register(
    first: Polygon,
    second: Polygon,
    *,
    turned: bool | None = None,
    stop: Callable[[], bool] | None = None,
) -> tuple[Registration, ...]:
    """Return how a second outline lies on a first, the best answer before others as good.

    Parameters
    ----------
    first, second : shapely.Polygon
        Of the same piece, mm; their outer edges count, not their holes.
    turned : bool, optional
        Whether the piece was turned over between them; the fit decides if left out.
    stop : callable, optional
        Asked whether to stop.

    Raises
    ------
    InputError
        If the outlines are not those of one piece.
    Cancelled
        If `stop` said so.
    """
    first, second = orient(Polygon(first.exterior)), orient(Polygon(second.exterior))
    found: list[Registration] = []
    for mirrored in (False, True) if turned is None else (turned,):
        for pose in _starts(first, second, mirrored):
            if stop is not None and stop():
                raise Cancelled
            found.append(_settled(first, second, pose))
    found.sort(key=lambda each: each.uneven_mm)
    best = found[0]
    width_mm = width_of(first).value_mm
    if best.apart_mm > ONE_PIECE * width_mm or best.uneven_mm > ONE_SHAPE * width_mm:
        raise InputError(
            f"the two edges stay {best.apart_mm:.1f} mm apart: they are not of one piece.",
            where="Traces",
            remedy="Give two traces of the same piece of steel.",
        )
    independent = first.exterior.length / best.alike_mm
    answers: list[Registration] = []
    for each in found:
        worse = each.uneven_mm**2 - best.uneven_mm**2
        as_good = independent * worse < EITHER_WAY * max(best.uneven_mm, NOISE_MM) ** 2
        if as_good and not any(_same(each, other) for other in answers):
            answers.append(each)
    return tuple(answers)


def edge_points(shape: Polygon, count: int) -> Points:
    """Return (count, 2) points evenly along a shape's outer edge."""
    ring = shape.exterior
    along = np.linspace(0.0, ring.length, count, endpoint=False)
    return shapely.get_coordinates(shapely.line_interpolate_point(ring, along))


def edge_normals(edge: Segments, piece: NDArray[np.intp]) -> Points:
    """Return unit normals (N, 2) of the named pieces of an edge."""
    along = edge.along_mm[piece]
    normals: Points = np.column_stack([along[:, 1], -along[:, 0]]) / np.hypot(*along.T)[:, None]
    return normals


def _starts(first: Polygon, second: Polygon, mirrored: bool) -> list[Pose]:
    """Return the poses, centre on centre, that fit better than those turned a little less or more.

    If there are few such, as of a round piece, the next best follow.
    """
    target = shapely.get_coordinates(first.centroid)[0]
    points, edge = edge_points(second, COARSE), Segments(first)
    centre = shapely.get_coordinates(second.centroid)[0]
    poses = []
    for theta in np.arange(STARTS) * math.tau / STARTS:
        turn = Pose(theta_rad=float(theta), mirrored=mirrored)
        x_mm, y_mm = (target - turn.points([centre])[0]).tolist()
        poses.append(Pose(x_mm=x_mm, y_mm=y_mm, theta_rad=float(theta), mirrored=mirrored))
    moved = np.vstack([pose.points(points) for pose in poses])
    outside = _outside_mm(first, edge, moved).reshape(STARTS, -1)
    apart = np.abs(outside - np.median(outside, axis=1, keepdims=True)).mean(axis=1)
    valley = (apart <= np.roll(apart, 1)) & (apart <= np.roll(apart, -1))
    ordered = np.lexsort([apart, ~valley])
    return [poses[index] for index in ordered[:MOST_WAYS].tolist()]


def _settled(first: Polygon, second: Polygon, pose: Pose) -> Registration:
    """Return the registration next to a pose: damped by how much each place is to be believed."""
    edge, points = Segments(first), edge_points(second, FINE)
    centre = shapely.get_coordinates(second.centroid)[0]
    for _ in range(ROUNDS):
        moved = pose.points(points)
        middle = pose.points([centre])[0]
        piece = edge.nearest(moved)
        normals = edge_normals(edge, piece)
        off = ((moved - edge.foot(moved, piece)) * normals).sum(axis=1)
        outside = _outside_mm(first, edge, moved, piece)
        away = np.abs(outside - np.median(outside))
        typical = max(1.4826 * float(np.median(away)), NOISE_MM / 2.0)
        weights = 1.0 / (1.0 + (away / (CLOSE * typical)) ** 2) ** 2
        moves = _moves(moved, normals, middle)
        weighted = weights[:, None] * (moves - np.average(moves, axis=0, weights=weights))
        matrix = weighted.T @ moves  # with a distance that is the same all round left free
        matrix += 1e-6 * weights.sum() * np.eye(3)  # a round piece can turn freely
        step = np.linalg.solve(matrix, -weighted.T @ off)
        pose = _moved(pose, step, middle)
        if math.hypot(step[0], step[1]) + abs(step[2]) * 100.0 < SETTLED_MM:
            break
    return _judged(first, second, pose, matrix)


def _judged(first: Polygon, second: Polygon, pose: Pose, matrix: Points) -> Registration:
    """Return a pose with the mean distance both ways and its covariance."""
    laid = pose.shape(second)
    here, there = edge_points(first, FINE), edge_points(laid, FINE)
    outside = np.concatenate(
        [-_outside_mm(laid, Segments(laid), here), _outside_mm(first, Segments(first), there)]
    )
    apart, uneven = np.abs(outside), outside - np.median(outside)
    error_mm = max(float(np.sqrt((apart**2).mean())), NOISE_MM)
    repeated = FINE * WANDER_MM / first.exterior.length  # points that say the same
    covariance = np.linalg.inv(matrix) * error_mm**2 * max(repeated, 1.0)
    x_mm, y_mm = shapely.get_coordinates(laid.centroid)[0].tolist()
    return Registration(
        pose=pose,
        apart_mm=float(apart.mean()),
        uneven_mm=float(np.abs(uneven).mean()),
        alike_mm=max(WANDER_MM, _alike(uneven[FINE:]) * first.exterior.length / FINE),
        centre_mm=(x_mm, y_mm),
        covariance=tuple(tuple(row) for row in covariance.tolist()),
    )


def _outside_mm(
    shape: Polygon, edge: Segments, points: Points, piece: NDArray[np.intp] | None = None
) -> Values:
    """Return how far points (N, 2) lie outside a shape, less than 0 within it.

    The pieces of its edge nearest to them are looked for if not given.
    """
    apart = edge.distance_mm(points, edge.nearest(points) if piece is None else piece)
    return np.where(shapely.contains_xy(shape, points), -apart, apart)


def _alike(around: Values) -> float:
    """Return over how many of evenly spaced values round a ring these stay about the same."""
    power = np.abs(np.fft.rfft(around - around.mean())) ** 2
    alike = np.fft.irfft(power, len(around))[: len(around) // 2]
    if alike[0] <= 0.0:
        return 0.0
    return float(2.0 * alike[: int(np.argmax(alike <= 0.0))].sum() / alike[0] - 1.0)


def _moves(places: Points, normals: Points, centre: Points) -> Points:
    """Return how far places (N, 2) go along normals for each of shift x, y and turn, (N, 3)."""
    arm = places - centre
    turn = normals[:, 1] * arm[:, 0] - normals[:, 0] * arm[:, 1]
    return np.column_stack([normals, turn])


def _moved(pose: Pose, step: Points, middle: Points) -> Pose:
    """Return a pose turned about a point, then shifted."""
    x_mm, y_mm, turn_rad = step.tolist()
    turned = pose.turned_about((float(middle[0]), float(middle[1])), turn_rad)
    return Pose(
        x_mm=turned.x_mm + x_mm,
        y_mm=turned.y_mm + y_mm,
        theta_rad=turned.theta_rad,
        mirrored=pose.mirrored,
    )


def _same(one: Registration, other: Registration) -> bool:
    if one.pose.mirrored != other.pose.mirrored:
        return False
    return abs(math.remainder(one.pose.theta_rad - other.pose.theta_rad, math.tau)) < SAME_RAD
