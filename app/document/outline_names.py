"""What a drawing is called: its name, and where its edge is from."""

from __future__ import annotations

BY_HAND, AS_MEASURED = "changed by hand", "as measured"


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
