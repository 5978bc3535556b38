"""Sentences that say where things stand; the window and the command line use the same."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.document.flow import Layout
from app.document.lengths import Unit, format_length
from geometry.billet import Billet
from geometry.editing import Claim
from geometry.error_budget import Budget
from geometry.stand_off import Offset
from geometry.verdict import Verdict

if TYPE_CHECKING:  # heavy
    from calibration.calipers import Check
    from calibration.pens import Pen

LEAST_SHOWN_MM = 0.005  # shown with two figures behind the mark
LEAST_BIAS_MM = 0.05  # a hand's wobble; less is not worth a sentence
HEADS = {
    Verdict.FITS: "Fits",
    Verdict.DOUBTFUL: "Doubtful",
    Verdict.DOES_NOT_FIT: "Does not fit",
}
COVERED = {"flaw": "A flaw", "hole": "A hole of the steel"}


def rough(value_mm: float, unit: Unit) -> str:
    """Return a length as precisely as a person acts on it: 0.1 mm or 0.01 in.

    Examples
    --------
    >>> rough(1.94, "mm"), rough(1.94, "in")
    ('1.9 mm', '0.08 in')
    """
    return format_length(value_mm, unit, decimals=1 if unit == "mm" else 2)


def verdict_sentence(layout: Layout, margin_mm: float, unit: Unit) -> str:
    """Return the verdict with its numbers: spare steel, doubt, demand, tightest place.

    A flaw or a hole that the blank covers has no such number; only where it lies tells.
    """
    over = covered_sentence(layout)
    if layout.covered is not None and layout.covered.alone:
        return f"{HEADS[layout.verdict]}: {over[0].lower()}{over[1:]}"
    value_mm = layout.clearance.value_mm
    spare = (
        f"{rough(value_mm, unit)} spare"
        if value_mm >= 0
        else f"it sticks out by {rough(-value_mm, unit)}"
    )
    doubt = f", give or take {rough(2 * layout.sigma_mm, unit)}" if layout.sigma_mm else ""
    place = tightest_place(layout)
    sentences = (
        f"{HEADS[layout.verdict]}: {spare}{doubt}; you ask for {rough(margin_mm, unit)}.",
        *((f"Tightest {place}.",) if place else ()),
        *((over,) if over else ()),
        *taken_off_words(layout, unit),
    )
    return " ".join(sentences)


def taken_off_words(layout: Layout, unit: Unit) -> tuple[str, ...]:
    """Return the sentence on steel that was measured but is likely not there; none if there is."""
    if layout.taken_off_mm < LEAST_BIAS_MM:
        return ()
    over = rough(layout.taken_off_mm, unit)
    return (f"The piece is likely {over} too large as measured, all round: that is taken off.",)


def covered_sentence(layout: Layout) -> str:
    """Return what lies in the blank, and near which part of it; empty if nothing does."""
    if layout.covered is None:
        return ""
    place = _place(layout, layout.covered.point_mm)
    return f"{COVERED[layout.covered.kind]} lies in the blank{place and ' '}{place}."


def tightest_place(layout: Layout) -> str:
    """Return where it is tightest, in the maker's words: ``near the tip``; empty if unnamed."""
    return _place(layout, layout.clearance.blank_point_mm)


def _place(layout: Layout, point_mm: tuple[float, float]) -> str:
    """Return which part of the blank a place of the billet is near."""
    point = layout.pose.back([point_mm])[0]
    station = layout.outline.nearest_station((float(point[0]), float(point[1])))
    return f"near the {station}" if station else ""


def claim_sentence(claim: Claim, unit: Unit) -> str:
    """Return what was drawn in by hand where no steel was measured.

    Examples
    --------
    >>> claim_sentence(Claim(beyond_mm=0.42, point_mm=(10.0, 5.0)), "mm")
    'Changed by hand: the edge lies up to 0.42 mm outside the steel that was measured.'
    """
    beyond = format_length(claim.beyond_mm, unit, decimals=2 if unit == "mm" else 3)
    return f"Changed by hand: the edge lies up to {beyond} outside the steel that was measured."


def pattern_notes(
    layout: Layout | None, claim: Claim | None, margin_mm: float, unit: Unit
) -> tuple[str, ...]:
    """Return what is said on a pattern: that the blank may not fit, and what its edge goes by."""
    notes: tuple[str, ...] = ()
    if layout is not None and layout.verdict is Verdict.FITS:
        notes = taken_off_words(layout, unit)
    elif layout is not None:
        notes = (verdict_sentence(layout, margin_mm, unit),)
    return notes if claim is None else (*notes, claim_sentence(claim, unit))


def check_words(check: Check, unit: Unit) -> str:
    """Return what a measured piece says to a size of the steel: agreement, or what is left.

    Examples
    --------
    >>> from calibration.calipers import Check
    >>> from calibration.sizes import SteelSize
    >>> check = Check(
    ...     size=SteelSize(kind="width", true_mm=38.1),
    ...     photo_mm=38.62, sigma_mm=0.15, contacts_mm=((0.0, 0.0), (0.0, 38.62)),
    ... )
    >>> check_words(check, "mm")
    'Photo: 38.62 mm, 0.52 too large (doubt 0.30).'
    """
    places = 2 if unit == "mm" else 3
    photo, off, doubt = (
        format_length(each, unit, decimals=places)
        for each in (check.photo_mm, abs(check.too_large_mm), 2.0 * check.sigma_mm)
    )
    if check.agrees:
        return f"Photo: {photo}, they agree within {doubt}."
    way = "large" if check.too_large_mm > 0 else "small"
    off, doubt = off.removesuffix(f" {unit}"), doubt.removesuffix(f" {unit}")
    return f"Photo: {photo}, {off} too {way} (doubt {doubt})."


def offset_words(told: Offset | None, taken_off: Offset, unit: Unit) -> str:
    """Return what sizes of the steel together tell of a trace; empty if there are none.

    Examples
    --------
    >>> from geometry.stand_off import Offset
    >>> offset_words(
    ...     Offset(value_mm=0.49, sigma_mm=0.04), Offset(value_mm=0.0, sigma_mm=0.0), "mm"
    ... )
    'They tell a trace 0.49 mm too large all round, give or take 0.08 mm.'
    """
    if told is None:
        return ""
    off, doubt = _fine(abs(told.value_mm), unit), _fine(2.0 * told.sigma_mm, unit)
    if abs(told.value_mm) < LEAST_SHOWN_MM:
        return f"The sizes agree: nothing to take off, give or take {doubt}."
    way = "large" if told.value_mm >= 0 else "small"
    gone = " That is taken off." if taken_off.value_mm else ""
    return f"They tell a trace {off} too {way} all round, give or take {doubt}.{gone}"


def pen_words(pen: Pen, unit: Unit) -> str:
    """Return a pen and what it stands off, one line.

    Examples
    --------
    >>> from calibration.pens import Pen
    >>> pen = Pen(name="biro", offset_mm=0.6, sigma_mm=0.1, thickness_mm=6.35)
    >>> pen_words(pen, "mm").partition(", on")[0]
    'biro: traces 0.60 mm too large all round, give or take 0.20 mm'
    """
    places = 2 if unit == "mm" else 3
    off, doubt = (
        format_length(each, unit, decimals=places)
        for each in (abs(pen.offset_mm), 2.0 * pen.sigma_mm)
    )
    way = "large" if pen.offset_mm >= 0 else "small"
    traced = f"traces {off} too {way} all round"
    if abs(pen.offset_mm) < LEAST_SHOWN_MM:
        traced = "traces come out in the steel's own size"
    on = f", on {format_length(pen.thickness_mm, unit)} of steel" if pen.thickness_mm else ""
    return f"{pen.name}: {traced}, give or take {doubt}{on}, {pen.edge} side of its ink"


def budget_lines(budget: Budget) -> list[str]:
    """Return what an edge may be off by and why, a line each, twice the standard deviation.

    Examples
    --------
    >>> from geometry.error_budget import Part
    >>> parts = (Part(name="pen", bias_mm=0.5, sigma_mm=0.3), Part(name="hand", sigma_mm=0.4))
    >>> for line in budget_lines(Budget(parts=parts)):
    ...     print(line)
    pen: 0.50 mm too large, give or take 0.60
    hand: give or take 0.80 mm
    together: 0.50 mm too large, give or take 1.00
    """
    lines = [f"{part.name}: {_off(part.bias_mm, part.sigma_mm)}" for part in budget.parts]
    return [*lines, f"together: {_off(budget.bias_mm, budget.sigma_mm)}"]


def bias_sentence(budget: Budget, unit: Unit = "mm") -> str:
    """Return how much too large or small the piece is likely to be; empty if nothing says so.

    Examples
    --------
    >>> from geometry.error_budget import Part
    >>> bias_sentence(Budget(parts=(Part(name="pen", bias_mm=0.5, sigma_mm=0.3),)))
    'likely 0.50 mm too large all round, 19 times in 20 not more than 1.10 mm'
    """
    bias_mm = budget.bias_mm
    if abs(bias_mm) < LEAST_BIAS_MM:
        return ""
    way = "large" if bias_mm > 0 else "small"
    return (
        f"likely {_fine(abs(bias_mm), unit)} too {way} all round, 19 times in 20 not more than "
        f"{_fine(budget.worst_mm, unit)}"
    )


def trust_sentences(billet: Billet) -> list[str]:
    """Return how far to trust a piece's edge: its doubt, and what it is likely too large.

    Examples
    --------
    >>> import shapely
    >>> from geometry.billet import Billet
    >>> trust_sentences(Billet(shape=shapely.box(0, 0, 9, 9), vertex_sigma_mm=(0.1, 0.1, 0.1, 0.2)))
    ['its edge: give or take 0.20 mm at most places, 0.40 mm at the worst (19 times in 20)']
    """
    told = [bias_sentence(billet.budget)]
    if billet.vertex_sigma_mm:
        sigmas = sorted(billet.vertex_sigma_mm)
        told.insert(
            0,
            f"its edge: give or take {2 * sigmas[len(sigmas) // 2]:.2f} mm at most places, "
            f"{2 * sigmas[-1]:.2f} mm at the worst (19 times in 20)",
        )
    return [sentence for sentence in told if sentence]


def _off(bias_mm: float, sigma_mm: float) -> str:
    if abs(bias_mm) < LEAST_SHOWN_MM:
        return f"give or take {2 * sigma_mm:.2f} mm"
    way = "large" if bias_mm > 0 else "small"
    return f"{abs(bias_mm):.2f} mm too {way}, give or take {2 * sigma_mm:.2f}"


def _fine(value_mm: float, unit: Unit) -> str:
    """Return a length as finely as an edge is measured."""
    return format_length(value_mm, unit, decimals=2 if unit == "mm" else 3)
