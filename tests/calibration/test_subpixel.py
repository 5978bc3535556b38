import numpy as np
import pytest

from calibration.ink import find_ink
from calibration.subpixel import stroke_edge
from tests.calibration.strokes_render import Sheet, circle


def traced(width, *, blur=0.8, far=False, ink=(0.9, 0.9, 0.9)):
    sheet = Sheet(300, 300).stroke(circle(150.3, 149.6, 100), width=width, ink=ink, closed=True)
    found = find_ink(sheet.photo(blur=blur))
    y, x = np.mgrid[:300, :300]
    filled = np.hypot(x - 150.3, y - 149.6) < 99.4  # half a pixel off the middle of the stroke
    edge = stroke_edge(found.darkness.within(np.s_[:300, :300]), filled, width_px=width, far=far)
    radius = np.hypot(*(edge.points_px - [150.3, 149.6]).T)
    return edge, radius


@pytest.mark.parametrize("width", [3, 4, 6, 10])
def test_the_inner_edge_lies_half_a_width_inside(width):
    _, radius = traced(width)
    assert radius.mean() == pytest.approx(100 - width / 2, abs=0.06)
    assert radius.std() < 0.08


@pytest.mark.parametrize("width", [4, 8])
def test_the_far_edge_lies_half_a_width_outside(width):
    _, radius = traced(width, far=True)
    assert radius.mean() == pytest.approx(100 + width / 2, abs=0.06)


def test_a_faint_line_has_its_edge_at_the_same_place():
    _, radius = traced(6, ink=(0.3, 0.3, 0.3))
    assert radius.mean() == pytest.approx(97, abs=0.08)


def test_blur_moves_the_edge_of_a_thin_line_less_than_half_of_what_shows_would():
    # A box of width w = 2 s blurred by s: its middle shows erf(1/sqrt 2) = 0.683 of the ink, its
    # edge 0.477 with slope 0.345/s.  Half of 0.683 is reached (0.477 - 0.341) / 0.345 s = 0.39 s
    # too far out, 0.79 px here, so at 97.2.  The correction must not run past the edge, and
    # what it leaves must be within its own uncertainty.
    edge, radius = traced(4, blur=2.0)
    assert 97.4 < radius.mean() < 98.1
    assert abs(radius.mean() - 98) < 2 * edge.sigma_px(0.01).mean()


@pytest.mark.parametrize("width", [4, 8])
def test_the_ink_is_as_wide_as_it_was_drawn(width):
    edge, _ = traced(width)
    assert edge.ink_width_px.mean() == pytest.approx(width, abs=0.25)


def test_sides_are_a_stroke_apart():
    edge, _ = traced(6)
    inner, outer = (np.hypot(*(edge.side(s) - [150.3, 149.6]).T) for s in ("inner", "outer"))
    middle = np.hypot(*(edge.side("middle") - [150.3, 149.6]).T)
    assert (outer - inner).mean() == pytest.approx(6, abs=0.2)
    assert middle.mean() == pytest.approx(100, abs=0.15)


def test_noise_and_faintness_raise_the_uncertainty():
    strong, _ = traced(6)
    faint, _ = traced(6, ink=(0.1, 0.1, 0.1))
    assert faint.sigma_px(0.02).mean() > strong.sigma_px(0.02).mean() > 0.1
