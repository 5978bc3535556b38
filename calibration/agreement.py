"""Whether the references agree: which one is odd by the others, and what then counts for less.

A length that is grossly off is a mistake of typing and refused.  One that is off by more than
rulers, pens and paper explain is named.  If others decide against it, it is left out; if it is
one word against another, both are trusted only as far as they agree.  Lines alone may agree over a
lean that no hand has: that is named too.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from calibration.adjustment import Adjusted, adjust
from calibration.desk import Desk
from calibration.doubts import HALVES, doubted, doubted_by_paper, sheet_doubted, stretched
from calibration.errors import PhotoError
from calibration.matched import Matched, sides_of
from calibration.papers import recognise_paper
from calibration.references import PAPER_LABELS, MatReference, RectangleReference
from calibration.seen import LineSeen, SheetSeen
from calibration.sheet_map import SheetMap
from calibration.tilts import adjust_lines, least_lean

GROSS = 0.04  # of a length; no paper and no ruler is that wrong, so something else is
GROSS_BY_SURFACE = 0.015  # the same by a sheet or a figure, which show the tilt: 4 in for 100 mm
HAND = 0.003  # of a length: what rulers and paper differ by without anybody's mistake
LEANING_RAD = math.radians(10.0)  # as most hands lean at most; more is as likely a wrong length
FAR = 3.0  # deviations beyond which two lengths do not agree
LOOSE = 0.3  # of a length: a shape that is only square
LINE = "line typed as"
CHECK = "Check what was typed, or leave one of them out."


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Settled:
    """What the adjustment is to use after all.

    Parameters
    ----------
    matched : tuple of Matched
    sheet : SheetSeen or None
    notes : tuple of str
        Which references do not agree.
    """

    matched: tuple[Matched, ...]
    sheet: SheetSeen | None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Off:
    """How far a known length is off by something else."""

    what: str
    line: LineSeen
    measured_mm: float
    sigma_mm: float

    @property
    def off_mm(self) -> float:
        return abs(self.measured_mm - self.line.length_mm)

    @property
    def far(self) -> bool:
        hand_mm = HAND * self.line.length_mm
        return self.off_mm > FAR * math.hypot(self.sigma_mm, hand_mm)

    def gross(self, share: float = GROSS) -> bool:
        return self.far and self.off_mm > share * self.line.length_mm

    def words(self, by: str) -> str:
        length_mm = round(self.line.length_mm, 1)
        return f"the {self.what} {length_mm:g} mm measures {self.measured_mm:.1f} mm by {by}"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _ByOther:
    """How far a length is off by another one and square corners."""

    off: _Off
    by: str
    then: str

    @property
    def words(self) -> str:
        return f"{self.off.words(self.by)}{self.then}"


def settled(desk: Desk, matched: tuple[Matched, ...], sheet: SheetSeen | None) -> Settled:
    """Return the references with those that do not agree left out or trusted less.

    Raises
    ------
    PhotoError
        If one is grossly off.
    """
    if sheet is None or sheet.free:
        for one in matched:
            lengths = one.lines or sides_of(one)[:2]
            own = isinstance(one.reference, RectangleReference)  # a printer stretches a mat
            if len(lengths) == 2 and (sheet is not None or own):
                _refuse_contradicted(desk, one, lengths, sheet)
    matched = doubted_by_paper(matched, sheet)
    lined = [one for one in matched if one.lines]
    figures = [one for one in matched if one.figures]
    if (sheet is not None and not sheet.free) or figures:
        return _by_surface(desk, matched, sheet)
    if len(lined) > 2:
        answer = _by_most(desk, matched, sheet)
    elif len(lined) == 2:
        answer = _by_each_other(desk, matched, sheet)
    elif lined and lined[0].squares:
        answer = _by_right_angle(desk, matched, sheet)
    else:
        return Settled(matched=matched, sheet=sheet)
    return answer if sheet is not None or answer.notes else _by_lean(desk, answer)


def _by_surface(desk: Desk, matched: tuple[Matched, ...], sheet: SheetSeen | None) -> Settled:
    """Return what agrees with the sheet, the mat or the rectangle, whose size is known."""
    figures = [one for one in matched if one.figures]
    known = sheet is not None and not sheet.free
    by = "the sheet" if known else f"the {_kind(figures[0])}"
    by_surface = _adjusted(desk, [] if known else figures, sheet).map
    if sheet is None:
        _refuse_misshapen(figures[0], by_surface)
    kept, notes, worst = [], [], 0.0
    for one in matched:
        lines = one.lines or (sides_of(one) if known else ())
        offs = [_off(line, by_surface, _what(one)) for line in lines]
        for off in (off for off in offs if off.far):
            _refuse_gross(off, by, GROSS_BY_SURFACE)
            notes.append(f"{_sentence(off.words(by))}; check both, or leave one out.")
            worst = max(worst, off.off_mm / off.line.length_mm)
        far = any(off.far for off in offs)
        kept.append(doubted(one, [off.off_mm for off in offs]) if far else one)
    return Settled(
        matched=tuple(stretched(one, HALVES * worst) for one in kept),
        sheet=sheet_doubted(sheet, HALVES * worst),
        notes=tuple(notes),
    )


def _refuse_misshapen(figure: Matched, own: SheetMap) -> None:
    """Refuse a figure whose sides no view shows so."""
    for off in (_off(side, own, _what(figure)) for side in sides_of(figure)):
        if off.far:
            words = off.words(f"the {_kind(figure)}")
            raise PhotoError(f"{words}.", where="Reference", remedy=CHECK)


def _refuse_contradicted(
    desk: Desk, one: Matched, lines: Sequence[LineSeen], sheet: SheetSeen | None
) -> None:
    """Refuse two lengths that square corners, the sheet's or its own, do not show together."""
    found = _by_each(desk, one, lines, sheet)
    if not found or not all(each.off.far for each in found):
        return
    worst = max(found, key=lambda each: (bool(each.then), each.off.off_mm))
    raise PhotoError(
        f"{worst.words}.",
        where="Crossing lines" if one.lines else "Reference rectangle",
        remedy="Check both lengths, or tell the sheet's size.",
    )


def _by_each(
    desk: Desk, one: Matched, lines: Sequence[LineSeen], sheet: SheetSeen | None
) -> list[_ByOther]:
    """Return what each of two lengths is by the other and square corners."""
    whose = "its own" if sheet is None else "the sheet's"
    figures = stretched(one, LOOSE).figures if sheet is None else ()
    its = "the one typed as" if one.lines else "its side of"
    found = []
    for first, second in itertools.permutations(lines):
        alone = dataclasses.replace(one, lines=(first,), squares=(), figures=figures)
        answer = _adjusted(desk, [alone], sheet)
        known = recognise_paper(answer.sides_mm, answer.sides_covariance) if sheet else None
        by = f"{its} {first.length_mm:g} mm and {whose} square corners"
        then = f"; the sheet would then be {PAPER_LABELS[known[0]]}" if known else ""
        found.append(_ByOther(off=_off(second, answer.map, _what(one)), by=by, then=then))
    return found


def _by_most(desk: Desk, matched: tuple[Matched, ...], sheet: SheetSeen | None) -> Settled:
    """Return three or more lines without the one that is odd by all the others."""
    found: list[tuple[float, _Off, Matched]] = []
    for one in matched:
        others = [other for other in matched if other is not one]
        answer = _adjusted(desk, others, sheet)
        worst = max(
            (_off(line, answer.map, LINE) for line in one.lines), key=lambda off: off.off_mm
        )
        if worst.far:
            found.append((answer.cost, worst, one))
    if not found:
        return Settled(matched=matched, sheet=sheet)
    _, off, odd = min(found, key=lambda one: one[0])
    _refuse_gross(off, "the other lines")
    note = f"{_sentence(off.words('the other lines'))}; it is left out. Check its length."
    rest = tuple(one for one in matched if one is not odd)
    return Settled(matched=rest, sheet=sheet, notes=(note,))


def _by_each_other(desk: Desk, matched: tuple[Matched, ...], sheet: SheetSeen | None) -> Settled:
    """Return two lines, both trusted less if they do not agree: nothing tells which is right."""
    one, other = matched
    by_one = _adjusted(desk, [one], sheet).map
    off = max((_off(line, by_one, LINE) for line in other.lines), key=lambda off: off.off_mm)
    if not off.far:
        return Settled(matched=matched, sheet=sheet)
    corners = "" if sheet is None else " and the sheet's square corners"
    by = f"the one typed as {one.lines[0].length_mm:g} mm{corners}"
    if off.gross():
        raise PhotoError(
            f"the lines do not agree: {off.words(by)}.",
            where="Reference",
            remedy=f"{CHECK} The sheet's size would tell which is right.",
        )
    note = f"The lines do not agree: {off.words(by)}. Check both, or leave one out."
    share = off.off_mm / off.line.length_mm
    kept = tuple(doubted(each, [share * line.length_mm for line in each.lines]) for each in matched)
    return Settled(matched=kept, sheet=sheet, notes=(note,))


def _by_right_angle(desk: Desk, matched: tuple[Matched, ...], sheet: SheetSeen | None) -> Settled:
    """Return crossing lines unless no view of a right angle shows them so long."""
    (cross,) = (one for one in matched if one.lines)
    answer = _adjusted(desk, [cross], sheet)
    offs = [_off(line, answer.map, LINE) for line in cross.lines]
    if max(off.off_mm / off.line.sigma_mm for off in offs) > FAR:
        first, second = offs
        raise PhotoError(
            f"the crossing lines typed as {first.line.length_mm:g} and {second.line.length_mm:g} "
            f"mm measure {first.measured_mm:.1f} and {second.measured_mm:.1f} mm together.",
            where="Crossing lines",
            remedy="Check both lengths, and that the lines stand at right angles.",
        )
    return Settled(matched=matched, sheet=sheet)


def _by_lean(desk: Desk, agreed: Settled) -> Settled:
    """Return lines doubted by what they are off from straight above, if only a lean explains it."""
    lean_rad, off_mm = least_lean(desk.seen(agreed.matched))
    if lean_rad < LEANING_RAD:
        return agreed
    note = (
        f"The lines agree only if the photo leans by {math.degrees(lean_rad):.0f}° or more. If it "
        "was taken straighter, one length is wrong: check them, or tell the sheet's size."
    )
    offs = iter(off_mm.tolist())
    matched = tuple(doubted(one, [next(offs) for _ in one.lines]) for one in agreed.matched)
    return dataclasses.replace(agreed, matched=matched, notes=(note,))


def _adjusted(desk: Desk, matched: Sequence[Matched], sheet: SheetSeen | None) -> Adjusted:
    seen = desk.seen(matched, sheet)
    return adjust(seen) if seen.shaped else adjust_lines(seen)


def _kind(figure: Matched) -> str:
    return "mat" if isinstance(figure.reference, MatReference) else "rectangle"


def _what(one: Matched) -> str:
    """Return what to call a length of a reference."""
    return LINE if one.lines else f"{_kind(one)}'s side of"


def _off(line: LineSeen, other: SheetMap, what: str) -> _Off:
    measured_mm = math.dist(*other.to_mm(line.ends_px))
    sigma_mm = math.hypot(line.sigma_mm, other.length_sigma_mm(line.ends_px))
    return _Off(what=what, line=line, measured_mm=measured_mm, sigma_mm=sigma_mm)


def _refuse_gross(off: _Off, by: str, share: float = GROSS) -> None:
    if off.gross(share):
        raise PhotoError(f"{off.words(by)}.", where="Reference", remedy=CHECK)


def _sentence(words: str) -> str:
    return words[0].upper() + words[1:]
