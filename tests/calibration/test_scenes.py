"""A few of the random scenes that the benchmark measures; the figures are those aimed at."""

import pytest

from tests.calibration.scenes import random_scene

# coarse pictures, so that they are quick; between them gaps, an overrun, stretches drawn twice,
# holes, writing, stains, creases, shadows, a form's lines and frames, a sheet cut off, grid, kraft
PEN = [6, 13, 26, 40, 57, 58]
PENCIL = [25, 53]
PEN_MM, PENCIL_MM, BIAS_MM, COVERED = 0.15, 0.21, 0.05, 0.90


@pytest.mark.parametrize(
    ("seed", "p95_mm"), [*((k, PEN_MM) for k in PEN), *((k, PENCIL_MM) for k in PENCIL)]
)
def test_a_scene_is_measured_to_the_pen_line(seed, p95_mm):
    scene = random_scene(seed)
    found = scene.captured()
    score = scene.score(found)
    assert score.p95_mm < p95_mm
    assert abs(score.bias_mm) < BIAS_MM
    assert score.covered >= COVERED
    assert score.holes == 0
    assert len(found.contour.bridges_px) == len(scene.gaps_mm)
