"""A scene whose steel is known, and how far what a capture measured is from it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon, STRtree

from calibration.capture import Capture, capture
from calibration.references import LineReference, SheetReference
from tests.calibration.scene_picture import SheetPicture

PEN_AIM_MM, PENCIL_AIM_MM = 0.15, 0.21  # p95 that a trace is to be measured to
STEP_MM = 0.5  # between the places of an edge that are judged


@dataclass(frozen=True, kw_only=True)
class TracedScene:
    """A scene, what it is made of, and the steel that was traced."""

    name: str
    picture: SheetPicture
    steel: Polygon  # mm, holes included
    line_mm: float
    gaps_mm: tuple[tuple[float, float], ...]

    @property
    def aim_mm(self) -> float:
        """The error that is to be kept below."""
        return PENCIL_AIM_MM if "pencil" in self.name else PEN_AIM_MM

    def captured(self) -> Capture:
        """Measure it, told the drawn line's length; and the sheet's size if that is asked for."""
        photo, line = self.picture.photo(), LineReference(length_mm=self.line_mm)
        found = capture(photo, [line])
        if any(isinstance(one.reference, SheetReference) for one in found.calibration.found):
            return found
        width, height = self.picture.sheet_mm
        return capture(photo, [line, SheetReference(width_mm=width, height_mm=height)])

    def score(self, found: Capture) -> Score:
        """Return how far a capture's edge is from the steel, turned and shifted onto it."""
        measured = found.billet.shape
        rough = self.picture.camera.to_mm(
            found.calibration.map.to_px(shapely.get_coordinates(measured.exterior))
        )
        ring, sigmas = np.array(measured.exterior.coords)[:-1], found.billet.vertex_sigma_mm
        along = _spaced(measured.exterior)
        onto = _registered(along, ring, rough[:-1], self.steel.exterior)
        there = _apart(onto, self.steel.exterior)
        back = _apart(_spaced(self.steel.exterior), shapely.LinearRing(_moved(ring, along, onto)))
        nearest = STRtree(shapely.points(ring)).nearest(shapely.points(along))
        outside = np.where(shapely.contains_xy(Polygon(self.steel.exterior), onto), -1.0, 1.0)
        return Score(
            p95_mm=float(np.quantile(np.concatenate([there, back]), 0.95)),
            bias_mm=float((there * outside).mean()),
            covered=float(np.mean(there <= 2.0 * np.array(sigmas)[nearest])),
            holes=len(measured.interiors) - len(self.steel.interiors),
        )


@dataclass(frozen=True, kw_only=True)
class Score:
    """Distances both ways, the mean distance outwards, the share within two stated deviations,
    and how many holes too many were found.
    """

    p95_mm: float
    bias_mm: float
    covered: float
    holes: int


def _spaced(ring) -> np.ndarray:
    return shapely.get_coordinates(shapely.segmentize(shapely.LinearRing(ring), STEP_MM))[:-1]


def _apart(points: np.ndarray, ring) -> np.ndarray:
    return shapely.distance(shapely.points(points), ring)


def rigid(points: np.ndarray, to: np.ndarray):
    """Return what turns and shifts points onto others one by one."""
    a, b = points.mean(axis=0), to.mean(axis=0)
    x, y = (points - a).T
    u, v = (to - b).T
    turn = math.atan2(float(x @ v - y @ u), float(x @ u + y @ v))
    matrix = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    return lambda places: (places - a) @ matrix + b


def _registered(along: np.ndarray, ring: np.ndarray, rough: np.ndarray, steel) -> np.ndarray:
    """Return places of an edge turned and shifted so that they lie best on the steel's.

    Least squares of the distances across the steel's edge; along it nothing is asked.
    """
    onto = rigid(ring, rough)(along)
    for _ in range(8):
        at = shapely.line_locate_point(steel, shapely.points(onto))
        foot, before, after = (
            shapely.get_coordinates(shapely.line_interpolate_point(steel, place))
            for place in (at, np.maximum(at - 0.3, 0), np.minimum(at + 0.3, steel.length))
        )
        x, y = (after - before).T / np.hypot(*(after - before).T)
        across, middle = np.column_stack([y, -x]), onto.mean(axis=0)
        lever = across[:, 1] * (onto - middle)[:, 0] - across[:, 0] * (onto - middle)[:, 1]
        off = ((foot - onto) * across).sum(axis=1)
        turn, *shift = np.linalg.lstsq(np.column_stack([lever, across]), off, rcond=None)[0]
        c, s = math.cos(turn), math.sin(turn)
        onto = (onto - middle) @ np.array([[c, s], [-s, c]]) + middle + shift
    return onto


def _moved(ring: np.ndarray, along: np.ndarray, onto: np.ndarray) -> np.ndarray:
    return rigid(along, onto)(ring)
