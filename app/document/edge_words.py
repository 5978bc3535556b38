"""What is said of an edge that was changed by hand."""

from __future__ import annotations

from app.document.lengths import Unit, format_length
from geometry.hole_webs import thinned_webs
from geometry.outline import Outline

MOST_TOLD = 2  # holes
FELT_MM = 0.005


def moved_words(moved_mm: float, unit: Unit) -> str:
    """Return how far an edge moved.

    Examples
    --------
    >>> moved_words(0.176, "mm"), moved_words(0.0, "mm")
    ('The edge moved by 0.18 mm at most.', 'The edge stayed as it was.')
    """
    if moved_mm < FELT_MM:
        return "The edge stayed as it was."
    size = format_length(moved_mm, unit, decimals=2 if unit == "mm" else 3)
    return f"The edge moved by {size} at most."


def thin_words(before: Outline, after: Outline, unit: Unit) -> str:
    """Return which holes a change of the edge left with too little steel; empty for none."""
    told = []
    for thin in thinned_webs(before, after)[:MOST_TOLD]:
        x, y = thin.hole.x_mm, thin.hole.y_mm
        place = " and ".join(
            (f"{_size(x, unit)} along", f"{_size(y, unit)} up"),
        )
        told.append(
            f"The {thin.hole.kind} hole at {place} has {_size(thin.web_mm, unit)} of steel beside "
            f"it now; {_size(thin.usual_mm, unit)} is usual."
        )
    return " ".join(told)


def _size(mm: float, unit: Unit) -> str:
    return format_length(mm, unit, decimals=1 if unit == "mm" else 2)
