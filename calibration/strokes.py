"""Finding the drawn reference line: straight strokes among all the ink, likeliest first.

Straight runs of ink are pulled out of the cells and measured at full size.  A
reference line stands by itself: it has ticks across its ends, or nothing; no long ink goes on
from there.  The sides of a trace, the rules of the paper and the marks of a steel scale do not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.ink import Ink
from calibration.light import LIGHT
from calibration.photo import Photo
from calibration.rings import sampled
from calibration.runs import MIN_RUN, closing, patches, runs_of
from calibration.stroke_fit import Stroke, fit_stroke

Points = NDArray[np.float64]

GOOD = 0.0  # the score above which a stroke may be the reference


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A straight stroke and how likely it is the drawn reference.

    Parameters
    ----------
    stroke : Stroke
    joined : (bool, bool)
        Whether long ink other than the stroke goes on from each end.
    score : float
        Higher is likelier; below `GOOD` it is something else.
    """

    stroke: Stroke
    joined: tuple[bool, bool]
    score: float


def find_strokes(
    photo: Photo, ink: Ink, *, apart: bool = False, closed: bool = False
) -> tuple[Candidate, ...]:
    """Return the straight strokes of a sheet, likeliest reference first.

    Parameters
    ----------
    photo : Photo
    ink : Ink
        Of the same photo.
    apart : bool
        Whether only a line that stands apart is asked for: strokes that other ink goes on from at
        both ends, which never score `GOOD`, are then left out.
    closed : bool
        Whether only lines that close to a figure are asked for: of the strokes that other ink
        goes on from at both ends, those that meet no others there are then left out.
    """
    strokes: list[tuple[Stroke, tuple[bool, bool]]] = []
    shades: list[float] = []
    for patch in patches(ink.mask.view(np.uint8)):
        runs = runs_of(patch, MIN_RUN * max(ink.mask.shape))
        sides = closing(runs) if closed else []
        for run in runs:
            ends = (run.ends + 0.5) * ink.cell_px - 0.5
            width_px = max(1.5, run.width * ink.cell_px)
            if all(run.joined) and (apart or (closed and run not in sides)):
                shades.append(_shade(ink, ends, width_px))
                continue
            stroke = fit_stroke(ink.darkness, ends, width_px)
            if stroke is not None and not _known(stroke, [other for other, _ in strokes]):
                strokes.append((stroke, run.joined))
    if not strokes:
        return ()
    usual = float(np.quantile([*(s.darkness for s, _ in strokes), *shades], 0.75))
    found = [
        Candidate(stroke=s, joined=j, score=_marks(s, j, usual) + _surroundings(photo, ink, s))
        for s, j in strokes
    ]
    return tuple(sorted(found, key=lambda c: -c.score))


def _shade(ink: Ink, ends_px: Points, width_px: float) -> float:
    """Return roughly how dark a stroke between two places of the photo is."""
    a, b = ink.darkness.own(ends_px)
    across = np.array([a[1] - b[1], b[0] - a[0]]) / math.dist(a, b)
    reach = width_px / ink.darkness.pitch
    ways = a + np.linspace(0.1, 0.9, 40)[:, None, None] * (b - a)
    places = ways + np.linspace(-reach, reach, 13)[None, :, None] * across
    field = ink.darkness.along(np.array([a, b]), reach)
    return float(np.median(sampled(field, places).max(axis=1)))


def _known(stroke: Stroke, others: list[Stroke]) -> bool:
    """Return whether a stroke is another one found again, or a part of it."""
    ends = np.array(stroke.ends_px)
    for other in others:
        a, b = np.array(other.ends_px)
        length = math.dist(a, b)
        along = (b - a) / length
        way = (ends - a) @ along
        across = (ends - a) @ np.array([-along[1], along[0]])
        limit = other.width_px + 2.0
        if (np.abs(across) < limit).all() and (way > -limit).all() and (way < length + limit).all():
            return True
    return False


def _marks(stroke: Stroke, joined: tuple[bool, bool], usual: float) -> float:
    """Return how likely a stroke is a drawn reference by what it looks like itself.

    Ticks at both ends are the surest sign; ink that goes on from an end makes it a side of
    something; a hand without a straightedge, faint rules and broken lines speak against it.
    """
    ends = 0.0
    for tick, far in zip(stroke.ticks, joined, strict=True):
        if far:
            ends += -0.4 if tick else -1.2
        else:
            ends += 1.5 if tick else 0.3
    both = 1.0 if all(stroke.ticks) and not any(joined) else 0.0
    rough = stroke.rough_px / float(np.clip(stroke.width_px, 3.0, 6.0))
    wavy = -min(3.0, 25.0 * max(0.0, rough - 0.08))
    faint = -3.0 * max(0.0, 0.75 - stroke.darkness / max(usual, 1e-6))
    broken = -4.0 * max(0.0, 0.9 - stroke.covered)
    return ends + both + wavy + faint + broken


def _surroundings(photo: Photo, ink: Ink, stroke: Stroke) -> float:
    """Return what a stroke's surroundings add: length for it, crowding and unlike sides against.

    A pen's line has the same paper on both sides; the edge of a steel scale, a shadow or a
    crease has not.
    """
    length = 0.4 * math.log2(max(stroke.length_px, 1.0) / (0.1 * max(photo.rgb.shape[:2])))
    crowded = -3.0 * max(0.0, _crowd(ink, stroke) - 0.25)
    unlike = -8.0 * max(0.0, _unlike_sides(photo, stroke) - 0.08)
    return min(length, 0.6) + crowded + max(unlike, -4.0)


def _unlike_sides(photo: Photo, stroke: Stroke) -> float:
    """Return how much darker one side of a stroke is than the other, 0 (alike) to 1."""
    a, b = np.array(stroke.ends_px)
    across = np.array([a[1] - b[1], b[0] - a[0]]) / stroke.length_px
    ways = a + np.linspace(0.04, 0.96, 150)[:, None, None] * (b - a)
    depth = np.linspace(1.5 * stroke.width_px + 2.0, 3.0 * stroke.width_px + 4.0, 6)
    sides = []
    for sign in (1.0, -1.0):
        places = ways + sign * depth[None, :, None] * across
        low = np.maximum(np.floor(places.min(axis=(0, 1))).astype(int) - 1, 0)
        high = np.ceil(places.max(axis=(0, 1))).astype(int) + 2
        part = photo.rgb[low[1] : high[1], low[0] : high[0], 1]
        if not part.size:
            return 1.0
        light = LIGHT[part]
        sides.append(float(np.median(sampled(light, places - low).max(axis=1))))
    return 1.0 - min(sides) / max(*sides, 1e-6)


def _crowd(ink: Ink, stroke: Stroke) -> float:
    """Return the share of a stroke's length with other ink close beside it, the busier side."""
    a, b = np.array(stroke.ends_px)
    along = (b - a) / stroke.length_px
    across = np.array([-along[1], along[0]])
    ways = np.linspace(0.06, 0.94, 200)[:, None, None] * (b - a)
    depth = np.linspace(1.5 * stroke.width_px + 2.0, 5.0 * stroke.width_px + 4.0, 12)
    shares = []
    for sign in (1.0, -1.0):
        places = np.rint(ink.cells(a + ways + sign * depth[None, :, None] * across)).astype(int)
        x = np.clip(places[..., 0], 0, ink.mask.shape[1] - 1)
        y = np.clip(places[..., 1], 0, ink.mask.shape[0] - 1)
        shares.append(float(ink.mask[y, x].any(axis=1).mean()))
    return max(shares)
