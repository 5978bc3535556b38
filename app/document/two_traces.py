"""Two traces of one piece become one billet: the smaller rules."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from app.document.lengths import Unit, format_length
from geometry.billet import Billet
from geometry.two_faces import TwoFaces, both_faces


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
        If they are not of one piece.
    Cancelled
        If `stop` said so.
    """
    from calibration.simplify import simplified

    faces = both_faces(first, second, turned=turned, stop=stop)
    bare = Billet(shape=simplified(faces.shape))
    sigmas: tuple[float, ...] = ()
    if first.vertex_sigma_mm or second.vertex_sigma_mm:
        sigmas = tuple(faces.sigma_mm(bare.vertices_mm()).tolist())
    billet = replace(
        first,
        shape=bare.shape,
        vertex_sigma_mm=sigmas,
        budget=max(first.budget, second.budget, key=lambda budget: budget.worst_mm),
        thickness_mm=first.thickness_mm or second.thickness_mm,
        flaws=(
            *first.flaws,  # of the second, wherever they may lie
            *(answer.pose.shape(flaw) for answer in faces.answers for flaw in second.flaws),
        ),
    )
    return billet, (*_agreement(faces, unit), *_doubts(faces, turned))


def _agreement(faces: TwoFaces, unit: Unit) -> tuple[str, ...]:
    """Return how well the traces agree, and where least."""
    x, y = (format_length(each, unit) for each in faces.differ_at_mm)
    best = faces.best
    over = " The piece was turned over between them." if best.pose.mirrored else ""
    left_mm2 = min(faces.first.shape.area, faces.second.shape.area) - faces.shape.area
    slimmer = format_length(left_mm2 / faces.shape.exterior.length, unit)
    return (
        f"The two traces lie {format_length(best.apart_mm, unit)} apart on average, "
        f"{format_length(faces.differ_mm, unit)} at most, at x {x}, y {y} of the first.{over}",
        f"What both have was kept; that is {slimmer} slimmer all round than the smaller trace.",
    )


def _doubts(faces: TwoFaces, turned: bool | None) -> tuple[str, ...]:
    """Return what the shape does not tell."""
    if len(faces.answers) == 1:
        return ()
    over = {answer.pose.mirrored for answer in faces.answers}
    ways = len(faces.answers)
    told = f"The traces fit on each other {ways} ways about as well"
    if turned is None and len(over) == 2:
        told += ", turned over or not"
    kept = "what is left holds whichever is true."
    if np.ptp([answer.apart_mm for answer in faces.answers]) > 0.0 and len(over) == 1:
        return (f"{told}: which end is which cannot be told from the shape; {kept}",)
    return (f"{told}: which way they belong cannot be told from the shape; {kept}",)
