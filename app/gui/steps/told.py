"""The references that were told about a photo: found and replaced by their kind."""

from __future__ import annotations

from app.document.job import PhotoFacts
from calibration.references import LineReference, Reference


def line_of(photo: PhotoFacts | None) -> LineReference | None:
    """Return the first line that was told, if any."""
    references = () if photo is None else photo.references
    return next((one for one in references if isinstance(one, LineReference)), None)


def with_reference(
    photo: PhotoFacts | None, kind: type[Reference], new: Reference | None
) -> tuple[Reference, ...]:
    """Return the references with the first one of a kind replaced, or taken away by None."""
    kept = [] if photo is None else list(photo.references)
    index = next((i for i, one in enumerate(kept) if isinstance(one, kind)), len(kept))
    kept[index : index + 1] = [] if new is None else [new]
    return tuple(kept)


def without(photo: PhotoFacts | None, kinds: tuple[type, ...]) -> tuple[Reference, ...]:
    """Return the references that are of none of some kinds."""
    references = () if photo is None else photo.references
    return tuple(one for one in references if not isinstance(one, kinds))
