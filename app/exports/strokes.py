"""How an item becomes lines, the same in every kind of file."""

from __future__ import annotations

from app.document.drawing import Cross, PointMm


def cross_arms(cross: Cross) -> tuple[tuple[PointMm, PointMm], tuple[PointMm, PointMm]]:
    """Return the two lines of a cross."""
    half = cross.size_mm / 2
    return (
        ((cross.x_mm - half, cross.y_mm), (cross.x_mm + half, cross.y_mm)),
        ((cross.x_mm, cross.y_mm - half), (cross.x_mm, cross.y_mm + half)),
    )
