"""Where in the picture each drawn or printed reference is."""

from __future__ import annotations

from calibration.adjustment import adjust
from calibration.crosses import match_cross
from calibration.desk import Desk
from calibration.matched import Matched
from calibration.matching import match_lines, same_stroke
from calibration.rectangles import match_rectangle
from calibration.sheet_map import SheetMap
from calibration.strokes import Candidate


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
    matched += [match_cross(desk, reference, rough) for reference in desk.asked.crosses]
    free = tuple(one for one in desk.candidates if not _taken(one, matched))
    matched += match_lines(desk.photo, desk.ink, desk.asked.lines, free, rough)
    return tuple(matched)


def _taken(candidate: Candidate, matched: list[Matched]) -> bool:
    """Return whether a stroke is one of the crossing lines."""
    taken = [line.ends_px for one in matched for line in one.lines]
    return any(same_stroke(candidate.stroke, ends) for ends in taken)
