"""From a photo and what is known about the sheet to a map from pixels to millimetres."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.adjustment import (
    TILT_RAD,
    Adjusted,
    FrameSeen,
    LineSeen,
    Seen,
    SheetSeen,
    adjust,
    start_cost,
)
from calibration.errors import PhotoError
from calibration.ink import Ink
from calibration.matching import MatchedLine, match_lines, match_rectangle
from calibration.papers import recognise_paper
from calibration.photo import Photo
from calibration.references import (
    PAPER_LABELS,
    LineReference,
    RectangleReference,
    Reference,
    SheetReference,
)
from calibration.sheet_edges import SheetEdges, find_sheet_edges
from calibration.sheet_map import SheetMap
from calibration.strokes import Candidate, find_strokes
from geometry.errors import Cancelled, InputError

Points = NDArray[np.float64]
Place = tuple[float, float]

CLEAR_SIDE = 0.5  # of each side must be seen before the edges are used unasked
HEIGHT_KNOWN = 0.06  # deviation of the focal length's logarithm at which a height is stated
DISAGREE = 0.04  # of a length; no paper and no ruler is that wrong, so something else is
STEEP_DEG = 25.0
MAX_GUESSED_TILT_DEG = 40.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundReference:
    """One reference as it was found.

    Parameters
    ----------
    reference : Reference
        What was asked for; for a recognised sheet the paper it was taken for.
    points_px : tuple of (x, y)
        Two ends of a line, or four corners from the lower left one on.
    measured_mm : tuple of float
        Its length, or width and height as seen, through the finished map.
    residual_mm : float
        The largest difference between what was measured and what was given.
    name : str
        For people: "line 100 mm", "sheet Letter".
    """

    reference: Reference
    points_px: tuple[Place, ...]
    measured_mm: tuple[float, ...]
    residual_mm: float
    name: str


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
    asked = _Asked.sorted_out(references)
    tell = _teller(progress, stop)
    tell(0.0)
    edges = find_sheet_edges(photo) if asked.sheet is not None or recognise_sheet else None
    tell(0.3)
    candidates = find_strokes(photo, ink) if asked.needs_strokes else ()
    tell(0.6)
    desk = _Desk(photo=photo, ink=ink, asked=asked, edges=edges, candidates=candidates)
    answer = _calibrated(desk)
    tell(1.0)
    return answer


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """The references by kind."""

    all: tuple[Reference, ...]
    lines: tuple[LineReference, ...]
    sheet: SheetReference | None
    rectangle: RectangleReference | None

    @classmethod
    def sorted_out(cls, references: Sequence[Reference]) -> _Asked:
        """Return the references by kind, refusing what cannot be used."""
        sheets = [r for r in references if isinstance(r, SheetReference)]
        rectangles = [r for r in references if isinstance(r, RectangleReference)]
        if not references or len(sheets) > 1 or len(rectangles) > 1:
            raise InputError(
                "no reference is given." if not references else "only one of a kind is possible.",
                where="Reference",
                remedy="Give the length of a line, the sheet's size, or a rectangle's sides.",
            )
        return cls(
            all=tuple(references),
            lines=tuple(r for r in references if isinstance(r, LineReference)),
            sheet=sheets[0] if sheets else None,
            rectangle=rectangles[0] if rectangles else None,
        )

    @property
    def needs_strokes(self) -> bool:
        """Whether any reference has to be found by itself."""
        drawn = [r.ends_px for r in self.lines]
        if self.rectangle is not None:
            drawn.append(self.rectangle.corners_px)  # type: ignore[arg-type]
        return any(place is None for place in drawn)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Desk:
    """What is on the table: the photo, what was asked, what was seen."""

    photo: Photo
    ink: Ink
    asked: _Asked
    edges: SheetEdges | None
    candidates: tuple[Candidate, ...]

    def seen(self, **what: object) -> Seen:
        """Return what the adjustment works on."""
        middle = (0.5 * (self.photo.width_px - 1), 0.5 * (self.photo.height_px - 1))
        return Seen(middle_px=middle, focal_px=self.photo.focal_px, **what)  # type: ignore[arg-type]


def _calibrated(desk: _Desk) -> Calibration:
    asked = desk.asked
    notes: list[str] = []
    sheet, sheet_only = _given_sheet(desk, notes)
    rough = None if sheet_only is None else sheet_only.map
    frame = None
    if asked.rectangle is not None:
        frame = _frame(desk, asked.rectangle, rough)
        if rough is None:
            rough = adjust(desk.seen(rectangle=frame)).map
    matched = match_lines(desk.photo, desk.ink, asked.lines, desk.candidates, rough)
    notes += [line.note for line in matched if line.note]
    lines = tuple(line.seen for line in matched)
    if sheet_only is not None:
        _compare(matched, frame, sheet_only.map, notes)
    paper = None
    if sheet is None and desk.edges is not None and (lines or frame):
        sheet, paper = _guessed_sheet(desk, desk.edges, lines, frame, notes)
    final = adjust(desk.seen(lines=lines, rectangle=frame, sheet=sheet))
    found = _found(asked, matched, frame, sheet, paper, final)
    shaped = sheet is not None or frame is not None
    notes += _remarks(desk, final, shaped, found)
    return Calibration(
        map=final.map,
        found=found,
        tilt_deg=final.map.tilt_deg,
        tilt_known=shaped,
        height_mm=final.map.lens_mm[2] if final.focal_sigma < HEIGHT_KNOWN else None,
        notes=tuple(notes),
    )


def _given_sheet(desk: _Desk, notes: list[str]) -> tuple[SheetSeen | None, Adjusted | None]:
    """Return the sheet of given size the way round that fits its edges, and the map from it."""
    asked = desk.asked.sheet
    if asked is None:
        return None, None
    if desk.edges is None:
        if len(desk.asked.all) > 1:
            notes.append(
                "The sheet's edges were not found: its size is not used. "
                "Lay it on a darker ground with all four edges in the picture."
            )
            return None, None
        raise PhotoError(
            "the sheet's edges were not found.",
            where="Sheet",
            remedy="Lay it on a darker ground with all four edges in the picture.",
        )
    return _best_way_round(desk, desk.edges, asked.width_mm, asked.height_mm)


def _best_way_round(
    desk: _Desk, edges: SheetEdges, one_mm: float, other_mm: float
) -> tuple[SheetSeen, Adjusted]:
    """Return the sheet lying or standing, whichever fits its edges, and the map from it."""
    ways = [
        SheetSeen(edges=edges, width_mm=width, height_mm=height)
        for width, height in ((one_mm, other_mm), (other_mm, one_mm))
    ]
    ways.sort(key=lambda sheet: start_cost(desk.seen(sheet=sheet)))
    if start_cost(desk.seen(sheet=ways[1])) > 9.0 * start_cost(desk.seen(sheet=ways[0])):
        del ways[1]
    fits = [(sheet, adjust(desk.seen(sheet=sheet))) for sheet in ways]
    return min(fits, key=lambda fit: fit[1].cost)


def _frame(desk: _Desk, asked: RectangleReference, rough: SheetMap | None) -> FrameSeen:
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
        if off > DISAGREE * line.length_mm + 3.0 * line.sigma_mm:
            raise PhotoError(
                f"by the sheet's size the {what} is {length:.1f} mm long.",
                where="Reference",
                remedy="Check the length and the sheet's size, or leave one of them out.",
            )
        if off > 3.0 * math.hypot(line.sigma_mm, 0.003 * line.length_mm):
            notes.append(
                f"By the sheet's size the {what} is {length:.1f} mm long; "
                "check both, or leave one out."
            )


def _guessed_sheet(
    desk: _Desk,
    edges: SheetEdges,
    lines: tuple[LineSeen, ...],
    frame: FrameSeen | None,
    notes: list[str],
) -> tuple[SheetSeen | None, str | None]:
    """Return a sheet nobody told of: a named paper if it is one, else an unknown rectangle."""
    if min(edges.seen) < CLEAR_SIDE:
        return None, None
    start = adjust(desk.seen(lines=lines[:1], rectangle=frame)).map
    corners = start.to_mm(edges.corners_px)
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    free = SheetSeen(
        edges=edges,
        width_mm=float(0.5 * (sides[0] + sides[2])),
        height_mm=float(0.5 * (sides[1] + sides[3])),
        free=True,
    )
    measured = adjust(desk.seen(lines=lines, rectangle=frame, sheet=free))
    if measured.map.tilt_deg > MAX_GUESSED_TILT_DEG:
        return None, None
    width, height = (float(v) for v in measured.sides_mm)
    known = recognise_paper(measured.sides_mm, measured.sides_covariance)
    if known is None:
        notes.append(
            f"The sheet measures {width:.0f} x {height:.0f} mm, which is no paper known here; its "
            "corners were taken as square to find the tilt. Tell its size to make that sure."
        )
        return dataclasses.replace(free, width_mm=width, height_mm=height), None
    name, (along, up) = known
    label = PAPER_LABELS[name]
    notes.append(
        f"The sheet looks like {label}; its edges took the tilt out. "
        "Tell the sheet's size if it is another."
    )
    return SheetSeen(edges=edges, width_mm=along, height_mm=up), label


def _found(
    asked: _Asked,
    matched: tuple[MatchedLine, ...],
    frame: FrameSeen | None,
    sheet: SheetSeen | None,
    paper: str | None,
    final: Adjusted,
) -> tuple[FoundReference, ...]:
    lines = iter(matched)
    found = []
    for reference in asked.all:
        if isinstance(reference, LineReference):
            found.append(_found_line(next(lines), final.map))
        elif isinstance(reference, RectangleReference) and frame is not None:
            found.append(_found_frame(reference, frame, final.map))
        elif isinstance(reference, SheetReference) and sheet is not None:
            found.append(_found_sheet(reference, sheet, paper, final))
    if asked.sheet is None and sheet is not None:
        guess = SheetReference(width_mm=sheet.width_mm, height_mm=sheet.height_mm)
        found.append(_found_sheet(guess, sheet, paper, final))
    return tuple(found)


def _found_line(line: MatchedLine, sheet_map: SheetMap) -> FoundReference:
    ends = sheet_map.to_mm(line.seen.ends_px)
    length = math.dist(ends[0], ends[1])
    return FoundReference(
        reference=line.reference,
        points_px=_places(line.seen.ends_px),
        measured_mm=(length,),
        residual_mm=abs(length - line.reference.length_mm),
        name=f"line {line.reference.length_mm:g} mm",
    )


def _found_frame(
    reference: RectangleReference, frame: FrameSeen, sheet_map: SheetMap
) -> FoundReference:
    corners = sheet_map.to_mm(frame.corners_px)
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    off = np.abs(sides - [frame.width_mm, frame.height_mm] * 2)
    return FoundReference(
        reference=reference,
        points_px=_places(frame.corners_px),
        measured_mm=(float(sides[[0, 2]].mean()), float(sides[[1, 3]].mean())),
        residual_mm=float(off.max()),
        name=f"rectangle {reference.width_mm:g} x {reference.height_mm:g} mm",
    )


def _found_sheet(
    reference: SheetReference, sheet: SheetSeen, paper: str | None, final: Adjusted
) -> FoundReference:
    width, height = (float(v) for v in final.sides_mm)
    corners = final.map.to_px([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    size = f"{reference.width_mm:.5g} x {reference.height_mm:.5g} mm"
    return FoundReference(
        reference=reference,
        points_px=_places(corners),
        measured_mm=(width, height),
        residual_mm=max(abs(width - sheet.width_mm), abs(height - sheet.height_mm)),
        name=f"sheet {paper}" if paper else f"sheet {size}",
    )


def _remarks(
    desk: _Desk, final: Adjusted, shaped: bool, found: tuple[FoundReference, ...]
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


def _places(points_px: Points) -> tuple[Place, ...]:
    return tuple((float(x), float(y)) for x, y in points_px)


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
