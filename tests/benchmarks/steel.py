"""Captures of rendered photos of the steel itself, whose truth is known, and a sum of them.

The plates are 3 to 10 mm thick and seen at up to 20 degrees, on four papers, with five surfaces.
Understood: the measured edge is within a millimetre of the true one at its 95th percentile.
"""

import time
from collections.abc import Iterator

import numpy as np

from calibration.errors import PhotoError
from tests.benchmarks.timing import Row
from tests.calibration.steel_scenes import PAPERS, SURFACES, scene
from tests.calibration.steel_score import SteelScore, captured, scored

SCENES = 60
UNDERSTOOD_MM = 1.0


def rows() -> Iterator[Row]:
    scores = []
    spent = 0.0
    for seed in range(SCENES):
        score, said, seconds = _one(seed)
        scores.append(score)
        spent += seconds
        yield Row(what=said, seconds=seconds, aim="p95 <= 0.4 mm")
    yield Row(what=_sum(scores), seconds=spent / SCENES, aim="all; p95 <= 0.4 mm; 90-99 %")


def _one(seed: int) -> tuple[SteelScore | None, str, float]:
    plan = scene(seed)
    photo = plan.photo()
    surface = list(SURFACES)[seed % len(SURFACES)]
    paper = list(PAPERS)[seed // len(SURFACES) % len(PAPERS)]
    name = f"{seed:02d} {surface} on {paper}"
    start = time.perf_counter()
    try:
        found = captured(plan, photo)
    except PhotoError as error:
        return None, f"{name}: {error}", time.perf_counter() - start
    seconds = time.perf_counter() - start
    score = scored(plan, found)
    count = len(plan.plate.interiors)
    said = (
        f"{name}, {plan.thickness_mm:.0f} mm, {plan.camera.tilt_deg:.0f} deg: "
        f"p95 {score.p95_mm:.3f} worst {score.worst_mm:.2f} bias {score.bias_mm:+.3f} mm, "
        f"covered {score.covered:.0%}, holes {len(score.holes)} of {count}, "
        f"false {score.false_holes}"
    )
    return score, said, seconds


def _sum(scores: list[SteelScore | None]) -> str:
    good = [each for each in scores if each is not None and each.p95_mm < UNDERSTOOD_MM]
    p95 = np.array([each.p95_mm for each in good])
    bias = np.array([each.bias_mm for each in good])
    holes = [hole for each in good for hole in each.holes]
    missed = sum(each.missed_holes for each in good)
    wider = np.abs([hole.wider_mm for hole in holes]) if holes else np.zeros(1)
    return (
        f"understood {len(good)} of {len(scores)}; p95 median {np.median(p95):.3f} "
        f"worst {p95.max():.3f}, {np.count_nonzero(p95 <= 0.4)} within 0.4 mm; "
        f"bias {bias.mean():+.3f}, {bias.min():+.3f} to {bias.max():+.3f} mm; "
        f"covered {np.mean([each.covered for each in good]):.1%}; "
        f"holes found {len(holes)} of {len(holes) + missed}, "
        f"false {sum(each.false_holes for each in good)}, "
        f"width off median {np.median(wider):.3f} worst {wider.max():.2f} mm"
    )
