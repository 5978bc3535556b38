"""Round rims in the top face of photographed steel: looked for, and laid on the full picture.

Circles are looked for in a straightened picture of the top; each is then laid on the sharpest
changes of light round it, in the full picture.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from calibration.light import lights
from calibration.photo import Photo
from calibration.rings import smoothed_ring
from calibration.sheet_map import SheetMap

Points = NDArray[np.float64]
Values = NDArray[np.float64]

SMALLEST_MM, LARGEST_MM = 2.0, 16.0  # diameters of drills for pins, tubes and bolts
PITCH_MM = 0.15  # of the straightened picture, unless that is finer than
FINEST = 0.5  # of the photo's own
MOST_PIXELS = 8e6  # of it: steel 600 mm by 300 mm
HARD_EDGE = 60.0  # of the circle search, encoded values by its own measure, the Scharr kernel's
HARDER = 3.0  # times the usual change on the steel, where it is rough: a rim stands out from it
ROUND = 0.5  # of a perfect circle's votes; the fit decides
TRIED = 24  # circles, the best ones
DIRECTIONS = 90
REACH_MM = 0.9  # to either side of a candidate's rim
# In which the rim is looked for, mm to either side; directions over which light is averaged: the
# nearer the circle is, the more of them see the rim at one place, and texture averages out.
ROUNDS = ((0.6, 1), (0.4, 3), (0.3, 5), (0.3, 9), (0.3, 9))
HOPEFUL = 0.35  # of the rim that the first round sees of a hole, at least
PART = 0.3  # of the sharpest change across the rim: a lesser one is texture
STEP_MM = 0.05
LIKE_RIM_MM = 0.12  # from the fitted circle: a place farther off is none of its rim
GRAINS = 2.0  # times the usual change on the steel beside the rim


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """A circle on the top face, mm."""

    x_mm: float
    y_mm: float
    radius_mm: float
    seen: float = 0.0  # share of the rim
    sigma_mm: float = 0.0

    def ring_mm(self, count: int = 72) -> Points:
        """Return places round it; their polygon holds the whole circle."""
        turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
        wide = self.radius_mm / math.cos(math.pi / count)
        return np.column_stack([self.x_mm + wide * np.cos(turn), self.y_mm + wide * np.sin(turn)])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TopPicture:
    """The part of a photo that shows a plate's top."""

    top: SheetMap
    corner: Points
    rgb: NDArray[np.uint8]

    @classmethod
    def cut_out(cls, photo: Photo, top: SheetMap, face: Polygon) -> TopPicture:
        """Return the part of a photo that shows a face, mm, of the plane it lies in."""
        ring = top.to_px(shapely.get_coordinates(shapely.segmentize(face.exterior, 5.0)))
        low = np.maximum(np.floor(ring.min(axis=0)).astype(int) - 4, 0)
        high = np.ceil(ring.max(axis=0)).astype(int) + 5
        part = np.ascontiguousarray(photo.rgb[low[1] : high[1], low[0] : high[0]])
        return cls(top=top, corner=low.astype(float), rgb=part)

    def candidates(self, face: Polygon) -> list[Circle]:
        """Return circles in the straightened picture, the best ones first."""
        pitch_mm = self.pitch_mm(face)
        calm = self._straightened(face, pitch_mm)
        low = np.array(face.bounds[:2])
        ring = (shapely.get_coordinates(face.exterior) - low) / pitch_mm - 0.5
        on_steel = cv2.fillPoly(np.zeros(calm.shape, np.uint8), [np.rint(ring).astype(np.int32)], 1)
        found = cv2.HoughCircles(
            calm,
            cv2.HOUGH_GRADIENT_ALT,
            1.5,
            SMALLEST_MM / pitch_mm,
            param1=max(HARD_EDGE, HARDER * _usual_change(calm, on_steel > 0)),
            param2=ROUND,
            minRadius=round(0.4 * SMALLEST_MM / pitch_mm),
            maxRadius=round(0.6 * LARGEST_MM / pitch_mm),
        )
        circles = [] if found is None else found.reshape(-1, found.shape[-1])[:TRIED].tolist()
        return [
            Circle(
                x_mm=float(low[0]) + (x + 0.5) * pitch_mm,
                y_mm=float(low[1]) + (y + 0.5) * pitch_mm,
                radius_mm=radius * pitch_mm,
            )
            for x, y, radius, *_ in circles
        ]

    def _straightened(self, face: Polygon, pitch_mm: float) -> NDArray[np.uint8]:
        """Return the face as seen from straight above, grey and calm, its rows going up."""
        left, bottom, right, top = face.bounds
        size = (math.ceil((right - left) / pitch_mm), math.ceil((top - bottom) / pitch_mm))
        corners = np.array([[0, 0], [size[0], 0], [size[0], size[1]], [0, size[1]]], np.float32)
        places = np.array([left, bottom]) + (corners + 0.5) * pitch_mm
        pixels = (self.top.to_px(places) - self.corner).astype(np.float32)
        move = cv2.getPerspectiveTransform(pixels, corners)
        grey = cv2.transform(self.rgb, np.full((1, 3), 1 / 3, np.float32))
        flat = cv2.warpPerspective(grey, move, size, flags=cv2.INTER_AREA)
        return np.asarray(cv2.GaussianBlur(flat, (0, 0), 1.2), np.uint8)

    def pitch_mm(self, face: Polygon) -> float:
        """Return the pitch of the straightened picture of a face: hardly finer than the photo's."""
        left, bottom, right, top = face.bounds
        middle = self.top.to_px([[0.5 * (left + right), 0.5 * (bottom + top)]])[0]
        own_mm = self.top.mm_per_px((float(middle[0]), float(middle[1])))
        least_mm = math.sqrt((right - left) * (top - bottom) / MOST_PIXELS)
        return max(PITCH_MM, FINEST * own_mm, least_mm)

    def fitted(self, start: Circle) -> Circle | None:
        """Return a circle laid on the rim in the full picture, and how much of it is seen there."""
        circle = start
        for window_mm, along in ROUNDS:
            laid = self._laid(circle, window_mm, along)
            if laid is None or laid.seen < HOPEFUL:
                return None
            circle = laid
        return circle

    def _laid(self, circle: Circle, window_mm: float, along: int) -> Circle | None:
        """Return the circle through the sharpest changes within a window to either side of it."""
        turn = np.linspace(0.0, 2.0 * np.pi, DIRECTIONS, endpoint=False)
        out = np.column_stack([np.cos(turn), np.sin(turn)])
        far = np.arange(-REACH_MM, REACH_MM + STEP_MM, STEP_MM)
        far = far[circle.radius_mm + far > STEP_MM]
        change = self._change(circle, out, circle.radius_mm + far, along)
        off = far[1:-1]
        window = np.abs(off) <= window_mm
        beyond = change[:, off > window_mm]
        grain = float(np.median(beyond)) if beyond.size else 0.0
        peak = np.zeros_like(change, bool)
        here = change[:, 1:-1]
        peak[:, 1:-1] = (here >= change[:, :-2]) & (here > change[:, 2:])
        least = np.maximum(GRAINS * grain, PART * change.max(axis=1))[:, None]
        edge = peak & window & (change >= least)
        best = edge.shape[1] - 1 - np.argmax(edge[:, ::-1], axis=1)  # the far wall lies within
        strong = edge.any(axis=1)
        return _through(circle, (circle.radius_mm + off[best])[:, None] * out, strong)

    def _change(self, circle: Circle, out: Points, radii: Values, along: int) -> Values:
        """Return how steeply the light changes across the rim, the channel that changes most."""
        pixels = self._rays(circle, out, radii)
        low = np.maximum(np.floor(pixels.min(axis=(0, 1))).astype(int) - 3, 0)
        high = np.ceil(pixels.max(axis=(0, 1))).astype(int) + 4
        near = lights(self.rgb[low[1] : high[1], low[0] : high[0]])
        if min(near.shape[:2]) < 3:
            return np.zeros((len(out), len(radii) - 2))
        near = np.sqrt(cv2.GaussianBlur(near, (0, 0), 0.8))
        x, y = (pixels - low).astype(np.float32).transpose(2, 0, 1)
        values = cv2.remap(near, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        values = smoothed_ring(np.asarray(values, float), along)
        red, green, blue = cv2.split(cv2.absdiff(values[:, 2:], values[:, :-2]))
        return np.asarray(cv2.max(cv2.max(red, green), blue), float)

    def _rays(self, circle: Circle, out: Points, radii: Values) -> Points:
        """Return the pixels (directions, radii, 2) of places that go straight across a rim.

        So near to each other they lie evenly in the picture too.
        """
        ends = radii[[0, -1], None, None] * out + [circle.x_mm, circle.y_mm]
        first, last = (self.top.to_px(ring)[:, None] - self.corner for ring in ends)
        share = ((radii - radii[0]) / (radii[-1] - radii[0]))[:, None]
        return np.asarray(first + share * (last - first), float)


def _usual_change(picture: NDArray[np.uint8], at: NDArray[np.bool_]) -> float:
    """Return how steeply a picture usually changes at some places, by the circle search's measure.

    That is the sum of what the Scharr kernel says across and along; every second row is plenty.
    """
    ways = (cv2.Scharr(picture, cv2.CV_16S, *way)[::2] for way in ((1, 0), (0, 1)))
    across, along = (np.abs(change[at[::2]]) for change in ways)
    return float(np.median(across + along)) if len(across) else 0.0


def _through(circle: Circle, places: Points, strong: NDArray[np.bool_]) -> Circle | None:
    """Return the circle through most of some places round another's centre."""
    used = strong
    x = y = radius = spread = 0.0
    for limit in (2.0, 1.0, 1.0):
        rows = places[used]
        if len(rows) < DIRECTIONS // 4:
            return None
        known = np.column_stack([2.0 * rows, np.ones(len(rows))])
        x, y, rest = np.linalg.lstsq(known, (rows**2).sum(axis=1), rcond=None)[0]
        radius = math.sqrt(max(float(rest + x * x + y * y), 1e-9))
        off = np.hypot(*(places - [x, y]).T) - radius
        used = strong & (np.abs(off) < limit * LIKE_RIM_MM)
        spread = float(np.sqrt(np.mean(off[used] ** 2))) if used.any() else math.inf
    return Circle(
        x_mm=circle.x_mm + float(x),
        y_mm=circle.y_mm + float(y),
        radius_mm=radius,
        seen=float(np.mean(used)),
        sigma_mm=spread,
    )
