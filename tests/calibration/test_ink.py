import numpy as np
import pytest

from calibration.ink import find_ink
from calibration.light import LIGHT
from calibration.photo import Photo
from tests.calibration.strokes_render import Sheet, box

BLUE, PENCIL, RED = (0.75, 0.7, 0.4), (0.35, 0.35, 0.35), (0.1, 0.75, 0.7)


def test_light_of_encoded_values_follows_the_standard():
    # IEC 61966-2-1: 0 and 255 are black and white; value 188 is 50.3 % of the light, and the
    # straight part near black is the value over 12.92
    assert LIGHT[0] == 0.0
    assert LIGHT[255] == pytest.approx(1.0)
    assert LIGHT[188] == pytest.approx(0.503, abs=0.001)
    assert LIGHT[10] == pytest.approx(10 / 255 / 12.92)


@pytest.mark.parametrize("colour", [(0.9, 0.9, 0.9), BLUE, PENCIL, RED])
def test_ink_of_any_colour_is_found_whole(colour):
    sheet = Sheet(600, 400).stroke(np.array([[60, 200], [540, 210]]), width=5, ink=colour)
    ink = find_ink(sheet.photo())
    along = np.linspace(80, 520, 200)
    rows = np.round(200 + (along - 60) / 48).astype(int)
    assert ink.mask[rows, along.astype(int)].all()
    assert ink.mask.sum() < 480 * 9


def test_shade_across_the_sheet_leaves_no_ink():
    shade = np.clip(np.linspace(2.4, -0.8, 600), 0.45, 1.0)[None, :]
    sheet = Sheet(600, 400).stroke(np.array([[60, 200], [540, 200]]), width=5)
    ink = find_ink(sheet.photo(paper=(0.8, 0.65, 0.4), shade=shade))
    bare = np.ones((400, 600), bool)
    bare[185:215] = False
    assert not ink.mask[bare].any()
    assert abs(np.median(ink.darkness.within(np.s_[0:400, 0:600])[bare])) < 0.03
    assert ink.mask[200, 70:530].all()


def test_printed_rules_stay_below_the_pen():
    sheet = Sheet(800, 600)
    for y in range(40, 600, 40):
        sheet.stroke(np.array([[0, y], [800, y]]), width=2, ink=(0.3, 0.22, 0.12))
    sheet.stroke(box(150, 130, 650, 450), width=5, ink=(0.8, 0.8, 0.6), closed=True)
    ink = find_ink(sheet.photo())
    assert not ink.mask[360, 200:600].any()
    assert ink.mask[130, 200:600].all()


def test_the_sheet_is_told_from_a_dark_bench():
    sheet = Sheet(600, 450)
    bench = np.ones((450, 600))
    bench[60:390, 80:520] = 0.0
    sheet.taken[:] = np.maximum(sheet.taken, 0.8 * bench[:, :, None].astype(np.float32))
    ink = find_ink(sheet.photo())
    assert ink.sheet_found
    truth = bench == 0.0
    assert (ink.sheet & ~truth).sum() < 0.02 * truth.sum()
    assert (truth & ~ink.sheet).sum() < 0.12 * truth.sum()


def test_a_sheet_that_fills_the_picture_is_all_sheet():
    ink = find_ink(Sheet(300, 200).photo())
    assert not ink.sheet_found
    assert ink.sheet.all()
    assert not ink.mask.any()


def test_the_bench_beside_a_slanting_sheet_does_not_raise_the_threshold():
    # a pale line on paper whose edge slants: the bench's dark is in none of it
    pale = np.full((640, 640, 3), 215, np.uint8)
    pale[150:, 40::80] = 190
    x, y = np.meshgrid(np.arange(640), np.arange(640))
    slanting = pale.copy()
    slanting[y < 40 + x // 10] = 25
    assert find_ink(Photo(rgb=slanting, focal_px=None, name="a")).threshold == pytest.approx(
        find_ink(Photo(rgb=pale, focal_px=None, name="b")).threshold, rel=0.1
    )
