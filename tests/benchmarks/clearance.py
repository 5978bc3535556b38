"""Clearance and verdict under the dragging hand: a 400-vertex blank in a 400-vertex billet.

The floor is what GEOS itself takes for the two questions behind it, asked of prepared geometries;
the plain way asks the same without preparing. Settling is what the button under the hand does.
"""

from collections.abc import Callable

import shapely
from shapely import Polygon

from geometry.clearance import UsableRegion
from geometry.placement import settle
from geometry.pose import Pose
from geometry.verdict import judge
from tests.benchmarks.timing import Row, least_seconds
from tests.geometry.shapes import moved, regular, wavy

BILLET = wavy(300, 60, 400, 37, 0.01)
BLANK = wavy(240, 30, 400, 11, 0.01)
DRILLED = BILLET.difference(moved(regular(48, 3), 30, 4, 0))


def floor(billet: Polygon, blank: Polygon) -> Callable[[], object]:
    edge = billet.boundary
    shapely.prepare([billet, edge])
    return lambda: (
        shapely.contains_properly(billet, blank),
        shapely.length(shapely.shortest_line(edge, blank.exterior)),
    )


def plain(billet: Polygon, blank: Polygon) -> Callable[[], object]:
    fresh = Polygon(billet.exterior)
    return lambda: (fresh.contains_properly(blank), fresh.boundary.distance(blank.boundary))


def verdict(region: UsableRegion, blank: Polygon) -> object:
    """Ask whether a blank fits with a margin, the edge known to 0.1 mm."""
    return judge(region.clearance(blank).value_mm, 0.1, 1.0)


def rows() -> list[Row]:
    region, drilled = UsableRegion(BILLET), UsableRegion(DRILLED)
    out, far = moved(BLANK, 0, 16, 0), moved(BLANK, 0, 100, 0)
    floor_seconds = least_seconds(floor(BILLET, BLANK))
    inside = least_seconds(lambda: region.clearance(BLANK))
    frame = "< 16 ms, a frame of a drag"
    return [
        Row(
            what="inside, against GEOS's floor",
            seconds=inside,
            rival_seconds=floor_seconds,
            aim="ratio <= 3",
        ),
        Row(
            what="verdict, against GEOS's floor",
            seconds=least_seconds(lambda: verdict(region, BLANK)),
            rival_seconds=floor_seconds,
            aim="ratio <= 3",
        ),
        Row(
            what="inside, against the plain way",
            seconds=inside,
            rival_seconds=least_seconds(plain(BILLET, BLANK)),
            aim="ratio < 1",
        ),
        Row(
            what="profile of 400 points",
            seconds=least_seconds(lambda: region.clearance_profile(BLANK, 400)),
            aim="< 3 ms",
        ),
        *(
            Row(what=what, seconds=least_seconds(work, calls=5), aim="< 50 ms")
            for what, work in (
                ("settle, from inside", lambda: settle(BLANK, BILLET, Pose(y_mm=3.0))),
                ("settle, from over the edge", lambda: settle(BLANK, BILLET, Pose(y_mm=12.0))),
                (
                    "settle, beside a hole",
                    lambda: settle(BLANK, DRILLED, Pose(x_mm=5.0, y_mm=6.0), flaws=()),
                ),
            )
        ),
        *(
            Row(what=what, seconds=least_seconds(work, calls=5), aim=frame)
            for what, work in (
                ("out over the edge", lambda: region.clearance(out)),
                ("over a hole", lambda: drilled.clearance(BLANK)),
                ("wholly outside", lambda: region.clearance(far)),
            )
        ),
    ]
