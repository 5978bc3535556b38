"""Which of the maker's wheels follow the inside curves of an outline, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.document.lengths import Unit, format_length
from app.document.wording import rough
from geometry.curvature import InsideRadius, WheelsForCurve, wheels_that_follow
from geometry.hollows import KINK_MM
from geometry.outline import Outline


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelNote:
    """What is to be said of the wheels; `warns` where none of them will do."""

    text: str = ""
    warns: bool = False


def wheel_note(outline: Outline, wheels_mm: Sequence[float], unit: Unit) -> WheelNote:
    """Return which wheel follows the tightest inside curve of an outline, or that none does.

    Parameters
    ----------
    outline : Outline
        What is to be ground.
    wheels_mm : sequence of float
        Diameters of the maker's wheels, as they are sold; empty if they were not told.
    unit : {"mm", "in"}
        What the maker reads lengths in.

    Notes
    -----
    A wheel follows an inside curve that is no tighter than the wheel itself; the tightest one
    therefore decides. Curves of less than 3 mm and sharp corners are drilled or filed on purpose,
    unless a wheel follows them: they are counted, and the tightest of the others is named.
    """
    found = wheels_that_follow(outline, wheels_mm)
    curves = sorted(
        (each for each in found if each.follow_mm or each.inside.radius_mm >= KINK_MM),
        key=lambda each: each.inside.radius_mm,
    )
    filed = len(found) - len(curves)
    if not curves:
        return WheelNote(text=_filed_words(filed))
    note = _named(curves[0], unit)
    others = sum(bool(wheels_mm) and not each.follow_mm for each in curves[1:])
    text = " ".join(
        part for part in (note.text, _others_words(others), _filed_words(filed)) if part
    )
    return WheelNote(text=text, warns=note.warns)


def _named(tightest: WheelsForCurve, unit: Unit) -> WheelNote:
    """Return what is said of the curve that decides."""
    inside = tightest.inside
    radius, where = rough(inside.radius_mm, unit), _where(inside)
    if tightest.follow_mm:
        wheel = format_length(tightest.follow_mm[-1], unit)
        return WheelNote(
            text=f"Your wheel of {wheel} follows the tightest inside curve: radius {radius}{where}."
        )
    if not tightest.too_large_mm:
        return WheelNote(text=f"The tightest inside curve has a radius of {radius}{where}.")
    smallest = format_length(tightest.too_large_mm[0], unit)
    most = rough(2 * inside.radius_mm, unit)
    return WheelNote(
        text=f"None of your wheels follows the inside curve of radius {radius}{where}: the "
        f"smallest is {smallest} across. Take one of at most {most}, or file it.",
        warns=True,
    )


def _others_words(count: int) -> str:
    """Return how many more curves are too tight; empty for none."""
    if count == 1:
        return "Nor does any follow 1 rounder curve."
    return f"Nor does any follow {count} rounder curves." if count else ""


def _filed_words(count: int) -> str:
    """Return how many notches and corners no wheel follows; empty for none.

    Examples
    --------
    >>> _filed_words(1)
    'No wheel follows 1 notch or sharp corner.'
    """
    if count == 1:
        return "No wheel follows 1 notch or sharp corner."
    return f"No wheel follows {count} notches or sharp corners." if count else ""


def _where(curve: InsideRadius) -> str:
    first, second = curve.between
    if not first:
        x, y = curve.at
        return f", at x {x:.0f}, y {y:.0f} mm"
    return f", near the {first}" if first == second else f", between {first} and {second}"
