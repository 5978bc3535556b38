"""The bars of known length that prove a print: 100 mm and 4 in, across and up the page."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from app.document.drawing import LAYERS, Item, PointMm, Polyline, Text
from app.document.lengths import MM_PER_INCH

METRIC_MM = 100.0
INCHES = 4
TALLEST_MM = INCHES * MM_PER_INCH
LEFT_MM = 17.0  # room that the upright pair takes, from the corner
FOOT_MM = 13.0  # room that the lying pair takes
APART_MM = 1.5  # between the two lines of a pair
LABEL_MM = 2.0  # capitals


def rulers(x_mm: float, y_mm: float) -> tuple[Item, ...]:
    """Return both pairs, standing in a corner.

    Parameters
    ----------
    x_mm, y_mm : float
        The corner; the lying pair starts `LEFT_MM` right of it, the upright pair `FOOT_MM` + 2
        above it.
    """
    across_x, across_y = x_mm + LEFT_MM, y_mm + 5.2
    up_x, up_y = x_mm + 5.8, y_mm + FOOT_MM + 2.0
    return (
        *_pair(lambda along, out: (across_x + along, across_y + out)),
        *_pair(lambda along, out: (up_x + out, up_y + along)),
        _label("100 mm", across_x + METRIC_MM / 2, y_mm + 10.5),
        _label("4 in", across_x + METRIC_MM / 2, y_mm),
        _label("100", x_mm + 13.8, up_y + METRIC_MM / 2 + 0.8),
        _label("mm", x_mm + 13.8, up_y + METRIC_MM / 2 - 2.4),
        _label("4", x_mm + 1.4, up_y + METRIC_MM / 2 + 0.8),
        _label("in", x_mm + 1.4, up_y + METRIC_MM / 2 - 2.4),
    )


def _label(text: str, x_mm: float, y_mm: float) -> Text:
    return Text(layer="TEXT", x_mm=x_mm, y_mm=y_mm, text=text, height_mm=LABEL_MM, align="middle")


def _pair(place: Callable[[float, float], PointMm]) -> Iterator[Polyline]:
    """Yield an inch bar with its ticks to one side and a metric bar with its ticks to the other.

    A bar is as long as it says from end to end; the ticks stand on it without covering its ends,
    with their middles at true distances.
    """

    def line(layer: str, *points: tuple[float, float]) -> Polyline:
        return Polyline(layer=layer, points_mm=tuple(place(*point) for point in points))

    half = LAYERS["RULERS"].width_mm / 2
    yield line("RULERS", (0.0, 0.0), (TALLEST_MM, 0.0))
    yield line("RULERS", (0.0, APART_MM), (METRIC_MM, APART_MM))
    for eighths in range(8 * INCHES + 1):
        length_mm = 2.6 if eighths % 8 == 0 else 1.9 if eighths % 4 == 0 else 1.2
        along = eighths * MM_PER_INCH / 8
        yield line("TICKS", (along, -half), (along, -length_mm))
    for tick in range(int(METRIC_MM) + 1):
        length_mm = 3.0 if tick % 10 == 0 else 2.1 if tick % 5 == 0 else 1.2
        along = float(tick)
        yield line("TICKS", (along, APART_MM + half), (along, APART_MM + length_mm))
