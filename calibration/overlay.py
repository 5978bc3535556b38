"""A picture of what was understood: the piece, the references with their numbers, a scale bar."""

from __future__ import annotations

import itertools
import math
from typing import Protocol

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.calibrate import Calibration, FoundReference
from calibration.photo import Photo
from calibration.references import SheetReference

Points = NDArray[np.float64]
Picture = NDArray[np.uint8]
Colour = tuple[int, int, int]

LONG_SIDE_PX = 2400
STEEL: Colour = (0x1F, 0x5F, 0x74)  # accent
GIVEN: Colour = (0x7A, 0x2E, 0x1D)  # what the maker told: references
DOUBT: Colour = (0x9A, 0x5B, 0x00)  # what was guessed: bridges over gaps
HALO: Colour = (0xFF, 0xFD, 0xF8)
TEXT: Colour = (0x26, 0x29, 0x2E)
FILL = 0.22  # of the steel's colour over its region
BAR_STEPS_MM = (10.0, 20.0, 50.0, 100.0, 200.0, 500.0)
_SHIFT = 4  # cv2 draws in sixteenths of a pixel


class _Outline(Protocol):
    """The parts of a contour that are drawn."""

    @property
    def outer_px(self) -> Points: ...
    @property
    def holes_px(self) -> tuple[Points, ...]: ...
    @property
    def bridges_px(self) -> tuple[Points, ...]: ...


class _Understood(Protocol):
    """The parts of a capture that are drawn."""

    @property
    def calibration(self) -> Calibration: ...
    @property
    def contour(self) -> _Outline: ...


def overlay_picture(photo: Photo, capture: _Understood) -> Picture:
    """Return the photo, at most `LONG_SIDE_PX` long, with what was understood drawn over it.

    Parameters
    ----------
    photo : Photo
        The photo that was captured.
    capture : object with `calibration` and `contour`
        What was understood of it.

    Returns
    -------
    ndarray of uint8, shape (h, w, 3)
        RGB.
    """
    scale = min(1.0, LONG_SIDE_PX / max(photo.rgb.shape[:2]))
    size = (round(photo.width_px * scale), round(photo.height_px * scale))
    picture = np.array(cv2.resize(photo.rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
    pen = _Pen(picture, scale)
    contour, calibration = capture.contour, capture.calibration
    pen.fill([contour.outer_px, *contour.holes_px], STEEL)
    for found in calibration.found:
        if isinstance(found.reference, SheetReference):
            _draw_sheet(pen, found, calibration)
    for ring in (contour.outer_px, *contour.holes_px):
        pen.line(ring, STEEL, closed=True)
    for bridge in contour.bridges_px:
        pen.line(bridge, DOUBT, weight=2.0)
        pen.ring(bridge.mean(axis=0), DOUBT)
    for found in calibration.found:
        if not isinstance(found.reference, SheetReference):
            _draw_reference(pen, found, contour.outer_px.mean(axis=0))
    _draw_bar(pen, calibration, contour.outer_px)
    return pen.picture


class _Pen:
    """Draws in the photo's pixels on a picture of another size, every line with a halo."""

    def __init__(self, picture: Picture, scale: float) -> None:
        self.picture = picture
        self.scale = scale
        self.width = max(2, round(max(picture.shape[:2]) / 700))

    def _places(self, points_px: Points) -> NDArray[np.int32]:
        places = (np.asarray(points_px, float) + 0.5) * self.scale - 0.5
        fine: NDArray[np.int32] = np.rint(places * 2**_SHIFT).astype(np.int32).reshape(-1, 1, 2)
        return fine

    def fill(self, rings_px: list[Points], colour: Colour) -> None:
        """Tint the region inside the first ring and outside the others."""
        mask = np.zeros(self.picture.shape[:2], np.uint8)
        rings = [self._places(ring) for ring in rings_px if len(ring) >= 3]
        cv2.fillPoly(mask, rings, 1, lineType=cv2.LINE_8, shift=_SHIFT)
        inside = mask > 0
        mixed = self.picture[inside] * (1.0 - FILL) + np.array(colour) * FILL
        self.picture[inside] = mixed.astype(np.uint8)

    def line(
        self, points_px: Points, colour: Colour, *, closed: bool = False, weight: float = 1.0
    ) -> None:
        """Draw a line through places."""
        places = [self._places(points_px)]
        width = max(1, round(self.width * weight))
        halo = width + 2 * max(1, self.width // 2)
        for tone, thick in ((HALO, halo), (colour, width)):
            cv2.polylines(self.picture, places, closed, tone, thick, cv2.LINE_AA, _SHIFT)

    def dashes(self, a: Points, b: Points, colour: Colour) -> None:
        """Draw a dashed straight line."""
        dash = 9.0 * self.width / self.scale
        count = max(1, int(math.dist(a, b) / (2.0 * dash)))
        for k in range(count):
            ends = np.array([k, k + 0.55]) / count
            self.line(a + ends[:, None] * (b - a), colour, weight=0.7)

    def ring(self, centre_px: Points, colour: Colour) -> None:
        """Draw a ring round a place that needs a look."""
        turn = np.linspace(0.0, 2.0 * np.pi, 40, endpoint=False)
        radius = 12.0 * self.width / self.scale
        circle = centre_px + radius * np.column_stack([np.cos(turn), np.sin(turn)])
        self.line(circle, colour, closed=True, weight=0.7)

    def text(self, words: str, centre_px: Points, colour: Colour) -> None:
        """Write words on a plate centred on a place, kept inside the picture."""
        size = max(0.5, self.width * 0.36)
        thick = max(1, round(self.width * 0.7))
        (wide, tall), _ = cv2.getTextSize(words, cv2.FONT_HERSHEY_SIMPLEX, size, thick)
        x, y = np.asarray(centre_px, float) * self.scale
        height, width = self.picture.shape[:2]
        pad = 3 * self.width
        left = int(np.clip(x - wide / 2, pad, max(pad, width - wide - pad)))
        base = int(np.clip(y + tall / 2, tall + pad, max(tall + pad, height - pad)))
        rows = slice(max(0, base - tall - pad), base + pad)
        columns = slice(max(0, left - pad), left + wide + pad)
        plate = self.picture[rows, columns]
        plate[:] = (0.2 * plate + 0.8 * np.array(HALO)).astype(np.uint8)
        cv2.putText(
            self.picture, words, (left, base), cv2.FONT_HERSHEY_SIMPLEX, size, colour, thick,
            cv2.LINE_AA,
        )  # fmt: skip

    @property
    def letter_px(self) -> float:
        """Height of a line of writing, in the photo's pixels."""
        return float(14.0 * self.width / self.scale)


def _draw_reference(pen: _Pen, found: FoundReference, piece_px: Points) -> None:
    """Draw lines or a rectangle with their ends and their numbers, away from the piece."""
    lines = np.array(found.lines_px)
    for k, (a, b) in enumerate(lines):
        pen.line(np.array([a, b]), GIVEN)
        tick = np.array([a[1] - b[1], b[0] - a[0]]) / max(math.dist(a, b), 1.0)
        if len(lines) < 4 or k % 2 == 0:
            reach = 0.5 * pen.letter_px * tick
            for end in (a, b):
                pen.line(np.array([end - reach, end + reach]), GIVEN)
    for (a, b), length in zip(lines, found.measured_mm, strict=False):
        aside = np.array([a[1] - b[1], b[0] - a[0]]) / max(math.dist(a, b), 1.0)
        if (0.5 * (a + b) - piece_px) @ aside < 0.0:
            aside = -aside
        wide = 1.2 + 2.2 * abs(float(aside[0]))  # beside an upright line the words need room
        pen.text(f"{length:.1f} mm", 0.5 * (a + b) + wide * pen.letter_px * aside, GIVEN)


def _draw_sheet(pen: _Pen, found: FoundReference, calibration: Calibration) -> None:
    """Draw the sheet's edges, bowed as the lens bows them, with its name."""
    corners_mm = calibration.map.to_mm(found.points_px)
    for a, b in zip(corners_mm, np.roll(corners_mm, -1, axis=0), strict=True):
        way = calibration.map.to_px(a + np.linspace(0.0, 1.0, 9)[:, None] * (b - a))
        for c, d in itertools.pairwise(way):
            pen.dashes(c, d, STEEL)
    bottom = 0.5 * (np.array(found.points_px[0]) + np.array(found.points_px[1]))
    size = " x ".join(f"{side:.1f}" for side in found.measured_mm)
    name = found.name.removeprefix("sheet ")
    words = f"{name}, {size} mm" if not name[0].isdigit() else f"{size} mm"
    pen.text(words, bottom + np.array([0.0, 1.8 * pen.letter_px]), STEEL)


def _draw_bar(pen: _Pen, calibration: Calibration, piece_px: Points) -> None:
    """Draw a scale bar at the lower left, true at the piece's middle."""
    middle = piece_px.mean(axis=0)
    mm_per_px = calibration.map.mm_per_px((float(middle[0]), float(middle[1])))
    height, width = pen.picture.shape[:2]
    room_mm = 0.25 * width / pen.scale * mm_per_px
    length_mm = max((s for s in BAR_STEPS_MM if s <= room_mm), default=BAR_STEPS_MM[0])
    left = 2.0 * pen.letter_px
    start = np.array([left, height / pen.scale - 1.5 * pen.letter_px])
    end = start + np.array([length_mm / mm_per_px, 0.0])
    pen.line(np.array([start, end]), TEXT, weight=1.5)
    for place in (start, end):
        pen.line(np.array([place, place - np.array([0.0, 0.7 * pen.letter_px])]), TEXT)
    words = f"{length_mm:g} mm at the piece, tilt {calibration.tilt_deg:.1f}\N{DEGREE SIGN}"
    if not calibration.tilt_known:
        words = f"{length_mm:g} mm at the piece, tilt unknown"
    pen.text(words, 0.5 * (start + end) - np.array([0.0, 1.9 * pen.letter_px]), TEXT)
