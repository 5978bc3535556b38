"""Which of several strokes is the line that was meant: the one that makes the sheet a paper."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

from calibration.desk import Desk
from calibration.errors import PhotoError
from calibration.matched import Matched, Rival
from calibration.papers import paper_fits, recognise_paper
from calibration.references import PAPER_LABELS, LineReference
from calibration.seen import LineSeen
from calibration.sheets import freed

CLOSE = 0.8  # of the marks: a stroke that is less behind is about as likely
SAME = 0.01  # of a length: lines so alike give the same scale
PAPER = 0.25  # of the marks, for each squared deviation from a paper's sides
RARE = {"a2": 1.0, "a5": 1.0}  # of the marks: papers that few people draw steel on


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Reading:
    """A stroke taken for the line: how far behind it is, and the paper that the sheet then is."""

    line: LineSeen
    behind: float
    length: float
    paper: str | None = None

    def alike(self, other: _Reading) -> bool:
        return abs(math.log(self.length / other.length)) < SAME


def singled_out(desk: Desk, matched: tuple[Matched, ...]) -> tuple[Matched, ...]:
    """Return one asked line where it leads to a known paper, if the sheet's edges are seen.

    Raises
    ------
    PhotoError
        If other strokes are about as likely, and give another scale.
    """
    if len(matched) != 1 or not matched[0].rivals:
        return matched
    (one,) = matched
    readings = _readings(desk, one)
    fitting = [reading for reading in readings if reading.paper] or readings
    best, *others = sorted(fitting, key=lambda reading: reading.behind)
    others = [reading for reading in others if not reading.alike(best)]
    if others and others[0].behind < best.behind + CLOSE:
        raise _in_doubt(one, best, others[0])
    note = _other_paper(best, others[0]) if others and best.paper else ""
    return (dataclasses.replace(one, lines=(best.line,), rivals=(), note=note),)


def _readings(desk: Desk, one: Matched) -> list[_Reading]:
    """Return what the sheet would be by each stroke that may be the line."""
    picks = [Rival(line=one.lines[0], behind=0.0), *one.rivals]
    lines, behind = [pick.line for pick in picks], [pick.behind for pick in picks]
    free = None if desk.edges is None else freed(desk, desk.edges, (one,))
    if free is None:
        lengths = [math.dist(*line.ends_px) for line in lines]
        return [
            _Reading(line=line, behind=late, length=length)
            for line, late, length in zip(lines, behind, lengths, strict=True)
        ]
    _, measured = free
    found = []
    for line, late in zip(lines, behind, strict=True):
        length_mm = math.dist(*measured.map.to_mm(line.ends_px))
        times = line.length_mm / length_mm
        sides, spread = measured.sides_mm * times, measured.sides_covariance * times**2
        known = recognise_paper(sides, spread)
        paper = known[0] if known else None
        if paper:
            late += PAPER * paper_fits(sides, spread)[0][0] + RARE.get(paper, 0.0)
        found.append(_Reading(line=line, behind=late, length=length_mm, paper=paper))
    return found


def _other_paper(best: _Reading, other: _Reading) -> str:
    """Return a sentence that says what the sheet would be by another stroke."""
    assert best.paper
    assert other.paper
    return (
        f"The line from {_places(other.line)} could be the reference too: the sheet would then be "
        f"{PAPER_LABELS[other.paper]} and not {PAPER_LABELS[best.paper]}. "
        "Point at the ends of the right one with --line X1,Y1,X2,Y2 if this is not it."
    )


def _in_doubt(one: Matched, best: _Reading, other: _Reading) -> PhotoError:
    assert isinstance(one.reference, LineReference)
    return PhotoError(
        f"the reference line of {one.reference.length_mm:g} mm could be the one from "
        f"{_places(best.line)} or the one from {_places(other.line)}.",
        where="Reference line",
        remedy="Point at the ends of the right one with --line X1,Y1,X2,Y2, or tell the sheet's "
        "size and show its edges.",
    )


def _places(line: LineSeen) -> str:
    (ax, ay), (bx, by) = line.ends_px
    return f"{ax:.0f},{ay:.0f} to {bx:.0f},{by:.0f}"
