"""Where an outline is tight in a pose, and how each tight place changes when it moves.

Two edges that do not cross are nearest at a corner of one of them. So contacts are measured both
ways: points of the outline against the steel's edge, and corners of the steel's edge against the
outline. What must not lie in the outline (a hole, a flaw) is also measured at places along its edge
and as the largest disc in it: covered, it counts as worse the deeper it lies, so that a climb
pushes the outline off it to the nearer side. In truth it is as bad as its own size wherever it
lies, a crack hardly at all; but nothing is cut over a crack.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from geometry.distance_field import DistanceField
from geometry.pose import Pose
from geometry.segments import Floats

POINT_STEP_MM = 1.0  # of points along the outline's edge; crossings are measured at these
SHALLOW = 0.25  # of the points' step: a corner that deep may lie between two points
LEAST_POINTS = 300  # along the edge of an outline however small
ROUGHNESS = 2.0  # cells by which two rough distances may be off together, and more
LEAST_SHRINK = 0.3  # of the scale, in one step
CLEAR_MM = 0.02  # of a hole or flaw: nearer, it may lie under the outline between two places
EDGE_STEP_MM, MOST_ON_EDGE = 3.0, 24  # of places along a hole's or flaw's edge
DISC_TOLERANCE = 0.005  # of the square root of the area


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contacts:
    """Tight places of one pose.

    Parameters
    ----------
    values_mm : numpy.ndarray
        (N,) signed distances.
    rates : numpy.ndarray
        (N, 4) change of each value, in mm per mm, when the outline is shifted along x, along y,
        turned and grown about its centre, the last two counted at the rim of its enclosing circle.
    shut : numpy.ndarray
        (N,) whether a value must not fall below `CLEAR_MM`, however much that gains elsewhere.
    """

    values_mm: Floats
    rates: Floats
    shut: NDArray[np.bool_]


class Fitting:
    """An outline and a piece of steel, made ready once for many poses.

    Parameters
    ----------
    outline, steel : shapely.Polygon
        The outline in its own frame, holes ignored, and one part of the usable steel.
    cell_mm : float
        Grid step of both distance fields, made finer for a small outline.
    scale : float
        About the scale of the poses that will be asked for.
    flaws : sequence of shapely.Polygon
        What must not lie in the outline besides the holes of the steel.
    over_mm : float
        What a hole or a flaw under the outline counts for besides how deep it lies in it.
    """

    def __init__(
        self,
        outline: Polygon,
        steel: Polygon,
        *,
        cell_mm: float,
        scale: float = 1.0,
        flaws: Sequence[Polygon] = (),
        over_mm: float = 0.0,
    ) -> None:
        self._over_mm = over_mm
        self.outline = Polygon(outline.exterior)
        self.steel = steel
        circle = shapely.minimum_bounding_circle(self.outline)
        self.centre_mm: Floats = shapely.get_coordinates(circle.centroid)[0]
        self.rim_mm = float(shapely.minimum_bounding_radius(self.outline))
        self.disc_mm = _inner_disc(self.outline)[2]
        self.discs_mm = _discs([*map(Polygon, steel.interiors), *flaws])
        room_mm = _inner_disc(steel)[2]  # no clearance is greater
        too_long_mm = scale * self.rim_mm - float(shapely.minimum_bounding_radius(steel))
        out_mm = max(0.0, too_long_mm, scale * self.disc_mm - room_mm)
        self.field = DistanceField(steel, cell_mm=cell_mm, pad_mm=4.0 * cell_mm + 1.5 * out_mm)
        far_mm = room_mm + float(self.discs_mm[:, 2].max(initial=0.0))  # no spot counts from here
        own_cell_mm = min(cell_mm, self.rim_mm / 50.0)
        pad_mm = 4.0 * own_cell_mm + 1.2 * far_mm / scale
        self._back = DistanceField(self.outline, cell_mm=own_cell_mm, pad_mm=pad_mm)
        step_mm = min(POINT_STEP_MM, self.outline.exterior.length / LEAST_POINTS)
        dense = self.outline.exterior.segmentize(step_mm)
        self.points_mm: Floats = shapely.get_coordinates(dense)[:-1]
        corners = np.unique(shapely.get_coordinates(steel), axis=0)
        padded = np.column_stack([corners, np.zeros(len(corners))])
        self._spots_mm: Floats = np.vstack([padded, self.discs_mm])
        self._pushes_off = np.arange(len(self._spots_mm)) >= len(padded)

    def pose_at(
        self, centre_mm: Floats, theta_rad: float, mirrored: bool, scale: float = 1.0
    ) -> Pose:
        """Return the pose that brings the outline's centre to a place."""
        turned = Pose(theta_rad=theta_rad, mirrored=mirrored, scale=scale)
        x, y = centre_mm - turned.points(self.centre_mm[None])[0]
        return Pose(
            x_mm=float(x), y_mm=float(y), theta_rad=theta_rad, mirrored=mirrored, scale=scale
        )

    def centre_of(self, pose: Pose) -> Floats:
        """Return (2,) where a pose has the outline's centre, mm."""
        place: Floats = pose.points(self.centre_mm[None])[0]
        return place

    def stepped(self, pose: Pose, step_mm: Floats) -> Pose:
        """Return a pose after a step in the four directions of `Contacts.rates`."""
        centre = self.centre_of(pose) + step_mm[:2]
        turn = float(step_mm[2]) / (self.rim_mm * pose.scale)
        scale = max(pose.scale + float(step_mm[3]) / self.rim_mm, LEAST_SHRINK * pose.scale)
        return self.pose_at(centre, pose.theta_rad + turn, pose.mirrored, scale)

    def contacts(self, pose: Pose, reach_mm: float) -> Contacts:
        """Return the places whose value is within a reach of the least one."""
        places_mm = pose.points(self.points_mm)
        rough_mm = self.field.rough(*places_mm.T.astype(np.float32))
        limit_mm = float(rough_mm.min()) + ROUGHNESS * self.field.cell_mm + reach_mm
        spots = self._of_spots(pose, limit_mm)
        # The steel's corners are left to the spots, which have them against the whole outline.
        corners = not len(spots.values_mm)
        points = self._of_points(places_mm[rough_mm <= limit_mm], corners)
        values = np.concatenate([points.values_mm, spots.values_mm])
        keep = values <= values.min() + reach_mm
        gradients = np.concatenate([points.gradients, spots.gradients])[keep]
        places = np.concatenate([points.places_mm, spots.places_mm])[keep]
        arms = (places - pose.points(self.centre_mm[None])) / (self.rim_mm * pose.scale)
        turning = gradients[:, 1] * arms[:, 0] - gradients[:, 0] * arms[:, 1]
        growing = (gradients * arms).sum(axis=1)
        rates = np.column_stack([gradients, turning, growing])
        of_flaws = np.concatenate([points.of_flaws, spots.of_flaws])
        shut = of_flaws & (values >= CLEAR_MM / 2.0) & (self._over_mm > 0.0)
        return Contacts(values_mm=values[keep], rates=rates, shut=shut[keep])

    def _of_points(self, places_mm: Floats, corners: bool) -> _Places:
        """Return points of the outline against the steel's edge."""
        point, values, gradients = self.field.readings(places_mm, all_inside=True, corners=corners)
        return _Places(values, gradients, places_mm[point], np.zeros(len(values), dtype=bool))

    def _of_spots(self, pose: Pose, limit_mm: float) -> _Places:
        """Return the steel's corners and hole discs against the outline's edge."""
        own = pose.back(self._spots_mm[:, :2])
        radius = self._spots_mm[:, 2]
        slack_mm = ROUGHNESS * self._back.cell_mm * pose.scale
        rough = -pose.scale * self._back.rough(*own.T.astype(np.float32)) - radius
        near = rough <= limit_mm + slack_mm
        own, radius, off = own[near], radius[near], self._pushes_off[near]
        point, depth, inward = self._back.readings(own, all_inside=False, corners=True)
        # A corner deep inside the outline says nothing of how far the outline is outside; of one
        # that lies in it a little, the points along the outline may know nothing.
        counts = (depth <= SHALLOW * POINT_STEP_MM) | off[point]
        point, depth, inward = point[counts], depth[counts], inward[counts]
        places = pose.points(own[point] - depth[:, None] * inward)
        turned = inward @ pose.linear().T / pose.scale
        values = -pose.scale * depth - radius[point]
        values[off[point] & (values < CLEAR_MM / 2.0)] -= self._over_mm
        return _Places(values, turned, places, off[point])


class _Places(NamedTuple):
    """Signed distances, how they grow, where on the outline, whether to a flaw or hole."""

    values_mm: Floats
    gradients: Floats
    places_mm: Floats
    of_flaws: NDArray[np.bool_]


def _discs(areas: Sequence[Polygon]) -> Floats:
    """Return (N, 3) places in areas, x, y, and what is clear of their edge round each, mm."""
    found = [np.empty((0, 3))]
    for area in areas:
        step_mm = max(EDGE_STEP_MM, area.length / MOST_ON_EDGE)
        edge = shapely.get_coordinates(area.exterior.segmentize(step_mm))[:-1]
        if len(edge) > 2 * MOST_ON_EDGE:
            edge = edge[:: len(edge) // MOST_ON_EDGE]
        found += [np.array([_inner_disc(area)]), np.column_stack([edge, np.zeros(len(edge))])]
    return np.vstack(found)


def _inner_disc(hole: Polygon) -> tuple[float, float, float]:
    tolerance = DISC_TOLERANCE * float(np.sqrt(hole.area))
    radius = shapely.maximum_inscribed_circle(hole, tolerance=tolerance)
    (x, y), _ = shapely.get_coordinates(radius)
    return float(x), float(y), float(radius.length)
