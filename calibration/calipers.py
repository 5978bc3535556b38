"""What calipers say against what the photo says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from shapely import Polygon

from calibration.camera import BENT_STEPS
from calibration.piece import Piece
from calibration.sheet_map import SheetMap
from calibration.sizes import Place, SteelSize
from geometry.calipers import Reading, length_of, offset_from, width_between, width_of
from geometry.errors import InputError
from geometry.stand_off import Offset

Values = NDArray[np.float64]

SWAPPED = 0.05  # of a size: it was read along the other side of the piece
SLIP, SLIP_MM = 0.25, 10.0  # of a size, the larger: tilt unseen, and a pen on both sides of it


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One size of the steel and the same size of the measured piece.

    Parameters
    ----------
    size : SteelSize
        What was read on the steel.
    photo_mm : float
        The same on the piece as measured.
    sigma_mm : float
        One standard deviation of their difference.
    contacts_mm : pair of (x, y)
        Where on the piece.
    """

    size: SteelSize
    photo_mm: float
    sigma_mm: float
    contacts_mm: tuple[Place, Place]

    @property
    def too_large_mm(self) -> float:
        """How much more the photo says; negative: less."""
        return self.photo_mm - self.size.true_mm

    @property
    def agrees(self) -> bool:
        """Whether both are the same as far as can be told: within two standard deviations."""
        return abs(self.too_large_mm) <= 2.0 * self.sigma_mm

    def sentence(self) -> str:
        """Return agreement or residual in words.

        Examples
        --------
        >>> check = Check(
        ...     size=SteelSize(kind="width", true_mm=38.1),
        ...     photo_mm=38.62, sigma_mm=0.15, contacts_mm=((0.0, 0.0), (0.0, 38.62)),
        ... )
        >>> check.sentence().partition(": ")[2]
        'calipers 38.10 mm, the photo 38.62 mm: 0.52 too large, more than its doubt of 0.30.'
        """
        what = self.size.name[0].upper() + self.size.name[1:]
        said = (
            f"{what}: {self.size.tool} {self.size.true_mm:.2f} mm, the photo {self.photo_mm:.2f} mm"
        )
        doubt = f"its doubt of {2 * self.sigma_mm:.2f}"
        off = f"{abs(self.too_large_mm):.2f} too {'large' if self.too_large_mm > 0 else 'small'}"
        if not self.agrees:
            return f"{said}: {off}, more than {doubt}."
        return f"{said}: they agree, {off} is within {doubt}."


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Compared:
    """Sizes of the steel beside the measured piece's, with the doubt of their differences.

    Parameters
    ----------
    sizes : tuple of SteelSize
    readings : tuple of Reading
        The same sizes of the piece.
    covariance_mm2 : ndarray, (N, N)
        Of the differences; the map's share of it is common to all of them.
    """

    sizes: tuple[SteelSize, ...]
    readings: tuple[Reading, ...]
    covariance_mm2: Values

    @classmethod
    def of(cls, piece: Piece, shape: Polygon, sizes: Sequence[SteelSize]) -> Compared:
        """Read sizes on a shape of a piece.

        Parameters
        ----------
        piece : Piece
            As measured; tells the doubts.
        shape : shapely.Polygon
            Its edge as it stands, corrected or not, mm.
        sizes : sequence of SteelSize

        Raises
        ------
        InputError
            If jaws were set where the piece's edge is not, or a size is nowhere near the piece's.
        """
        readings = tuple(_reading(piece, shape, size) for size in sizes)
        for size, reading in zip(sizes, readings, strict=True):
            _check_of_this_piece(size, reading, shape)
        contacts = np.array([reading.contacts_mm for reading in readings]).reshape(-1, 2)
        ends = piece.ink_sigma_mm(contacts) ** 2 + piece.hand_sigma_mm**2
        own = np.array([size.sigma_mm for size in sizes]) ** 2 + ends.reshape(-1, 2).sum(axis=1)
        pairs_px = piece.plane.to_px(contacts).reshape(-1, 2, 2)
        return cls(
            sizes=tuple(sizes),
            readings=readings,
            covariance_mm2=np.diag(own) + lengths_covariance_mm2(piece.plane, pairs_px),
        )

    def checks(self) -> tuple[Check, ...]:
        """Return each size with its difference."""
        sigmas = np.sqrt(np.diag(self.covariance_mm2)).tolist()
        return tuple(
            Check(
                size=size,
                photo_mm=reading.value_mm,
                sigma_mm=sigma_mm,
                contacts_mm=reading.contacts_mm,
            )
            for size, reading, sigma_mm in zip(self.sizes, self.readings, sigmas, strict=True)
        )

    def offset(self, known: Offset | None = None) -> Offset:
        """Return how much too large the piece is all round, by all sizes and what is known."""
        traced = np.array([reading.value_mm for reading in self.readings])
        true = np.array([size.true_mm for size in self.sizes])
        return offset_from(traced, true, self.covariance_mm2, known=known)


def lengths_covariance_mm2(plane: SheetMap, pairs_px: ArrayLike) -> Values:
    """Return what a map's doubt does to several lengths at once.

    Parameters
    ----------
    plane : SheetMap
    pairs_px : array-like, (N, 2, 2)
        Both ends of each length.

    Returns
    -------
    ndarray, (N, N)
        Their covariance; a map that is too large makes all of them too large together.
    """
    ends = np.asarray(pairs_px, float).reshape(-1, 2)

    def lengths(parameters: Values) -> Values:
        places = replace(plane, parameters=tuple(parameters.tolist())).to_mm(ends)
        return np.asarray(np.hypot(*(places[1::2] - places[::2]).T))

    here = np.asarray(plane.parameters, float)
    sizes = BENT_STEPS[: len(here)]
    steps = np.diag(sizes)
    slopes = np.array([lengths(here + step) - lengths(here - step) for step in steps])
    slopes /= 2.0 * sizes[:, None]
    spread = slopes.T @ np.asarray(plane.covariance) @ slopes
    for weight, parameters in plane.others:
        off = lengths(np.asarray(parameters, float)) - lengths(here)
        spread += weight * np.outer(off, off)
    return np.asarray(spread)


def _check_of_this_piece(size: SteelSize, reading: Reading, shape: Polygon) -> None:
    """Refuse a size that neither pen nor tilt explains; say so if it is the other side's."""
    slack_mm = max(SLIP_MM, SLIP * reading.value_mm)
    if abs(size.true_mm - reading.value_mm) <= slack_mm:
        return
    other = {"length": width_of, "width": length_of}.get(size.kind)
    other_mm = 0.0 if other is None else other(shape).value_mm
    swapped = abs(other_mm - size.true_mm) <= SWAPPED * size.true_mm
    meant = "length" if size.kind == "width" else "width"
    raise InputError(
        f"the {size.name} is told as {size.true_mm:.2f} mm, and the photo has "
        f"{reading.value_mm:.2f} mm there.",
        where="Calipers",
        remedy=f"It is near the piece's {meant}: tell it as that."
        if swapped
        else "Check the size and its unit, and the reference's length.",
    )


def _reading(piece: Piece, shape: Polygon, size: SteelSize) -> Reading:
    if size.kind == "length":
        return length_of(shape)
    if size.kind == "width":
        return width_of(shape)
    ends_mm = size.ends_mm
    if size.ends_px is not None:
        (x1, y1), (x2, y2) = piece.plane.to_mm(size.ends_px).tolist()
        ends_mm = ((x1, y1), (x2, y2))
    assert ends_mm is not None
    return width_between(shape, ends_mm)
