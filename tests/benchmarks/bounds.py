"""Bounds of boxes and of whole searches against exact clearances: many more than the tests ask.

A row names the shapes, how many comparisons were made, and by how much the tightest bound lay above
the exact clearance. Below nothing (more than rounding) it would be no bound.
"""

import time
from collections.abc import Iterator

import numpy as np
from shapely import Polygon

from geometry.clearance import UsableRegion
from geometry.contacts import Fitting
from geometry.disc_gaps import DiscGaps, OutlineDiscs
from geometry.local_fit import roomier
from geometry.no_steel import NoSteel
from geometry.placement import roomiest
from tests.geometry.poses import exact_mm, places_in_boxes, pose_at, random_boxes, random_pose
from tests.geometry.rough_shapes import KINDS, rough_shape
from tests.geometry.test_disc_gaps import bounds_at, program_bounds

SEEDS, QUICK_SEEDS = range(24), range(3)
BOXES, PLACES = 40, 8
POSES, CLIMBS = 1500, 40
SECONDS = 3.0


def rows() -> Iterator[str]:
    for seed in SEEDS:
        yield from _of_seed(seed)


def quick_rows() -> Iterator[str]:
    for seed in QUICK_SEEDS:
        yield from _of_seed(seed)


def _of_seed(seed: int) -> Iterator[str]:
    random = np.random.default_rng(seed)
    for number, kind in enumerate(KINDS):
        own = KINDS[(number + seed) % len(KINDS)]
        steel = rough_shape(kind, 31 * seed + number)
        outline = rough_shape(own, seed, float(random.choice([10.0, 30.0, 60.0])))
        names = f"{own} in {kind}, {seed}"
        yield f"{names:24} boxes:  {_boxes(outline, steel, random)}"
        yield f"{names:24} search: {_search(outline, steel, random)}"


def _boxes(outline: Polygon, steel: Polygon, random: np.random.Generator) -> str:
    gaps = DiscGaps(OutlineDiscs(outline, slack_mm=0.01), NoSteel(steel, slack_mm=0.015))
    boxes = random_boxes(random, steel, gaps.discs.rim_mm, BOXES, scales=(0.7, 1.4))
    region, every = UsableRegion(steel), np.arange(len(gaps.discs.radii_mm))
    lots = [gaps.rows(boxes, every), gaps.telling(boxes)]
    least, count = np.inf, 0
    for at in places_in_boxes(random, PLACES):
        exact = np.array(
            [
                exact_mm(region, outline, pose_at(middle + at * half, face, gaps.discs.centre_mm))
                for middle, half, face in zip(*boxes, strict=True)
            ]
        )
        for rows in lots:
            bounds = [rows.most.min(axis=1), bounds_at(rows, at), program_bounds(rows, 12)]
            least = min(least, *(float((each - exact).min()) for each in bounds))
            count += len(bounds) * len(exact)
    return f"{count} comparisons, tightest {least:.2e} mm{_said(least >= -1e-9)}"


def _search(outline: Polygon, steel: Polygon, random: np.random.Generator) -> str:
    start = time.process_time()
    found = roomiest(outline, steel, seconds=SECONDS)
    seconds = time.process_time() - start
    region, fitting = UsableRegion(steel), Fitting(outline, steel, cell_mm=2.0)
    poses = [random_pose(random, steel, outline) for _ in range(POSES)]
    poses += [roomier(fitting, pose)[0] for pose in poses[:CLIMBS]]
    near = found.pose
    for shift in random.normal(size=(POSES, 3)) * (0.05, 0.05, 0.002):
        moved = fitting.stepped(near, np.append(shift, 0.0))
        poses.append(moved)
    best = max(exact_mm(region, outline, pose) for pose in poses)
    proven = "proven" if found.proven else "not proven"
    return (
        f"{seconds:5.2f} s, {found.boxes} boxes, {found.clearance.value_mm:.3f} to "
        f"{found.upper_bound_mm:.3f} mm, {proven}; best of {len(poses)} poses {best:.3f}"
        f"{_said(best <= found.upper_bound_mm + 1e-9)}"
    )


def _said(is_bound: bool) -> str:
    return "" if is_bound else "  NO BOUND"
