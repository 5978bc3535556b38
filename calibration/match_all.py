"""Where in the picture each drawn or printed reference is."""

from __future__ import annotations

import math

from calibration.adjustment import adjust
from calibration.crosses import match_cross
from calibration.desk import Desk
from calibration.errors import PhotoError
from calibration.mat_marks import MatSeen, find_mat
from calibration.matched import Matched
from calibration.matching import match_lines, same_stroke
from calibration.rectangles import match_rectangle
from calibration.references import PAPER_LABELS, MatReference
from calibration.seen import PlacesSeen
from calibration.sheet_map import SheetMap
from calibration.strokes import Candidate

CALIPERS = 0.0007  # share; 0.08 mm of a bar of 120, where jaws meet ink and not steel
PRINTER = 0.005  # share; what office printers do to a length when nobody measured
RISE_TOLD_MM = 0.7  # of a page that does not lie flat
MOST_RISE_MM = 15.0  # beyond that no one bend describes it
FEW_CORNERS = 0.4  # of the mat's
ASKEW = 0.015  # of one bar against the other: more than printers do (practice, no source)
UNMEASURED = (
    "The mat's bars are not measured: what its printer did to lengths is not known, up to 1 in "
    "100. Measure both with calipers and tell what they read."
)
HALF_MEASURED = (
    "The mat's {bar} bar is not measured: what its printer did to lengths that way is not known, "
    "up to 1 in 100. Measure it with calipers too and tell what they read."
)


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
    if desk.asked.mat is not None:
        matched.append(_mat(desk, desk.asked.mat))
        rough = rough or adjust(desk.seen(matched)).map
    for reference in desk.asked.rectangles:
        matched.append(match_rectangle(desk, reference, rough))
        rough = rough or adjust(desk.seen(matched)).map
    matched += [match_cross(desk, reference, rough) for reference in desk.asked.crosses]
    free = tuple(one for one in desk.candidates if not _taken(one, matched))
    try:
        matched += match_lines(desk.photo, desk.ink, desk.asked.lines, free, rough)
    except PhotoError as error:
        if len(free) == len(desk.candidates):
            raise
        raise PhotoError(
            f"{error.message.rstrip('.')} beside the crossing lines, which are two of those drawn.",
            where=error.where,
            remedy="Leave the line out if it is one of them, or draw another.",
        ) from error
    return tuple(matched)


def _taken(candidate: Candidate, matched: list[Matched]) -> bool:
    """Return whether a stroke is one of the crossing lines."""
    taken = [line.ends_px for one in matched for line in one.lines]
    return any(same_stroke(candidate.stroke, ends) for ends in taken)


def _mat(desk: Desk, reference: MatReference) -> Matched:
    """Return the printed mat, as large as its bars were read to be."""
    mat = desk.mat or find_mat(desk.photo)
    if reference.paper and mat.layout.paper != reference.paper.lower():
        raise PhotoError(
            f"the mat in the picture is the one for {PAPER_LABELS[mat.layout.paper]} paper, "
            f"not for {PAPER_LABELS[reference.paper.lower()]}.",
            where="Mat",
            remedy="Name the paper of the mat that was photographed.",
        )
    if mat.rise_mm > MOST_RISE_MM:
        raise PhotoError(
            f"the mat does not lie flat: it rises by about {mat.rise_mm:.0f} mm.",
            where="Mat",
            remedy="Press it flat, tape its corners down and photograph it again.",
        )
    printed = (reference.printed_x, reference.printed_y)
    doubts = [math.hypot(CALIPERS if ratio else PRINTER, mat.lifted_share) for ratio in printed]
    figure = PlacesSeen(
        points_px=mat.points_px,
        places_mm=mat.places_mm * [ratio or 1.0 for ratio in printed],
        sigma_mm=mat.sigma_mm,
        stretch_sigma=(doubts[0], doubts[1]),
        bends=mat.bends,
    )
    return Matched(reference=reference, figures=(figure,), note=_mat_note(mat, reference))


def _mat_note(mat: MatSeen, reference: MatReference) -> str:
    """Return what the maker should know of the mat."""
    notes = _bars_notes(reference)
    if mat.rise_mm > RISE_TOLD_MM:
        notes.append(
            f"The mat does not lie flat: it rises by about {mat.rise_mm:.0f} mm, which is allowed "
            "for. Press it flat, tape its corners and photograph again to be surer."
        )
    seen, all_of_it = len(mat.points_px), len(mat.layout.corners_mm)
    if seen < FEW_CORNERS * all_of_it:
        notes.append(
            f"Only {seen} of the {all_of_it} corners of the mat's chequer are clear; what lies far "
            "from them is less sure."
        )
    return " ".join(notes)


def _bars_notes(reference: MatReference) -> list[str]:
    """Return what is missing, or odd, of what calipers read on the mat's bars."""
    bars = {"across": reference.printed_x, "upright": reference.printed_y}
    missing = [bar for bar, printed in bars.items() if printed is None]
    if missing:
        return [UNMEASURED if len(missing) == 2 else HALF_MEASURED.format(bar=missing[0])]
    if reference.askew < ASKEW:
        return []
    return [
        f"The mat's bars disagree by {100 * reference.askew:.1f} % with each other, more than "
        "printers stretch a page: measure both again."
    ]
