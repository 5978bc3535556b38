"""Where the lines of an outline lay when this program wrote them: told beside them in the file.

Whoever moves, turns or stretches them in another program carries the words along unchanged, so that
they tell whether the drawing still lies in the outline frame.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from app.files.strokes import Stroke
from geometry.curves import Chain, Point

MOST_TOLD = 4  # places of a line, spread over its corners
SAME_MM = 0.02  # drawing programs round to a thousandth, of an inch too


def told_by(chain: Chain) -> str:
    """Return the places of some corners of a chain, as a text.

    Examples
    --------
    >>> from geometry.curves import Line
    >>> told_by((Line(start=(0.0, 0.5), end=(9.0, 0.0)),))
    '0 0.5'
    """
    step = -(-len(chain) // MOST_TOLD)
    numbers = (number for piece in chain[::step] for number in piece.start)
    return " ".join(f"{round(number, 4) + 0.0:.10g}" for number in numbers)


def places_in(text: str) -> tuple[Point, ...]:
    """Return the places that a text tells; none where it is not of `told_by`'s kind."""
    try:
        numbers = [float(part) for part in text.split()]
    except ValueError:
        return ()
    if len(numbers) % 2 or not all(map(math.isfinite, numbers)):
        return ()
    return tuple(zip(numbers[::2], numbers[1::2], strict=True))


def lie_as_told(lines: Iterable[Stroke]) -> bool:
    """Return whether most of the places that lines tell are corners of theirs still.

    Lines of an older file tell none, and are believed. A corner that was moved, or a line that was
    taken apart, leaves most of the others where they were.
    """
    kept: dict[Point, bool] = {}
    for line in lines:
        for place in line.told:
            kept[place] = kept.get(place, False) or any(
                math.dist(place, corner) <= SAME_MM
                for piece in line.chain
                for corner in (piece.start, piece.end)
            )
    return 2 * sum(kept.values()) > len(kept) or not kept
