"""Discs that fill a shape up to its edge, or what lies outside it.

A shape is nearly the union of discs that lie in it and touch its edge. Discs make good witnesses:
however two of them turn and shift, only the distance of their centres counts. So a disc in the
blank and a disc that is no steel prove together what room there is at most
(`geometry/disc_gaps.py`).

The largest disc that touches an edge at a place is found by letting a large one shrink until no
point of the edge lies in it (the shrinking ball of Ma, Bae and Choi, "3D medial axis point
approximation using nearest neighbors and the normal field", The Visual Computer 28, 2012). Its
radius is then measured exactly, so a disc is never too large, whatever the shrinking missed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from geometry.ring_walk import RingWalk
from geometry.segments import Floats, Ints

STEP_MM, LEAST_STEPS = 3.0, 60  # between the first places along an edge, and how many round all
EDGE_SAMPLES = 1500  # round all, at which a shrinking disc feels the edge
ROUNDS = 12  # each halves the distance of places where the discs leave a gap
FAN_RAD = np.radians(6.0)  # between discs that touch one corner, tried first
DEEPEST, MOST_BESIDE = 1.5, 20_000  # times a depth; discs beside each other
FAR = 0.1  # of the edge's length: no blank worth a proof reaches farther over it
SHRINKINGS, EXACT_STEPS = 10, 3
LEAST_RADIUS = 0.1  # of the slack
STRIDES = (slice(None, None, 8), slice(4, None, 8), slice(2, None, 4), slice(1, None, 2))
NEAREST = 3  # discs asked whether they cover a place of the edge


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Discs:
    """Discs, each with the place of the edge that it touches, in the order of those places.

    Parameters
    ----------
    centres_mm, feet_mm : numpy.ndarray
        (N, 2) centres, and the places where they touch the edge.
    radii_mm : numpy.ndarray
        (N,) radii, 0 at sharp corners.
    fanned : numpy.ndarray
        (N,) whether a disc is one of a fan that touches a corner.
    along : numpy.ndarray
        (N,) where on the walk along the edge it touches: number of the piece and share of it.
    """

    centres_mm: Floats
    radii_mm: Floats
    feet_mm: Floats
    fanned: NDArray[np.bool_]
    along: Floats

    def kept(self, chosen: NDArray[np.bool_] | Ints) -> Discs:
        """Return some of the discs."""
        return Discs(
            centres_mm=self.centres_mm[chosen],
            radii_mm=self.radii_mm[chosen],
            feet_mm=self.feet_mm[chosen],
            fanned=self.fanned[chosen],
            along=self.along[chosen],
        )

    def joined(self, other: Discs) -> Discs:
        """Return these and other discs of the same shape, in order."""
        both = Discs(
            centres_mm=np.concatenate([self.centres_mm, other.centres_mm]),
            radii_mm=np.concatenate([self.radii_mm, other.radii_mm]),
            feet_mm=np.concatenate([self.feet_mm, other.feet_mm]),
            fanned=np.concatenate([self.fanned, other.fanned]),
            along=np.concatenate([self.along, other.along]),
        )
        return both.kept(np.argsort(both.along, kind="stable"))


def discs_in(shape: Polygon, *, slack_mm: float, largest_mm: float) -> Discs:
    """Return discs in a shape that cover it up to its edge.

    Parameters
    ----------
    shape : shapely.Polygon
        Valid, mm.
    slack_mm : float
        About how far a place of the edge may lie from the nearest disc; > 0.
    largest_mm : float
        No disc is larger.
    """
    return _Maker(shape, RingWalk(shape), True, slack_mm, largest_mm).made()


def discs_outside(shape: Polygon, *, slack_mm: float, largest_mm: float) -> Discs:
    """Return discs outside a shape, its holes among it, that cover what lies beyond its edge.

    At a corner that points outward they touch it in a fan, since what lies beyond it in any
    direction is nearest to the corner.
    """
    return _Maker(shape, RingWalk(shape).reversed(), False, slack_mm, largest_mm).made()


def discs_near_depth(shape: Polygon, *, depth_mm: float, slack_mm: float) -> Discs:
    """Return discs outside a shape, close beside each other, of about one radius.

    A place that is as far from two edges is shown so deep by the disc alone that touches both; of
    discs beside each other one nearly does.
    """
    walk = RingWalk(shape).reversed()
    maker = _Maker(shape, walk, False, slack_mm, DEEPEST * depth_mm)
    discs = maker.along_all(max(slack_mm, float(walk.lengths_mm.sum()) / MOST_BESIDE))
    return discs.kept((discs.radii_mm > depth_mm) & (discs.radii_mm < DEEPEST * depth_mm * 0.999))


class _Maker:
    """Puts discs against the left of a walk along the edge."""

    def __init__(
        self, shape: Polygon, walk: RingWalk, inside: bool, slack_mm: float, largest_mm: float
    ) -> None:
        from scipy.spatial import cKDTree  # slow to import: only a search needs it

        self._new_tree = cKDTree
        self._shape, self._walk, self._inside = shape, walk, inside
        self._slack_mm, self._largest_mm = slack_mm, largest_mm
        self._boundary = shape.boundary
        shapely.prepare([self._shape, self._boundary])
        self._least_mm = LEAST_RADIUS * slack_mm
        whole_mm = float(walk.lengths_mm.sum())
        self._step_mm = min(STEP_MM, whole_mm / LEAST_STEPS)
        edge, share = walk.spaced(whole_mm / EDGE_SAMPLES)
        self._edge_tree = cKDTree(walk.places(edge, share))
        self._centres: list[Floats] = []
        self._radii: list[Floats] = []
        self._feet: list[Floats] = []
        self._along: list[Floats] = []

    def made(self) -> Discs:
        walk = self._walk
        edge, low = walk.spaced(self._step_mm)
        high = np.append(low[1:], 0.0)
        high[np.append(edge[1:] != edge[:-1], True)] = 1.0
        share = (low + high) / 2.0
        for stride in STRIDES:  # where the edge bends little, few discs cover it
            self._cover(edge[stride], share[stride])
        self._add_points(np.flatnonzero(self._bare(walk.starts_mm)))
        for _ in range(ROUNDS):
            edge, share, low, high = self._gaps(edge, share, low, high)
            if not len(edge):
                break
            self._cover(edge, share)
        round_the_edge = sum(map(len, self._radii))
        if not self._inside:
            corner, ways = walk.fans(self._fan_steps())
            before = 1e-9 * (len(corner) - np.arange(len(corner)))
            self._touch(walk.starts_mm[corner], ways, corner - before)
        return self._discs(round_the_edge)

    def along_all(self, step_mm: float) -> Discs:
        """Return discs at all places along the edge."""
        edge, share = self._walk.spaced(step_mm)
        self._touch(self._walk.places(edge, share), self._walk.inward[edge], edge + share)
        return self._discs(len(edge))

    def _discs(self, round_the_edge: int) -> Discs:
        discs = Discs(
            centres_mm=np.concatenate(self._centres),
            radii_mm=np.concatenate(self._radii),
            feet_mm=np.concatenate(self._feet),
            fanned=np.arange(sum(map(len, self._radii))) >= round_the_edge,
            along=np.concatenate(self._along),
        )
        return discs.kept(np.argsort(discs.along, kind="stable"))

    def _fan_steps(self) -> Floats:
        """Return for each corner how far the directions of its fan may lie apart, rad.

        What lies between two directions, at a depth that the discs show, is measured too shallow by
        that depth times 1 - cos of half the step.
        """
        walk = self._walk
        every = np.full(len(walk.starts_mm), FAN_RAD)
        corner, ways = walk.fans(every)
        deepest = np.full(len(every), FAR * float(walk.lengths_mm.sum()))
        deepest[corner] = 0.0
        np.maximum.at(deepest, corner, self._shrunk(walk.starts_mm[corner], ways))
        deepest = np.minimum(deepest, FAR * float(walk.lengths_mm.sum()))
        steps: Floats = 2.0 * np.arccos(1.0 - np.minimum(self._slack_mm / deepest, 0.5))
        return steps

    def _cover(self, edge: Ints, share: Floats) -> None:
        """Add discs at those of some places that no disc covers yet."""
        places = self._walk.places(edge, share)
        bare = self._bare(places)
        edge, share = edge[bare], share[bare]
        self._touch(places[bare], self._walk.inward[edge], edge + share)

    def _gaps(
        self, edge: Ints, share: Floats, low: Floats, high: Floats
    ) -> tuple[Ints, Floats, Floats, Floats]:
        """Return the halves of stretches of edge whose middles no disc covers."""
        edge = np.concatenate([edge, edge])
        low, high = np.concatenate([low, share]), np.concatenate([share, high])
        middle = (low + high) / 2.0
        long_enough = (high - low) * self._walk.lengths_mm[edge] > self._slack_mm
        bare = self._bare(self._walk.places(edge, middle)) & long_enough
        return edge[bare], middle[bare], low[bare], high[bare]

    def _bare(self, places: Floats) -> NDArray[np.bool_]:
        """Return which places of the edge the discs near them leave uncovered."""
        if not self._feet:
            return np.ones(len(places), dtype=bool)
        centres, radii = np.concatenate(self._centres), np.concatenate(self._radii)
        tree = self._new_tree(np.concatenate(self._feet))
        near = tree.query(places, k=min(NEAREST, len(radii)))[1].reshape(len(places), -1)
        away = places[:, None, :] - centres[near]
        slack = np.hypot(away[..., 0], away[..., 1]) - radii[near]
        bare: NDArray[np.bool_] = slack.min(axis=1) > self._slack_mm
        return bare

    def _touch(self, feet: Floats, inward: Floats, along: Floats) -> None:
        """Add the largest discs that touch the edge at places, on the side given."""
        radii = self._shrunk(feet, inward)
        centres = feet + radii[:, None] * inward
        exact = np.asarray(shapely.distance(self._boundary, shapely.points(centres)))
        for _ in range(EXACT_STEPS):  # the samples of the edge may have missed where it is nearest
            held = np.flatnonzero((exact < radii - self._slack_mm / 3.0) & (exact > 0.0))
            if not len(held):
                break
            nearest = shapely.shortest_line(self._boundary, shapely.points(centres[held]))
            chord = shapely.get_coordinates(nearest)[::2] - feet[held]
            height = (chord * inward[held]).sum(axis=1)
            through = (chord**2).sum(axis=1) / (2.0 * np.where(height > 1e-12, height, np.inf))
            radii[held] = np.where(height > 1e-12, np.maximum(through, self._least_mm), radii[held])
            centres[held] = feet[held] + radii[held, None] * inward[held]
            exact[held] = shapely.distance(self._boundary, shapely.points(centres[held]))
        right = shapely.contains_xy(self._shape, *centres.T) == self._inside
        self._centres.append(centres[right])
        self._radii.append(exact[right])
        self._feet.append(feet[right])
        self._along.append(along[right])

    def _add_points(self, corners: Ints) -> None:
        places = self._walk.starts_mm[corners]
        self._along.append(corners.astype(float))
        self._centres.append(places)
        self._radii.append(np.zeros(len(places)))
        self._feet.append(places)

    def _shrunk(self, feet: Floats, inward: Floats) -> Floats:
        radii = np.full(len(feet), self._largest_mm)
        left = np.arange(len(feet))
        for _ in range(SHRINKINGS):
            if not len(left):
                break
            radius = radii[left]
            distance, nearest = self._edge_tree.query(feet[left] + radius[:, None] * inward[left])
            chord = np.asarray(self._edge_tree.data)[nearest] - feet[left]
            height = (chord * inward[left]).sum(axis=1)
            held = (distance < radius * (1.0 - 1e-9) - self._slack_mm / 3.0) & (height > 1e-12)
            through = (chord**2).sum(axis=1) / (2.0 * np.where(held, height, 1.0))
            radii[left] = np.where(held, np.maximum(through, self._least_mm), radius)
            left = left[held & (radii[left] > self._least_mm)]
        return radii
