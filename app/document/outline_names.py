"""What a drawing is called: its name, and where its edge is from."""

from __future__ import annotations

BY_HAND, AS_MEASURED = "changed by hand", "as measured"
NO_MEASURES = "It has no measures for Blade and Handle; kept among your shapes it has."


def named_as_measured(name: str) -> str:
    """Return the name of an outline that is a measured piece's own.

    Examples
    --------
    >>> named_as_measured("forging")
    'forging, as measured'
    """
    return f"{name}, {AS_MEASURED}"


def is_as_measured(name: str) -> bool:
    """Return whether a name is that of a measured piece's own outline."""
    return name.endswith(f", {AS_MEASURED}")


def plain_name(name: str) -> str:
    """Return a name without where the edge is from.

    Examples
    --------
    >>> plain_name("forging, as measured"), plain_name("forging")
    ('forging', 'forging')
    """
    return name.removesuffix(f", {AS_MEASURED}")


def named_by_hand(name: str) -> str:
    """Return the name of an outline whose edge was changed by hand.

    Examples
    --------
    >>> named_by_hand("forging, as measured"), named_by_hand("Drop point")
    ('forging, changed by hand', 'Drop point, changed by hand')
    """
    return f"{plain_name(name)}, {BY_HAND}"


def drawing_words(name: str) -> str:
    """Return what there is to know of a drawing of a name."""
    if is_as_measured(name):
        return f"The measured piece: {plain_name(name)}. Its edge is as measured. {NO_MEASURES}"
    return f"A drawing: {name}. Its lines are kept as drawn. {NO_MEASURES}"
