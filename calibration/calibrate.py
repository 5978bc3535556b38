"""From a photo and what is known about the sheet to a map from pixels to millimetres."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.adjustment import TILT_RAD, Adjusted, adjust
from calibration.desk import Asked, Desk
from calibration.errors import PhotoError
from calibration.found import FoundReference, found_references
from calibration.ink import Ink
from calibration.matching import MatchedLine, match_lines, match_rectangle
from calibration.photo import Photo
from calibration.references import (
    LineReference,
    RectangleReference,
    Reference,
)
from calibration.seen import FrameSeen, LineSeen, SheetSeen
from calibration.sheet_edges import find_sheet_edges
from calibration.sheet_map import SheetMap
from calibration.sheets import given_sheets, guessed_sheet, holds
from calibration.strokes import find_strokes
from geometry.errors import Cancelled

Points = NDArray[np.float64]

__all__ = ["Calibration", "FoundReference", "calibrate"]

HEIGHT_KNOWN = 0.06  # deviation of the focal length's logarithm at which a height is stated
DISAGREE = 0.04  # of a length; no paper and no ruler is that wrong, so something else is
CURLED = 600.0  # squared deviations: the edges lie 0.3 mm off straight lines on average
STEEP_DEG = 25.0
EITHER_WAY = 6.0  # squared deviations: less than that speaks for neither way round


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Calibration:
    """The map of a photo and what it rests on.

    Parameters
    ----------
    map : SheetMap
    found : tuple of FoundReference
        In the order they were given; a recognised sheet comes last.
    tilt_deg : float
        Between the camera's axis and the sheet's normal.
    tilt_known : bool
        False if nothing showed the tilt, so that 0 was assumed.
    height_mm : float or None
        Of the lens over the sheet; None if the focal length is not known well enough.
    notes : tuple of str
        Sentences for the maker.
    """

    map: SheetMap
    found: tuple[FoundReference, ...]
    tilt_deg: float
    tilt_known: bool
    height_mm: float | None
    notes: tuple[str, ...]


def calibrate(
    photo: Photo,
    ink: Ink,
    references: Sequence[Reference],
    *,
    recognise_sheet: bool = True,
    progress: Callable[[float], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Calibration:
    """Return the map that agrees best with all references.

    Parameters
    ----------
    photo : Photo
    ink : Ink
        Of the same photo.
    references : sequence of Reference
        At least one; at most one sheet and one rectangle.
    recognise_sheet : bool
        Whether the sheet's edges may be used although its size was not given.
    progress, stop : callable, optional
        Told the share done, 0 to 1; asked whether to stop.

    Raises
    ------
    InputError
        If the references cannot be used together.
    PhotoError
        If a reference is not found, or two contradict each other.
    Cancelled
        If `stop` said so.
    """
    asked = Asked.sorted_out(references)
    tell = _teller(progress, stop)
    tell(0.0)
    edges = find_sheet_edges(photo) if asked.sheet is not None or recognise_sheet else None
    tell(0.3)
    candidates = find_strokes(photo, ink) if asked.needs_strokes else ()
    tell(0.6)
    desk = Desk(photo=photo, ink=ink, asked=asked, edges=edges, candidates=candidates)
    answer = _calibrated(desk)
    tell(1.0)
    return answer


def _calibrated(desk: Desk) -> Calibration:
    """Return the calibration with the sheet the way round that agrees best with all the rest."""
    notes: list[str] = []
    ways = given_sheets(desk, notes)
    if not ways:
        return _by_sheet(desk, None, None, notes)[0]
    answers: list[tuple[Calibration, float]] = []
    refusals: list[PhotoError] = []
    for sheet, alone in ways:
        try:
            answers.append(_by_sheet(desk, sheet, alone, list(notes)))
        except PhotoError as error:
            refusals.append(error)
    if not answers:
        raise refusals[0]
    answers.sort(key=lambda answer: answer[1])
    if len(answers) > 1 and answers[1][1] < answers[0][1] + EITHER_WAY:
        raise PhotoError(
            "the picture cuts the sheet off, so that it does not show which way round it lies.",
            where="Sheet",
            remedy="Give a drawn line's length too, or photograph all four edges.",
        )
    return answers[0][0]


def _by_sheet(
    desk: Desk, sheet: SheetSeen | None, sheet_only: Adjusted | None, notes: list[str]
) -> tuple[Calibration, float]:
    """Return the calibration with a given sheet one way round, or without, and its cost."""
    asked = desk.asked
    rough = None if sheet_only is None else sheet_only.map
    frame = None
    if asked.rectangle is not None:
        frame = _frame(desk, asked.rectangle, rough)
        if rough is None:
            rough = adjust(desk.seen(rectangle=frame)).map
    matched = match_lines(desk.photo, desk.ink, asked.lines, desk.candidates, rough)
    lines = tuple(line.seen for line in matched)
    if sheet is not None and not _on_it(sheet, lines, frame):
        told = "What looked like the sheet's edges does not hold the reference; it is not used."
        return _by_sheet(desk, None, None, [*notes, told])
    notes += [line.note for line in matched if line.note]
    if sheet_only is not None:
        _compare(matched, frame, sheet_only.map, notes)
    paper = None
    if asked.sheet is None and desk.edges is not None and (lines or frame):
        sheet, paper = guessed_sheet(desk, desk.edges, lines, frame, notes)
    final = adjust(desk.seen(lines=lines, rectangle=frame, sheet=sheet), thorough=True)
    found = found_references(asked.all, matched, frame, sheet, paper, final)
    shaped = sheet is not None or frame is not None
    notes += _remarks(desk, final, shaped, found)
    calibration = Calibration(
        map=final.map,
        found=found,
        tilt_deg=final.map.tilt_deg,
        tilt_known=shaped,
        height_mm=final.map.lens_mm[2] if final.focal_sigma < HEIGHT_KNOWN else None,
        notes=tuple(notes),
    )
    return calibration, final.cost


def _on_it(sheet: SheetSeen, lines: tuple[LineSeen, ...], frame: FrameSeen | None) -> bool:
    """Return whether the drawn references lie on the sheet."""
    drawn = [line.ends_px for line in lines] + ([] if frame is None else [frame.corners_px])
    return not drawn or holds(sheet.edges, np.vstack(drawn))


def _frame(desk: Desk, asked: RectangleReference, rough: SheetMap | None) -> FrameSeen:
    """Return the drawn rectangle with its sides the way round that fits best."""
    corners = match_rectangle(desk.ink, asked, desk.candidates, rough)
    placed = corners if rough is None else rough.to_mm(corners)
    along = math.dist(placed[0], placed[1]) + math.dist(placed[3], placed[2])
    up = math.dist(placed[1], placed[2]) + math.dist(placed[0], placed[3])
    long, short = sorted((asked.width_mm, asked.height_mm), reverse=True)
    width, height = (long, short) if along >= up else (short, long)
    return FrameSeen(corners_px=corners, width_mm=width, height_mm=height)


def _compare(
    matched: tuple[MatchedLine, ...], frame: FrameSeen | None, by_sheet: SheetMap, notes: list[str]
) -> None:
    """Refuse, or remark on, drawn references that the sheet's own size contradicts."""
    lengths = [(f"line of {m.reference.length_mm:g} mm", m.seen) for m in matched]
    if frame is not None:
        bottom = LineSeen(ends_px=frame.corners_px[:2], length_mm=frame.width_mm, sigma_mm=0.5)
        lengths.append((f"rectangle's side of {frame.width_mm:g} mm", bottom))
    for what, line in lengths:
        ends = by_sheet.to_mm(line.ends_px)
        length = math.dist(ends[0], ends[1])
        off = abs(length - line.length_mm)
        sigma_mm = math.hypot(line.sigma_mm, by_sheet.length_sigma_mm(line.ends_px))
        if off > DISAGREE * line.length_mm + 3.0 * sigma_mm:
            raise PhotoError(
                f"by the sheet's size the {what} is {length:.1f} mm long.",
                where="Reference",
                remedy="Check the length and the sheet's size, or leave one of them out.",
            )
        if off > 3.0 * math.hypot(sigma_mm, 0.003 * line.length_mm):
            notes.append(
                f"By the sheet's size the {what} is {length:.1f} mm long; "
                "check both, or leave one out."
            )


def _remarks(
    desk: Desk, final: Adjusted, shaped: bool, found: tuple[FoundReference, ...]
) -> list[str]:
    """Return what the maker should know about how far the map can be trusted."""
    remarks = []
    if not shaped:
        rows, columns = np.nonzero(desk.ink.sheet[::16, ::16])
        region = np.column_stack([columns, rows])[:: max(1, len(rows) // 400)] * 16.0
        worst = 2.0 * float(np.quantile(final.map.sigma_mm(region), 0.95)) if len(region) else 0.0
        remarks.append(
            "One line shows no tilt: the photo is taken to be from straight above, give or take "
            f"{math.degrees(TILT_RAD):.0f}°, which can cost up to {worst:.1f} mm at the far end "
            "of the sheet. Tell the sheet's size."
        )
    if final.cost > CURLED:
        remarks.append(
            "The references do not agree well with a flat sheet; lay it flat and photograph again."
        )
    if final.map.tilt_deg > STEEP_DEG:
        remarks.append(
            f"The photo is tilted by {final.map.tilt_deg:.0f}°; one from straight above is better."
        )
    lines = [f for f in found if isinstance(f.reference, LineReference)]
    if len(lines) > 1 and max(f.residual_mm for f in lines) > 1.0:
        worst_line = max(lines, key=lambda f: f.residual_mm)
        remarks.append(
            f"The {worst_line.name} measures {worst_line.measured_mm[0]:.1f} mm by the others."
        )
    return remarks


def _teller(
    progress: Callable[[float], None] | None, stop: Callable[[], bool] | None
) -> Callable[[float], None]:
    """Return the function that reports a share done, and stops if it is told to."""

    def tell(share: float) -> None:
        if stop is not None and stop():
            raise Cancelled
        if progress is not None:
            progress(share)

    return tell
