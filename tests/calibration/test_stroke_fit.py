import numpy as np
import pytest

from calibration.darkness import Darkness
from calibration.stroke_fit import fit_stroke


def drawn(a, b, *, width=5.0, tick=24.0, size=(400, 300), noise=0.01, darkness=0.9, blur=0.8):
    """Darkness of a line from a to b, px, with ticks across its ends, capped flat."""
    y, x = np.mgrid[: size[1], : size[0]].astype(float)
    a, b = np.asarray(a, float), np.asarray(b, float)
    along = (b - a) / np.hypot(*(b - a))
    across = np.array([-along[1], along[0]])
    picture = np.zeros(x.shape)

    def bar(p, q, normal, half):
        way = (x - p[0]) * (q - p)[0] + (y - p[1]) * (q - p)[1]
        length = np.hypot(*(q - p))
        way /= length
        off = np.abs((x - p[0]) * normal[0] + (y - p[1]) * normal[1])
        inside = np.minimum.reduce([way, length - way, half - off])
        return 0.5 * (1.0 + np.tanh(inside / blur))

    picture = np.maximum(picture, bar(a, b, across, width / 2))
    if tick:
        for end in (a, b):
            ends = end - tick / 2 * across, end + tick / 2 * across
            picture = np.maximum(picture, bar(*ends, along, width / 2))
    rng = np.random.default_rng(2)
    return (darkness * picture + rng.normal(0, noise, x.shape)).astype(np.float32)


def errors(stroke, a, b):
    ends = np.array(stroke.ends_px)
    return np.hypot(*(ends - [a, b]).T)


@pytest.mark.parametrize("width", [2.5, 5.0, 9.0])
@pytest.mark.parametrize("b", [(340.3, 120.7), (300.2, 250.4), (90.6, 260.1)])
def test_ends_lie_on_the_ticks_centrelines(width, b):
    a = (60.4, 90.2)
    picture = drawn(a, b, width=width, tick=5 * width)
    rough = np.add([a, b], [[2.0, -1.5], [-2.0, 1.0]])
    stroke = fit_stroke(Darkness.known(picture), rough, width)
    assert stroke is not None
    assert stroke.ticks == (True, True)
    assert errors(stroke, a, b).max() < 0.12
    assert stroke.width_px == pytest.approx(width, abs=1.0)


def test_a_line_without_ticks_ends_at_its_tips():
    a, b = (60.4, 90.2), (340.3, 120.7)
    stroke = fit_stroke(
        Darkness.known(drawn(a, b, tick=0)), np.add([a, b], [[5.0, 2.0], [-6.0, 1.0]]), 5.0
    )
    assert stroke is not None
    assert stroke.ticks == (False, False)
    assert errors(stroke, a, b).max() < 0.3


def test_a_faint_rough_pencil_line_is_measured():
    a, b = (60.4, 90.2), (340.3, 120.7)
    picture = drawn(a, b, width=3.5, tick=20, darkness=0.35, noise=0.05)
    stroke = fit_stroke(Darkness.known(picture), np.add([a, b], [[1.0, 2.0], [-2.0, 1.0]]), 4.0)
    assert stroke is not None
    assert errors(stroke, a, b).max() < 0.3


def test_a_gap_in_the_line_changes_nothing():
    a, b = (60.4, 90.2), (340.3, 120.7)
    picture = drawn(a, b)
    picture[:, 180:200] = 0.0
    stroke = fit_stroke(Darkness.known(picture), np.array([a, b]), 5.0)
    assert stroke is not None
    assert errors(stroke, a, b).max() < 0.12
    assert 0.85 < stroke.covered < 0.99


def test_bare_paper_holds_no_stroke():
    picture = np.random.default_rng(3).normal(0, 0.01, (300, 400)).astype(np.float32)
    assert (
        fit_stroke(Darkness.known(picture), np.array([[60.0, 90.0], [340.0, 120.0]]), 5.0) is None
    )
