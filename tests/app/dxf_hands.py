"""Drawings for the tests of DXF files: a bar of 120 x 30 mm, closed or in lines."""

from pathlib import Path

import ezdxf
import numpy as np
import shapely
from ezdxf.document import Drawing as Document

from app.files.dxf_file import read_dxf
from app.files.strokes import Imported
from geometry.outline import Outline

BAR = [(0.0, 0.0), (120.0, 0.0), (120.0, 30.0), (0.0, 30.0)]
SIDES = [*zip(BAR, [*BAR[1:], BAR[0]], strict=True)]


def in_mm() -> Document:
    return ezdxf.new("R2000", units=4)


def read(document: Document, folder: Path, unit: str | None = None) -> Imported:
    document.saveas(folder / "part.dxf")
    return read_dxf(folder / "part.dxf", unit=unit)


def bar(space: object, points: list[tuple[float, float]] = BAR) -> None:
    space.add_lwpolyline(points, close=True)  # type: ignore[attr-defined]


def lines(space: object, pairs: list[tuple[tuple[float, float], tuple[float, float]]]) -> None:
    for start, end in pairs:
        space.add_line(start, end)  # type: ignore[attr-defined]


def off_edge_mm(outline: Outline, points: np.ndarray) -> float:
    """How far points lie from an outline's edge at most, both moved to their lower left corner."""
    edge = shapely.LinearRing(outline.ring(1e-5))
    return float(shapely.distance(edge, shapely.points(points)).max())
