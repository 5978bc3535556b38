"""Places on the photo that words name by their pixels: numbered there, and in the words."""

from __future__ import annotations

import re
from collections.abc import Sequence

Place = tuple[float, float]
PIXEL = re.compile(r"(?:the )?pixel (\d+(?:\.\d+)?),(\d+(?:\.\d+)?)")


def numbered(notes: Sequence[str]) -> tuple[list[str], list[Place]]:
    """Return notes with each pixel named by a number, and the places in the numbers' order.

    Examples
    --------
    >>> numbered(["A gap at pixel 12,34.", "Gaps at pixel 5,6 and at pixel 12,34."])
    (['A gap at mark 1.', 'Gaps at mark 2 and at mark 1.'], [(12.0, 34.0), (5.0, 6.0)])
    """
    places: list[Place] = []

    def named(found: re.Match[str]) -> str:
        place = (float(found[1]), float(found[2]))
        if place not in places:
            places.append(place)
        return f"mark {places.index(place) + 1}"

    return [PIXEL.sub(named, note) for note in notes], places
