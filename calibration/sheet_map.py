"""The map between a picture's pixels and a sheet's millimetres, and how far to trust it.

A camera with a lens that bows lines a little looks at a sheet, flat or a little bent.  Its numbers
come from `calibration.calibrate` together with their covariance, so that the doubt of every mapped
place can be told.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from calibration.camera import BENT_STEPS, CAMERA, back_project, lens_place, project

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetMap:
    """A map from pixels to millimetres on the sheet, and back.

    Parameters
    ----------
    parameters : tuple of float
        The camera's numbers, in the order of `calibration.camera.CAMERA`; of a sheet that bends
        those of `calibration.bend.BEND` after them.
    covariance : tuple of tuples of float
        Of those numbers.
    middle_px : (x, y)
        The picture's centre.
    span_px : tuple of (x, y)
        Corners of the region that the references span; stands for the piece where a single
        place is asked about.
    plane_mm : float
        Height of the mapped plane above the sheet.
    others : tuple of (weight, parameters)
        Cameras that could as well have seen the references, where these do not show the tilt;
        their weights sum to 1.  The covariance is then that of each of them.
    """

    parameters: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    middle_px: tuple[float, float]
    span_px: tuple[tuple[float, float], ...]
    plane_mm: float = 0.0
    others: tuple[tuple[float, tuple[float, ...]], ...] = ()

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

    def sigma_mm(
        self,
        points_px: ArrayLike,
        piece_px: ArrayLike | None = None,
        *,
        across: ArrayLike | None = None,
    ) -> Points:
        """Return one standard deviation, mm, of the mapped place of each of (N, 2) pixels.

        It is what the uncertain scale, tilt and lens do to the piece's *shape*: the part of
        the map's doubt that is left after the piece as a whole is shifted and turned to fit
        best, since where the frame lies does not matter.  It is least near the piece's centre and
        grows away from it.

        Parameters
        ----------
        points_px : array-like, shape (N, 2)
            The places.
        piece_px : array-like, shape (M, 2), optional
            The piece that is registered; the points themselves if there are three or more,
            else the region that the references span.
        across : array-like, shape (N, 2), optional
            Unit directions on the sheet that count, as those across an edge; the worst one of
            each place if left out.
        """
        points = np.asarray(points_px, float).reshape(-1, 2)
        if piece_px is None:
            piece = points if len(points) >= 3 else np.asarray(self.span_px, float)
        else:
            piece = np.asarray(piece_px, float).reshape(-1, 2)
        moves = self._derivatives(points)
        moves_of_piece = moves if piece is points else self._derivatives(piece)
        rigid = _rigid_fit(self.to_mm(piece), moves_of_piece)
        shape = moves - _rigid_basis(self.to_mm(points)) @ rigid
        spread = shape @ np.asarray(self.covariance) @ np.swapaxes(shape, 1, 2)
        spread += self._spread_of_others(points, piece)
        if across is None:
            variance = np.linalg.eigvalsh(spread)[:, -1]
        else:
            way = np.asarray(across, float).reshape(-1, 2)
            variance = np.einsum("ni,nij,nj->n", way, spread, way)
        return np.sqrt(np.maximum(variance, 0.0))

    def length_sigma_mm(self, ends_px: ArrayLike) -> float:
        """Return one standard deviation, mm, of the mapped distance of two pixels."""
        ends = np.asarray(ends_px, float).reshape(2, 2)
        a, b = self.to_mm(ends)
        moves = self._derivatives(ends)
        stretch = (b - a) / max(math.dist(a, b), 1e-9) @ (moves[1] - moves[0])
        weights, maps = self._others_mm(ends)
        off = np.abs(maps[:, 1] - maps[:, 0]) - math.dist(a, b)
        spread = float(stretch @ np.asarray(self.covariance) @ stretch + weights @ off**2)
        return math.sqrt(max(spread, 0.0))

    def raised(self, height_mm: float) -> SheetMap:
        """Return the map onto the plane that lies a height above the sheet, as a steel's top."""
        return dataclasses.replace(self, plane_mm=height_mm)

    @property
    def lens_mm(self) -> tuple[float, float, float]:
        """Where the lens is, mm, in the sheet's frame; z is its height over the sheet."""
        x, y, z = lens_place(self._numbers())
        return float(x), float(y), float(z)

    @property
    def bend(self) -> tuple[float, ...]:
        """How the sheet bends, 1/m, as `calibration.bend` has it; empty if it lies flat."""
        return self.parameters[len(CAMERA) :]

    @property
    def tilt_deg(self) -> float:
        """Angle between the optical axis and the sheet's normal."""
        return math.degrees(math.hypot(self.parameters[0], self.parameters[1]))

    @property
    def focal_px(self) -> float:
        """The focal length that was used, px."""
        return math.exp(self.parameters[6])

    def _numbers(self) -> Points:
        return np.asarray(self.parameters, float)

    def _others_mm(self, points_px: Points) -> tuple[Points, NDArray[np.complex128]]:
        """Return the other cameras' weights and where they map (N, 2) pixels, x + iy, (K, N)."""
        weights = np.array([weight for weight, _ in self.others])
        if not len(weights):
            return weights, np.empty((0, len(points_px)), complex)
        numbers = np.array([numbers for _, numbers in self.others])
        places = back_project(numbers, self.middle_px, points_px, self.plane_mm)
        return weights, places @ np.array([1.0, 1.0j])

    def _spread_of_others(self, points_px: Points, piece_px: Points) -> NDArray[np.float64]:
        """Return the second moments (N, 2, 2) of where the others map points, piece on piece."""
        weights, maps = self._others_mm(np.vstack([piece_px, points_px]))
        own = self.to_mm(np.vstack([piece_px, points_px])) @ np.array([1.0, 1.0j])
        count = len(piece_px)
        maps = maps - maps[:, :count].mean(axis=1, keepdims=True)
        own -= own[:count].mean()
        turn = maps[:, :count].conj() @ own[:count]
        off = maps[:, count:] * (turn / np.abs(turn))[:, None] - own[count:]
        moved = np.stack([off.real, off.imag], axis=-1).transpose(1, 2, 0)
        return np.asarray(moved * weights @ np.swapaxes(moved, 1, 2), float)

    def _derivatives(self, points_px: Points) -> NDArray[np.float64]:
        """Return how each place moves with each camera number, (N, 2, P)."""
        sizes = BENT_STEPS[: len(self.parameters)]
        steps = np.vstack([np.zeros(len(sizes)), np.diag(sizes)])
        moved = back_project(self._numbers() + steps, self.middle_px, points_px, self.plane_mm)
        return np.moveaxis((moved[1:] - moved[0]) / sizes[:, None, None], 0, 2)


def _rigid_basis(places_mm: Points) -> NDArray[np.float64]:
    """Return how places move when the frame shifts in x, in y, and turns, (N, 2, 3)."""
    basis = np.zeros((len(places_mm), 2, 3))
    basis[:, 0, 0] = basis[:, 1, 1] = 1.0
    basis[:, 0, 2], basis[:, 1, 2] = -places_mm[:, 1], places_mm[:, 0]
    return basis


def _rigid_fit(places_mm: Points, moves: NDArray[np.float64]) -> Points:
    """Return the rigid motion that follows each column of moves best, (3, P)."""
    basis = _rigid_basis(places_mm).reshape(-1, 3)
    wanted = basis.T @ moves.reshape(len(basis), -1)
    return np.asarray(np.linalg.lstsq(basis.T @ basis, wanted, rcond=None)[0], float)
