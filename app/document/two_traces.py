"""Two traces of one piece become one billet: the smaller rules."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from app.document.lengths import Unit, format_length
from geometry.billet import Billet
from geometry.errors import InputError
from geometry.registration import MOST_WAYS, Registration
from geometry.two_faces import TwoFaces, both_faces

SAME_THICKNESS_MM = 0.05  # two readings of one piece
ONE_THICKNESS_MM = 0.3  # forged steel is that uneven; beyond, a reading is wrong or the piece is
END_FOR_END_RAD = math.radians(20.0)  # off half a turn: ends may be sawn askew


def smaller_of(
    first: Billet,
    second: Billet,
    *,
    turned: bool | None = None,
    unit: Unit = "mm",
    stop: Callable[[], bool] | None = None,
) -> tuple[Billet, tuple[str, ...]]:
    """Return the piece that two traces have in common, and what the maker should know.

    Parameters
    ----------
    first, second : Billet
        Traces of the two faces; the answer lies in the frame of the first.
    turned : bool, optional
        Whether the piece was turned over between them; the fit decides if left out.
    unit : {"mm", "in"}
        Of the lengths in the sentences.
    stop : callable, optional
        Asked whether to stop.

    Raises
    ------
    InputError
        If they are not of one piece, or not of one thickness.
    Cancelled
        If `stop` said so.
    """
    from calibration.simplify import simplified

    uneven = _thickness(first.thickness_mm, second.thickness_mm, unit)
    faces = both_faces(first, second, turned=turned, stop=stop)
    bare = Billet(shape=simplified(faces.shape))
    sigmas: tuple[float, ...] = ()
    if first.vertex_sigma_mm or second.vertex_sigma_mm:
        sigmas = tuple(faces.sigma_mm(bare.vertices_mm()).tolist())
    billet = replace(
        first,
        shape=bare.shape,
        vertex_sigma_mm=sigmas,
        budget=faces.budget,
        thickness_mm=first.thickness_mm or second.thickness_mm,
        flaws=(
            *first.flaws,  # of the second, wherever they may lie
            *(answer.pose.shape(flaw) for answer in faces.answers for flaw in second.flaws),
        ),
    )
    return billet, (*_agreement(faces, unit), *_doubts(faces.answers), *uneven)


def _thickness(first_mm: float | None, second_mm: float | None, unit: Unit) -> tuple[str, ...]:
    """Return what to know of two thicknesses of one piece, of which the first is kept."""
    if first_mm is None or second_mm is None or abs(first_mm - second_mm) <= SAME_THICKNESS_MM:
        return ()
    one, other = (format_length(each, unit) for each in (first_mm, second_mm))
    if abs(first_mm - second_mm) > ONE_THICKNESS_MM:
        raise InputError(
            f"the first is {one} thick, the second {other}: they are not of one piece.",
            where="Traces",
            remedy="Give two traces of the same piece of steel, or correct a thickness.",
        )
    return (f"The first trace gives the thickness as {one}, the second as {other}: {one} is kept.",)


def _agreement(faces: TwoFaces, unit: Unit) -> tuple[str, ...]:
    """Return how well the traces agree, and where least."""
    x, y = (format_length(each, unit) for each in faces.differ_at_mm)
    best = faces.best
    surely = all(answer.pose.mirrored for answer in faces.answers)
    over = " The piece was turned over between them." if surely else ""
    left_mm2 = min(faces.first.shape.area, faces.second.shape.area) - faces.shape.area
    slimmer = format_length(left_mm2 / faces.shape.exterior.length, unit)
    return (
        f"The two traces lie {format_length(best.apart_mm, unit)} apart on average, "
        f"{format_length(faces.differ_mm, unit)} at most, at x {x}, y {y} of the first.{over}",
        f"What both have was kept; that is {slimmer} slimmer all round than the smaller trace.",
    )


def _doubts(answers: tuple[Registration, ...]) -> tuple[str, ...]:
    """Return what the shape does not tell."""
    if len(answers) == 1:
        return ()
    over = {answer.pose.mirrored for answer in answers}
    each_way = len(answers) / len(over)
    # Of a round piece more ways would be found without end.
    least = "at least " if each_way >= MOST_WAYS else ""
    told = f"The traces fit on each other {least}{len(answers)} ways about as well"
    kept = "what is left holds whichever is true"
    if least:
        kept = "what is left holds for these"
    unknown = "which way they belong"
    if len(over) == 2:
        told += ", turned over or not"
    elif len(answers) == 2 and _end_for_end(*answers):
        unknown = "which end is which"
    return (f"{told}: {unknown} cannot be told from the shape; {kept}.",)


def _end_for_end(one: Registration, other: Registration) -> bool:
    """Return whether two answers are half a turn apart."""
    turn_rad = math.remainder(one.pose.theta_rad - other.pose.theta_rad, math.tau)
    return abs(abs(turn_rad) - math.pi) < END_FOR_END_RAD
