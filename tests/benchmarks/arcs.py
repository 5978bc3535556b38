"""Lines and arcs in the place of the measured contours: how many for how many, how close.

The rival is a plain simplification of the same edge to the same tolerance, by straight pieces.
"""

import time
from collections.abc import Iterator

import numpy as np
import shapely

from geometry.arc_fit import fitted_ring, strayed_mm
from geometry.curves import Arc
from tests.benchmarks.timing import Row, least_seconds
from tests.benchmarks.truth import TruePhoto, true_photos

TOLERANCES_MM = (0.05, 0.1)


def rows() -> Iterator[Row]:
    for photo in true_photos():
        for number, ring in enumerate(_rings(photo)):
            for tolerance_mm in TOLERANCES_MM:
                yield _row(photo.name + (f" hole {number}" if number else ""), ring, tolerance_mm)


def _rings(photo: TruePhoto) -> list[np.ndarray]:
    found = photo.captured([*photo.drawn(), photo.sheet()])
    shape = found.billet.shape
    return [shapely.get_coordinates(ring)[:-1] for ring in (shape.exterior, *shape.interiors)]


def _row(name: str, ring: np.ndarray, tolerance_mm: float) -> Row:
    start = time.perf_counter()
    chain = fitted_ring(ring, tolerance_mm=tolerance_mm)
    seconds = time.perf_counter() - start
    apart_mm, outside_mm = strayed_mm(chain, ring)
    arcs = sum(isinstance(piece, Arc) for piece in chain)
    closed = shapely.LinearRing(ring)
    straight = len(shapely.simplify(closed, tolerance_mm).coords) - 1
    return Row(
        what=f"{name} at {tolerance_mm:g} mm: {len(chain)} of {len(ring)} ({arcs} arcs)",
        seconds=seconds,
        rival_seconds=least_seconds(lambda: shapely.simplify(closed, tolerance_mm), calls=3),
        aim=f"apart {apart_mm:.3f}, outside {outside_mm:.3f} mm; straight pieces {straight}",
    )
