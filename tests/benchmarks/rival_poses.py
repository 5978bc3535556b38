"""General methods that look for the roomiest pose: all on one objective, none with a proof.

The objective is the least signed distance at places on the outline's edge and in it, read from a
fine grid; many poses are read at once where the method can use that. What a method found is
measured exactly afterwards.
"""

import math
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.ndimage import map_coordinates
from scipy.optimize import Bounds, differential_evolution, direct, dual_annealing, minimize
from shapely import Polygon

from geometry.pose import Pose
from geometry.segments import Floats

CELL_MM, MOST_NODES = 0.5, 250_000
EDGE_PLACES, INNER_PLACES = 240, 60
PAD_MM = 10.0
SCREENED, STARTS = 2000, 40
SEED = 11


class Objective:
    """How far an outline sticks out, or how little room it has, at a pose; to be made small."""

    def __init__(self, outline: Polygon, steel: Polygon, *, mirrored: bool) -> None:
        self.mirrored = mirrored
        edge = outline.exterior.interpolate(np.linspace(0, 1, EDGE_PLACES, False), normalized=True)
        x1, y1, x2, y2 = outline.bounds
        step = math.sqrt(outline.area / INNER_PLACES)
        grid = np.meshgrid(np.arange(x1, x2, step), np.arange(y1, y2, step))
        inner = np.column_stack([axis.ravel() for axis in grid])
        inner = inner[shapely.contains_xy(outline, *inner.T)]
        corners = shapely.get_coordinates(shapely.convex_hull(outline))
        self.centre = np.array(outline.centroid.coords[0])
        own = np.vstack([shapely.get_coordinates(edge), corners, inner]) - self.centre
        self._own = own * (1.0, -1.0) if mirrored else own
        self._grid(steel)
        left, bottom, right, top = steel.bounds
        self.bounds = Bounds([left, bottom, 0.0], [right, top, 2.0 * math.pi])

    def _grid(self, steel: Polygon) -> None:
        x1, y1, x2, y2 = steel.bounds
        width, height = x2 - x1 + 2 * PAD_MM, y2 - y1 + 2 * PAD_MM
        self._cell = max(CELL_MM, math.sqrt(width * height / MOST_NODES))
        self._origin = np.array([x1 - PAD_MM, y1 - PAD_MM])
        x, y = np.meshgrid(
            np.arange(0, width, self._cell) + self._origin[0],
            np.arange(0, height, self._cell) + self._origin[1],
        )
        edge = steel.boundary
        shapely.prepare([steel, edge])
        distance = shapely.distance(edge, shapely.points(x, y))
        self._field = np.where(shapely.contains_xy(steel, x, y), distance, -distance)

    def many(self, poses: Floats) -> Floats:
        """Return (N,) values of (N, 3) poses: x, y of the centroid and the angle."""
        cos, sin = np.cos(poses[:, 2:]), np.sin(poses[:, 2:])
        own_x, own_y = self._own.T
        x = (poses[:, :1] + cos * own_x - sin * own_y - self._origin[0]) / self._cell
        y = (poses[:, 1:2] + sin * own_x + cos * own_y - self._origin[1]) / self._cell
        rows, columns = self._field.shape
        # Beyond the grid it is as far out as there, and by how far it is beyond besides.
        over = np.abs(x - np.clip(x, 0, columns - 1)) + np.abs(y - np.clip(y, 0, rows - 1))
        read = map_coordinates(self._field, [y, x], order=1, mode="nearest")
        worst: Floats = (self._cell * over - read).max(axis=1)
        return worst

    def one(self, pose: Floats) -> float:
        """Return the value of one pose."""
        return float(self.many(np.asarray(pose)[None])[0])

    def columns(self, poses: Floats) -> Floats:
        """Return the values of poses in columns, as one of the methods asks."""
        return self.many(poses.T)

    def numbers(self, pose: Pose) -> Floats:
        """Return the three numbers that mean a pose."""
        return np.append(pose.points(self.centre[None])[0], pose.theta_rad % (2.0 * math.pi))

    def pose(self, numbers: Floats) -> Pose:
        """Return the pose that three numbers mean."""
        turned = Pose(theta_rad=float(numbers[2]), mirrored=self.mirrored)
        x, y = numbers[:2] - turned.points(self.centre[None])[0]
        return Pose(
            x_mm=float(x), y_mm=float(y), theta_rad=turned.theta_rad, mirrored=self.mirrored
        )


Numbers = list[Floats]


def climbed(objective: Objective, start: Floats) -> Floats:
    """Return the end of one climb of Nelder and Mead."""
    simplex = start + np.vstack([np.zeros(3), np.diag([3.0, 3.0, 0.1])])
    options = {"initial_simplex": simplex, "xatol": 1e-4, "fatol": 1e-4, "maxfev": 600}
    end: Floats = minimize(objective.one, start, method="Nelder-Mead", options=options).x
    return end


def nelder_mead(objective: Objective, good: Callable[[Floats], bool]) -> Numbers:
    """Climb from the best of many random poses in turn, until one is good."""
    random = np.random.default_rng(SEED)
    low, high = objective.bounds.lb, objective.bounds.ub
    poses = random.uniform(low, high, (SCREENED, 3))
    found: Numbers = []
    for start in poses[np.argsort(objective.many(poses))[:STARTS]]:
        found.append(climbed(objective, start))
        if good(found[-1]):
            break
    return found


def by_direct(objective: Objective, good: Callable[[Floats], bool]) -> Numbers:
    """Divide rectangles."""
    found = direct(objective.one, objective.bounds, maxfun=20_000, maxiter=2000, vol_tol=0.0)
    return [np.asarray(found.x)]


def annealed(objective: Objective, good: Callable[[Floats], bool]) -> Numbers:
    """Anneal with local searches."""
    found = dual_annealing(objective.one, objective.bounds, maxiter=400, rng=SEED, maxfun=15_000)
    return [np.asarray(found.x)]


def evolved(objective: Objective, good: Callable[[Floats], bool]) -> Numbers:
    """Let whole populations evolve, each evaluated at once."""
    found = differential_evolution(
        objective.columns,
        objective.bounds,
        vectorized=True,
        updating="deferred",
        popsize=40,
        maxiter=150,
        tol=1e-6,
        rng=SEED,
    )
    return [np.asarray(found.x)]


RIVALS = {
    "Nelder-Mead": nelder_mead,
    "direct": by_direct,
    "annealing": annealed,
    "evolution": evolved,
}


@dataclass(frozen=True, kw_only=True)
class Found:
    """What a method came to: CPU seconds without its set-up, and its best pose's clearance."""

    seconds: float
    clearance_mm: float


def found_by(
    name: str, objectives: list[Objective], exact_mm: Callable[[Pose], float], enough_mm: float
) -> Found:
    """Return what a method finds on each face that is allowed.

    Parameters
    ----------
    name : str
        Of `RIVALS`.
    objectives : list of Objective
        One for each face.
    exact_mm : callable
        Measures a pose; the time for that is not counted.
    enough_mm : float
        The clearance at which a method that starts again and again may end.
    """
    seconds, best_mm = 0.0, -math.inf
    for objective in objectives:
        asked = 0.0

        def measured_mm(numbers: Floats, objective: Objective = objective) -> float:
            nonlocal asked
            start = time.process_time()
            value = exact_mm(objective.pose(numbers))
            asked += time.process_time() - start
            return value

        start = time.process_time()
        ends = RIVALS[name](objective, lambda one: measured_mm(one) >= enough_mm)
        seconds += time.process_time() - start - asked
        best_mm = max(best_mm, *(measured_mm(one) for one in ends))
        if name == "Nelder-Mead" and best_mm >= enough_mm:
            break
    return Found(seconds=seconds, clearance_mm=best_mm)
