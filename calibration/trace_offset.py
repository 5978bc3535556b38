"""How much too large a trace is all round, what tells it, and what it leaves in the budget."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shapely import Polygon

from calibration.calipers import Check, Compared
from calibration.pens import MOST_MM, Pen, drawn_words, stand_off_note
from calibration.piece import Piece
from calibration.sizes import SteelSize
from calibration.subpixel import Edge
from calibration.trace_budget import (
    blurred,
    measuring,
    pens_left,
    seen_by_calipers,
    untold_top_part,
)
from calibration.untold_thickness import TooLarge, too_large
from geometry.error_budget import Budget, Part
from geometry.errors import InputError
from geometry.inset import inset
from geometry.stand_off import Offset, expected_offset, stand_off_mm

NONE = Offset(value_mm=0.0, sigma_mm=0.0)
VAGUE = 2.0  # times the usual deviation: what pens do must not hold back what is measured
UNCLEAR_MM = 1.5  # an offset that is that unsure says nothing about a pen
THICK_MM, LEANING_OVER_DEG = 6.35, 5.0  # 1/4 in steel, the pen's top over it: 2.05 mm; practice
TELL_THICKNESS = (
    "How far the pen stood off is not known: a trace of thin steel is hardly too large, one of "
    "1/4 in steel by up to 1.5 mm. For less doubt tell the thickness, or a width by calipers."
)
LET_OUT = (
    "So the piece is larger than its trace, as if the pen had run under the steel: check the "
    "sizes and the reference's length before you count on that steel."
)
BEYOND_PENS = "more than a pen does: check the sizes, whether they are this piece's, and the scale."
UNDER_MM = 0.5  # a tip gets that far under a rounded edge; practice
STEEL_MM = 0.3  # how much too large or small photographed steel may be all round


@dataclass(frozen=True, slots=True, kw_only=True)
class OffsetTold:
    """What the maker told that shows how much too large the trace is.

    Parameters
    ----------
    sizes : tuple of SteelSize
        Measured on the steel.
    correct : bool
        Whether the sizes correct the trace, instead of checking it alone.
    pen : Pen, optional
        What the pen stands off.
    """

    sizes: tuple[SteelSize, ...] = ()
    correct: bool = False
    pen: Pen | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Corrected:
    """A piece after its trace offset was taken off.

    Parameters
    ----------
    shape : shapely.Polygon
        The edge, every point of it, mm.
    offset : Offset
        What was taken off all round; nothing by default.
    checks : tuple of Check
        The sizes of the steel against this shape.
    budget : Budget
        What the edge may be off by: known errors with their sign, random ones in squares.
    even_sigma_mm : float
        What the pen leaves in doubt everywhere alike, where it has no known sign.
    notes : tuple of str
        What the maker should know.
    untold_top : TooLarge, optional
        What steel is measured too large that was photographed and whose thickness was not told.
    """

    shape: Polygon
    offset: Offset
    checks: tuple[Check, ...]
    budget: Budget
    even_sigma_mm: float
    notes: tuple[str, ...]
    untold_top: TooLarge | None


def corrected(
    piece: Piece, told: OffsetTold, *, thickness_mm: float | None = None, edge: Edge = "inner"
) -> Corrected:
    """Return a piece with its trace offset taken off, as far as it was measured and asked for.

    Parameters
    ----------
    piece : Piece
        As measured.
    told : OffsetTold
        Sizes of the steel, and the pen.
    thickness_mm : float, optional
        Of the steel.
    edge : {"inner", "middle", "outer"}
        The side of the ink that was measured.

    Raises
    ------
    InputError
        If the steel itself was photographed, and has no trace to correct; if a correction is
        asked for without a size; if the sizes cannot be read; if nothing would be left.
    """
    _check(piece, told)
    usual = _usual(piece, told, thickness_mm, edge)
    taken = _to_take_off(piece, told, usual, edge)
    offset = taken or NONE
    shape = inset(piece.shape, offset.value_mm)
    compared = Compared.of(piece, shape, told.sizes)
    hidden = blurred(piece, edge)
    left = compared.offset(_with(hidden, usual, less_mm=offset.value_mm))
    untold = None if piece.subject == "trace" or thickness_mm else too_large(piece)
    if told.sizes and not told.correct:
        pens = seen_by_calipers(piece, left)
    elif untold is not None:
        pens = (untold_top_part(untold),)
    else:
        pens = pens_left(piece, thickness_mm, taken)
    if not told.sizes:  # they tell what blur did, too
        pens = (*hidden, *pens)
    return Corrected(
        shape=shape,
        offset=offset,
        checks=compared.checks(),
        budget=Budget(parts=(*measuring(piece, shape), *pens)),
        even_sigma_mm=math.hypot(*(part.sigma_mm for part in pens if not part.bias_mm)),
        notes=(
            *_offset_notes(piece, told, offset, thickness_mm, edge),
            *_check_notes(told, compared.checks()),
            *_scatter_notes(piece, compared.checks(), left, thickness_mm),
        ),
        untold_top=untold,
    )


def _usual(piece: Piece, told: OffsetTold, thickness_mm: float | None, edge: Edge) -> Offset:
    """Return what is known of the offset before any size is read."""
    if piece.subject == "steel":
        return Offset(value_mm=0.0, sigma_mm=STEEL_MM)
    if told.pen is not None:
        return told.pen.offset_on(thickness_mm, edge)
    expected = expected_offset(thickness_mm)
    return Offset(
        value_mm=expected.value_mm + piece.ink_beyond_mm, sigma_mm=VAGUE * expected.sigma_mm
    )


def _to_take_off(piece: Piece, told: OffsetTold, usual: Offset, edge: Edge) -> Offset | None:
    """Return the offset that the maker asked to have taken off; None if none was asked for."""
    if not told.correct:
        return None if told.pen is None else usual
    expected = _with(blurred(piece, edge), usual)
    offset = Compared.of(piece, piece.shape, told.sizes).offset(expected)
    if abs(offset.value_mm) > MOST_MM:
        raise InputError(
            f"by the sizes the trace is {offset.value_mm:.1f} mm too large all round, which no "
            "pen does.",
            where="Trace offset",
            remedy="Check the sizes, their unit, and the reference's length.",
        )
    if offset.sigma_mm > UNCLEAR_MM:
        raise InputError(
            "the sizes agree with no trace offset, or the photo's own scale is not known well "
            "enough to tell one.",
            where="Trace offset",
            remedy="Check the sizes and the reference's length, and tell the sheet's size.",
        )
    return offset


def _with(parts: tuple[Part, ...], usual: Offset, *, less_mm: float = 0.0) -> Offset:
    """Return what is expected of an offset with what blur adds, and without what was taken off."""
    sigmas = [usual.sigma_mm, *(part.sigma_mm for part in parts)]
    return Offset(
        value_mm=usual.value_mm - less_mm + sum(part.bias_mm for part in parts),
        sigma_mm=math.hypot(*sigmas),
    )


def _check(piece: Piece, told: OffsetTold) -> None:
    """Refuse corrections that there is nothing for."""
    if piece.subject == "steel" and (told.correct or told.pen is not None):
        raise InputError(
            "the photo shows the steel itself: there is no pen's trace to correct.",
            where="Trace offset",
            remedy="Leave the pen and the correction out; sizes are compared all the same.",
        )
    if told.correct and not told.sizes:
        raise InputError(
            "there is no size to correct the trace by.",
            where="Trace offset",
            remedy="Measure a width or the length on the steel, and give it.",
        )


def _offset_notes(
    piece: Piece, told: OffsetTold, offset: Offset, thickness_mm: float | None, edge: Edge
) -> tuple[str, ...]:
    """Return what was done about the trace offset, or what should be."""
    if told.correct:
        by = "the sizes and the pen" if told.pen is not None else "the sizes"
        done = (
            f"The trace was {drawn_words(offset.value_mm)}, give or take "
            f"{2 * offset.sigma_mm:.2f}, by {by} you measured.",
        )
        if _is_beyond_pens(offset.value_mm - piece.ink_beyond_mm, thickness_mm):
            return (*done, f"That is {BEYOND_PENS}")
        return (*done, LET_OUT) if offset.value_mm < -2.0 * offset.sigma_mm else done
    if told.pen is not None:
        return (told.pen.note(thickness_mm, edge),)
    if piece.subject == "steel" or told.sizes:
        return ()
    return (stand_off_note(thickness_mm) if thickness_mm else TELL_THICKNESS,)


def _check_notes(told: OffsetTold, checks: tuple[Check, ...]) -> tuple[str, ...]:
    """Return what each size says; one that corrected alone agrees with itself, and says none."""
    if told.correct and len(checks) == 1:
        return ("One size alone corrects and checks nothing: measure a second one elsewhere.",)
    return tuple(check.sentence() for check in checks)


def _scatter_notes(
    piece: Piece, checks: tuple[Check, ...], left: Offset, thickness_mm: float | None
) -> tuple[str, ...]:
    """Return what to do where the sizes do not agree."""
    if all(check.agrees for check in checks):
        return ()
    if piece.subject == "steel":
        return ("Check the steel's thickness and the reference's length.",)
    common_mm = 2.0 * left.value_mm
    if any(abs(check.too_large_mm - common_mm) > 2.0 * check.sigma_mm for check in checks):
        return (
            "No single trace offset makes the sizes agree: measure the steel again, and check "
            "the reference's length.",
        )
    way = f"{abs(left.value_mm):.2f} mm too {'large' if left.value_mm > 0 else 'small'} all round"
    if _is_beyond_pens(left.value_mm - piece.ink_beyond_mm, thickness_mm):
        return (f"That would be a trace {way}, {BEYOND_PENS}",)
    if len(checks) == 1:
        return (
            f"The trace may be {way}: measure a second size elsewhere, then have it corrected "
            "by both.",
        )
    return (f"All sizes agree with a trace {way}: have it corrected by them.",)


def _is_beyond_pens(offset_mm: float, thickness_mm: float | None) -> bool:
    """Tell whether no pen stands off that far; along thick steel, if its thickness is not told."""
    most_mm = stand_off_mm(thickness_mm or THICK_MM, tilt_deg=-LEANING_OVER_DEG)
    return not -UNDER_MM <= offset_mm <= most_mm
