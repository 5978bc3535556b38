"""What the adjustment works on: references as they were seen, and what is known of the camera."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.sheet_edges import SheetEdges

Points = NDArray[np.float64]

FOCAL_STATED = 0.03  # logarithm; the file's whole 35 mm equivalent, and focusing
FOCAL_ASSUMED = 0.25  # logarithm; phones' main lenses are 23 to 30 mm, zoomed ones to 50
ASSUMED_35_MM = 26.0
DIAGONAL_35_MM = math.hypot(36.0, 24.0)
CENTRE = 0.004  # of the picture's diagonal: optical axis from the picture's centre
CENTRE_UNKNOWN = 0.04  # the same where the file says nothing of its camera: it may be cut out
CENTRE_CUT = 0.1  # the same of a picture that is no camera's shape: a third of it may be gone
WIDE_35_MM = 20.0  # a lens of a shorter focal length (on 36 x 24) is no phone's main one
#: k1 and k2 that a lens is likely to have, and their deviations.  A phone corrects its main lens;
#: what is sold without correction bows by k1 of -0.3 to -0.2 (action cameras, webcams).  Pictures
#: that say nothing are mostly by phones, or drawn: 0 is likeliest, but two deviations must hold
#: for the others too; of wide lenses every second is such a one.
BOW_PHONE = (0.0, 0.0), (0.02, 0.005)
BOW_UNKNOWN = (0.0, 0.0), (0.17, 0.035)
BOW_WIDE = (-0.12, 0.0), (0.13, 0.05)
#: Long side to short of what cameras store, and how far blocks of pixels take it off that.
SHAPES = {1.0: 0.0, 4 / 3: 0.004, 3 / 2: 0.01, 16 / 9: 0.004}
SIDE_MM = 0.5  # a side of copy paper; ISO 216 itself allows 2
RULED_END_MM = 0.25  # an end of a line drawn or read by a ruler


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineSeen:
    """A line's ends in the picture, its length and the deviation of that length, mm."""

    ends_px: Points
    length_mm: float
    sigma_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlacesSeen:
    """A figure whose places are known among themselves, as a drawn rectangle or a printed mat.

    Parameters
    ----------
    points_px : ndarray, shape (N, 2)
        Where they are seen.
    places_mm : ndarray, shape (N, 2)
        Where they are in the figure's own frame, y up.
    sigma_mm : float
        Deviation of each place in x and in y, on its own.
    stretch_sigma : (float, float)
        Deviation of the figure's scale in x and in y, as a share: what a printer does to all
        places together.
    bends : bool
        Whether the surface it is on may bend.
    """

    points_px: Points
    places_mm: Points
    sigma_mm: float = RULED_END_MM
    stretch_sigma: tuple[float, float] = (0.0, 0.0)
    bends: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SquareSeen:
    """Two lines' ends (2, 2, 2), px, that stand at right angles but for a deviation, rad."""

    ends_px: Points
    sigma_rad: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetSeen:
    """A sheet's edges and its sides along and up, mm; `free` if these are only a guess.

    `side_sigma_mm` is the deviation of each side, on its own.
    """

    edges: SheetEdges
    width_mm: float
    height_mm: float
    free: bool = False
    side_sigma_mm: float = SIDE_MM


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """All that the adjustment works on."""

    middle_px: tuple[float, float]
    focal_px: float | None
    lines: tuple[LineSeen, ...] = ()
    squares: tuple[SquareSeen, ...] = ()
    figures: tuple[PlacesSeen, ...] = ()
    sheet: SheetSeen | None = None

    @property
    def shaped(self) -> bool:
        """Whether something shows the tilt: a sheet's edges, or places that span a surface."""
        return self.sheet is not None or bool(self.figures)

    @property
    def bends(self) -> bool:
        """Whether the surface may bend: a figure shows it."""
        return any(figure.bends for figure in self.figures)

    @property
    def diagonal_px(self) -> float:
        """The picture's diagonal."""
        return 2.0 * math.hypot(*self.middle_px)

    @property
    def cut(self) -> bool:
        """Whether the picture has no camera's shape, so that it was cut out of a larger one."""
        short, long = sorted(2.0 * middle + 1.0 for middle in self.middle_px)
        return all(abs(long / short - shape) > off for shape, off in SHAPES.items())

    @property
    def centre_sigma_px(self) -> float:
        """Deviation of the optical axis from the picture's centre."""
        share = CENTRE if self.focal_px is not None else CENTRE_UNKNOWN
        return (CENTRE_CUT if self.cut else share) * self.diagonal_px

    @property
    def bow_prior(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """The lens's likely k1 and k2, and their deviations."""
        if self.focal_px is None:
            return BOW_UNKNOWN
        wide = self.focal_px / self.diagonal_px * DIAGONAL_35_MM < WIDE_35_MM
        return BOW_WIDE if wide else BOW_PHONE

    @property
    def focal_prior(self) -> tuple[float, float]:
        """The focal length to start from, px, and the deviation of its logarithm."""
        if self.focal_px is not None:  # a cut picture's is told of the whole one
            return self.focal_px, FOCAL_ASSUMED if self.cut else FOCAL_STATED
        return ASSUMED_35_MM / DIAGONAL_35_MM * self.diagonal_px, FOCAL_ASSUMED
