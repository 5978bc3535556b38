"""Where the lines of an outline lay when this program wrote them: told beside them in the file.

Whoever moves, turns or stretches them in another program carries the words along unchanged, so that
they tell whether the drawing still lies in the outline frame.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import shapely
from shapely import Polygon

from app.files.strokes import Stroke
from geometry.curves import Chain, Point
from geometry.features import Station

MOST_TOLD = 4  # places of a line, spread over its corners
SAME_MM = 0.02  # drawing programs round to a thousandth, of an inch too
ON_EDGE = ("tip", "heel", "butt")  # a handle's front may lie in the steel
OFF_MM = 0.3  # a place that a person pointed at lies about as near to the edge


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


def lie_as_told(edge: Sequence[Stroke], others: Sequence[Stroke] = ()) -> bool:
    """Return whether most of the places that an edge tells are corners of it still.

    Other lines, as holes are, count where the edge tells none: a piece may have many, and they
    may be moved in it. Lines of an older file tell none, and are believed. A corner that was
    moved, or a line that was taken apart, leaves most of the others where they were.
    """
    kept = _kept(edge) or _kept(others)
    return 2 * sum(kept.values()) > len(kept) or not kept


def _kept(lines: Iterable[Stroke]) -> dict[Point, bool]:
    """Return of each place that lines tell whether it is a corner of theirs."""
    kept: dict[Point, bool] = {}
    for line in lines:
        for place in line.told:
            kept[place] = kept.get(place, False) or any(
                math.dist(place, corner) <= SAME_MM
                for piece in line.chain
                for corner in (piece.start, piece.end)
            )
    return kept


def off_the_edge(stations: Iterable[Station], steel: Polygon) -> tuple[str, ...]:
    """Return what to say of a tip, heel or butt that does not lie on the edge: one sentence."""
    off_mm = {
        station.name: steel.exterior.distance(shapely.Point(station.x_mm, station.y_mm))
        for station in stations
        if station.name in ON_EDGE
    }
    off_mm = {name: off for name, off in off_mm.items() if off > OFF_MM}
    if not off_mm:
        return ()
    names = list(off_mm)
    told = f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else names[0]
    lie, up_to = ("lie", "up to ") if len(names) > 1 else ("lies", "")
    return (
        f"The drawing's {told} {lie} {up_to}{max(off_mm.values()):.2f} mm off its edge; "
        "if the edge was moved or changed, tell them again.",
    )
