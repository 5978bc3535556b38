"""What was told about a photo: found, and replaced by its kind and its place in the row."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

from app.document.job import PhotoFacts
from calibration.references import LineReference, Reference
from calibration.sizes import Kind, Place, SteelSize

T = TypeVar("T")


def lines_of(photo: PhotoFacts | None) -> tuple[LineReference, ...]:
    """Return the lines that were told."""
    references = () if photo is None else photo.references
    return tuple(one for one in references if isinstance(one, LineReference))


def first_of(photo: PhotoFacts | None, kind: type[T]) -> T | None:
    """Return the first reference of a kind, if any was told."""
    references = () if photo is None else photo.references
    return next((one for one in references if isinstance(one, kind)), None)


def with_reference(
    photo: PhotoFacts | None, kind: type[Reference], new: Reference | None, index: int = 0
) -> tuple[Reference, ...]:
    """Return the references with one of a kind replaced, or taken away by None.

    Beyond the last of its kind the new one is added.
    """
    kept = [] if photo is None else list(photo.references)
    places = [place for place, one in enumerate(kept) if isinstance(one, kind)]
    at = places[index] if index < len(places) else len(kept)
    kept[at : at + 1] = [] if new is None else [new]
    return tuple(kept)


def without(photo: PhotoFacts | None, kinds: tuple[type, ...]) -> tuple[Reference, ...]:
    """Return the references that are of none of some kinds."""
    references = () if photo is None else photo.references
    return tuple(one for one in references if not isinstance(one, kinds))


def between_of(photo: PhotoFacts | None) -> tuple[SteelSize, ...]:
    """Return the widths between two places that were told."""
    sizes = () if photo is None else photo.sizes
    return tuple(one for one in sizes if one.kind == "between")


def with_size(photo: PhotoFacts, kind: Kind, true_mm: float | None) -> PhotoFacts:
    """Return the facts with the length or the width of the whole piece, or without it."""
    kept = [one for one in photo.sizes if one.kind != kind]
    told = [] if true_mm is None else [SteelSize(kind=kind, true_mm=true_mm)]
    return _with_sizes(photo, (*told, *kept))


def with_between(
    photo: PhotoFacts, index: int, true_mm: float | None, ends_px: tuple[Place, Place] | None
) -> PhotoFacts:
    """Return the facts with one width between two places replaced, added or taken away.

    Without places it keeps those that it has.
    """
    between = list(between_of(photo))
    old = between[index] if index < len(between) else None
    new = []
    if true_mm is not None:
        if ends_px is None and old is not None:
            new = [replace(old, true_mm=true_mm)]
        else:
            new = [SteelSize(kind="between", true_mm=true_mm, ends_px=ends_px)]
    between[index : index + 1] = new
    return _with_sizes(photo, (*(one for one in photo.sizes if one.kind != "between"), *between))


def _with_sizes(photo: PhotoFacts, sizes: tuple[SteelSize, ...]) -> PhotoFacts:
    """Return the facts with other sizes; without any there is nothing to correct by."""
    return replace(photo, sizes=sizes, correct_offset=photo.correct_offset and bool(sizes))
