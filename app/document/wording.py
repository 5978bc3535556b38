"""Sentences that say where things stand; the window and the command line use the same."""

from __future__ import annotations

from app.document.flow import Layout
from app.document.lengths import Unit, format_length
from geometry.editing import Claim
from geometry.error_budget import Budget
from geometry.verdict import Verdict

LEAST_SHOWN_MM = 0.005  # shown with two figures behind the mark
LEAST_BIAS_MM = 0.05  # a hand's wobble; less is not worth a sentence
HEADS = {
    Verdict.FITS: "Fits",
    Verdict.DOUBTFUL: "Doubtful",
    Verdict.DOES_NOT_FIT: "Does not fit",
}


def rough(value_mm: float, unit: Unit) -> str:
    """Return a length as precisely as a person acts on it: 0.1 mm or 0.01 in.

    Examples
    --------
    >>> rough(1.94, "mm"), rough(1.94, "in")
    ('1.9 mm', '0.08 in')
    """
    return format_length(value_mm, unit, decimals=1 if unit == "mm" else 2)


def verdict_sentence(layout: Layout, margin_mm: float, unit: Unit) -> str:
    """Return the verdict with its numbers: spare steel, doubt, demand, tightest place."""
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
        *taken_off_words(layout, unit),
    )
    return " ".join(sentences)


def taken_off_words(layout: Layout, unit: Unit) -> tuple[str, ...]:
    """Return the sentence on steel that was measured but is likely not there; none if there is."""
    if layout.taken_off_mm < LEAST_BIAS_MM:
        return ()
    over = rough(layout.taken_off_mm, unit)
    return (f"The piece is likely {over} too large as measured, all round: that is taken off.",)


def tightest_place(layout: Layout) -> str:
    """Return where it is tightest, in the maker's words: ``near the tip``; empty if unnamed."""
    point = layout.pose.back([layout.clearance.blank_point_mm])[0]
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


def budget_lines(budget: Budget) -> list[str]:
    """Return what an edge may be off by and why, a line each, one standard deviation.

    Examples
    --------
    >>> from geometry.error_budget import Part
    >>> parts = (Part(name="pen", bias_mm=0.5, sigma_mm=0.3), Part(name="hand", sigma_mm=0.4))
    >>> for line in budget_lines(Budget(parts=parts)):
    ...     print(line)
    pen: 0.50 mm too large, give or take 0.30
    hand: give or take 0.40 mm
    together: 0.50 mm too large, give or take 0.50
    """
    lines = [f"{part.name}: {_off(part.bias_mm, part.sigma_mm)}" for part in budget.parts]
    return [*lines, f"together: {_off(budget.bias_mm, budget.sigma_mm)}"]


def bias_sentence(budget: Budget) -> str:
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
    most_mm = abs(bias_mm) + 2.0 * budget.sigma_mm
    return (
        f"likely {abs(bias_mm):.2f} mm too {way} all round, 19 times in 20 not more than "
        f"{most_mm:.2f} mm"
    )


def _off(bias_mm: float, sigma_mm: float) -> str:
    if abs(bias_mm) < LEAST_SHOWN_MM:
        return f"give or take {sigma_mm:.2f} mm"
    way = "large" if bias_mm > 0 else "small"
    return f"{abs(bias_mm):.2f} mm too {way}, give or take {sigma_mm:.2f}"
