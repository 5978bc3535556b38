"""How a drawing or a traced knife comes into the outline frame, and what to tell of that."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from shapely import Polygon

from app.document.job import OutlineChoice
from app.document.measured_outline import (
    NOTHING_POINTED,
    outline_of_billet,
    steel_of,
    taken_off_mm,
)
from app.document.wording import LEAST_BIAS_MM, trust_sentences
from geometry.billet import Billet
from geometry.ends import Ends, proposed_ends
from geometry.from_contour import framed, in_frame
from geometry.knife_parts import Parts, Pointed, parts_of, told
from geometry.outline import Outline

FAR_SHARE = 0.05  # of the length: a tip or butt this far from both ends found was hardly meant
OVER = "turned over"  # how the note of it begins
LEAST_TURN_DEG = 0.005  # less is not told


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """In words: where places are counted from, and how they are typed if not so."""

    counted: str
    how: str = ""


DRAWING = Typed(counted="counted from the drawing's lower left corner")
TRACE = Typed(counted="on the piece, as its file counts")
PHOTO = Typed(counted="on the piece", how=" in pixels of the photo, or X,Ymm on the piece")


@dataclass(frozen=True, slots=True, kw_only=True)
class Trust:
    """How far a traced outline can be trusted, mm.

    Parameters
    ----------
    bias_mm : float
        How much too large all round the piece was likely measured.
    taken_off_mm : float
        What of that the outline is without.
    doubt_mm : float
        Give or take, 19 times in 20, at most places.
    """

    bias_mm: float
    taken_off_mm: float
    doubt_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Framed:
    """An outline in its frame, and what to tell of how it came there, a sentence each."""

    outline: Outline
    notes: tuple[str, ...] = ()
    trust: Trust | None = None


def drawing_in_frame(outline: Outline, pointed: Pointed) -> Framed:
    """Return a drawing moved into the outline frame where something of it was pointed at.

    Raises
    ------
    InputError
        If tip and butt are not at two ends of it.
    """
    if pointed == NOTHING_POINTED:
        return Framed(outline=outline)
    moved = framed(
        outline,
        tip_mm=pointed.tip_mm,
        butt_mm=pointed.butt_mm,
        heel_mm=pointed.heel_mm,
        spine=pointed.spine,
    )
    return Framed(outline=moved, notes=drawing_notes(outline, pointed))


def drawing_notes(outline: Outline, pointed: Pointed = NOTHING_POINTED) -> tuple[str, ...]:
    """Return what to tell of a drawing that is moved into the outline frame as `framed` does."""
    shape = outline.polygon()
    parts = parts_of(shape, pointed)
    level = pointed.tip_mm is None or pointed.butt_mm is None
    told = (_turned(parts, level=level), *_parts_told(shape, parts, pointed, DRAWING))
    return (*_turned_over(parts, pointed), *told)


def moved_notes(choice: OutlineChoice) -> tuple[str, ...]:
    """Return what to tell of a drawing that a family of its own moved into the outline frame."""
    drawn = choice.drawing
    if drawn is None or in_frame(drawn) is drawn:
        return ()
    return over_first(("the family lies in the outline frame", *drawing_notes(drawn)))


def billet_in_frame(
    billet: Billet,
    pointed: Pointed,
    *,
    name: str,
    as_traced: bool | None = None,
    frame: Typed = TRACE,
    file: Path | None = None,
) -> Framed:
    """Return a traced knife as an outline; what its trace is too large is taken off or told.

    The frame is that in which places on the piece are typed; the file is the piece's own, if any.

    Raises
    ------
    InputError
        If tip and butt are not at two ends of it, or nothing of it would be left.
    """
    outline = outline_of_billet(billet, name=name, pointed=pointed, as_traced=as_traced)
    shape = steel_of(billet, as_traced=as_traced)
    parts = parts_of(shape, pointed)
    return Framed(
        outline=outline,
        notes=(
            *_turned_over(parts, pointed),
            *trust_sentences(billet),
            *taken_off_note(billet, file, as_traced=as_traced),
            _turned(parts, level=False),
            *_parts_told(shape, parts, pointed, frame),
        ),
        trust=_trust(billet, taken_off_mm(billet, as_traced=as_traced)),
    )


def taken_off_note(
    billet: Billet, file: Path | None, *, as_traced: bool | None = None
) -> tuple[str, ...]:
    """Return what became of what a trace is likely too large; nothing where it is not."""
    if billet.too_large_mm < LEAST_BIAS_MM:
        return ()
    size = f"{billet.too_large_mm:.2f} mm"
    first = "" if file else "write the piece too, with --out BILLET.json: "
    command = f"{first}blankwright outline {file or 'BILLET.json'}"
    if taken_off_mm(billet, as_traced=as_traced):
        return (
            f"{size} were taken off the trace all round, as place does; to leave them on, "
            f"{command} --as-traced --out OUTLINE.json",
        )
    why = "" if as_traced else ", as neither thickness, pen nor a size of the steel was told"
    return (
        f"{size} were left on all round{why}; to take them off, as place does, "
        f"{command} --true-size --out OUTLINE.json",
    )


def missing_notes(outline: Outline) -> list[str]:
    """Return why sizes that a maker looks for are not told."""
    fronts = any(mark.kind == "handle front" for mark in outline.marks)
    notes = []
    if not any(station.name == "tip" for station in outline.stations):
        what = "edge, blade" if fronts else "edge"
        notes.append(f"{what} and drop of the tip are not measured: give --tip X,Y and --heel X,Y")
    if not fronts:
        notes.append(
            "blade and handle are not measured: they run to the handle's front, which is not drawn"
        )
    return notes


def _turned_over(parts: Parts, pointed: Pointed) -> tuple[str, ...]:
    """Return that a shape was turned over by a guess, and how to have it the other way."""
    if parts.spine != "right" or pointed.spine is not None or pointed.heel_mm is not None:
        return ()
    return (f"{OVER} by itself, as its edge seemed to be on the left; if not, give --spine left",)


def over_first(notes: Sequence[str]) -> tuple[str, ...]:
    """Return notes with that first which tells that a guess turned the knife over."""
    return tuple(sorted(notes, key=lambda note: not note.startswith(OVER)))


def _turned(parts: Parts, *, level: bool) -> str:
    """Return how far the outline was turned."""
    pose = parts.pose(level=level)
    degrees = math.degrees(math.remainder(pose.theta_rad, math.tau))
    how = "not turned" if abs(degrees) < LEAST_TURN_DEG else f"turned by {degrees:.2f} degrees"
    over = ", its other face up so that the spine is on top" if pose.mirrored else ""
    why = ": tip and butt were not both given" if level and how == "not turned" else ""
    return f"moved into the outline frame, the heel at its origin{over}; {how}{why}"


def _parts_told(shape: Polygon, parts: Parts, pointed: Pointed, frame: Typed) -> list[str]:
    """Return what of the parts was found by itself, and which places look wrong."""
    notes = []
    ends = [
        f"{name} {told(place)}"
        for name, place, given in (
            ("tip", parts.tip_mm, pointed.tip_mm),
            ("butt", parts.butt_mm, pointed.butt_mm),
        )
        if given is None
    ]
    if ends:
        options = " and ".join(f"--{end.split()[0]} X,Y" for end in ends)
        found = f"found by itself: {', '.join(ends)} mm, {frame.counted}"
        notes.append(f"{found}; else give {options}{frame.how}")
    if pointed.heel_mm is None:
        notes.append(
            f"the heel was not told; taken at {told(parts.heel_mm)} mm, {frame.counted}: "
            f"give --heel X,Y{frame.how}"
        )
    return notes + _far_notes(parts, pointed, proposed_ends(shape))


def _far_notes(parts: Parts, pointed: Pointed, ends: Ends) -> list[str]:
    """Return which of the ends that were told lie far from both ends of the shape."""
    notes = []
    reach = FAR_SHARE * math.dist(ends.tip_mm, ends.butt_mm)
    for name, place, given in (
        ("tip", parts.tip_mm, pointed.tip_mm),
        ("butt", parts.butt_mm, pointed.butt_mm),
    ):
        off = min(math.dist(place, end) for end in (ends.tip_mm, ends.butt_mm))
        if given is not None and off > reach:
            notes.append(
                f"the {name} told lies {off:.1f} mm from the nearer of the two ends, "
                f"{told(ends.tip_mm)} and {told(ends.butt_mm)}: check it"
            )
    return notes


def _trust(billet: Billet, taken_off_mm: float) -> Trust:
    usual = float(np.median(billet.vertex_sigma_mm)) if billet.vertex_sigma_mm else 0.0
    return Trust(
        bias_mm=billet.budget.bias_mm,
        taken_off_mm=taken_off_mm,
        doubt_mm=2.0 * math.hypot(usual, billet.budget.bias_sigma_mm),
    )
