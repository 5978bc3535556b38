"""The steel itself on the paper, where no trace was drawn.

What is seen against the paper is the silhouette: the top face and those sides that face the lens.
Its edge is where the light changes most steeply, coming from the paper: shadows change slowly,
and a glint beside the edge is still darker or lighter than the paper by a step.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.contour import Contour
from calibration.errors import PhotoError
from calibration.ink import Ink
from calibration.light import mean_light
from calibration.photo import Photo
from calibration.regions import Region, region_of
from calibration.repair import repaired
from calibration.rings import median_along, resampled, ring_normals, sampled, smoothed_ring

Mask = NDArray[np.bool_]
Points = NDArray[np.float64]
Field = NDArray[np.float32]

MIN_AREA = 0.01  # of the sheet
THINNEST = 0.012  # of the sheet's side: what is narrower is a drawn line or writing
OUTER_PX, INNER_PX = 12.0, 8.0  # to either side of the rough outline
STEP_PX = 0.5
BLUR_PX = 5.0  # of the picture on which wide blurs are made
GLINT = 1.1  # of the paper's light: brighter than any paper
GLINT_PX = 25  # of the small picture: the widest mouth of a bay that a glint makes
SHARP_PX = 3.0  # half the width over which an edge, unlike a shadow, changes the light
LEAST_STEP = 0.2  # of the usual change of light across the edge: less is shadow or grain
GRAINS = 3.5  # times the grain of the paper, one standard deviation
BARE_PX = 4.0  # of the search, at its outer end, that is paper for certain
STRAY_PX = 3.0  # from the neighbours: an edge point farther off has caught something else
LEAST_SIGMA_PX = 0.4  # rounded edges and contact shadows


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Light:
    """Light in a box of the picture over that of bare paper there."""

    share: Field
    corner: Points


def find_steel(
    photo: Photo,
    ink: Ink,
    *,
    inside_px: tuple[float, float] | None = None,
    unseen: Mask | None = None,
) -> Contour:
    """Return the silhouette of a piece of steel that lies on the sheet.

    Parameters
    ----------
    photo : Photo
        The upright picture.
    ink : Ink
        Its sheet.
    inside_px : tuple of float, optional
        A pixel on the steel; the largest dark thing within the sheet if left out.
    unseen : ndarray of bool, (h, w), optional
        Pixels of the photo that were filled in; an edge there is bridged, not believed.

    Returns
    -------
    Contour
        With the sides that face the lens still in it; `top_face` takes them off.

    Raises
    ------
    PhotoError
        If nothing dark enough lies on the sheet.
    """
    dark = ink.darkness
    piece, light = _rough(photo, ink, inside_px)
    rough = resampled(piece.outline.astype(float), 1.0)
    line = resampled(smoothed_ring(rough, 7), 1.0)
    line, _, bad = _snapped(light.share, line)
    bad |= _within(unseen, dark.photo(line + light.corner))
    line = resampled(smoothed_ring(repaired(line, bad, bend=False).points_px, 5), 1.0)
    line, slope, bad = _snapped(light.share, line)
    bad |= _within(unseen, dark.photo(line + light.corner))
    mended = repaired(line, bad, bend=False)
    noise = ink.noise / np.maximum(slope, 1e-3)
    sigma = np.hypot(np.hypot(LEAST_SIGMA_PX, noise)[mended.source], mended.doubt_px)
    return Contour(
        outer_px=dark.photo(mended.points_px + light.corner),
        holes_px=(),
        bridges_px=(),
        sigma_px=sigma * dark.pitch,
        hole_sigma_px=(),
        notes=(),
    )


def _within(mask: Mask | None, points_px: Points) -> Mask:
    """Return which places of the photo a mask holds."""
    if mask is None:
        return np.zeros(len(points_px), bool)
    x, y = np.rint(points_px).astype(np.intp).T
    height, width = mask.shape
    return np.asarray(mask[np.clip(y, 0, height - 1), np.clip(x, 0, width - 1)], bool)


def _rough(photo: Photo, ink: Ink, inside_px: tuple[float, float] | None) -> tuple[Region, _Light]:
    """Return the piece to a few pixels, and the light around it."""
    small = photo.small
    size = (small.shape[1], small.shape[0])
    scale = size[0] / photo.width_px
    sheet = cv2.resize(ink.sheet.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    light = mean_light(small)
    paper = _bare_paper(light, sheet)
    share = np.asarray(light / np.maximum(paper, 1e-3), np.float32)
    inside = None if inside_px is None else (inside_px[0] * scale, inside_px[1] * scale)
    found = _dark_thing(share, sheet, inside)
    if found is None:
        raise PhotoError(
            "no steel is seen on the sheet.",
            where="Steel",
            remedy="Lay it on plain white paper in even light, or point at it with --inside X,Y.",
        )
    return _at_full_size(ink.darkness.rgb, found, paper, share)


def _bare_paper(light: Field, sheet: Mask) -> Field:
    """Return the light of the paper, carried on under what lies on it."""
    level = float(np.quantile(light[sheet], 0.75)) if sheet.any() else 1.0
    weight = (sheet & (light > 0.5 * level)).astype(np.float32)
    paper = np.full(light.shape, level, np.float32)
    for spread in (100.0, 40.0, 15.0):  # of the small picture: coarse where nothing nearer is known
        total, count = _widely_blurred(light * weight, spread), _widely_blurred(weight, spread)
        known = np.clip(count / 0.25, 0.0, 1.0)
        paper = known * total / np.maximum(count, 1e-6) + (1.0 - known) * paper
    return np.asarray(paper, np.float32)


def _widely_blurred(field: Field, spread_px: float) -> Field:
    """Return a field blurred by many pixels, on a picture just fine enough for it."""
    rows, columns = field.shape
    by = spread_px / BLUR_PX
    size = (max(1, round(columns / by)), max(1, round(rows / by)))
    small = cv2.resize(field, size, interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), BLUR_PX)
    return np.asarray(
        cv2.resize(small, (columns, rows), interpolation=cv2.INTER_LINEAR), np.float32
    )


def _dark_thing(share: Field, sheet: Mask, inside: tuple[float, float] | None) -> Mask | None:
    """Return the largest thing on the sheet that is darker than shadows are, holes filled."""
    eight = np.clip(share * 200, 0, 255).astype(np.uint8)
    if not sheet.any():
        return None
    split, _ = cv2.threshold(eight[sheet], 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    dark = (sheet & (eight <= split)).astype(np.uint8)
    side = float(np.sqrt(np.count_nonzero(sheet)))
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (max(3, round(THINNEST * side)),) * 2)
    shining = _with_glints(dark, share, GLINT_PX)
    solid = np.asarray(cv2.morphologyEx(shining, cv2.MORPH_OPEN, kernel), np.uint8)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(_filled(solid), connectivity=4)
    if inside is not None:
        row = int(np.clip(inside[1], 0, labels.shape[0] - 1))
        column = int(np.clip(inside[0], 0, labels.shape[1] - 1))
        label = int(labels[row, column])
        return labels == label if label else None
    rim = cv2.erode(sheet.astype(np.uint8), np.ones((5, 5), np.uint8), borderValue=0) == 0
    across = set(np.unique(labels[rim & sheet]).tolist()) | {0}
    areas = {
        label: int(stats[label, cv2.CC_STAT_AREA])
        for label in range(1, len(stats))
        if label not in across and stats[label, cv2.CC_STAT_AREA] > MIN_AREA * side**2
    }
    return labels == max(areas, key=lambda label: areas[label]) if areas else None


def _with_glints(dark: NDArray[np.uint8], share: Field, mouth_px: int) -> NDArray[np.uint8]:
    """Return a dark thing with the bright bays in its rim: paper is never that much too bright."""
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (mouth_px, mouth_px))
    closed = np.asarray(cv2.morphologyEx(dark, cv2.MORPH_CLOSE, kernel), np.uint8)
    shine = closed & (share > GLINT).astype(np.uint8)
    around = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (mouth_px // 4 * 2 + 1,) * 2)
    spread = np.asarray(cv2.dilate(shine, around), np.uint8)
    return np.asarray(dark | (spread & closed), np.uint8)


def _filled(dark: NDArray[np.uint8]) -> NDArray[np.uint8]:
    outlines, _ = cv2.findContours(dark, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return np.asarray(cv2.drawContours(dark.copy(), outlines, -1, 1, cv2.FILLED), np.uint8)


def _at_full_size(
    rgb: NDArray[np.uint8], found: Mask, paper: Field, share: Field
) -> tuple[Region, _Light]:
    """Return the thing and the light around it at full size, in a box."""
    height, width = rgb.shape[:2]
    scale = width / found.shape[1]
    rows, columns = np.flatnonzero(found.any(axis=1)), np.flatnonzero(found.any(axis=0))
    margin = 24 * max(1.0, scale) / 2
    top, bottom = max(0, int(rows[0] * scale - margin)), int((rows[-1] + 1) * scale + margin)
    left, right = max(0, int(columns[0] * scale - margin)), int((columns[-1] + 1) * scale + margin)
    bottom, right = min(height, bottom), min(width, right)
    light = mean_light(rgb[top:bottom, left:right])
    x, y = (
        ((np.arange(*part) + 0.5) / scale - 0.5).astype(np.float32)
        for part in ((left, right), (top, bottom))
    )
    map_x, map_y = np.meshgrid(x, y)
    local = cv2.remap(paper, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    full = cv2.GaussianBlur(light / np.maximum(local, 1e-3), (0, 0), 0.8).astype(np.float32)
    near = cv2.dilate(found.astype(np.uint8), np.ones((3, 3), np.uint8))
    core = cv2.erode(found.astype(np.uint8), np.ones((3, 3), np.uint8))
    ring = (near > 0) & (core == 0)
    level = 0.5 * (float(np.median(share[core > 0])) + float(np.median(share[near == 0])))
    level = level if ring.any() else 0.5
    allowed = cv2.remap(near, map_x, map_y, cv2.INTER_NEAREST)
    sure = cv2.remap(core, map_x, map_y, cv2.INTER_NEAREST)
    dark = (((full < level) & (allowed > 0)) | (sure > 0)).astype(np.uint8)
    dark = _with_glints(dark, full, 2 * round(GLINT_PX * scale / 4) + 1)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(dark, connectivity=4)
    label = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    corner = np.array([left, top], float)
    return region_of(np.asarray(labels, np.int32), label), _Light(share=full, corner=corner)


def _snapped(share: Field, line: Points) -> tuple[Points, NDArray[np.float64], NDArray[np.bool_]]:
    """Return a rough outline moved onto the steepest change of light, slopes, and stray points."""
    outward = ring_normals(line, reach=5)
    across = np.arange(OUTER_PX, -INNER_PX - STEP_PX, -STEP_PX)  # from the paper inward
    places = line[:, None, :] + across[None, :, None] * outward[:, None, :]
    profile = smoothed_ring(sampled(share, places), 3)
    fall = (profile[:, :-2] - profile[:, 2:]) / (2.0 * STEP_PX)
    sharp = fall - 0.5 * (_shifted(fall, SHARP_PX) + _shifted(fall, -SHARP_PX))
    usual = median_along(sharp.max(axis=1))
    bare = sharp[:, : round(BARE_PX / STEP_PX)]
    grain = float(np.median(np.abs(bare - np.median(bare)))) / 0.6745
    steep = sharp >= np.maximum(LEAST_STEP * usual[:, None], GRAINS * grain)
    peak = np.zeros_like(steep)
    peak[:, 1:-1] = (fall[:, 1:-1] >= fall[:, :-2]) & (fall[:, 1:-1] > fall[:, 2:])
    first = np.argmax(steep & peak, axis=1)
    none = ~(steep & peak).any(axis=1)
    index = np.clip(first, 1, fall.shape[1] - 2)
    row = np.arange(len(line))
    before, here, after = (fall[row, index + k] for k in (-1, 0, 1))
    bend = np.minimum(before - 2.0 * here + after, -1e-9)
    move = across[index + 1] - STEP_PX * np.clip(0.5 * (before - after) / bend, -0.5, 0.5)
    stray = none | (np.abs(move - median_along(move, reach=5, step=1)) > STRAY_PX)
    stray = _closed_up(stray)
    move = np.where(stray, median_along(move), move)
    return line + move[:, None] * outward, here, stray


def _shifted(profile: NDArray[np.float64], by_px: float) -> NDArray[np.float64]:
    """Return profiles moved along themselves, their ends carried on."""
    index = np.arange(profile.shape[1]) - round(by_px / STEP_PX)
    return profile[:, np.clip(index, 0, profile.shape[1] - 1)]


def _closed_up(flags: NDArray[np.bool_], reach: int = 4) -> NDArray[np.bool_]:
    """Return flags along a ring with short pauses between them filled."""
    ring = np.concatenate([flags[-2 * reach :], flags, flags[: 2 * reach]]).astype(np.uint8)
    kernel = np.ones((1, 2 * reach + 1), np.uint8)
    return cv2.morphologyEx(ring[None], cv2.MORPH_CLOSE, kernel)[0, 2 * reach : -2 * reach] > 0
