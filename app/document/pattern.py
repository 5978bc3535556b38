"""The pattern's lines from a blank on its billet."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from app.document.drawing import Circle, Cross, Drawing, Item, Label, Polyline, TitleBlock
from app.document.drills import hole_label
from app.document.lengths import Unit
from geometry.billet import Billet
from geometry.curves import Chain, flatten_chain
from geometry.outline import Hole, Mark, Outline
from geometry.pose import Pose

CHORD_MM = 0.004  # the drawn line stands no further from the true curve
LABEL_MM = 1.8  # capitals beside holes and marks
CROSS_OVER_MM = 1.5  # how far a centre mark reaches over the hole's edge
HATCH_MM = 1.5  # between the lines over a flaw
MARGIN_SEGMENTS = 32  # a quarter circle of the margin line
SCALE_SHOWN = 5e-5  # less is 0.01 mm on 200 mm
AXIS_KINDS = ("centre line",)

MIDDLE_IS_TRUE = "Solid line: the middle of the line is the true outline."
BILLET_IS_DASHED = (
    "Dashed line: the edge of the steel, seen on the face that was up when it was measured. "
    "Lay the sheet on that face so that they meet all round."
)
FLAWS_ARE_HATCHED = "Hatched: a flaw of the steel to keep out of."
MARGIN_IS_DOTTED = "Dotted line: the margin kept from the edge of the steel."
MIRRORED = "The outline lies mirrored: the other side of the knife is up."


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternOptions:
    """What a pattern shows.

    Parameters
    ----------
    margin_mm : float
        Where the margin line runs inside the billet's edge, if shown.
    show_margin, show_billet, show_holes, show_marks, show_labels : bool
        Each kind of line; labels are the words beside holes and marks.
    """

    margin_mm: float = 0.0
    show_margin: bool = False
    show_billet: bool = True
    show_holes: bool = True
    show_marks: bool = True
    show_labels: bool = True


def pattern_drawing(
    *,
    outline: Outline,
    pose: Pose,
    billet: Billet | None,
    title: TitleBlock,
    options: PatternOptions,
) -> Drawing:
    """Return the lines of a pattern, where the layout has them.

    Parameters
    ----------
    outline : Outline
        In its own frame.
    pose : Pose
        Where it lies on the billet.
    billet : Billet, optional
        The steel, for its dashed edge and the margin line.
    title : TitleBlock
        What the sheet says of itself; a line on each kind of line is added to its notes.
    options : PatternOptions
        What to show.
    """
    blank = outline.placed(pose)
    items: list[Item] = [closed_chain("PROFILE", blank.chain)]
    notes = [MIDDLE_IS_TRUE]
    if options.show_holes:
        items += [closed_chain("HOLES", cutout) for cutout in blank.cutouts]
        items += _holes(blank.holes, title.unit, options.show_labels)
    if options.show_marks:
        items += _marks(blank.marks, options.show_labels)
    if billet is not None and options.show_billet:
        items += _edges("BILLET", [billet.shape])
        notes.append(BILLET_IS_DASHED)
        flaws = list(hatched(billet))
        if flaws:
            items += flaws
            notes.append(FLAWS_ARE_HATCHED)
    if billet is not None and options.show_margin and options.margin_mm > 0.0:
        kept = billet.usable().buffer(-options.margin_mm, quad_segs=MARGIN_SEGMENTS)
        items += _edges("MARGIN", shapely.get_parts(kept))
        notes.append(MARGIN_IS_DOTTED)
    if pose.mirrored:
        notes.append(MIRRORED)
    if abs(pose.scale - 1.0) >= SCALE_SHOWN:
        notes.append(
            f"The outline is drawn at {100 * pose.scale:.2f} % of its own size; drilled holes "
            "keep theirs."
        )
    return Drawing(items=tuple(items), title=replace(title, notes=(*title.notes, *notes)))


def closed_chain(layer: str, chain: Chain) -> Polyline:
    """Return a closed chain as a line of a drawing."""
    return replace(_closed(layer, flatten_chain(chain, CHORD_MM)), chain=chain)


def hatched(billet: Billet) -> Iterator[Polyline]:
    """Yield the edges of the flaws, and slanting lines over them, as far as the steel goes."""
    flawed = shapely.intersection(billet.shape, shapely.union_all(billet.flaws))
    if flawed.is_empty:
        return
    yield from _edges("FLAWS", [p for p in shapely.get_parts(flawed) if isinstance(p, Polygon)])
    left, bottom, right, top = flawed.bounds
    rise_mm = top - bottom
    starts = np.arange(left - rise_mm, right, HATCH_MM * math.sqrt(2.0))
    slants = shapely.linestrings([[(x, bottom), (x + rise_mm, top)] for x in starts.tolist()])
    for line in shapely.get_parts(shapely.intersection(flawed, slants)):
        if line.length > 0.0:
            yield Polyline(layer="FLAWS", points_mm=tuple(line.coords))


def _closed(layer: str, ring_mm: NDArray[np.float64]) -> Polyline:
    points = tuple((x, y) for x, y in ring_mm.tolist())
    return Polyline(layer=layer, points_mm=points, closed=True)


def _edges(layer: str, polygons: Iterable[Polygon]) -> Iterator[Polyline]:
    for polygon in polygons:
        for ring in (polygon.exterior, *polygon.interiors):
            if not ring.is_empty:
                yield _closed(layer, shapely.get_coordinates(ring)[:-1])


def _holes(holes: tuple[Hole, ...], unit: Unit, labelled: bool) -> Iterator[Item]:
    for hole in holes:
        reach_mm = hole.diameter_mm + 2 * CROSS_OVER_MM
        x_mm, y_mm = hole.x_mm, hole.y_mm
        yield Circle(layer="HOLES", x_mm=x_mm, y_mm=y_mm, diameter_mm=hole.diameter_mm)
        yield Cross(layer="CENTRES", x_mm=x_mm, y_mm=y_mm, size_mm=reach_mm)
        if labelled:
            yield Label(
                layer="TEXT",
                x_mm=x_mm,
                y_mm=y_mm,
                text=hole_label(hole.diameter_mm, unit),
                height_mm=LABEL_MM,
                clear_mm=reach_mm / 2,
            )


def _marks(marks: tuple[Mark, ...], labelled: bool) -> Iterator[Item]:
    """Yield the marks, a row of one kind (jimping) named once."""
    named: set[str] = set()
    for mark in marks:
        layer = "AXIS" if mark.kind in AXIS_KINDS else "MARKS"
        yield Polyline(layer=layer, points_mm=mark.points_mm)
        if labelled and mark.points_mm and mark.kind not in named:
            named.add(mark.kind)
            x_mm, y_mm = max(mark.points_mm, key=lambda point: point[1])
            yield Label(
                layer="TEXT",
                x_mm=x_mm,
                y_mm=y_mm,
                text=mark.kind,
                height_mm=LABEL_MM,
                clear_mm=1.0,
            )
