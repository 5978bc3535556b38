"""What room discs in a blank leave to discs that are no steel, over whole boxes of poses.

A disc of radius r about b lies in the blank, one of radius s about q is no steel. The point of the
first that is nearest to q lies at least ``s - max(|b - q| - r, 0)`` deep in the second, so

    clearance <= max(|b - q| - r, 0) - s

in every pose: this holds for whatever pair is asked. In a box of poses b moves by a vector v with
``|v| <= m``, and with the unit vector n from q to b

    |b + v - q| <= |b - q| + n . v + |v|^2 / (2 |b - q|),

which is linear but for a small rest: the least of many such rows over the box is bounded by a
linear program (`geometry/box_program.py`). Turning carries b along an arc, which leaves its tangent
by at most ``|b| angle^2 / 2`` towards the centre of turning, and by the cube. Growing carries b
straight away from that centre and makes r larger; turning and growing at once add the product.
"""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np
import shapely
from shapely import Polygon

from geometry.no_steel import NoSteel
from geometry.pose_boxes import PoseBoxes
from geometry.segments import Floats, Ints
from geometry.tangent_discs import discs_in

STRETCHES = 32
SPARSE, SPARSE_MOVE_MM = 4, 1.5  # boxes that move it so much ask every fourth disc
SHARP_MOVE_MM, OF_EACH_SHARP = 0.05, 5  # boxes that move it less ask five discs of each stretch
APART_BY_RADIUS = 0.5  # a disc is as far from another as their centres, and this of their radii
TINY_MM = 1e-9
NO_ROW = 1e6  # the value of a row that says nothing


class Rows(NamedTuple):
    """One row for each of K discs in each of B boxes, mm.

    ``middle`` (B, K) bounds the clearance at the box's middle pose, ``most`` (B, K) in the whole
    box, both not below ``floor`` (B, K): what the disc outside can show at most. ``values`` and
    ``slopes`` (B, K, 4) bound it in linear form, the box's sides at -1 and 1.
    """

    middle: Floats
    most: Floats
    floor: Floats
    values: Floats
    slopes: Floats


class OutlineDiscs:
    """Discs in an outline, about the centre of its smallest enclosing circle.

    Parameters
    ----------
    outline : shapely.Polygon
        Its holes do not count, mm.
    slack_mm : float
        How far the discs may stay from its edge.

    Attributes
    ----------
    centre_mm : numpy.ndarray
        (2,) the circle's centre in the outline's frame.
    rim_mm : float
        The circle's radius.
    places_mm, radii_mm : numpy.ndarray
        (M, 2) and (M,) the discs, one stretch after another.
    leaders : numpy.ndarray
        (K,) one disc of each stretch, each as far as can be from those before it.
    """

    def __init__(self, outline: Polygon, *, slack_mm: float) -> None:
        whole = Polygon(outline.exterior)
        circle = shapely.minimum_bounding_circle(whole)
        self.centre_mm: Floats = shapely.get_coordinates(circle.centroid)[0]
        self.rim_mm = float(shapely.minimum_bounding_radius(whole))
        discs = discs_in(whole, slack_mm=slack_mm, largest_mm=self.rim_mm)
        places, radii = discs.centres_mm - self.centre_mm, discs.radii_mm
        leaders, stretch = _stretches(places, radii)
        order = np.argsort(stretch, kind="stable")
        self.places_mm: Floats = places[order]
        self.radii_mm: Floats = radii[order]
        self.leaders: Ints = np.argsort(order)[leaders]
        starts = np.searchsorted(stretch[order], np.arange(len(leaders) + 1))
        spans = [np.arange(*pair) for pair in pairwise(starts.tolist())]
        self._every = spans
        self._some = [span[::SPARSE] for span in spans]

    def of_each_stretch(self, *, sparse: bool) -> list[Ints]:
        """Return the discs of each stretch, or only some of each."""
        return self._some if sparse else self._every


class DiscGaps:
    """An outline against one part of the steel."""

    def __init__(self, discs: OutlineDiscs, no_steel: NoSteel) -> None:
        self.discs, self.no_steel = discs, no_steel
        self._x, self._y = discs.places_mm.T
        self._arms = np.hypot(self._x, self._y)

    def reaching_over(self, out_mm: float, *, fine: bool) -> DiscGaps:
        """Return the same for poses that reach so far over the steel's edge; fine: sharper."""
        return DiscGaps(self.discs, self.no_steel.reached_over(out_mm, fine=fine))

    def rows(self, boxes: PoseBoxes, disc: Ints, *, sharp: bool = False) -> Rows:
        """Return rows for the discs named in (B, K), or in (K,) for all boxes alike.

        Parameters
        ----------
        boxes : PoseBoxes
            B boxes.
        disc : numpy.ndarray
            Which discs of the outline.
        sharp : bool
            Whether to look around for the disc outside that tells most.
        """
        x, y, theta, scale = boxes.middle.T[:, :, None]
        half_x, half_y, half_theta, half_scale = boxes.half.T[:, :, None]
        cos, sin = np.cos(theta), np.sin(theta)
        own_x, own_y = self._x[disc], self._y[disc] * boxes.face[:, None]
        arm_x, arm_y = cos * own_x - sin * own_y, sin * own_x + cos * own_y  # at scale 1
        place_x, place_y = x + scale * arm_x, y + scale * arm_y
        find = self.no_steel.nearest if sharp else self.no_steel.near
        other = find(place_x, place_y)
        n_x = place_x - self.no_steel.centres_mm[:, 0].take(other)
        n_y = place_y - self.no_steel.centres_mm[:, 1].take(other)
        outside_radius = self.no_steel.radii_mm.take(other)
        distance = np.maximum(np.hypot(n_x, n_y), TINY_MM)
        n_x /= distance
        n_y /= distance
        radius, arm = self.discs.radii_mm[disc], self._arms[disc]
        middle = distance - scale * radius - outside_radius
        away = n_x * arm_x + n_y * arm_y
        turn = scale * (n_y * arm_x - n_x * arm_y)
        slopes = np.stack(
            [n_x * half_x, n_y * half_y, turn * half_theta, (away - radius) * half_scale], axis=2
        )
        most_scale = scale + half_scale
        moves = np.hypot(half_x, half_y) + arm * (most_scale * half_theta + half_scale)
        bend = most_scale * (np.maximum(0.0, -away) + arm * half_theta / 3.0) * half_theta / 2.0
        rest = (bend + arm * half_scale) * half_theta + moves**2 / (2.0 * distance)
        most = middle + rest + np.abs(slopes).sum(axis=2)
        plain = middle + moves + radius * half_scale  # in a large box that says more
        bent = most < plain
        slopes *= bent[:, :, None]
        return Rows(
            np.maximum(middle, -outside_radius),
            np.maximum(np.where(bent, most, plain), -outside_radius),
            -outside_radius,
            np.where(bent, middle + rest, plain),
            slopes,
        )

    def telling(self, boxes: PoseBoxes) -> Rows:
        """Return the rows of the disc of each stretch, of small boxes the discs, that tell most."""
        moves_mm = self._moves_mm(boxes)
        large = moves_mm > SPARSE_MOVE_MM
        asked = self.discs.of_each_stretch(sparse=large)
        every = np.concatenate(asked)
        # In a small box the row that is least at the middle is as good, and quicker found.
        most = self.rows(boxes, every).most if large else self._middles(boxes, every)
        of_each = 1 if moves_mm > SHARP_MOVE_MM else OF_EACH_SHARP
        ends = np.cumsum([len(discs) for discs in asked])
        chosen = [
            discs[_least(most[:, end - len(discs) : end], of_each)]
            for discs, end in zip(asked, ends, strict=True)
        ]
        return self.rows(boxes, np.concatenate(chosen, axis=1), sharp=True)

    def _middles(self, boxes: PoseBoxes, disc: Ints) -> Floats:
        """Return (B, K) what the rows of (K,) discs say at the boxes' middles."""
        x, y, theta, scale = boxes.middle.T[:, :, None]
        cos, sin = scale * np.cos(theta), scale * np.sin(theta)
        face = boxes.face[:, None]
        own_x, own_y = self._x[disc], self._y[disc]
        place_x = x + cos * own_x - (face * sin) * own_y
        place_y = y + sin * own_x + (face * cos) * own_y
        values = self.no_steel.least_mm(place_x, place_y)
        values -= scale * self.discs.radii_mm[disc]
        return values

    def _moves_mm(self, boxes: PoseBoxes) -> float:
        """Return about how far the boxes carry the outline from their middles."""
        turns = boxes.middle[:, 3] * boxes.half[:, 2] + boxes.half[:, 3]
        moves = np.hypot(*boxes.half[:, :2].T) + self.discs.rim_mm * turns
        return float(np.median(moves)) if len(moves) else 0.0


def _least(values: Floats, count: int) -> Ints:
    """Return (B, count) the columns of the least of (B, M) values, or all where M is less."""
    least: Ints
    if count == 1:
        least = values.argmin(axis=1)[:, None]
        return least
    if values.shape[1] <= count:
        return np.broadcast_to(np.arange(values.shape[1]), values.shape)
    least = np.argpartition(values, count - 1, axis=1)[:, :count]
    return least


def _stretches(places: Floats, radii: Floats) -> tuple[Ints, Ints]:
    """Return discs spread over all, and which of them each disc is nearest to."""

    def apart(one: int) -> Floats:
        away = places - places[one]
        gap: Floats = np.hypot(*away.T) + APART_BY_RADIUS * np.abs(radii - radii[one])
        return gap

    leaders = [int((np.hypot(*places.T) + radii).argmax())]
    least = apart(leaders[0])
    stretch = np.zeros(len(places), dtype=np.intp)
    while len(leaders) < min(STRETCHES, len(places)) and least.max() > 0.0:
        leaders.append(int(least.argmax()))
        gap = apart(leaders[-1])
        stretch[gap < least] = len(leaders) - 1
        least = np.minimum(least, gap)
    return np.array(leaders), stretch
