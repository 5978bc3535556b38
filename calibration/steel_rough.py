"""Where a piece of steel lies on the sheet, to a few pixels.

Paper reaches up to the steel without a sharp change of light: shadows fall on it softly, and its
own light changes slowly. So whatever a flood from the sheet's open paper does not reach, stopped
by sharp edges of any colour, is a thing that lies there: dark, as bright as the paper or brighter.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.darkness import STRIP_PX
from calibration.ink import Ink
from calibration.light import mean_of
from calibration.photo import Photo
from calibration.steel_paper import Paper, tinted

Mask = NDArray[np.bool_]
Field = NDArray[np.float32]
Bits = NDArray[np.uint8]

FINE_PX, COARSE_PX = 1.0, 4.0  # blurs between which an edge is sharp and a shadow's is not
LEAST_EDGE = 1.5  # encoded values a pixel, of 255: an edge in a good light has 10 to 30
GRAINS = 4.0  # times the usual change on bare paper
SURE = 2.0  # times the least edge; weaker ones count where they touch such a one
SHUT_PX = 4  # to each side: gaps of an edge that the flood does not pass
HALO_PX = 6  # to each side of a thin line: what its edges add to the thing that it seems
EDGE_PX = 2  # from the edge itself to where the change is first noticed
DARKEST, BRIGHTEST = (
    0.33,
    1.15,
)  # of the paper's light: what shadows leave, and a lamp's bright spot
MIN_AREA = 0.01  # of the sheet
THINNEST = 0.012  # of the sheet's side: what is narrower is a drawn line or writing
BAY = 0.06  # of the sheet's side: the widest mouth of a bay that the flood makes
HALFWAY = 0.35  # from the thing's light to the paper's: darker than most shadows
FRAMED = 0.05  # of the sheet: paper that a drawn line closes off, if it is as bright as
BARE = 0.06  # this share of the rest
DARK = 0.6  # of the paper's light: a thing where lines of the paper stop every flood


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Thing:
    """A thing on the sheet.

    Parameters
    ----------
    filled : ndarray of bool, (h, w)
        The thing, holes filled, on a reduced picture.
    scale : float
        Pixels of that picture to one of the photo.
    paper : Paper
        What it lies on.
    weights : ndarray, (3,)
        Of the channels, for the thing to stand out from the paper.
    """

    filled: Mask
    scale: float
    paper: Paper
    weights: NDArray[np.float64]


def find_thing(photo: Photo, ink: Ink, inside_px: tuple[float, float] | None) -> Thing | None:
    """Return the largest thing that lies on the sheet, or the one pointed at.

    Parameters
    ----------
    photo : Photo
    ink : Ink
        Of the same photo; only its sheet is used.
    inside_px : tuple of float, optional
        A pixel on the thing.
    """
    rgb, sheet = photo.cells(ink.cell_px), ink.sheet.astype(np.uint8)
    size, scale = (rgb.shape[1], rgb.shape[0]), 1.0 / ink.cell_px
    rows, columns = np.flatnonzero(sheet.any(axis=1)), np.flatnonzero(sheet.any(axis=0))
    if not len(rows):
        return None
    box = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    paper, share = Paper.of(photo, ink)
    strange = _enlarged(_strange(share), size)
    at = None
    if inside_px is not None:
        at = (inside_px[0] * scale - columns[0], inside_px[1] * scale - rows[0])
    even = np.asarray(cv2.resize(mean_of(share), size), np.float32)
    chosen = _found(rgb[box], sheet[box], strange[box], even[box], at)
    if chosen is None:
        return None
    filled = np.zeros(sheet.shape, bool)
    filled[box] = chosen
    side = float(np.sqrt(np.count_nonzero(sheet)))
    filled = _without_bays(filled, share, round(BAY * side))
    return Thing(filled=filled, scale=scale, paper=paper, weights=_weights(share, filled))


def _found(
    rgb: NDArray[np.uint8],
    sheet: Bits,
    strange: Bits,
    even: Field,
    inside: tuple[float, float] | None,
) -> Mask | None:
    """Return the thing on the sheet, within a drawn frame too; on grid paper whatever is dark."""
    side = float(np.sqrt(np.count_nonzero(sheet)))
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (max(3, round(THINNEST * side)),) * 2)

    def chosen(things: Bits) -> Mask | None:
        solid = np.asarray(cv2.morphologyEx(things, cv2.MORPH_OPEN, kernel), np.uint8)
        return _chosen(solid, sheet, inside, MIN_AREA * side**2)

    labels, areas, reached = _flooded(rgb, sheet, strange)
    found = chosen(_filled(_unreached(labels, reached, sheet)))
    framed = _framed(labels, areas, even, FRAMED * side**2) & (1 - reached)
    if framed.any():
        things = _unreached(labels, reached | framed, sheet)  # the frame's own line among them
        within = chosen(_filled(_thicker(things, kernel.shape[0] // 2 + HALO_PX)))
        found = within if within is not None else found
    return chosen(_filled((even < DARK).astype(np.uint8) & sheet)) if found is None else found


def _thicker(things: Bits, radius_px: int) -> Bits:
    """Return what of things is thicker than a disc, its corners kept."""
    disc = _disc(radius_px)
    thick = cv2.morphologyEx(things, cv2.MORPH_OPEN, disc)
    return np.asarray(cv2.bitwise_and(cv2.dilate(thick, disc), things), np.uint8)


def _framed(labels: NDArray[np.int32], areas: NDArray[np.int32], even: Field, least: float) -> Bits:
    """Return which parts of the flooded picture are bare paper, though lines close them off."""
    bare = np.zeros(len(areas), np.uint8)
    for label in np.flatnonzero(areas > least).tolist():
        if label and abs(float(np.median(even[labels == label])) - 1.0) < BARE:
            bare[label] = 1
    return bare


def _without_bays(filled: Mask, share: Field, mouth_px: int) -> Mask:
    """Return a thing with bays filled that are as dark as it is: the flood ran in from a shadow."""
    mean = mean_of(share)
    bits = filled.astype(np.uint8)
    own = _enlarged(bits, mean.shape[::-1])
    if not own.any():
        return filled
    level = float(np.median(mean[own > 0]))
    dark = (mean < level + HALFWAY * (1.0 - level)).astype(np.uint8)
    mouth = _disc(max(1, round(0.5 * mouth_px * mean.shape[1] / filled.shape[1])))
    closed = np.asarray(cv2.morphologyEx(own, cv2.MORPH_CLOSE, mouth), np.uint8)
    bays = cv2.morphologyEx(closed & dark & (1 - own), cv2.MORPH_OPEN, np.ones((2, 2), np.uint8))
    wider = np.asarray(cv2.dilate(bays, np.ones((3, 3), np.uint8)), np.uint8)  # up to the thing
    return _filled(bits | _enlarged(wider & dark, bits.shape[::-1])) > 0


def _weights(share: Field, filled: Mask) -> NDArray[np.float64]:
    """Return how the channels weigh: alike where a thing is darker than the paper in all of them.

    Else by how far it is from the paper in each, with the sign.
    """
    size = share.shape[1::-1]
    inner = cv2.resize(filled.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST)
    inner = cv2.erode(inner, np.ones((5, 5), np.uint8))
    if not inner.any():
        return np.full(3, 1 / 3)
    darker = 1.0 - np.median(share[inner > 0], axis=0)
    if darker.min() > 0.0 or darker.max() < 0.0:
        return np.full(3, 1 / 3)
    return np.asarray(darker / np.abs(darker).sum(), float)


def _strange(share: Field) -> Bits:
    """Return the pixels that are not even paper in a shadow: too dark, too bright, of a tint."""
    mean = mean_of(share)
    return np.asarray((mean < DARKEST) | (mean > BRIGHTEST) | tinted(share), np.uint8)


def _edges(rgb: NDArray[np.uint8], sheet: Bits) -> Bits:
    """Return the pixels of sharp edges, weak ones where they go on from sure ones."""
    change = sharp_change(rgb)
    least = max(
        LEAST_EDGE, GRAINS * float(np.quantile(change[::2, ::2][sheet[::2, ::2] > 0], 0.75))
    )
    weak = (change > least).view(np.uint8)
    count, labels = cv2.connectedComponents(weak, connectivity=8)
    at = np.flatnonzero(weak)  # few of all pixels
    label = labels.ravel()[at]
    sure = np.zeros(count, np.uint8)
    sure[label[change.ravel()[at] > SURE * least]] = 1
    weak.ravel()[at] = sure[label]
    return weak


def _flooded(
    rgb: NDArray[np.uint8], sheet: Bits, strange: Bits
) -> tuple[NDArray[np.int32], NDArray[np.int32], Bits]:
    """Return the parts between sharp edges, their areas, and which a flood from the rim reaches."""
    inner = np.asarray(cv2.erode(sheet, np.ones((9, 9), np.uint8), borderValue=0), np.uint8)
    edge = (_edges(rgb, sheet) | strange) & inner  # the sheet's own edge is none of a thing's
    shut = np.asarray(cv2.dilate(edge, _disc(SHUT_PX)), np.uint8)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(
        ((shut == 0) & (sheet > 0)).astype(np.uint8), connectivity=4
    )
    reached = np.zeros(len(stats), np.uint8)
    reached[labels[(sheet > 0) & (inner == 0)]] = 1
    reached[0] = 0
    return np.asarray(labels, np.int32), np.asarray(stats[:, cv2.CC_STAT_AREA]), reached


def _unreached(labels: NDArray[np.int32], reached: Bits, sheet: Bits) -> Bits:
    """Return the pixels of the sheet that no flood reaches."""
    paper = np.asarray(cv2.dilate(reached[labels], _disc(SHUT_PX)), np.uint8) & sheet
    return np.asarray(cv2.erode(sheet & (1 - paper), _disc(EDGE_PX)), np.uint8)


def _enlarged(bits: Bits, size: tuple[int, int]) -> Bits:
    return np.asarray(cv2.resize(bits, size, interpolation=cv2.INTER_NEAREST), np.uint8)


def _disc(radius_px: int) -> Bits:
    return np.asarray(
        cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * radius_px + 1,) * 2), np.uint8
    )


def sharp_change(rgb: NDArray[np.uint8]) -> Field:
    """Return how steeply a picture changes at each pixel beyond what a blurred one would.

    Encoded values a pixel, of the channel that changes most.
    """
    fine = cv2.GaussianBlur(rgb, (0, 0), FINE_PX)
    size = (rgb.shape[1], rgb.shape[0])
    half = cv2.resize(rgb, (size[0] // 2, size[1] // 2), interpolation=cv2.INTER_AREA)
    coarse = cv2.resize(cv2.GaussianBlur(half, (0, 0), COARSE_PX / 2), size)
    change = np.empty(rgb.shape[:2], np.float32)
    for top in range(0, len(change), STRIP_PX):
        above = min(top, 1)
        rows = slice(top - above, top + STRIP_PX + 1)
        detail = cv2.subtract(fine[rows], coarse[rows], dtype=cv2.CV_16S)
        steepest = _steepest(np.asarray(detail, np.int16))
        change[top : top + STRIP_PX] = steepest[above : above + STRIP_PX]
    return change


def _steepest(detail: NDArray[np.int16]) -> Field:
    """Return how steeply a picture changes at each pixel, the channel that changes most."""
    most = np.zeros(detail.shape[:2], np.float32)
    for channel in cv2.split(detail):
        across = cv2.Sobel(channel, cv2.CV_32F, 1, 0, scale=0.125)
        square = cv2.multiply(across, across, dst=across)
        cv2.accumulateSquare(cv2.Sobel(channel, cv2.CV_32F, 0, 1, scale=0.125), square)
        cv2.max(most, square, dst=most)
    return np.sqrt(most)


def _filled(bits: Bits) -> Bits:
    outlines, _ = cv2.findContours(bits, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return np.asarray(cv2.drawContours(bits.copy(), outlines, -1, 1, cv2.FILLED), np.uint8)


def _chosen(
    solid: Bits, sheet: Bits, inside: tuple[float, float] | None, least_area: float
) -> Mask | None:
    """Return the thing pointed at, else the largest that does not lie across the sheet's edge."""
    _, labels, stats, _ = cv2.connectedComponentsWithStats(solid, connectivity=4)
    if inside is not None:
        row = int(np.clip(inside[1], 0, labels.shape[0] - 1))
        column = int(np.clip(inside[0], 0, labels.shape[1] - 1))
        label = int(labels[row, column])
        return labels == label if label else None
    rim = cv2.erode(sheet, np.ones((11, 11), np.uint8), borderValue=0) == 0
    across = set(np.unique(labels[rim & (sheet > 0)]).tolist()) | {0}
    areas = {
        label: int(stats[label, cv2.CC_STAT_AREA])
        for label in range(1, len(stats))
        if label not in across and stats[label, cv2.CC_STAT_AREA] > least_area
    }
    return labels == max(areas, key=lambda label: areas[label]) if areas else None
