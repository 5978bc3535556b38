"""What is no steel to use, as discs, with the one that matters at any place.

Each disc lies wholly outside the usable steel. A grid remembers for each of its nodes the disc that
reaches farthest towards it; which disc is asked is only a choice, so a coarse grid loosens a bound
and never makes it wrong.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from geometry.ring_walk import RingWalk
from geometry.segments import Floats, Ints
from geometry.tangent_discs import Discs, discs_near_depth, discs_outside

Marked = NDArray[np.bool_]

CELL_MM, MOST_NODES = 1.0, 8_000
PAD_CELLS = 5
FILL_CELLS = 4  # between the discs that fill what lies far outside
FILL_NEAREST = 4
COVER_NEAREST = 3
BESIDE = (-2, -1, 1, 2)
AROUND = tuple((i, j) for i in (-1, 0, 1) for j in (-1, 0, 1) if i or j)
OTHER_SIDE = 0.94  # the cosine of 20 degrees
TOWARDS_CENTRE = 0.3  # cells: of discs that touch one corner, the one on a node's side is nearest
LARGEST = 50.0  # times the size of the steel: nearly a half plane


class NoSteel:
    """The discs outside one part of the usable steel.

    Parameters
    ----------
    steel : shapely.Polygon
        The part, its holes open, mm.
    slack_mm : float
        How far the discs may stay from its edge.
    out_mm : float
        How far a blank may reach over the edge: what shows no such depth is left out, and the grid
        goes so far.
    discs : Discs, optional
        Those outside the part, if they are known.

    Attributes
    ----------
    steel : shapely.Polygon
        As given.
    centres_mm, radii_mm : numpy.ndarray
        (N, 2) and (N,) the discs.
    """

    def __init__(
        self, steel: Polygon, *, slack_mm: float, out_mm: float = 0.0, discs: Discs | None = None
    ) -> None:
        from scipy.spatial import cKDTree  # slow to import: only a search needs it

        self.steel, self._slack_mm, self._out_mm = steel, slack_mm, out_mm
        x1, y1, x2, y2 = steel.bounds
        size_mm = float(np.hypot(x2 - x1, y2 - y1))
        if discs is None:
            discs = discs_outside(steel, slack_mm=slack_mm, largest_mm=LARGEST * size_mm)
        self._all = discs
        if out_mm > 0.0:
            discs = discs.kept(discs.radii_mm > out_mm)
        area_mm2 = (x2 - x1 + 2.0 * out_mm) * (y2 - y1 + 2.0 * out_mm)
        self._cell_mm = max(min(CELL_MM, size_mm / 100.0), float(np.sqrt(area_mm2 / MOST_NODES)))
        pad_mm = PAD_CELLS * self._cell_mm + out_mm
        self._origin: Floats = np.array([x1 - pad_mm, y1 - pad_mm])
        reach = np.array([x2 + pad_mm, y2 + pad_mm]) - self._origin
        self._columns, self._rows = (np.ceil(reach / self._cell_mm).astype(int) + 1).tolist()
        columns, rows = np.meshgrid(np.arange(self._columns), np.arange(self._rows))
        place = np.column_stack([columns.ravel(), rows.ravel()])
        nodes = self._origin + self._cell_mm * place
        self.centres_mm, self.radii_mm = discs.centres_mm, discs.radii_mm
        anchors, disc = self._anchors(discs)
        self._disc: Ints = disc[cKDTree(anchors).query(nodes)[1]]
        outside = ~np.asarray(shapely.contains_xy(steel, *nodes.T))
        sparse: Marked = (place % FILL_CELLS == 0).all(axis=1)
        self._fill(nodes, outside, sparse)
        self._other = self._others(nodes)

    def _anchors(self, discs: Discs) -> tuple[Floats, Ints]:
        """Return places along the edge, a little towards their disc's centre, and their discs.

        A disc may cover a long stretch of the edge: it is met all along it.
        """
        from scipy.spatial import cKDTree

        walk = RingWalk(self.steel)
        places = walk.places(*walk.spaced(self._cell_mm))
        along = np.flatnonzero(~discs.fanned)
        if not len(along):
            return discs.feet_mm, np.arange(len(discs.feet_mm))
        count = min(COVER_NEAREST, len(along))
        near = along[cKDTree(discs.feet_mm[along]).query(places, k=count)[1]]
        near = near.reshape(len(places), -1)
        away = places[:, None, :] - discs.centres_mm[near]
        best = (np.hypot(away[..., 0], away[..., 1]) - discs.radii_mm[near]).argmin(axis=1)
        places = np.concatenate([discs.feet_mm, places])
        own = np.arange(len(discs.radii_mm))
        disc = np.concatenate([own, near[np.arange(len(near)), best]])
        away = discs.centres_mm[disc] - places
        length = np.hypot(*away.T)[:, None]
        away /= np.maximum(length, TOWARDS_CENTRE * self._cell_mm)
        return places + TOWARDS_CENTRE * self._cell_mm * away, disc

    def reached_over(self, out_mm: float, *, fine: bool) -> NoSteel:
        """Return the same for a blank that reaches so far over the edge; fine: sharper."""
        discs, slack_mm = self._all, self._slack_mm
        if fine:
            discs = discs.joined(discs_near_depth(self.steel, depth_mm=out_mm, slack_mm=slack_mm))
        return NoSteel(self.steel, slack_mm=slack_mm, out_mm=out_mm, discs=discs)

    def _fill(self, nodes: Floats, outside: Marked, sparse: Marked) -> None:
        """Add discs that fill what lies far outside, where those along the edge do not reach."""
        from scipy.spatial import cKDTree

        centres = nodes[outside & sparse]
        radii = self._least_distances(centres)
        large = radii > max(FILL_CELLS * self._cell_mm, self._out_mm)
        centres, radii = centres[large], radii[large]
        far = np.flatnonzero(outside)
        if not len(centres) or not len(far):
            return
        near = cKDTree(centres).query(nodes[far], k=min(FILL_NEAREST, len(centres)))[1]
        near = near.reshape(len(far), -1)
        away = nodes[far][:, None, :] - centres[near]
        values = np.hypot(away[..., 0], away[..., 1]) - radii[near]
        best = values.argmin(axis=1)
        every = np.arange(len(far))
        own = np.hypot(*(nodes[far] - self.centres_mm[self._disc[far]]).T)
        better = values[every, best] < own - self.radii_mm[self._disc[far]]
        self._disc[far[better]] = len(self.radii_mm) + near[every, best][better]
        self.centres_mm = np.concatenate([self.centres_mm, centres])
        self.radii_mm = np.concatenate([self.radii_mm, radii])

    def _least_distances(self, places: Floats) -> Floats:
        """Return distances that the steel's edge keeps from places at least."""
        from scipy.spatial import cKDTree

        walk = RingWalk(self.steel)
        samples = walk.places(*walk.spaced(self._cell_mm))
        # No place of the edge is farther from a sample than half a step.
        found: Floats = cKDTree(samples).query(places)[0] - self._cell_mm / 2.0
        return found

    def _others(self, nodes: Floats) -> Ints:
        """Return for each node a disc from another side that reaches as far nearly, or the same.

        Near the middle between two edges a place is nearest to the one or the other.
        """
        grid = self._disc.reshape(self._rows, self._columns)
        away = nodes - self.centres_mm[self._disc]
        length = np.hypot(*away.T)
        found, least = self._disc.copy(), np.full(len(nodes), np.inf)
        for rows, columns in AROUND:
            beside = np.roll(grid, (rows, columns), axis=(0, 1)).ravel()
            x, y = (nodes - self.centres_mm[beside]).T
            distance = np.hypot(x, y)
            turned = away[:, 0] * x + away[:, 1] * y < OTHER_SIDE * length * distance
            value = np.where(turned, distance - self.radii_mm[beside], np.inf)
            nearer = value < least
            found, least = np.where(nearer, beside, found), np.where(nearer, value, least)
        return found

    def least_mm(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Return how far places are from the discs remembered near them, the edge from within 0."""
        node = self._node(x_mm, y_mm)
        disc, other = self._disc.take(node), self._other.take(node)
        values = self._values(x_mm, y_mm, disc)
        two = np.nonzero(disc != other)
        values[two] = np.minimum(values[two], self._values(x_mm[two], y_mm[two], other[two]))
        return values

    def near(self, x_mm: Floats, y_mm: Floats) -> Ints:
        """Return the discs remembered at the nodes nearest to places, of the places' shape."""
        found: Ints = self._disc.take(self._node(x_mm, y_mm))
        return found

    def _node(self, x_mm: Floats, y_mm: Floats) -> Ints:
        column = np.rint((x_mm - self._origin[0]) * (1.0 / self._cell_mm))
        row = np.rint((y_mm - self._origin[1]) * (1.0 / self._cell_mm))
        np.clip(column, 0, self._columns - 1, out=column)
        np.clip(row, 0, self._rows - 1, out=row)
        row *= self._columns
        row += column
        node: Ints = row.astype(np.intp)
        return node

    def nearest(self, x_mm: Floats, y_mm: Floats) -> Ints:
        """Return the disc that reaches farthest towards each place, of those remembered around it.

        The discs lie in order along the edge, so those beside the best are asked as well.
        """
        column = np.clip((x_mm - self._origin[0]) / self._cell_mm, 0, self._columns - 2)
        row = np.clip((y_mm - self._origin[1]) / self._cell_mm, 0, self._rows - 2)
        corner = row.astype(np.intp) * self._columns + column.astype(np.intp)
        best: Ints = self._disc.take(corner)
        least = self._values(x_mm, y_mm, best)
        others = [self._disc.take(corner + step) for step in (1, self._columns, self._columns + 1)]
        best, least = self._better(x_mm, y_mm, others, best, least)
        beside = [np.clip(best + step, 0, len(self.radii_mm) - 1) for step in BESIDE]
        return self._better(x_mm, y_mm, beside, best, least)[0]

    def _better(
        self, x_mm: Floats, y_mm: Floats, others: list[Ints], best: Ints, least: Floats
    ) -> tuple[Ints, Floats]:
        for other in others:
            value = self._values(x_mm, y_mm, other)
            nearer = value < least
            best, least = np.where(nearer, other, best), np.where(nearer, value, least)
        return best, least

    def _values(self, x_mm: Floats, y_mm: Floats, disc: Ints) -> Floats:
        away_x = x_mm - self.centres_mm[:, 0].take(disc)
        away_y = y_mm - self.centres_mm[:, 1].take(disc)
        values: Floats = np.hypot(away_x, away_y) - self.radii_mm.take(disc)
        return values
