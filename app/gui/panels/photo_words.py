"""What the panel of the photo step says of a measured piece."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from app.document.lengths import Unit, format_length
from app.document.wording import LEAST_BIAS_MM, LEAST_SHOWN_MM
from calibration.sizes import SteelSize

if TYPE_CHECKING:
    from calibration.calipers import Check
    from calibration.capture import Capture


def result_words(capture: Capture, unit: Unit) -> str:
    """Return size and trust of a measured piece."""
    from app.gui.canvas.sheet_scene import sides_mm  # not before the first measure

    sizes = " x ".join(
        format_length(side, unit, decimals=1 if unit == "mm" else 2)
        for side in sides_mm(capture.billet)
    )
    calipers = checks_words(capture.checks)
    holes = len(capture.billet.shape.interiors)
    drilled = f", {holes} {'hole' if holes == 1 else 'holes'}" if holes else ""
    return f"Piece of {sizes}{drilled}.{off_words(capture, unit)}{calipers}"


def off_words(capture: Capture, unit: Unit) -> str:
    """Return what was taken off a trace all round, and what it is likely too large still."""
    places = 2 if unit == "mm" else 3

    def fine(value_mm: float) -> str:
        return format_length(value_mm, unit, decimals=places)

    said = ""
    if abs(capture.offset.value_mm) >= LEAST_SHOWN_MM:
        done = "Taken off" if capture.offset.value_mm > 0 else "Added"
        said = (
            f"\n{done} all round: {fine(abs(capture.offset.value_mm))}, give or take "
            f"{fine(2 * capture.offset.sigma_mm)}."
        )
    bias_mm = capture.budget.bias_mm
    if abs(bias_mm) >= LEAST_BIAS_MM:
        way = "large" if bias_mm > 0 else "small"
        doubt = fine(2 * capture.budget.bias_sigma_mm)
        said += f"\nLikely {fine(abs(bias_mm))} too {way} all round, give or take {doubt}."
    return said


def trust_words(capture: Capture, unit: Unit) -> str:
    """Return how sure the edge is apart from what it is off all round."""
    sigmas = sorted(capture.billet.vertex_sigma_mm) or [0.0]
    places = 2 if unit == "mm" else 3
    usual, worst = (
        format_length(2 * sigma, unit, decimals=places)
        for sigma in (sigmas[len(sigmas) // 2], sigmas[-1])
    )
    apart = "Apart from that its" if abs(capture.budget.bias_mm) >= LEAST_BIAS_MM else "Its"
    return f"{apart} edge: give or take {usual}, {worst} at worst."


def told_now(checks: tuple[Check, ...], sizes: tuple[SteelSize, ...]) -> list[Check]:
    """Return the checks of the sizes as they are told now: the measured side stays the same."""

    def place(size: SteelSize) -> tuple[object, ...]:
        return size.kind, size.ends_px

    measured = {place(check.size): check for check in checks}
    return [replace(measured[place(size)], size=size) for size in sizes if place(size) in measured]


def notes_beside(capture: Capture) -> list[str]:
    """Return what the maker should know, without what stands at each size told."""
    told = {check.sentence() for check in capture.checks}
    return [note for note in capture.notes if note not in told]


def checks_words(checks: tuple[Check, ...]) -> str:
    """Return how many sizes of the steel agree, a line below others; empty if none was told."""
    if not checks:
        return ""
    agree = sum(check.agrees for check in checks)
    if agree == len(checks):
        return "\nWhat calipers say agrees."
    if not agree:
        return "\nWhat calipers say does not agree: see “Calipers”."
    return f"\n{agree} of {len(checks)} sizes by calipers agree: see “Calipers”."
