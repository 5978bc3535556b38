"""The families over the whole box of their ranges, and how long one outline takes.

A quarter of the draws are corners of the box, the others lie anywhere in it. The time is from the
values to the flattened edge with its holes, as on every move of a slider; the rival shrinks the
flattened edge by a millimetre, as any plain geometry library does it.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

import shapely

from geometry.curves import Segment
from geometry.errors import InputError
from geometry.family import Family, built_in_families
from geometry.outline import PATTERN_CHORD_MM, Outline
from tests.benchmarks.timing import Row, least_seconds

DRAWS = 20_000
FRONTS = ("plunge line", "handle front")
TO_EDGE_MM, FROM_FRONT_MM = 4.0, 12.0  # of lightening holes; common practice, no source
FINE_MM = 1e-6


def rows() -> Iterator[Row]:
    for family in built_in_families():
        tally = _tally(family)
        ring = shapely.Polygon(family.outline().ring())
        yield Row(
            what=f"{family.key}: {len(family.parameters)} measures",
            seconds=least_seconds(lambda: family.outline().polygon(PATTERN_CHORD_MM)),  # noqa: B023
            rival_seconds=least_seconds(lambda: ring.buffer(-1)),  # noqa: B023
            aim=f"under 5 ms; {tally}",
        )


@dataclass(kw_only=True)
class Tally:
    """What came of many draws."""

    draws: int = 0
    invalid: int = 0
    refused: int = 0
    corners: int = 0
    refused_corners: int = 0
    joint_deg: float = 0.0

    def __str__(self) -> str:
        inside = self.draws - self.corners
        return (
            f"{self.draws} draws: {self.invalid} invalid, refused "
            f"{100 * self.refused / inside:.2f} % inside, "
            f"{100 * self.refused_corners / self.corners:.1f} % of the corners; "
            f"worst joint {self.joint_deg:.0e} of 0.1 deg"
        )


def _tally(family: Family) -> Tally:
    rng, tally = Random(20), Tally()
    for number in range(DRAWS):
        corner = number % 4 == 0
        tally.draws += 1
        tally.corners += corner
        values = _corner(family, rng) if corner else _anywhere(family, rng)
        try:
            outline = family.outline(values)
        except InputError as error:
            if "crosses" in error.message or "no value" in error.message:
                tally.invalid += 1
            elif corner:
                tally.refused_corners += 1
            else:
                tally.refused += 1
            continue
        tally.invalid += not _sound(outline)
        tally.joint_deg = max(tally.joint_deg, _worst_joint_deg(family, values, outline))
    return tally


def _corner(family: Family, rng: Random) -> dict[str, float]:
    return {p.key: rng.choice((p.low, p.high)) for p in family.parameters}


def _anywhere(family: Family, rng: Random) -> dict[str, float]:
    return {
        p.key: rng.randint(int(p.low), int(p.high)) if p.whole else rng.uniform(p.low, p.high)
        for p in family.parameters
    }


def _sound(outline: Outline) -> bool:
    """Tell whether it is one valid piece with its steel round the holes, lightening ones apart."""
    polygon = outline.polygon(PATTERN_CHORD_MM)
    fronts = [x for mark in outline.marks if mark.kind in FRONTS for x, _ in mark.points_mm]
    for hole in outline.holes:
        if hole.kind == "lightening":
            left = polygon.exterior.distance(shapely.Point(hole.x_mm, hole.y_mm))
            behind = min(fronts) - hole.x_mm
            if min(left - TO_EDGE_MM, behind - FROM_FRONT_MM) < hole.diameter_mm / 2 - FINE_MM:
                return False
    return bool(
        polygon.is_valid
        and polygon.exterior.is_ccw
        and len(polygon.interiors) == len(outline.holes)
        and all(polygon.exterior.distance(hole) > 1.9 for hole in polygon.interiors)
    )


def _worst_joint_deg(family: Family, values: dict[str, float], outline: Outline) -> float:
    everything = family.values(values)
    corners = {
        _place((node.x.value(everything), node.y.value(everything)))
        for node in family.nodes
        if node.corner
    }
    return max(
        (
            abs(_turn_deg(outline.chain[i - 1], segment))
            for i, segment in enumerate(outline.chain)
            if _place(segment.start) not in corners
        ),
        default=0.0,
    )


def _place(point: tuple[float, float]) -> tuple[float, float]:
    return round(point[0], 6), round(point[1], 6)


def _turn_deg(before: Segment, after: Segment) -> float:
    (ux, uy), (vx, vy) = before.end_direction, after.start_direction
    return math.degrees(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy))
