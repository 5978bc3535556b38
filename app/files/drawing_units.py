"""The unit of a drawing made elsewhere: believed where it says one, asked for where not."""

from __future__ import annotations

from typing import Literal

from app.document.lengths import MM_PER, MM_PER_INCH, Unit
from geometry.errors import InputError
from geometry.outline import Outline

SHORTEST_MM, LONGEST_MM = 20.0, 1500.0  # a knife and its tang; beyond, the unit is doubted
ASK = "Say which with --unit mm or --unit in."

Told = Literal["file", "person", "nobody"]


def known_scale(unit: Unit | None, mm_per_unit: float | None) -> tuple[float, Told]:
    """Return millimetres for one unit of the drawing, and who said so.

    Parameters
    ----------
    unit : {"mm", "in"}, optional
        What the person said: it wins.
    mm_per_unit : float, optional
        What the file says.
    """
    if unit is not None:
        return MM_PER[unit], "person"
    return (1.0, "nobody") if mm_per_unit is None else (mm_per_unit, "file")


def with_unit_agreed(outline: Outline, told: Told, where: str, *, otherwise: str = "") -> Outline:
    """Return an outline whose unit is sure.

    Parameters
    ----------
    outline : Outline
        As read with the scale of `known_scale`.
    told : str
        Who said the unit.
    where : str
        The file, for the message.
    otherwise : str
        What else could be done about an unsaid unit, one sentence.

    Raises
    ------
    InputError
        If nobody said the unit, or the file says one that makes no knife: both sizes are told.
    """
    x0, y0, x1, y1 = outline.bounds_mm
    width, height = x1 - x0, y1 - y0
    if told == "person" or (told == "file" and SHORTEST_MM <= max(width, height) <= LONGEST_MM):
        return outline
    if told == "file":
        raise InputError(
            f"by the unit that the file states, the outline is {width:.5g} x {height:.5g} mm, "
            "which is no knife's size.",
            where=where,
            remedy=f"Numbers in it may be of another unit. {ASK}",
        )
    raise InputError(
        f"the file does not say its unit. In millimetres the outline is {width:.2f} x "
        f"{height:.2f} mm ({width / MM_PER_INCH:.3f} x {height / MM_PER_INCH:.3f} in); in inches "
        f"it is {width:.3f} x {height:.3f} in ({width * MM_PER_INCH:.1f} x "
        f"{height * MM_PER_INCH:.1f} mm).",
        where=where,
        remedy=f"{ASK} {otherwise}".strip(),
    )
