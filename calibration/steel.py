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
from calibration.light import lights
from calibration.photo import Photo
from calibration.piece import nearest
from calibration.repair import Repaired, repaired
from calibration.rings import resampled, smoothed_ring
from calibration.steel_doubt import Doubt, doubted
from calibration.steel_rim import Rim, snapped
from calibration.steel_rough import Thing

Mask = NDArray[np.bool_]
Points = NDArray[np.float64]
Field = NDArray[np.float32]

ROUGH_PX = 16.0  # of the reduced picture: how far its outline may lie outside of the rim
OUTER_PX = 11.0  # how far the rim may lie outside of it
FINE_PX = 2.5  # to either side of the outline found first
MARGIN_PX = 24  # of paper round it, of the reduced picture
HIDDEN = 0.2  # share of the rim that is not plain: more is told
MOST = 0.5  # of it: then it is refused
LOST = 0.4  # share of the rim no clearer than the steel's own markings: more is refused
CORNER = 4.0  # times the doubt of a bridge: a corner may lie beyond it
BRIDGED_PX = 41  # longest stretch without an edge that is bridged straight on
BLUR_PX = 0.8  # over grain
LEAST_SIGMA_PX = 0.4  # rounded edges and contact shadows

REMEDY = (
    "Lay bright steel on darker or coloured paper, in even light, or trace it and measure the "
    "trace."
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Light:
    """Light in a box of the picture over that of bare paper there."""

    share: Field
    mean: Field  # of the channels
    corner: Points


def find_steel(
    photo: Photo,
    ink: Ink,
    thing: Thing | None,
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
    thing : Thing, optional
        What `find_thing` found there, or nothing.
    inside_px : tuple of float, optional
        Where was pointed.
    unseen : ndarray of bool, (h, w), optional
        Pixels of the photo that were filled in; an edge there is bridged, not believed.

    Returns
    -------
    Contour
        With the sides that face the lens still in it; `top_face` takes them off.

    Raises
    ------
    PhotoError
        If no steel is seen on the sheet or where was pointed, or too little of its rim.
    """
    if thing is None:
        raise _no_steel(inside_px)
    light = _light(photo, thing)
    rough = (_outline(thing.filled) + 0.5) / thing.scale - 0.5 - light.corner
    line = resampled(smoothed_ring(resampled(rough, 1.0), 7), 1.0)
    rim = snapped(light.share, line, outer_px=OUTER_PX, inner_px=ROUGH_PX / thing.scale)
    bad = _short(rim.unseen) | _within(unseen, rim.points_px + light.corner)
    line = resampled(smoothed_ring(repaired(rim.points_px, bad, bend=False).points_px, 5), 1.0)
    missed = rim.unseen[nearest(line, rim.points_px)]
    rim = snapped(light.share, line, outer_px=FINE_PX, inner_px=FINE_PX, grain=rim.grain)
    bad = _short(rim.unseen) | _within(unseen, rim.points_px + light.corner)
    doubt = doubted(rim, light.share, light.mean, missed)
    _require_seen(doubt)
    mended = repaired(rim.points_px, bad, bend=False)
    return Contour(
        outer_px=mended.points_px + light.corner,
        holes_px=(),
        bridges_px=(),
        sigma_px=_sigma_px(rim, mended, doubt, missed, ink.noise),
        hole_sigma_px=(),
        notes=_notes(doubt),
    )


def _sigma_px(rim: Rim, mended: Repaired, doubt: Doubt, missed: Mask, noise: float) -> Points:
    """Return one standard deviation across each point of a rim, bridges over bad places too."""
    near, bridge = mended.source.copy(), mended.source < 0
    if bridge.any():
        near[bridge] = nearest(mended.points_px[bridge], rim.points_px)
    grain = np.hypot(LEAST_SIGMA_PX, noise / np.maximum(rim.slope, 1e-3))
    plain = np.where(rim.unseen, LEAST_SIGMA_PX, grain)[near]
    beyond = np.where(~bridge | missed[near], doubt.sigma_px[near], 0.0)
    return np.asarray(np.hypot(plain, np.maximum(beyond, CORNER * mended.doubt_px)), float)


def _notes(doubt: Doubt) -> tuple[str, ...]:
    notes = []
    if doubt.unseen >= HIDDEN:
        notes.append(
            f"{100 * doubt.unseen:.0f} % of the steel's rim is not seen against the paper, as "
            "bright there as the steel or in deep shadow: see it in the picture, and do not trust "
            "it there. Lay the steel on paper of another brightness, in even light."
        )
    if doubt.shaded >= HIDDEN:
        notes.append(
            f"Beside {100 * doubt.shaded:.0f} % of the steel's rim lies a shadow as dark as the "
            "steel's own side: the edge may lie farther out there. Light it more evenly."
        )
    return tuple(notes)


def _no_steel(inside_px: tuple[float, float] | None) -> PhotoError:
    if inside_px is None:
        return PhotoError(
            "no steel is seen on the sheet.",
            where="Steel",
            remedy="Lay it on plain white paper in even light, or point at it with --inside X,Y.",
        )
    return PhotoError(
        f"no steel is seen at the pixel {inside_px[0]:g},{inside_px[1]:g}: that is bare paper, or "
        "as bright as it.",
        where="Steel",
        remedy="Point at the middle of the steel, or leave the place out to take the largest thing "
        "on the sheet.",
    )


def _require_seen(doubt: Doubt) -> None:
    """Raise if the rim that was found may be another line for the most part."""
    if doubt.lost > LOST:
        raise PhotoError(
            f"{100 * doubt.lost:.0f} % of the steel's rim is no clearer than the markings on the "
            "steel itself: its edge cannot be told from them.",
            where="Steel",
            remedy=REMEDY,
        )
    if doubt.unseen > MOST:
        raise PhotoError(
            f"{100 * doubt.unseen:.0f} % of the steel's rim is not seen against the paper.",
            where="Steel",
            remedy=REMEDY,
        )


def _within(mask: Mask | None, points_px: Points) -> Mask:
    """Return which places of the photo a mask holds."""
    if mask is None:
        return np.zeros(len(points_px), bool)
    x, y = np.rint(points_px).astype(np.intp).T
    height, width = mask.shape
    return np.asarray(mask[np.clip(y, 0, height - 1), np.clip(x, 0, width - 1)], bool)


def _short(unseen: Mask) -> Mask:
    """Return flags along a ring of stretches that are short enough to bridge straight on."""
    opened = cv2.morphologyEx(
        np.tile(unseen, 2).astype(np.uint8)[None],
        cv2.MORPH_OPEN,
        np.ones((1, BRIDGED_PX), np.uint8),
    )[0]
    count = len(unseen)
    long = (opened[:count] | opened[count:]) > 0
    return np.asarray(unseen & ~long, bool)


def _outline(filled: Mask) -> Points:
    outlines, _ = cv2.findContours(
        filled.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE
    )
    return np.asarray(max(outlines, key=len).reshape(-1, 2), np.float64)


def _light(photo: Photo, thing: Thing) -> _Light:
    """Return the light round a thing at full size, over that of the paper, in a box.

    Channels weigh by how far the thing is from the paper in them, all alike where it is darker
    in each: on a brown paper grey steel is darker in red and brighter in blue.
    """
    rows, columns = (np.flatnonzero(thing.filled.any(axis=axis)) for axis in (1, 0))
    left, top = (int(max(0, (each[0] - MARGIN_PX) / thing.scale)) for each in (columns, rows))
    right, bottom = (int((each[-1] + MARGIN_PX) / thing.scale) + 1 for each in (columns, rows))
    rgb = photo.rgb[top:bottom, left:right]
    paper = thing.paper.within((left, top, *rgb.shape[1::-1]), photo.width_px)
    light = lights(rgb)

    def shares(weights: NDArray[np.float64]) -> Field:
        each = (weights / thing.paper.colour).astype(np.float32)[None]
        share = cv2.transform(light, each) / np.maximum(paper, 1e-3)
        return np.asarray(cv2.GaussianBlur(share, (0, 0), BLUR_PX), np.float32)

    share = shares(thing.weights)
    mean = share if np.ptp(thing.weights) == 0.0 else shares(np.full(3, 1 / 3))
    return _Light(share=share, mean=mean, corner=np.array([left, top], float))
