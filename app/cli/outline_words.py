"""What an outline is, in words for a maker and in numbers for a program."""

from __future__ import annotations

from collections import Counter
from dataclasses import asdict
from typing import Any

from app.cli.outline_frame import Trust
from app.document.drills import hole_label
from app.document.lengths import Unit, format_length
from app.files.strokes import Imported
from geometry.blade_measures import blade_measures
from geometry.curvature import WheelsForCurve
from geometry.curves import Arc, Cubic
from geometry.outline import Outline


def summary(read: Imported, wheels: tuple[WheelsForCurve, ...], unit: Unit = "mm") -> list[str]:
    """Return what the outline is, its sizes in a unit, and what was not taken, a line each."""
    outline = read.outline
    x0, y0, x1, y1 = outline.bounds_mm
    kinds = Counter(_kind(piece) for piece in outline.chain)
    pieces = ", ".join(f"{count} {kind}{'s' * (count > 1)}" for kind, count in kinds.items())
    box = f"{_size(x1 - x0, unit).split()[0]} x {_size(y1 - y0, unit)}"
    lines = [f"outline   {outline.name}: {box}, {pieces}"]
    drilled = Counter((hole.kind, round(hole.diameter_mm, 3)) for hole in outline.holes)
    lines += [
        f"holes     {n} {kind}, {hole_label(size, unit)}" for (kind, size), n in drilled.items()
    ]
    if outline.cutouts:
        lines.append(f"openings  {len(outline.cutouts)} of other shapes")
    if outline.marks:
        marks = Counter(mark.kind for mark in outline.marks)
        lines.append(
            f"marks     {', '.join(f'{n} x {k}' if n > 1 else k for k, n in marks.items())}"
        )
    lines += [f"measures  {what} {_size(size, unit)}" for what, size in _measures(outline).items()]
    lines += [f"note      {note}" for note in read.notes]
    lines += [f"left out  {told}" for told in read.told()]
    lines += [f"wheels    {curve.warning}" for curve in wheels if curve.warning]
    return lines


def _size(value_mm: float, unit: Unit) -> str:
    return format_length(value_mm, unit, decimals=2 if unit == "mm" else 3)


def _kind(piece: object) -> str:
    return "arc" if isinstance(piece, Arc) else "curve" if isinstance(piece, Cubic) else "line"


def _measures(outline: Outline) -> dict[str, float]:
    """Return the sizes that a maker measures, by name; those that can be told."""
    sizes = blade_measures(outline)
    edge = sizes.edge
    named = {
        "overall": sizes.overall_mm,
        "blade": sizes.blade_mm,
        "handle": sizes.handle_mm,
        "handle at its widest": sizes.handle_widest_mm,
        "edge along its curve": edge.length_mm if edge else None,
        "width at the heel": edge.heel_width_mm if edge else None,
        "blade at its widest": edge.widest_mm if edge else None,
        "drop of the tip": edge.tip_drop_mm if edge else None,
    }
    return {what: size for what, size in named.items() if size is not None}


def facts(
    read: Imported, wheels: tuple[WheelsForCurve, ...], trust: Trust | None = None
) -> dict[str, Any]:
    """Return what a program may want to know of an outline; lengths in mm."""
    return {
        **_shape(read.outline),
        "notes": list(read.notes),
        "traced": None if trust is None else asdict(trust),
        "left_out": [
            {"what": thing.what, "at_mm": None if thing.at_mm is None else list(thing.at_mm)}
            for thing in read.left_out
        ],
        "wheels": [_wheels(curve) for curve in wheels],
    }


def _shape(outline: Outline) -> dict[str, Any]:
    x0, y0, x1, y1 = outline.bounds_mm
    return {
        "name": outline.name,
        "width_mm": x1 - x0,
        "height_mm": y1 - y0,
        "area_mm2": outline.area_mm2,
        "pieces": dict(Counter(_kind(piece) for piece in outline.chain)),
        "holes": [
            {"kind": h.kind, "x_mm": h.x_mm, "y_mm": h.y_mm, "diameter_mm": h.diameter_mm}
            for h in outline.holes
        ],
        "cutouts": len(outline.cutouts),
        "marks": [mark.kind for mark in outline.marks],
        "stations": [{"name": s.name, "x_mm": s.x_mm, "y_mm": s.y_mm} for s in outline.stations],
        "measures": {f"{k.replace(' ', '_')}_mm": v for k, v in _measures(outline).items()},
    }


def _wheels(curve: WheelsForCurve) -> dict[str, Any]:
    return {
        "inside_radius_mm": curve.inside.radius_mm,
        "at_mm": list(curve.inside.at),
        "follow_mm": list(curve.follow_mm),
        "too_large_mm": list(curve.too_large_mm),
        "warning": curve.warning,
    }
