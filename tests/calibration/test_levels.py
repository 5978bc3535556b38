import math

import numpy as np
import pytest

from calibration.levels import BEFORE_PX, STEP_PX, stroke_light


def profiles(width_px, blur_px, dark, count=240):
    """Return profiles of a blurred box whose first edge lies at 0, and their places."""
    places = np.arange(-BEFORE_PX, 2 * width_px + 5 + 3 * blur_px, STEP_PX)
    rise = np.array(
        [
            math.erf(x / blur_px / 2**0.5) - math.erf((x - width_px) / blur_px / 2**0.5)
            for x in places
        ]
    )
    return places, np.tile(0.5 * dark * rise, (count, 1))


def edge_px(places, profile, light):
    """Return where the profile first reaches the level."""
    after = int(np.argmax(profile > light.level[0]))
    share = (light.level[0] - profile[after - 1]) / (profile[after] - profile[after - 1])
    return places[after - 1] + share * STEP_PX


@pytest.mark.parametrize("dark", [0.4, 0.85])
@pytest.mark.parametrize("blur_px", [0.8, 1.2])
def test_a_line_wide_for_its_blur_tells_its_own_edge(dark, blur_px):
    places, profile = profiles(7.0, blur_px, dark)
    for mm_per_px in (None, 0.1, 0.3):
        light = stroke_light(profile, mm_per_px=mm_per_px)
        assert abs(edge_px(places, profile[0], light)) < 0.06
        assert light.width_px[0] == pytest.approx(7.0, abs=0.2)


@pytest.mark.parametrize(("pen_mm", "dark"), [(0.4, 0.85), (0.5, 0.65), (0.6, 0.45)])
@pytest.mark.parametrize("blur_px", [1.0, 1.5])
def test_a_line_thinner_than_its_blur_is_as_wide_as_pens_are(pen_mm, dark, blur_px):
    # a ball pen, a red one, a pencil at 0.25 mm a pixel: no profile tells width from blur
    places, profile = profiles(pen_mm / 0.25, blur_px, dark)
    light = stroke_light(profile, mm_per_px=0.25)
    off = edge_px(places, profile[0], light)
    assert abs(off) * 0.25 < 0.15
    assert abs(off) < 2.0 * math.hypot(light.doubt_px[0], 0.15)
    blind = edge_px(places, profile[0], stroke_light(profile))
    assert off > blind - 0.02  # nearer than without knowing pens, and never farther in


@pytest.mark.parametrize("pen_mm", [0.2, 0.25, 0.35])
@pytest.mark.parametrize("dark", [0.15, 0.25, 0.5, 0.85])
@pytest.mark.parametrize("mm_per_px", [0.12, 0.2, 0.25])
def test_the_edge_of_a_fine_or_pale_line_lies_within_its_stated_doubt(pen_mm, dark, mm_per_px):
    # a technical pen and a hard pencil: thinner or paler than pens usually are.  Two deviations of
    # the doubt and of the profile's own half step, 0.15 px
    for blur_px in (0.8, 1.2, 1.8):
        places, profile = profiles(pen_mm / mm_per_px, blur_px, dark)
        light = stroke_light(profile, mm_per_px=mm_per_px)
        off = edge_px(places, profile[0], light)
        assert abs(off) < 2.0 * math.hypot(light.doubt_px[0], 0.15)
        assert light.doubt_px[0] < 0.5 * light.width_px[0]  # and is no empty word
