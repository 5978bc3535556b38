"""The shapes of an SVG as the reading library gives them, made strokes."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import svgelements

from app.files.curves_in import ellipse_chain, fastened, quadratic
from app.files.gathering import MARKS, OURS, STATIONS
from app.files.strokes import Stroke
from app.files.svg_ink import is_gone, is_hidden, is_inkless
from app.files.svg_numbers import is_damaged
from app.files.svg_tree import HIDDEN
from app.files.told_places import places_in
from geometry.curves import Cubic, Line, Point, Segment

GROUPS = (*OURS, MARKS, STATIONS)  # of our own files
WORDS = {"Path": "path", "Rect": "rectangle", "Circle": "circle", "Ellipse": "ellipse",
         "SimpleLine": "line", "Polyline": "polyline", "Polygon": "polygon",
         "Image": "picture"}  # fmt: skip

NOWHERE = (math.nan, math.nan)
INKLESS = "shape without ink or fill"

Place = Callable[[float, float], Point]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """Something on a drawing.

    Parameters
    ----------
    shape : svgelements.Shape
        In pixels, y down, all transforms applied.
    group : str
        The first of our groups' names above it, else empty.
    label : str
        What a file of ours says that it is.
    what : str
        Why it is no line of an outline, in words; empty for a line.
    """

    shape: svgelements.Shape
    group: str
    label: str
    what: str = ""


def shown(group: svgelements.Group, name: str = "", *, hidden: bool = False) -> Iterator[Shown]:
    """Yield the shapes and words of a drawing in their order, hidden ones told as such."""
    for item in group:
        values = getattr(item, "values", None) or {}
        unseen = str(values.get(HIDDEN) or "").strip().lower() == "none" or is_gone(values)
        gone = hidden or unseen
        if isinstance(item, list) and not isinstance(item, svgelements.Path):
            own = name or str(values.get("id") or "")
            yield from shown(item, own if own in GROUPS else "", hidden=gone)
            continue
        label = str(values.get("data-kind") or values.get("data-name") or "")
        if isinstance(item, svgelements.Title):
            yield Shown(shape=item, group=name, label=label)
        elif isinstance(item, svgelements.Text):
            if (item.text or "").strip():
                yield Shown(shape=item, group=name, label=label, what="words")
        elif isinstance(item, svgelements.Image):
            yield Shown(shape=item, group=name, label=label, what="picture")
        elif isinstance(item, svgelements.Shape):
            kind = kind_in_words(item)
            what = f"hidden {kind}" if gone else _why_unseen(values, kind)
            yield Shown(shape=item, group=name, label=label, what=what)


def kind_in_words(shape: object) -> str:
    """Return what a shape was drawn as."""
    return WORDS.get(type(shape).__name__, "shape")


def _why_unseen(values: dict[str, object], kind: str) -> str:
    """Return why a shape is not seen, in words; empty for one that is."""
    if is_hidden(values):
        return f"hidden {kind}"
    return INKLESS if is_inkless(values) else ""


def strokes_of(thing: Shown, place: Place) -> Iterator[Stroke]:
    """Yield each part of a shape as a stroke, its points put in their place in mm."""
    if isinstance(thing.shape, svgelements.Text | svgelements.Image | svgelements.Title):
        return
    what, path = kind_in_words(thing.shape), abs(svgelements.Path(thing.shape))
    values = getattr(thing.shape, "values", None) or {}
    if is_damaged(str(values.get("d") or ""), str(values.get("points") or "")):
        spots = [place(*_xy(segment.end)) for segment in path if segment.end is not None]
        chain = tuple(Line(start=spot, end=NOWHERE) for spot in spots or [NOWHERE])
        yield Stroke(chain=chain, what=what, layer=thing.group)
        return
    told = places_in(str(values.get("data-at") or ""))
    for pieces in _parts(path, place, dots=thing.group == STATIONS):
        yield Stroke(
            chain=tuple(pieces), what=what, layer=thing.group, label=thing.label, told=told
        )


def _parts(path: svgelements.Path, place: Place, *, dots: bool) -> Iterator[list[Segment]]:
    """Yield the pieces of each part of a path; with ``dots`` a last one without length too."""
    pieces: list[Segment] = []
    dot: Point | None = None
    for segment in path:
        if isinstance(segment, svgelements.Move):
            if pieces:
                yield pieces
            pieces = []
        elif segment.start is not None and segment.end is not None:
            dot = place(*_xy(segment.start))
            pieces += _pieces(segment, place)
            if isinstance(segment, svgelements.Close) and pieces:
                yield pieces
                pieces = []
    if dots and not pieces and dot is not None:
        pieces = [Line(start=dot, end=dot)]
    if pieces:
        yield pieces


def _pieces(segment: svgelements.PathSegment, place: Place) -> list[Segment]:
    """Return a segment as pieces in mm; none where it has no length, a line if it is damaged."""
    start, end = place(*_xy(segment.start)), place(*_xy(segment.end))
    if not all(map(math.isfinite, (*start, *end))):
        return [Line(start=start, end=end)]
    if isinstance(segment, svgelements.Arc):
        return _arc(segment, place)
    if isinstance(segment, svgelements.QuadraticBezier):
        return [quadratic(start, place(*_xy(segment.control)), end)]
    if isinstance(segment, svgelements.CubicBezier):
        controls = place(*_xy(segment.control1)), place(*_xy(segment.control2))
        if not all(map(math.isfinite, (*controls[0], *controls[1]))):
            return [Line(start=controls[0], end=controls[1])]
        return [Cubic(start=start, control1=controls[0], control2=controls[1], end=end)]
    return [Line(start=start, end=end)] if start != end else []


def _arc(segment: svgelements.Arc, place: Place) -> list[Segment]:
    """Return an elliptical arc; its two axes are carried as vectors, so that y may turn."""
    start, end = place(*_xy(segment.start)), place(*_xy(segment.end))
    cx, cy = place(*_xy(segment.center))
    (ax, ay), (bx, by) = (place(*_xy(axis)) for axis in (segment.prx, segment.pry))
    major, minor = (ax - cx, ay - cy), (bx - cx, by - cy)
    if not (math.hypot(*major) and math.hypot(*minor)):
        return [Line(start=start, end=end)] if start != end else []
    across = major[0] * minor[1] - major[1] * minor[0]
    x, y = start[0] - cx, start[1] - cy
    from_rad = math.atan2(
        (major[0] * y - major[1] * x) / across, (x * minor[1] - y * minor[0]) / across
    )
    # the library counts the sweep from its first axis to its second, y down
    screen = segment.prx - segment.center, segment.pry - segment.center
    way = screen[0].x * screen[1].y - screen[0].y * screen[1].x
    sweep = segment.sweep if way > 0 else -segment.sweep
    chain = ellipse_chain((cx, cy), major, minor, from_rad, sweep)
    return list(fastened(chain, start, end))


def _xy(point: svgelements.Point) -> tuple[float, float]:
    return float(point.x), float(point.y)
