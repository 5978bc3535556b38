"""Where in the picture each drawn or printed reference is."""

from __future__ import annotations

from calibration.adjustment import adjust
from calibration.desk import Desk
from calibration.matched import Matched
from calibration.matching import match_lines
from calibration.rectangles import match_rectangle
from calibration.sheet_map import SheetMap


def match_all(desk: Desk, rough: SheetMap | None) -> tuple[Matched, ...]:
    """Return where each drawn or printed reference is: figures, then lines.

    Parameters
    ----------
    desk : Desk
    rough : SheetMap or None
        By the sheet, if its size was given; else the figures give one to tell lines apart by.

    Raises
    ------
    PhotoError
        If one is not found.
    """
    matched: list[Matched] = []
    for reference in desk.asked.rectangles:
        matched.append(match_rectangle(desk.ink, reference, desk.candidates, rough))
        rough = rough or adjust(desk.seen(matched)).map
    matched += match_lines(desk.photo, desk.ink, desk.asked.lines, desk.candidates, rough)
    return tuple(matched)
