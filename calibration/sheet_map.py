"""The map between a picture's pixels and a sheet's millimetres, and how far to trust it.

A camera with a lens that bows lines a little looks at a flat sheet.  Its numbers come from
`calibration.calibrate` together with their covariance, so that the doubt of every mapped place
can be told.  The picture's y points down, the sheet's y up: it turns here and nowhere else.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Points = NDArray[np.float64]

#: The numbers of a camera over a sheet, in the order of `SheetMap.parameters`.
#: tilt_x, tilt_y  rotation vector of the tilt, rad
#: roll            turn of the sheet in the picture, rad, counter-clockwise as seen
#: log_distance    of the lens from the sheet along the optical axis, mm, natural logarithm
#: x, y            where the optical axis meets the sheet, mm
#: log_focal       focal length, px, natural logarithm
#: centre_x, _y    offset of the optical axis from the picture's centre, px
#: k1, k2          radial distortion: a point at radius r (in focal lengths) is seen at
#:                 r (1 + k1 r^2 + k2 r^4)
CAMERA = (
    "tilt_x",
    "tilt_y",
    "roll",
    "log_distance",
    "x",
    "y",
    "log_focal",
    "centre_x",
    "centre_y",
    "k1",
    "k2",
)
STEPS = np.array([1e-6, 1e-6, 1e-6, 1e-6, 1e-3, 1e-3, 1e-6, 1e-2, 1e-2, 1e-6, 1e-6])

_UNROLL_ROUNDS = 8  # of Newton's method; each doubles the digits
_TURN_Y = np.diag([1.0, -1.0, -1.0])  # sheet axes (y up, z to the lens) to camera axes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetMap:
    """A map from pixels to millimetres on the sheet, and back.

    Parameters
    ----------
    parameters : tuple of float
        The camera's numbers, in the order of `CAMERA`.
    covariance : tuple of tuples of float
        Of those numbers.
    middle_px : (x, y)
        The picture's centre.
    span_px : tuple of (x, y)
        Corners of the region that the references span; stands for the piece where a single
        place is asked about.
    plane_mm : float
        Height of the mapped plane above the sheet.
    """

    parameters: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    middle_px: tuple[float, float]
    span_px: tuple[tuple[float, float], ...]
    plane_mm: float = 0.0

    def to_mm(self, points_px: ArrayLike) -> Points:
        """Return (N, 2) places on the sheet, mm, y up, of (N, 2) pixels."""
        return back_project(self._numbers(), self.middle_px, points_px, self.plane_mm)

    def to_px(self, points_mm: ArrayLike) -> Points:
        """Return (N, 2) pixels of (N, 2) places on the sheet, mm."""
        return project(self._numbers(), self.middle_px, points_mm, self.plane_mm)

    def mm_per_px(self, place_px: tuple[float, float]) -> float:
        """Return the side in mm of the square that has a pixel's area at a place."""
        x, y = place_px
        ends = self.to_mm([[x - 0.5, y], [x + 0.5, y], [x, y - 0.5], [x, y + 0.5]])
        (ax, ay), (bx, by) = ends[1] - ends[0], ends[3] - ends[2]
        return math.sqrt(abs(ax * by - ay * bx))

    def sigma_mm(self, points_px: ArrayLike, piece_px: ArrayLike | None = None) -> Points:
        """Return one standard deviation, mm, of the mapped place of each of (N, 2) pixels.

        It is what the uncertain scale, tilt and lens do to the piece's *shape*: the part of
        the map's doubt that is left after the piece as a whole is shifted and turned to fit
        best, since where the frame lies does not matter.  Of the two directions the worse one
        counts.  It is least near the piece's centre and grows away from it.

        Parameters
        ----------
        points_px : array-like, shape (N, 2)
            The places.
        piece_px : array-like, shape (M, 2), optional
            The piece that is registered; the points themselves if there are three or more,
            else the region that the references span.
        """
        points = np.asarray(points_px, float).reshape(-1, 2)
        if piece_px is None:
            piece = points if len(points) >= 3 else np.asarray(self.span_px, float)
        else:
            piece = np.asarray(piece_px, float).reshape(-1, 2)
        moves = self._derivatives(points)
        rigid = _rigid_fit(self.to_mm(piece), self._derivatives(piece))
        shape = moves - np.einsum("nij,jk->nik", _rigid_basis(self.to_mm(points)), rigid)
        spread = np.einsum("nik,kl,njl->nij", shape, np.asarray(self.covariance), shape)
        return np.sqrt(np.maximum(np.linalg.eigvalsh(spread)[:, -1], 0.0))

    def length_sigma_mm(self, ends_px: ArrayLike) -> float:
        """Return one standard deviation, mm, of the mapped distance of two pixels."""
        ends = np.asarray(ends_px, float).reshape(2, 2)
        a, b = self.to_mm(ends)
        moves = self._derivatives(ends)
        stretch = (b - a) / max(math.dist(a, b), 1e-9) @ (moves[1] - moves[0])
        return math.sqrt(max(float(stretch @ np.asarray(self.covariance) @ stretch), 0.0))

    def raised(self, height_mm: float) -> SheetMap:
        """Return the map onto the plane that lies a height above the sheet, as a steel's top."""
        return dataclasses.replace(self, plane_mm=height_mm)

    @property
    def lens_mm(self) -> tuple[float, float, float]:
        """Where the lens is, mm, in the sheet's frame; z is its height over the sheet."""
        x, y, z = lens_place(self._numbers())
        return float(x), float(y), float(z)

    @property
    def tilt_deg(self) -> float:
        """Angle between the optical axis and the sheet's normal."""
        return math.degrees(math.hypot(self.parameters[0], self.parameters[1]))

    @property
    def focal_px(self) -> float:
        """The focal length that was used, px."""
        return math.exp(self.parameters[CAMERA.index("log_focal")])

    def _numbers(self) -> Points:
        return np.asarray(self.parameters, float)

    def _derivatives(self, points_px: Points) -> NDArray[np.float64]:
        """Return how each place moves with each camera number, (N, 2, P)."""
        numbers = self._numbers()
        columns = []
        for k, step in enumerate(STEPS):
            change = np.zeros(len(STEPS))
            change[k] = step
            after = back_project(numbers + change, self.middle_px, points_px, self.plane_mm)
            before = back_project(numbers - change, self.middle_px, points_px, self.plane_mm)
            columns.append((after - before) / (2.0 * step))
        return np.stack(columns, axis=2)


def back_project(
    numbers: Points, middle_px: tuple[float, float], points_px: ArrayLike, plane_mm: float = 0.0
) -> Points:
    """Return (N, 2) places, mm, where the pixels' rays meet the plane."""
    seen = np.asarray(points_px, float).reshape(-1, 2) - middle_px - numbers[7:9]
    straight = _undistorted(seen / math.exp(numbers[6]), numbers[9], numbers[10])
    rays = np.column_stack([straight, np.ones(len(straight))]) @ _to_camera(numbers)
    lens = lens_place(numbers)
    along = (plane_mm - lens[2]) / rays[:, 2]
    places: Points = lens[:2] + along[:, None] * rays[:, :2]
    return places


def project(
    numbers: Points, middle_px: tuple[float, float], points_mm: ArrayLike, plane_mm: float = 0.0
) -> Points:
    """Return (N, 2) pixels in which places, mm, on the plane are seen."""
    flat = np.asarray(points_mm, float).reshape(-1, 2)
    places = np.column_stack([flat, np.full(len(flat), plane_mm)]) - lens_place(numbers)
    camera = places @ _to_camera(numbers).T
    straight = camera[:, :2] / camera[:, 2:]
    r2 = (straight**2).sum(axis=1)
    stretch = 1.0 + numbers[9] * r2 + numbers[10] * r2**2
    seen: Points = straight * stretch[:, None] * math.exp(numbers[6])
    seen += middle_px + numbers[7:9]
    return seen


def lens_place(numbers: Points) -> Points:
    """Return the lens in the sheet's frame, mm, (3,)."""
    back = _to_camera(numbers).T @ np.array([0.0, 0.0, math.exp(numbers[3])])
    place: Points = np.array([numbers[4], numbers[5], 0.0]) - back
    return place


def numbers_from_pose(rotation: Points, shift: Points, focal_px: float) -> Points:
    """Return camera numbers from a rotation (3, 3) and shift (3,) of sheet to camera axes."""
    turned = rotation @ _TURN_Y.T
    axis = turned[:, 2]
    tilt = np.array([-axis[1], axis[0]])
    sine = math.hypot(*tilt)
    if sine > 0.0:
        tilt *= math.atan2(sine, axis[2]) / sine
    flat = _tilt(tilt[0], tilt[1]).T @ turned
    distance = max(float(axis @ shift / axis[2]), 1.0)  # a plane through the lens has none
    place = rotation.T @ (np.array([0.0, 0.0, distance]) - shift)
    roll = math.atan2(flat[1, 0], flat[0, 0])
    return np.array(
        [*tilt, roll, math.log(distance), place[0], place[1], math.log(focal_px), 0, 0, 0, 0]
    )


def _to_camera(numbers: Points) -> Points:
    """Return the rotation from the sheet's axes to the camera's, (3, 3)."""
    cos, sin = math.cos(numbers[2]), math.sin(numbers[2])
    roll = np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])
    turned: Points = _tilt(numbers[0], numbers[1]) @ roll @ _TURN_Y
    return turned


def _tilt(x: float, y: float) -> Points:
    """Return the rotation about an axis in the picture's plane (Rodrigues)."""
    angle = math.hypot(x, y)
    if angle < 1e-12:
        return np.array([[1.0, 0.0, y], [0.0, 1.0, -x], [-y, x, 1.0]])
    cross = np.array([[0.0, 0.0, y], [0.0, 0.0, -x], [-y, x, 0.0]]) / angle
    turned: Points = np.eye(3) + math.sin(angle) * cross + (1 - math.cos(angle)) * cross @ cross
    return turned


def _undistorted(seen: Points, k1: float, k2: float) -> Points:
    """Return where a lens without distortion would show points, in focal lengths."""
    if k1 == 0.0 and k2 == 0.0:
        return seen
    radius = np.hypot(seen[:, 0], seen[:, 1])
    straight = radius.copy()
    for _ in range(_UNROLL_ROUNDS):
        r2 = straight**2
        slope = 1.0 + 3.0 * k1 * r2 + 5.0 * k2 * r2**2
        error = straight * (1.0 + k1 * r2 + k2 * r2**2) - radius
        straight = np.clip(straight - error / np.maximum(slope, 0.2), 0.0, 3.0 * radius)
    ratio = np.divide(straight, radius, out=np.ones_like(radius), where=radius > 1e-12)
    freed: Points = seen * ratio[:, None]
    return freed


def _rigid_basis(places_mm: Points) -> NDArray[np.float64]:
    """Return how places move when the frame shifts in x, in y, and turns, (N, 2, 3)."""
    basis = np.zeros((len(places_mm), 2, 3))
    basis[:, 0, 0] = basis[:, 1, 1] = 1.0
    basis[:, 0, 2], basis[:, 1, 2] = -places_mm[:, 1], places_mm[:, 0]
    return basis


def _rigid_fit(places_mm: Points, moves: NDArray[np.float64]) -> Points:
    """Return the rigid motion that follows each column of moves best, (3, P)."""
    basis = _rigid_basis(places_mm).reshape(-1, 3)
    fit, *_ = np.linalg.lstsq(basis, moves.reshape(len(basis), -1), rcond=None)
    return np.asarray(fit, float)
