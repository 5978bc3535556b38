"""An outline from an SVG that was drawn anywhere."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import svgelements
from numpy.typing import NDArray

from app.document.lengths import MM_PER, MM_PER_INCH, Unit
from app.files.atomic import read_bytes
from app.files.drawing_units import Told, agree_on_size
from app.files.errors import FileError
from app.files.foreign import guarded
from app.files.loops import chord_for, outline_from_paths
from geometry.curves import Cubic, chords_of_turn
from geometry.outline import Outline

LARGEST_BYTES = 40_000_000
MOST_POINTS = 2_000_000
CHORD_MM = 0.005
PX_PER_INCH = 96.0  # CSS Values 3: 1in is 96px
OURS = ("PROFILE", "HOLES")  # the groups of a pattern that are cut; the rest is for the eye
LENGTH = re.compile(r"\s*[+]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?\s*(mm|cm|in|pt|pc|q)\s*", re.IGNORECASE)
NEVER_SHOWN = ("symbol", "clipPath", "mask", "marker", "pattern")  # unless something points at it
DEFS = "{http://www.w3.org/2000/svg}defs"


def read_svg(path: Path | str, *, unit: Unit | None = None) -> Outline:
    """Return the largest closed loop of a drawing and the holes in it.

    Transforms, nested drawings and ``use`` are followed; words, pictures and hidden things are
    passed over. In a drawing with a group PROFILE only that and HOLES are read. The outline is
    turned y up and moved so that its box has its lower left corner at the origin.

    Parameters
    ----------
    path : Path or str
        The file.
    unit : {"mm", "in"}, optional
        What one user unit is, in a drawing without a physical width and height; others are
        believed.

    Raises
    ------
    FileError
        If it cannot be read, is no SVG, declares a document type, or holds no closed outline.
    InputError
        If its unit is not known (the sizes are told), or the outline crosses itself.
    """
    data, where = read_bytes(path, limit_bytes=LARGEST_BYTES), Path(path).name
    root = _root(data, where)
    scale, told, px_per_inch = _scale(root, unit)
    _hide_what_is_not_shown(root)
    text = ElementTree.tostring(root, encoding="unicode")
    paths = guarded(lambda: list(_paths(text, px_per_inch, scale)), where)

    def agree(width_mm: float, height_mm: float) -> None:
        pixels = _in_pixels(width_mm, height_mm)
        agree_on_size(width_mm, height_mm, told=told, where=where, otherwise=pixels)

    return outline_from_paths(paths, name=Path(path).stem, where=where, agree=agree)


def _in_pixels(width: float, height: float) -> str:
    """Return what a size in user units is by the customs of pixels, in words."""
    sizes = [
        f"{width * 25.4 / per_inch:.2f} x {height * 25.4 / per_inch:.2f} mm at {per_inch}"
        for per_inch in (96, 90, 72)
    ]
    return (
        f"If its units are pixels, it is {', '.join(sizes)} to the inch: give the drawing a width "
        "and a height in mm and a view box."
    )


def _root(data: bytes, where: str) -> ElementTree.Element:
    if b"<!DOCTYPE" in data.replace(b"\0", b""):  # in UTF-16 too
        raise FileError(
            "it declares a document type, which may make a small file grow without end.",
            where=where,
            remedy="Save it as plain SVG, or take the line with <!DOCTYPE out.",
        )
    try:
        root = ElementTree.fromstring(data)
    except (ElementTree.ParseError, ValueError, LookupError) as error:
        raise FileError(
            f"this is not an SVG drawing ({error}).",
            where=where,
            remedy="Save the outline as SVG first.",
        ) from error
    if root.tag.rpartition("}")[2] != "svg":
        raise FileError(
            f"this is not an SVG drawing, its root is “{root.tag}”.",
            where=where,
            remedy="Save the outline as SVG first.",
        )
    return root


def _scale(root: ElementTree.Element, unit: Unit | None) -> tuple[float, Told, float]:
    """Return mm per unit, who said so, and how many units the reader is to put in an inch.

    A drawing with width and height in physical units and a view box is believed. In any other its
    bare user units are read: its frame is taken off, and a person says what a unit is.
    """
    physical = all(LENGTH.fullmatch(root.get(side, "")) for side in ("width", "height"))
    if physical and root.get("viewBox"):
        return MM_PER_INCH / PX_PER_INCH, "file" if unit is None else "person", PX_PER_INCH
    for attribute in ("width", "height", "viewBox"):
        root.attrib.pop(attribute, None)
    if unit is None:
        return 1.0, "nobody", PX_PER_INCH
    return MM_PER[unit], "person", MM_PER_INCH / MM_PER[unit]


def _hide_what_is_not_shown(root: ElementTree.Element) -> None:
    """Move what is only pointed at into definitions, where the reader does not draw it."""
    hidden = ElementTree.Element(DEFS)
    for parent in list(root.iter()):
        for child in list(parent):
            if isinstance(child.tag, str) and child.tag.rpartition("}")[2] in NEVER_SHOWN:
                parent.remove(child)
                hidden.append(child)
    root.insert(0, hidden)


def _paths(text: str, px_per_inch: float, scale: float) -> Iterator[NDArray[np.float64]]:
    """Yield lines in mm, y up."""
    drawing = svgelements.SVG.parse(io.StringIO(text), ppi=px_per_inch, reify=True)
    shapes = list(_shapes(drawing, ""))
    if any(group == OURS[0] for group, _ in shapes):
        shapes = [(group, shape) for group, shape in shapes if group in OURS]
    total = 0
    for _, shape in shapes:
        for line in _lines(abs(svgelements.Path(shape)), CHORD_MM / scale):
            total += len(line)
            if total > MOST_POINTS:
                raise OverflowError("too many points")
            if np.isfinite(line).all():
                yield line * (scale, -scale)  # the one place where y turns up


def _shapes(group: svgelements.Group, name: str) -> Iterator[tuple[str, svgelements.Shape]]:
    """Yield the shapes that are seen, with the first of our groups' names above them."""
    for item in group:
        if isinstance(item, list):
            own = name or str(getattr(item, "values", {}).get("id") or "")
            yield from _shapes(item, own if own in OURS else "")
        elif isinstance(item, svgelements.Shape) and not _is_hidden(item):
            yield name, item


def _is_hidden(shape: svgelements.Shape) -> bool:
    return shape.values.get("visibility") in ("hidden", "collapse")


def _lines(path: svgelements.Path, chord: float) -> Iterator[NDArray[np.float64]]:
    """Yield each part of a path as (N, 2) points; closed parts end where they start."""
    points: list[tuple[float, float]] = []
    for segment in path:
        if isinstance(segment, svgelements.Move):
            if len(points) > 1:
                yield np.array(points)
            points = [_xy(segment.end)]
            continue
        if segment.end is None or segment.start is None:
            continue
        if not points:  # drawn on after a close
            points = [_xy(segment.start)]
        points += _between(segment, chord)
        points.append(_xy(segment.end))
        if isinstance(segment, svgelements.Close):
            yield np.array(points)
            points = []
    if len(points) > 1:
        yield np.array(points)


def _between(segment: svgelements.PathSegment, chord: float) -> list[tuple[float, float]]:
    """Return points on a curve between its ends."""
    if isinstance(segment, svgelements.Arc):
        radius = max(abs(segment.rx), abs(segment.ry))
        if radius <= 0.0:
            return []
        count = chords_of_turn(radius, segment.sweep, chord_for(radius, chord))
        return [_xy(segment.point(step / count)) for step in range(1, count)]
    if isinstance(segment, svgelements.QuadraticBezier):
        start, middle, end = _xy(segment.start), _xy(segment.control), _xy(segment.end)
        controls = [
            tuple((end_ + 2 * mid) / 3 for end_, mid in zip(corner, middle, strict=True))
            for corner in (start, end)
        ]
        return _on_cubic(start, controls[0], controls[1], end, chord)  # type: ignore[arg-type]
    if isinstance(segment, svgelements.CubicBezier):
        return _on_cubic(
            _xy(segment.start),
            _xy(segment.control1),
            _xy(segment.control2),
            _xy(segment.end),
            chord,
        )
    return []


def _on_cubic(
    start: tuple[float, float],
    control1: tuple[float, float],
    control2: tuple[float, float],
    end: tuple[float, float],
    chord: float,
) -> list[tuple[float, float]]:
    size = float(np.ptp([start, control1, control2, end], axis=0).max())
    if size <= 0.0:
        return []
    curve = Cubic(start=start, control1=control1, control2=control2, end=end)
    return [(x, y) for x, y in curve.flattened(chord_for(size, chord)).tolist()[1:]]


def _xy(point: svgelements.Point) -> tuple[float, float]:
    return float(point.x), float(point.y)
