"""Random scenes as they come, none left out; the figures are those aimed at.

They follow the sixty that the benchmark measures, so that none was looked at while the program was
made.  Of those, faint pencils, and blur wider than the pen, are not measured to the aim.
"""

import numpy as np
import pytest

from geometry.errors import ToolError
from tests.calibration.scenes import random_scene

SEEDS = range(60, 64)
SHARE = 0.75  # that is to be measured to the aim
BIAS_MM, COVERED = 0.05, 0.90


@pytest.fixture(scope="module")
def measured():
    """Return each scene with its capture and its score; what is refused has neither."""
    found = []
    for seed in SEEDS:
        scene = random_scene(seed)
        try:
            capture = scene.captured()
        except ToolError:
            found.append((scene, None, None))
        else:
            found.append((scene, capture, scene.score(capture)))
    return found


def test_most_scenes_are_measured_to_the_aim(measured):
    met = [score is not None and score.p95_mm < scene.aim_mm for scene, _, score in measured]
    assert np.mean(met) >= SHARE


def test_what_is_measured_is_within_its_stated_doubt_and_whole(measured):
    for scene, capture, score in measured:
        if score is None:
            continue
        assert score.covered >= COVERED, scene.name
        if score.p95_mm < scene.aim_mm:
            assert abs(score.bias_mm) < BIAS_MM, scene.name
            assert score.holes == 0, scene.name
            assert len(capture.contour.bridges_px) == len(scene.gaps_mm), scene.name
