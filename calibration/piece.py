"""A contour in the picture as a polygon in millimetres, and how far to trust each place of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely import Polygon

from calibration.blur_doubt import Blur
from calibration.contour import Contour
from calibration.errors import PhotoError
from calibration.sheet_map import SheetMap
from calibration.top_face import largest, top_face

Points = NDArray[np.float64]
Values = NDArray[np.float64]
Subject = Literal["trace", "steel"]

HAND_MM = 0.05  # a hand leads a pen along steel to about this, one standard deviation
SIDE_MM = 0.10  # a plate's rounded and slanting sides, the same
MIN_PIECE_MM = 5.0  # a smaller one is a letter or a smudge


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """The measured edge, every point of it, before any correction.

    Parameters
    ----------
    shape : shapely.Polygon
        The edge, mm, holes included.
    contour : Contour
        The edge in the picture.
    plane : SheetMap
        Of the plane that the edge lies in: the paper, or a plate's top.
    subject : {"trace", "steel"}
        What was measured.
    blur : Blur, optional
        How far the contour's outer edge is spread in the picture.
    """

    shape: Polygon
    contour: Contour
    plane: SheetMap
    subject: Subject
    blur: Blur | None = None

    @classmethod
    def of(
        cls,
        contour: Contour,
        sheet_map: SheetMap,
        *,
        raised_mm: float,
        subject: Subject,
        blur: Blur | None = None,
    ) -> Piece:
        """Return the piece that a contour shows.

        Parameters
        ----------
        contour : Contour
        sheet_map : SheetMap
            Of the paper.
        raised_mm : float
            How far the steel's top lies above the paper; 0 for a trace.
        subject : {"trace", "steel"}
        blur : Blur, optional
            Of the contour's outer edge.

        Raises
        ------
        PhotoError
            If it is too small to be a piece of steel.
        """
        plane = sheet_map.raised(raised_mm) if raised_mm else sheet_map
        if subject == "steel":
            shape = top_face(contour.outer_px, sheet_map, raised_mm)
        else:
            shape = _polygon(sheet_map.to_mm(contour.outer_px))
        holes = [_polygon(plane.to_mm(hole)) for hole in contour.holes_px]
        shape = largest(shapely.difference(shape, shapely.union_all(holes)))
        if shape.is_empty or min(_sides(shape)) < MIN_PIECE_MM:
            raise PhotoError(
                "what was taken for the piece is too small to be steel.",
                where="Trace",
                remedy="Check the reference's length and its unit, or point inside the piece with "
                "--inside X,Y.",
            )
        return cls(shape=shape, contour=contour, plane=plane, subject=subject, blur=blur)

    def edge_sigma_mm(self, shape: Polygon) -> Values:
        """Return one standard deviation that the map leaves across the edge at each vertex.

        Along an edge nothing is lost; where two edges meet, the worse of their directions counts.
        """
        rings = [shapely.get_coordinates(ring)[:-1] for ring in (shape.exterior, *shape.interiors)]
        places_px = self.plane.to_px(np.vstack(rings))
        before, after = (np.vstack([_normals(ring, end) for ring in rings]) for end in (0, 1))
        return np.maximum(
            self.plane.sigma_mm(places_px, across=before),
            self.plane.sigma_mm(places_px, across=after),
        )

    def ink_sigma_mm(self, places_mm: ArrayLike) -> Values:
        """Return what the edge of the ink, or of the steel, in the picture leaves at places."""
        places_px = self.plane.to_px(places_mm)
        known = np.vstack([self.contour.outer_px, *self.contour.holes_px])
        sigma_px = np.concatenate([self.contour.sigma_px, *self.contour.hole_sigma_px])
        pitch_mm = _pitch_mm(self.plane, places_px)
        return np.asarray(sigma_px[nearest(places_px, known)] * pitch_mm)

    @property
    def ink_beyond_mm(self) -> float:
        """How far the side of the ink that was measured lies outside the inner one."""
        middle = self.contour.outer_px.mean(axis=0)
        return self.contour.beyond_px * float(_pitch_mm(self.plane, middle[None])[0])

    @property
    def spread_mm(self) -> float:
        """Over how much the outer edge is spread by blur at a usual place, one deviation."""
        return 0.0 if self.blur is None else self._usual_mm(self.blur.spread_px)

    @property
    def blur_shift_mm(self) -> float:
        """How far a usual place of a traced edge is likely moved away from its ink by blur."""
        if self.blur is None or self.subject == "steel":
            return 0.0
        return self._usual_mm(self.blur.shift_px)

    def blur_sigma_mm(self, places_mm: ArrayLike) -> Values:
        """Return what blur that is not taken back leaves in doubt at places."""
        places_px = self.plane.to_px(places_mm)
        if self.blur is None or self.subject == "steel":
            return np.zeros(len(places_px))
        sigma_px = self.blur.sigma_px[nearest(places_px, self.contour.outer_px)]
        return np.asarray(sigma_px * _pitch_mm(self.plane, places_px))

    def _usual_mm(self, lengths_px: Values) -> float:
        middle = self.contour.outer_px.mean(axis=0)
        return float(np.median(lengths_px) * _pitch_mm(self.plane, middle[None])[0])

    @property
    def hand_sigma_mm(self) -> float:
        """The same for the hand that led the pen, or for the plate's slanting sides."""
        return SIDE_MM if self.subject == "steel" else HAND_MM


def nearest(places: Points, known: Points) -> NDArray[np.intp]:
    """Return, for each place, the index of the nearest known point."""
    tree = shapely.STRtree(np.asarray(shapely.points(known)))
    return np.asarray(tree.nearest(np.asarray(shapely.points(places))), np.intp)


def _normals(ring: Points, end: int) -> Points:
    """Return the unit normal of the edge that ends (0) or starts (1) at each vertex."""
    along = np.roll(ring, -end, axis=0) - np.roll(ring, 1 - end, axis=0)
    along /= np.maximum(np.hypot(*along.T), 1e-12)[:, None]
    return np.column_stack([along[:, 1], -along[:, 0]])


def _polygon(points: Points) -> Polygon:
    polygon = Polygon(points)
    return polygon if polygon.is_valid else largest(shapely.make_valid(polygon))


def _sides(shape: Polygon) -> tuple[float, float]:
    left, low, right, high = shape.bounds
    return right - left, high - low


def _pitch_mm(plane: SheetMap, places: Points) -> Values:
    """Return millimetres per pixel at each place, the larger of the two directions."""
    here = plane.to_mm(places)
    steps = [np.hypot(*(plane.to_mm(places + step) - here).T) for step in ((1.0, 0.0), (0.0, 1.0))]
    return np.asarray(np.maximum(*steps))
