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
from tests.calibration.scene_score import PEN_AIM_MM, PENCIL_AIM_MM, Score
from tests.calibration.scenes import random_scene

SEEDS = range(60)
MISTAKEN_MM = 0.5  # a larger error is that of another edge, or of another scale


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """One scene: its score, or why there is none."""

    name: str
    seconds: float
    aim_mm: float
    score: Score | None = None
    said: str = ""

    def __str__(self) -> str:
        if self.score is None:
            return f"{self.name}: {self.said}"
        one = self.score
        holes = f", {one.holes:+d} holes" if one.holes else ""
        beyond = "" if self.met else "  BEYOND THE AIM"
        return (
            f"p95 {one.p95_mm:6.3f} bias {one.bias_mm:+.3f} mm, covered {one.covered:4.0%}{holes}, "
            f"{self.seconds:.1f} s: {self.name}{beyond}"
        )

    @property
    def met(self) -> bool:
        """Whether the piece was measured as truly as its pen allows."""
        return self.score is not None and self.score.p95_mm < self.aim_mm


def outcome(seed: int) -> Outcome:
    """Return what a capture of one scene comes to."""
    scene = random_scene(seed)
    start = time.perf_counter()
    score, said = None, ""
    try:
        found = scene.captured()
    except ToolError as error:
        said = str(error)
    seconds = time.perf_counter() - start
    if not said:
        score = scene.score(found)
    return Outcome(name=scene.name, seconds=seconds, aim_mm=scene.aim_mm, score=score, said=said)


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
    met = sum(one.met for one in found)
    mistaken = int((p95 > MISTAKEN_MM).sum())
    return (
        f"to the aim (p95 {PEN_AIM_MM} mm, a pencil's {PENCIL_AIM_MM} mm) {met} of {len(found)}, "
        f"refused {len(found) - len(scores)}, beyond {MISTAKEN_MM} mm {mistaken}; p95 median "
        f"{np.median(p95):.3f} worst {p95.max():.3f}; bias {bias.min():+.3f} to {bias.max():+.3f}, "
        f"median {np.median(bias):+.3f} mm; within two deviations {covered.mean():.1%}, worst "
        f"{covered.min():.0%}"
    )
