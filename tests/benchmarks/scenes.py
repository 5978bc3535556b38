"""Whole captures of random scenes, told the drawn line's length alone.

The error is the 95th percentile of the distance both ways between the measured and the true edge,
registered without scale, the hand's own wavering (0.05 to 0.12 mm) included.
"""

import os
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np

from geometry.errors import ToolError
from tests.calibration.scene_score import Score
from tests.calibration.scenes import random_scene

SEEDS = range(60)
MOST_MM = 0.2  # a larger error is told as not understood: another edge, or another scale


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """One scene: its score, or why there is none."""

    name: str
    seconds: float
    score: Score | None = None
    said: str = ""

    def __str__(self) -> str:
        if self.score is None:
            return f"{self.name}: {self.said}"
        one = self.score
        holes = f", {one.holes:+d} holes" if one.holes else ""
        return (
            f"p95 {one.p95_mm:6.3f} bias {one.bias_mm:+.3f} mm, covered {one.covered:4.0%}{holes}, "
            f"{self.seconds:.1f} s: {self.name}"
        )


def outcome(seed: int) -> Outcome:
    """Return what a capture of one scene comes to."""
    scene = random_scene(seed)
    start = time.perf_counter()
    try:
        found = scene.captured()
    except ToolError as error:
        return Outcome(name=scene.name, seconds=time.perf_counter() - start, said=str(error))
    seconds = time.perf_counter() - start
    return Outcome(name=scene.name, seconds=seconds, score=scene.score(found))


def rows() -> Iterator[str]:
    with ProcessPoolExecutor(max_workers=min(2, os.cpu_count() or 1)) as pool:
        found = []
        for one in pool.map(outcome, SEEDS):
            found.append(one)
            yield str(one)
    yield _summary(found)


def _summary(found: list[Outcome]) -> str:
    scores = [one.score for one in found if one.score is not None]
    p95 = np.array([score.p95_mm for score in scores])
    bias = np.array([score.bias_mm for score in scores])
    covered = np.array([score.covered for score in scores])
    understood = int((p95 < MOST_MM).sum())
    return (
        f"understood {understood} of {len(found)} (p95 below {MOST_MM} mm), refused "
        f"{len(found) - len(scores)}; p95 median {np.median(p95):.3f} worst {p95.max():.3f}; bias "
        f"{bias.min():+.3f} to {bias.max():+.3f}, median {np.median(bias):+.3f} mm; within two "
        f"deviations {covered.mean():.1%}, worst {covered.min():.0%}"
    )
