"""The unit of a drawing made elsewhere: believed where it says one, asked for where not."""

from __future__ import annotations

from typing import Literal

from app.document.lengths import MM_PER, MM_PER_INCH, Unit
from geometry.errors import InputError

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


def agree_on_size(
    width_mm: float, height_mm: float, *, told: Told, where: str, otherwise: str = ""
) -> None:
    """Make sure of an outline's unit.

    Parameters
    ----------
    width_mm, height_mm : float
        Its size, as read with the scale of `known_scale`.
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
    longer = max(width_mm, height_mm)
    if told == "person" or (told == "file" and SHORTEST_MM <= longer <= LONGEST_MM):
        return
    as_mm = f"{width_mm:.2f} x {height_mm:.2f} mm"
    if told == "file":
        raise InputError(
            f"by the unit that the file states, the outline is {as_mm}, which is no knife's size.",
            where=where,
            remedy=f"Numbers in it may be of another unit. {ASK}",
        )
    raise InputError(
        f"the file does not say its unit. If it is drawn in mm, the outline is {as_mm} "
        f"({width_mm / MM_PER_INCH:.3f} x {height_mm / MM_PER_INCH:.3f} in); if it is drawn in "
        f"inches, {width_mm:.3f} x {height_mm:.3f} in "
        f"({width_mm * MM_PER_INCH:.1f} x {height_mm * MM_PER_INCH:.1f} mm).",
        where=where,
        remedy=f"{ASK} {otherwise}".strip(),
    )
