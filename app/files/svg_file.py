"""An outline from an SVG that was drawn anywhere.

An SVG of an outline that this program wrote (`app.exports.outline_svg`) says ``data-frame`` =
``outline`` at its root: the numbers are those of the outline frame, y turned. Each hole of the
group HOLES and each line of the group MARKS has ``data-kind``, each line of the group STATIONS
``data-name``; what is of PROFILE and HOLES has ``data-at`` and some of its corners, so that one
that was moved since is known (`app.files.told_places`). Without them it is read as any other
drawing.
"""

from __future__ import annotations

import io
import math
import re
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import svgelements

from app.document.lengths import MM_PER_INCH
from app.files.atomic import read_bytes
from app.files.drawing_units import PIXELS, PLAIN, Scale, known_scale
from app.files.errors import FileError
from app.files.foreign import guarded
from app.files.gathering import Gathering
from app.files.likely_size import at_likely_size
from app.files.loops import outline_from_strokes
from app.files.strokes import Imported, Strokes
from app.files.svg_shapes import INKLESS, Shown, kind_in_words, shown, strokes_of
from app.files.svg_tree import made_plain, safe_root
from app.files.svg_unseen import not_drawn
from geometry.curves import Point

LARGEST_BYTES = 40_000_000
SMALLEST, LARGEST = 1e-6, 1e9  # of a frame, in mm or units: a knife in any of them lies between
PX_PER_INCH = 96.0  # CSS Values 3: 1in is 96px
LENGTH = re.compile(r"\s*[+]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?\s*(mm|cm|in|pt|pc|q)\s*", re.IGNORECASE)
MM_PER_LENGTH = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25}
BARE = re.compile(r"\s*[+]?((?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?)\s*(?:px)?\s*", re.IGNORECASE)
NOT_USED = (
    "The drawing states its size in its width and height; the unit that was told is not used."
)
UNITS = (*PLAIN, *PIXELS)


def read_svg(path: Path | str, *, unit: str | None = None, loop: int = 0) -> Imported:
    """Return the largest closed loop of a drawing, a page's frame apart, and the holes in it.

    Transforms, nested drawings and ``use`` are followed; words, pictures and hidden things are
    left out, and named. In a drawing with a group PROFILE only that and HOLES are read. The
    outline is turned y up and moved so that its box has its lower left corner at the origin; one
    that this program wrote stays in its frame.

    Parameters
    ----------
    path : Path or str
        The file.
    unit : str, optional
        What one user unit is, of `drawing_units.MM_PER_UNIT`, or what a pixel of the frame is.
    loop : int
        Which closed loop is the edge, 1 the largest; 0 to choose by itself.

    Raises
    ------
    FileError
        If it cannot be read, is no SVG, is made to hang its reader, or holds no closed outline.
    UnitQuestion
        If its unit is not known: it has no width and height in physical units with a view box.
    InputError
        If the outline crosses itself.
    """
    data, where = read_bytes(path, limit_bytes=LARGEST_BYTES), Path(path).name
    root = safe_root(data, where)
    _check_sizes(root, where)
    frame = guarded(lambda: _frame(root, unit), where)
    lost = guarded(lambda: made_plain(root, where), where)
    text = ElementTree.tostring(root, encoding="unicode")
    found = guarded(lambda: _strokes(text, root, frame, lost), where)
    found, scale = at_likely_size(found, frame.scale)
    read = outline_from_strokes(
        found,
        name=Path(path).stem,
        where=where,
        agree=lambda width, height: scale.agree(width, height, where),
        loop=loop,
    )
    unused = unit is not None and frame.stated
    return replace(read, notes=(NOT_USED, *read.notes)) if unused else read


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """How a drawing's numbers become mm.

    Parameters
    ----------
    scale : Scale
        Of what the reading library calls a pixel.
    per_inch : float
        How many of them the library is to put in an inch.
    origin : tuple of float
        Where its upper left corner is, mm, y down; (0, 0) but for a file of ours.
    stated : bool
        Whether the drawing tells its size itself.
    ours : bool
        Whether it is a file of ours.
    """

    scale: Scale
    per_inch: float
    origin: Point
    stated: bool = False
    ours: bool = False

    def at(self, x: float, y: float) -> Point:
        """Return a point in mm: the one place where y turns up."""
        mm = self.scale.mm_per_unit
        return self.origin[0] + mm * x, -(self.origin[1] + mm * y)


def _frame(root: ElementTree.Element, unit: str | None) -> _Frame:
    """Return how to read a drawing's numbers; its frame is taken off where it says no size.

    A drawing with width and height in physical units and a view box is believed. In any other its
    bare user units are read, and a person says what a unit is.
    """
    view = _view_box(root)
    _complete(root, view)
    physical = all(LENGTH.fullmatch(root.get(side, "")) for side in ("width", "height"))
    if physical and view:
        ours = root.get("data-frame") == "outline"
        mm = MM_PER_INCH / PX_PER_INCH
        sides = {side: _mm(root.get(side, "")) for side in ("width", "height")}
        told = Scale(mm_per_unit=mm, told="file" if unit is None else "person", units=UNITS)
        per_unit = sides["width"] / view[2] if ours else 0.0
        root.attrib.update({side: repr(length / mm) for side, length in sides.items()})
        origin = (view[0] * per_unit, view[1] * per_unit)
        return _Frame(scale=told, per_inch=PX_PER_INCH, origin=origin, stated=True, ours=ours)
    pixels = _pixels_per_unit(root, view)
    for attribute in ("width", "height", "viewBox"):
        root.attrib.pop(attribute, None)
    scale = known_scale(unit, None, units=UNITS, pixels_per_unit=pixels)
    per_inch = PX_PER_INCH if unit is None else MM_PER_INCH / scale.mm_per_unit
    return _Frame(scale=scale, per_inch=per_inch, origin=(0.0, 0.0))


def _check_sizes(root: ElementTree.Element, where: str) -> None:
    """Raise FileError where the drawing's own frame has a size that none can have."""
    for name, lengths in _sizes(root):
        if lengths and not (min(lengths) >= SMALLEST and max(lengths) <= LARGEST):
            text = " ".join(root.get(name, "").split())[:60]
            raise FileError(
                f"its {name} is told as “{text}”, a size that no drawing has.",
                where=where,
                remedy="Set the page to its true size in the drawing, and save it again.",
            )


def _sizes(root: ElementTree.Element) -> Iterator[tuple[str, list[float]]]:
    """Yield what tells the size of a drawing's frame, each with its lengths in mm or units."""
    for side in ("width", "height"):
        text = root.get(side, "")
        if LENGTH.fullmatch(text):
            yield side, [_mm(text)]
        elif bare := BARE.fullmatch(text):
            yield side, [float(bare[1]) or 1.0]  # 0 tells nothing
    if view := _view_box(root):
        yield "viewBox", [*view[2:], *(max(abs(corner), SMALLEST) for corner in view[:2])]


def _view_box(root: ElementTree.Element) -> list[float]:
    """Return a drawing's view box: left, top, width, height; empty where it has no good one."""
    parts = re.split(r"[\s,]+", root.get("viewBox", "").strip())
    try:
        view = [float(part) for part in parts]
    except ValueError:
        return []
    good = len(view) == 4 and all(map(math.isfinite, view)) and min(view[2:]) > 0.0
    return view if good else []


def _complete(root: ElementTree.Element, view: list[float]) -> None:
    """Give a frame that tells one physical side the other one, by its view box."""
    told = [side for side in ("width", "height") if LENGTH.fullmatch(root.get(side, ""))]
    if len(told) == 1 and view:
        missing = "height" if told == ["width"] else "width"
        if root.get(missing, "auto") in ("auto", "100%"):
            ratio = view[3] / view[2] if missing == "height" else view[2] / view[3]
            root.set(missing, f"{_mm(root.get(told[0], '')) * ratio}mm")


def _mm(text: str) -> float:
    """Return a physical length exactly; the library knows an inch to six figures."""
    found = LENGTH.fullmatch(text)
    assert found is not None
    return float(found[1] + (found[2] or "")) * MM_PER_LENGTH[found[3].lower()]


def _pixels_per_unit(root: ElementTree.Element, view: list[float]) -> float:
    """Return how many pixels a user unit has by a frame that is told in pixels; 1 by default."""
    sides = [BARE.fullmatch(root.get(side, "")) for side in ("width", "height")]
    if not view:
        return 1.0
    ratios = [float(s[1]) / length for s, length in zip(sides, view[2:], strict=True) if s]
    return min(ratios, default=1.0) or 1.0


def _strokes(text: str, root: ElementTree.Element, frame: _Frame, lost: list[str]) -> Strokes:
    """Return all that is in a drawing, mm, y up; ``root`` is the tree of its text."""
    found = Gathering(in_frame=frame.ours)
    drawing = svgelements.SVG.parse(io.StringIO(text), ppi=frame.per_inch, reify=True)
    kinds: list[str] = []
    for thing in shown(drawing):
        if isinstance(thing.shape, svgelements.Title):
            if frame.ours and not found.name:
                found.name = str(thing.shape.title or "")
            continue
        kinds.append(kind_in_words(thing.shape))
        _take(thing, frame, found)
    for what in (*lost, *not_drawn(root, kinds)):
        found.leave(what, None)
    return found.strokes()


def _take(thing: Shown, frame: _Frame, found: Gathering) -> None:
    """Take one shape for what it is."""
    strokes = list(strokes_of(thing, frame.at))
    if thing.what in ("", INKLESS):
        for stroke in strokes:
            ours = stroke if frame.ours else replace(stroke, label="")
            found.take(ours, inkless=bool(thing.what))
        if not strokes:
            found.leave(f"{kind_in_words(thing.shape)} without size", None)
    else:
        found.leave(thing.what, strokes[0].chain[0].start if strokes else None)
