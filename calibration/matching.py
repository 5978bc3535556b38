"""Which stroke is which reference: asked lengths and rectangles against the strokes found."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.errors import PhotoError
from calibration.ink import Ink
from calibration.photo import Photo
from calibration.profiles import crossing, line_through
from calibration.references import LineReference, RectangleReference
from calibration.seen import RULED_END_MM, LineSeen
from calibration.sheet_edges import from_lower_left
from calibration.sheet_map import SheetMap
from calibration.stroke_fit import Stroke, fit_stroke
from calibration.strokes import GOOD, Candidate

Points = NDArray[np.float64]

MAX_CANDIDATES = 8
RATIO = 0.06  # of lengths in pixels: what tilt and lens do to them
TRUE_RATIO = 0.02  # of lengths taken through a map
POINTED_PX = 2.0  # how well a person points at an end, in a twelve-megapixel picture
SNAP_PART = 0.04  # of the pointed length within which an end is taken to be the stroke's
MIN_LINE_PX = 50  # one pixel of error is then 2 %
RIM_PX = 6.0  # of the picture: a stroke that ends so close to it goes on beyond
RECTANGLE_ROUGH_PX = 1.5  # sides drawn along a straightedge are smoother


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MatchedLine:
    """A reference line and where it is in the picture."""

    reference: LineReference
    seen: LineSeen
    note: str = ""


def match_lines(
    photo: Photo,
    ink: Ink,
    references: tuple[LineReference, ...],
    candidates: tuple[Candidate, ...],
    sheet_map: SheetMap | None,
) -> tuple[MatchedLine, ...]:
    """Return where each line reference is, in the order they were given.

    Raises
    ------
    PhotoError
        If there are fewer likely strokes than lines, or a line is too short.
    """
    pointed = {k: _pointed(photo, ink, r) for k, r in enumerate(references) if r.ends_px}
    taken = [line.seen.ends_px for line in pointed.values()]
    free = [c for c in candidates if not any(_same(c.stroke, ends) for ends in taken)]
    asked = [(k, r) for k, r in enumerate(references) if not r.ends_px]
    found = _assigned(asked, free, sheet_map)
    lines = {**pointed, **found}
    for line in lines.values():
        _require_length(line)
    for line in found.values():
        _require_whole(line, photo)
    return tuple(lines[k] for k in range(len(references)))


def _assigned(
    asked: list[tuple[int, LineReference]], free: list[Candidate], sheet_map: SheetMap | None
) -> dict[int, MatchedLine]:
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
    best = max(
        itertools.permutations(likely, len(asked)),
        key=lambda pick: _fitness(
            [free[k].score for k in pick], [lengths[k] for k in pick], wanted, known
        ),
    )
    note = "" if known or len(asked) > 1 else _doubt(free, likely, best[0])
    return {
        k: MatchedLine(
            reference=reference,
            seen=LineSeen(
                ends_px=np.array(free[pick].stroke.ends_px),
                length_mm=reference.length_mm,
                sigma_mm=_ruled_sigma_mm(free[pick].stroke, reference.length_mm),
            ),
            note=note,
        )
        for (k, reference), pick in zip(asked, best, strict=True)
    }


def _ruled_sigma_mm(stroke: Stroke, length_mm: float) -> float:
    """Return the deviation of a ruled line's length, mm.

    Without a tick nobody knows whether the pen's middle or its rim was set to the ruler's mark.
    """
    half_mm = 0.5 * stroke.width_px * length_mm / stroke.length_px
    ends = [RULED_END_MM if tick else math.hypot(RULED_END_MM, half_mm) for tick in stroke.ticks]
    return math.hypot(*ends)


def _fitness(scores: list[float], lengths: list[float], wanted: list[float], known: bool) -> float:
    """Return how well picked strokes fit the asked lengths: their marks less their misfit."""
    logs = np.log(np.asarray(lengths) / np.asarray(wanted))
    if not known:
        logs = logs - logs.mean()
    misfit = np.minimum(np.abs(logs) / (TRUE_RATIO if known else RATIO), 6.0)
    return float(sum(scores) - 0.5 * misfit.sum())


def _doubt(free: list[Candidate], likely: list[int], best: int) -> str:
    """Return a sentence if another stroke could as well be the line that was meant."""
    others = [k for k in likely if k != best and free[k].score > free[best].score - 0.8]
    if not others:
        return ""
    (ax, ay), (bx, by) = free[others[0]].stroke.ends_px
    return (
        f"Another line, from {ax:.0f},{ay:.0f} to {bx:.0f},{by:.0f}, could be the reference too; "
        "point at the ends of the right one with --line X1,Y1,X2,Y2 if this is not it."
    )


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


def _require_length(line: MatchedLine) -> None:
    length_px = math.dist(line.seen.ends_px[0], line.seen.ends_px[1])
    if length_px < MIN_LINE_PX:
        raise PhotoError(
            f"the reference line is {length_px:.0f} px long, {MIN_LINE_PX} needed.",
            where="Reference line",
            remedy="Photograph closer, or draw a longer line.",
        )


def _require_whole(line: MatchedLine, photo: Photo) -> None:
    ends = line.seen.ends_px
    if (ends < RIM_PX).any() or (
        ends > (photo.width_px - 1 - RIM_PX, photo.height_px - 1 - RIM_PX)
    ).any():
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


def _same(stroke: Stroke, ends_px: Points) -> bool:
    ends = np.array(stroke.ends_px)
    limit = stroke.width_px + 3.0
    return bool(np.abs(ends - ends_px).max() < limit or np.abs(ends[::-1] - ends_px).max() < limit)


def _pointed(photo: Photo, ink: Ink, reference: LineReference) -> MatchedLine:
    """Return a line whose ends were pointed at, drawn onto the ink's ends if they are near."""
    assert reference.ends_px is not None
    ends = np.array(reference.ends_px)
    if (ends < -0.5).any() or (ends > (photo.width_px - 0.5, photo.height_px - 0.5)).any():
        raise PhotoError(
            "an end of the reference line lies outside the picture "
            f"({photo.width_px} x {photo.height_px} px).",
            where="Reference line",
            remedy="Give both ends in pixels of the upright picture.",
        )
    stroke = snapped_stroke(ink, ends)
    note = ""
    sigma_mm = math.sqrt(2.0) * RULED_END_MM
    if stroke is None:
        note = "There is no ink at both pointed ends of the line; they are taken as pointed."
        mm_per_px = reference.length_mm / math.dist(ends[0], ends[1])
        blunt_px = POINTED_PX * max(1.0, max(ink.mask.shape) / 4000.0)
        sigma_mm = math.hypot(sigma_mm, math.sqrt(2.0) * blunt_px * mm_per_px)
    else:
        ends = np.array(stroke.ends_px)
        sigma_mm = _ruled_sigma_mm(stroke, reference.length_mm)
    seen = LineSeen(ends_px=ends, length_mm=reference.length_mm, sigma_mm=sigma_mm)
    return MatchedLine(reference=reference, seen=seen, note=note)


def snapped_stroke(ink: Ink, ends_px: Points) -> Stroke | None:
    """Return the stroke that runs between two pointed places, None if there is none."""
    reach = max(6.0, SNAP_PART * math.dist(ends_px[0], ends_px[1]))
    sharp = max(1.0, max(ink.mask.shape) / 4000.0)
    best: Stroke | None = None
    for width in (3.0, 6.0, 12.0):
        stroke = fit_stroke(ink.darkness, ends_px, width * sharp)
        if stroke is None or stroke.covered < 0.6:
            continue
        if np.hypot(*(np.array(stroke.ends_px) - ends_px).T).max() > reach:
            continue
        if best is None or stroke.covered > best.covered + 0.02:
            best = stroke
    return best


def match_rectangle(
    ink: Ink,
    reference: RectangleReference,
    candidates: tuple[Candidate, ...],
    shape: SheetMap | None,
) -> Points:
    """Return the four corners (ll, lr, ur, ul as seen) of a drawn rectangle, px.

    Raises
    ------
    PhotoError
        If no four strokes close to a rectangle.
    """
    if reference.corners_px is not None:
        corners = from_lower_left(np.array(reference.corners_px))
        sides = [snapped_stroke(ink, corners[[k, (k + 1) % 4]]) for k in range(4)]
        whole = [side for side in sides if side is not None]
        return _corners_of(whole) if len(whole) == 4 else corners
    strokes = [c.stroke for c in candidates if c.stroke.rough_px < RECTANGLE_ROUGH_PX][:14]
    found: list[tuple[float, Points]] = []
    for four in itertools.combinations(strokes, 4):
        loop = _loop(four)
        if loop is not None:
            misfit = _shape_misfit(loop, reference, shape)
            found.append((misfit + 0.2 * sum(s.rough_px / s.width_px for s in four), loop))
    if not found or min(f[0] for f in found) > 0.25:
        raise PhotoError(
            "no drawn rectangle of that shape found.",
            where="Reference rectangle",
            remedy="Draw its four sides with a straightedge so that they meet at the corners.",
        )
    return min(found, key=lambda f: f[0])[1]


def _loop(four: tuple[Stroke, ...]) -> Points | None:
    """Return the corners of four strokes that close end to end, None if they do not."""
    first, rest = four[0], four[1:]
    for a, b, c in itertools.permutations(rest):
        if four.index(a) > four.index(c):
            continue  # the same loop the other way round
        sides = [first, a, b, c]
        if all(_meet(sides[k], sides[(k + 1) % 4]) for k in range(4)):
            return _corners_of(sides)
    return None


def _meet(one: Stroke, other: Stroke) -> bool:
    gaps = [math.dist(p, q) for p in one.ends_px for q in other.ends_px]
    return min(gaps) < 2.0 * (one.width_px + other.width_px) + 4.0


def _corners_of(sides: list[Stroke]) -> Points:
    """Return the crossings of neighbouring sides' centrelines, from lower left on."""
    lines = [line_through(np.array(side.ends_px)) for side in sides]
    corners = np.array([crossing(lines[k - 1], lines[k]) for k in range(4)])
    return from_lower_left(corners)


def _shape_misfit(corners: Points, reference: RectangleReference, shape: SheetMap | None) -> float:
    """Return how far the ratio of the sides is from the asked one, as a logarithm."""
    placed = corners if shape is None else shape.to_mm(corners)
    sides = np.hypot(*(np.roll(placed, -1, axis=0) - placed).T)
    along, up = 0.5 * (sides[0] + sides[2]), 0.5 * (sides[1] + sides[3])
    asked = math.log(reference.width_mm / reference.height_mm)
    return min(abs(math.log(along / up) - asked), abs(math.log(along / up) + asked))
