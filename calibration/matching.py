"""Which stroke is which reference line: asked lengths against the strokes found."""

from __future__ import annotations

import itertools
import math

import numpy as np
from numpy.typing import NDArray

from calibration.errors import PhotoError
from calibration.ink import Ink
from calibration.matched import Matched, Rival
from calibration.photo import Photo
from calibration.references import LineReference, Place
from calibration.seen import RULED_END_MM, LineSeen
from calibration.sheet_map import SheetMap
from calibration.stroke_fit import Stroke, fit_stroke
from calibration.strokes import GOOD, Candidate

Points = NDArray[np.float64]

MAX_CANDIDATES = 8
RATIO = 0.06  # of lengths in pixels: what tilt and lens do to them
TRUE_RATIO = 0.02  # of lengths taken through a map
POINTED_PX = 2.0  # how well a person points at an end, in a twelve-megapixel picture
SNAP_PART = 0.04  # of the pointed length within which an end is taken to be the stroke's
WHOLE = 0.8  # of a pointed line must be ink; the rim of a row of dark fields is not
MIN_LINE_PX = 50  # one pixel of error is then 2 %
JOINED = 1.5  # of a stroke's marks, for each end that another one goes on from
RIVAL = 2.0  # of the marks: a stroke that is less behind may be the line
RIM_PX = 6.0  # of the picture: a stroke that ends so close to it goes on beyond


def match_lines(
    photo: Photo,
    ink: Ink,
    references: tuple[LineReference, ...],
    candidates: tuple[Candidate, ...],
    sheet_map: SheetMap | None,
) -> tuple[Matched, ...]:
    """Return where each line reference is, in the order they were given.

    Raises
    ------
    PhotoError
        If there are fewer likely strokes than lines, or a line is too short.
    """
    pointed = {k: _pointed(photo, ink, r) for k, r in enumerate(references) if r.ends_px}
    taken = [line.lines[0].ends_px for line in pointed.values()]
    free = [c for c in candidates if not any(same_stroke(c.stroke, ends) for ends in taken)]
    asked = [(k, r) for k, r in enumerate(references) if not r.ends_px]
    whole = [c for c in free if _whole(c.stroke.ends_px, photo)]
    if any(c.score > GOOD for c in whole) and len(whole) >= len(asked):
        free = whole
    found = _assigned(asked, free, sheet_map)
    lines = {**pointed, **found}
    for line in lines.values():
        require_length(line.lines[0])
    for line in found.values():
        _require_whole(line, photo)
    return tuple(lines[k] for k in range(len(references)))


def _assigned(
    asked: list[tuple[int, LineReference]], free: list[Candidate], sheet_map: SheetMap | None
) -> dict[int, Matched]:
    """Return the likeliest stroke for each asked line, all of them together."""
    if not asked:
        return {}
    lengths = [_length(c.stroke, sheet_map) for c in free]
    floor = GOOD if sheet_map is None else GOOD - 1.5
    likely = [k for k in range(len(free)) if free[k].score > floor][:MAX_CANDIDATES]
    if len(likely) < len(asked):
        raise _not_found(len(asked), len(likely))
    wanted = [r.length_mm for _, r in asked]
    known = sheet_map is not None
    marks = {k: free[k].score if known else _standing(free[k], free) for k in likely}
    best = max(
        itertools.permutations(likely, len(asked)),
        key=lambda pick: _fitness(
            [marks[k] for k in pick], [lengths[k] for k in pick], wanted, known
        ),
    )
    alone = not known and len(asked) == 1
    rivals = _rivals(free, marks, best[0], wanted[0]) if alone else ()
    return {
        k: Matched(
            reference=reference,
            lines=(ruled(free[pick].stroke, reference.length_mm),),
            rivals=rivals,
        )
        for (k, reference), pick in zip(asked, best, strict=True)
    }


def _rivals(
    free: list[Candidate], marks: dict[int, float], best: int, length_mm: float
) -> tuple[Rival, ...]:
    """Return the strokes that are hardly less likely than the best to be the one line."""
    behind = {k: marks[best] - marks[k] for k in marks if k != best}
    near = sorted((k for k in behind if behind[k] < RIVAL), key=lambda k: behind[k])
    return tuple(Rival(line=ruled(free[k].stroke, length_mm), behind=behind[k]) for k in near)


def _standing(one: Candidate, others: list[Candidate]) -> float:
    """Return a stroke's marks less what its ends lose that are corners of something drawn."""
    marks = one.score
    for end, joined in zip(one.stroke.ends_px, one.joined, strict=True):
        meets = any(
            math.dist(end, place) < 2.0 * (one.stroke.width_px + other.stroke.width_px)
            for other in others
            if other is not one
            for place in other.stroke.ends_px
        )
        marks -= JOINED * (joined or meets)
    return marks


def ruled(stroke: Stroke, length_mm: float) -> LineSeen:
    """Return a stroke as a ruled line.

    Without a tick nobody knows whether the pen's middle or its rim was set to the ruler's mark.
    """
    half_mm = 0.5 * stroke.width_px * length_mm / stroke.length_px
    ends = [RULED_END_MM if tick else math.hypot(RULED_END_MM, half_mm) for tick in stroke.ticks]
    return LineSeen(
        ends_px=np.array(stroke.ends_px), length_mm=length_mm, sigma_mm=math.hypot(*ends)
    )


def _fitness(scores: list[float], lengths: list[float], wanted: list[float], known: bool) -> float:
    """Return how well picked strokes fit the asked lengths: their marks less their misfit."""
    logs = np.log(np.asarray(lengths) / np.asarray(wanted))
    if not known:
        logs = logs - logs.mean()
    misfit = np.minimum(np.abs(logs) / (TRUE_RATIO if known else RATIO), 6.0)
    return float(sum(scores) - 0.5 * misfit.sum())


def _not_found(asked: int, likely: int) -> PhotoError:
    if asked == 1:
        message = "no reference line found."
    else:
        message = f"{asked} reference lines were asked for, {likely} found."
    return PhotoError(
        message,
        where="Reference line",
        remedy="Point at its two ends with --line X1,Y1,X2,Y2, or draw it apart from all else "
        "with a tick across each end.",
    )


def require_length(line: LineSeen) -> None:
    """Refuse a line that is too short in the picture to give a scale."""
    length_px = math.dist(line.ends_px[0], line.ends_px[1])
    if length_px < MIN_LINE_PX:
        raise PhotoError(
            f"the reference line is {length_px:.0f} px long, {MIN_LINE_PX} needed.",
            where="Reference line",
            remedy="Photograph closer, or draw a longer line.",
        )


def _whole(ends_px: Points | tuple[Place, Place], photo: Photo) -> bool:
    """Return whether a line ends within the picture."""
    ends, last = np.asarray(ends_px), np.array([photo.width_px, photo.height_px]) - 1
    return bool((ends >= RIM_PX).all() and (ends <= last - RIM_PX).all())


def _require_whole(line: Matched, photo: Photo) -> None:
    if not _whole(line.lines[0].ends_px, photo):
        raise PhotoError(
            "the reference line runs off the picture.",
            where="Reference line",
            remedy="Photograph the whole line, or point at the ends of another one.",
        )


def _length(stroke: Stroke, sheet_map: SheetMap | None) -> float:
    if sheet_map is None:
        return stroke.length_px
    ends = sheet_map.to_mm(stroke.ends_px)
    return math.dist(ends[0], ends[1])


def same_stroke(stroke: Stroke, ends_px: Points) -> bool:
    """Return whether a stroke runs between two places, either way round."""
    ends = np.array(stroke.ends_px)
    limit = stroke.width_px + 3.0
    return bool(np.abs(ends - ends_px).max() < limit or np.abs(ends[::-1] - ends_px).max() < limit)


def _pointed(photo: Photo, ink: Ink, reference: LineReference) -> Matched:
    """Return a line whose ends were pointed at, drawn onto the ink's ends if they are near."""
    assert reference.ends_px is not None
    ends = np.array(reference.ends_px)
    require_inside(photo, ends)
    seen, snapped = pointed_line(ink, ends, reference.length_mm)
    note = "There is no ink at both pointed ends of the line; they are taken as pointed."
    return Matched(reference=reference, lines=(seen,), note="" if snapped else note)


def require_inside(photo: Photo, ends_px: Points) -> None:
    """Refuse pointed ends (N, 2) that lie outside the picture."""
    if (ends_px < -0.5).any() or (ends_px > (photo.width_px - 0.5, photo.height_px - 0.5)).any():
        raise PhotoError(
            "an end of the reference line lies outside the picture "
            f"({photo.width_px} x {photo.height_px} px).",
            where="Reference line",
            remedy="Give both ends in pixels of the upright picture.",
        )


def pointed_line(ink: Ink, ends_px: Points, length_mm: float) -> tuple[LineSeen, bool]:
    """Return a line between two pointed places, and whether there was ink to draw it onto."""
    stroke = snapped_stroke(ink, ends_px)
    if stroke is not None:
        return ruled(stroke, length_mm), True
    mm_per_px = length_mm / math.dist(ends_px[0], ends_px[1])
    blunt_mm = POINTED_PX * max(1.0, ink.long_px / 4000.0) * mm_per_px
    sigma_mm = math.sqrt(2.0) * math.hypot(RULED_END_MM, blunt_mm)
    return LineSeen(ends_px=ends_px, length_mm=length_mm, sigma_mm=sigma_mm), False


def snapped_stroke(ink: Ink, ends_px: Points) -> Stroke | None:
    """Return the stroke that runs between two pointed places, None if there is none."""
    reach = max(6.0, SNAP_PART * math.dist(ends_px[0], ends_px[1]))
    sharp = max(1.0, ink.long_px / 4000.0)
    best: Stroke | None = None
    for width in (3.0, 6.0, 12.0):
        stroke = fit_stroke(ink.darkness, ends_px, width * sharp)
        if stroke is None or stroke.covered < WHOLE:
            continue
        if np.hypot(*(np.array(stroke.ends_px) - ends_px).T).max() > reach:
            continue
        if best is None or stroke.covered > best.covered + 0.02:
            best = stroke
    return best
