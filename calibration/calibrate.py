"""From a photo and what is known about the sheet to a map from pixels to millimetres."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.adjustment import Adjusted, adjust
from calibration.agreement import settled
from calibration.cores import beside
from calibration.desk import Asked, Desk
from calibration.errors import PhotoError
from calibration.found import FoundReference, found_reference, found_sheet
from calibration.ink import Ink
from calibration.mat_markers import shows_mat
from calibration.mat_marks import MatSeen
from calibration.match_all import match_all
from calibration.matched import Matched
from calibration.photo import Photo
from calibration.references import Reference, SheetReference
from calibration.rivals import singled_out
from calibration.seen import SheetSeen
from calibration.sheet_edges import SheetEdges, find_sheet_edges
from calibration.sheet_map import SheetMap
from calibration.sheets import given_sheets, guessed_sheet, on_it
from calibration.strokes import Candidate, find_strokes
from calibration.tilts import adjust_lines
from geometry.errors import Cancelled

Points = NDArray[np.float64]

__all__ = ["Calibration", "FoundReference", "calibrate"]

HEIGHT_KNOWN = 0.06  # deviation of the focal length's logarithm at which a height is stated
CURLED = 600.0  # squared deviations: the edges lie 0.3 mm off straight lines on average
STEEP_DEG = 25.0
BOW_KNOWN = 0.04  # deviation of k1; then 0.5 % of a picture's width at its corners
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
    mat: MatSeen | None = None,
    edges: Future[SheetEdges | None] | None = None,
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
        At least one; at most one sheet and one mat.
    recognise_sheet : bool
        Whether the sheet's edges may be used although its size was not given.
    mat : MatSeen, optional
        The mat, where it was found already and its printing is cleared from the photo.
    edges : Future of SheetEdges, optional
        Where the sheet's edges are looked for already.
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
    if edges is None and asked.wants_edges(recognise_sheet):
        edges = beside(find_sheet_edges, photo)
    found: tuple[Candidate, ...] = ()
    if asked.needs_strokes:
        found = find_strokes(photo, ink, apart=asked.one_line, closed=asked.only_closed)
    tell(0.6)
    seen = None if edges is None else edges.result()
    desk = Desk(photo=photo, ink=ink, asked=asked, edges=seen, candidates=found, mat=mat)
    try:
        answer = _calibrated(desk)
    except PhotoError:
        if asked.mat is None:
            _refuse_mat(desk)
        raise
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
    matched = match_all(desk, None if sheet_only is None else sheet_only.map)
    if sheet is not None and not on_it(sheet.edges, matched):
        told = "What looked like the sheet's edges does not hold the reference; it is not used."
        return _by_sheet(desk, None, None, [*notes, told])
    if sheet is None:
        matched = singled_out(desk, matched)
    notes += [one.note for one in matched if one.note]
    paper = None
    untold = asked.sheet is None and asked.mat is None
    if untold and desk.edges is not None and matched:
        sheet, paper = guessed_sheet(desk, desk.edges, matched, notes)
    if untold and paper is None:
        _refuse_mat(desk)
    agreed = settled(desk, matched, sheet)
    notes += agreed.notes
    seen = desk.seen(agreed.matched, agreed.sheet)
    final = adjust(seen, thorough=True) if seen.shaped else adjust_lines(seen)
    notes += _remarks(desk, final, seen.shaped)
    calibration = Calibration(
        map=final.map,
        found=_found(asked, matched, sheet, paper, final),
        tilt_deg=final.map.tilt_deg,
        tilt_known=seen.shaped,
        height_mm=final.map.lens_mm[2] if final.focal_sigma < HEIGHT_KNOWN else None,
        notes=tuple(notes),
    )
    return calibration, final.cost


def _refuse_mat(desk: Desk) -> None:
    """Refuse drawn references on a printed mat, whose bars would be taken for them."""
    if shows_mat(desk.photo.rgb[..., 1]):
        raise PhotoError(
            "the sheet is the printed mat, and what is printed on it is no drawn reference.",
            where="Mat",
            remedy="Tell that it is the mat, with --mat.",
        )


def _found(
    asked: Asked,
    matched: Sequence[Matched],
    sheet: SheetSeen | None,
    paper: str | None,
    final: Adjusted,
) -> tuple[FoundReference, ...]:
    """Return what was found, in the order it was asked for; what nobody asked for last."""
    found = [found_reference(one, final.map) for one in matched]
    if sheet is not None:
        seen = SheetReference(width_mm=sheet.width_mm, height_mm=sheet.height_mm)
        found.append(found_sheet(asked.sheet or seen, sheet, paper, final))
    return tuple(sorted(found, key=lambda one: _place(asked, one)))


def _place(asked: Asked, found: FoundReference) -> int:
    """Return the place of a found reference among those asked for, or the one behind them."""
    places = [k for k, one in enumerate(asked.all) if one is found.reference]
    return places[0] if places else len(asked.all)


def _remarks(desk: Desk, final: Adjusted, shaped: bool) -> list[str]:
    """Return what the maker should know about how far the map can be trusted."""
    remarks = []
    if not shaped:
        remarks.append(_about_tilt(desk, final))
    elif final.bow_sigma > BOW_KNOWN:
        worst = 2.0 * float(final.map.sigma_mm(final.map.span_px).max())
        remarks.append(
            "Nothing shows how far this lens bows straight lines, which can cost up to "
            f"{worst:.1f} mm. Show the sheet's edges or a mat, or use a phone's main lens."
        )
    if final.cost > CURLED:
        remarks.append(
            "The references do not agree well with a flat sheet; lay it flat and photograph again."
        )
    if final.map.tilt_deg > STEEP_DEG:
        remarks.append(
            f"The photo is tilted by {final.map.tilt_deg:.0f}°; one from straight above is better."
        )
    return remarks


def _about_tilt(desk: Desk, final: Adjusted) -> str:
    """Return what it costs that lines alone do not show the tilt, and what would help."""
    rows, columns = np.nonzero(desk.ink.sheet[::16, ::16])
    region = np.column_stack([columns, rows])[:: max(1, len(rows) // 100)] * 16.0
    worst = 2.0 * float(np.quantile(final.map.sigma_mm(region), 0.95)) if len(region) else 0.0
    what = "Lines alone show little of the tilt"
    if len(desk.asked.lines) == 1 and not desk.asked.crosses:
        what = "One line shows no tilt"
    tilt_deg = final.map.tilt_deg
    lean = f"lean by {tilt_deg:.0f}°" if tilt_deg > 1.0 else "look straight down"
    return (
        f"{what}: the camera is taken to {lean}, give or take {_tilt_doubt_deg(final.map):.0f}°, "
        f"which can cost up to {worst:.1f} mm at the far end of the sheet. Tell the sheet's size, "
        "and show its edges."
    )


def _tilt_doubt_deg(sheet_map: SheetMap) -> float:
    """Return two standard deviations of the tilt, each way, by the cameras there may be."""
    off = [
        weight * math.dist(numbers[:2], sheet_map.parameters[:2]) ** 2
        for weight, numbers in sheet_map.others
    ]
    return math.degrees(2.0 * math.sqrt(sum(off) / 2.0))


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
