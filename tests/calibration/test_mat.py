import dataclasses

import numpy as np
import pytest
import shapely

from calibration.capture import capture
from calibration.errors import PhotoError
from calibration.mat import mat_layout
from calibration.mat_cleared import _patches, cleared
from calibration.mat_corners import Guess, measured
from calibration.mat_marks import find_mat
from calibration.photo import Photo
from calibration.references import LineReference, MatReference
from tests.calibration.mat_render import MatScene, bowed, off_mm, over, piece

MEASURED = MatReference(printed_x=1.0, printed_y=1.0)


def band(paper, side):
    """A board with a hole as large as the field, cut in half."""
    layout = mat_layout(paper)
    w, h = layout.width_mm, layout.height_mm
    halves = {
        "left": (0, 0, w / 2, h),
        "right": (w / 2, 0, w, h),
        "upper": (0, h / 2, w, h),
        "lower": (0, 0, w, h / 2),
    }
    frame = shapely.box(-5, -5, w + 5, h + 5).difference(shapely.box(*layout.field_mm))
    return frame.intersection(shapely.box(*halves[side]))


def scene(paper="letter", side=None, **options):
    camera = {key: options.pop(key) for key in CAMERA_OPTIONS if key in options}
    if "outline" not in options and "steel" not in options:
        options["outline"] = piece(mat_layout(paper))
    covers = [] if side is None else [band(paper, side)]
    return MatScene(paper=paper, covers=covers, camera=over(paper, **camera), **options)


CAMERA_OPTIONS = ("fill", "size_px", "tilt_deg", "azimuth_deg", "roll_deg", "k1")


def p95_mm(found, true):
    return float(np.quantile(off_mm(found.billet.shape, true), 0.95))


SMALL, PHONE = (2000, 1500), (3200, 2400)
COVERED = [
    ("letter", None, 40, -0.05, SMALL),
    ("letter", "left", 40, -0.05, SMALL),
    ("letter", "upper", 40, -0.05, SMALL),
    ("letter", "right", 200, 0.04, SMALL),
    ("a4", "lower", 120, -0.03, SMALL),
    ("tabloid", "upper", 70, -0.05, PHONE),
    ("a3", "right", 250, 0.02, PHONE),
    ("a3", "right", 250, 0.02, SMALL),
    ("tabloid", "upper", 70, -0.05, SMALL),
]


@pytest.mark.parametrize(("paper", "side", "azimuth_deg", "k1", "size_px"), COVERED)
def test_a_trace_is_measured_at_20_degrees_with_half_the_markers_covered(
    paper, side, azimuth_deg, k1, size_px
):
    shown = scene(
        paper, side, fill=0.74, tilt_deg=20.0, azimuth_deg=azimuth_deg, k1=k1, size_px=size_px
    )
    found = capture(shown.photo(), [MEASURED])
    assert p95_mm(found, shown.outline) < 0.1
    assert found.calibration.tilt_deg == pytest.approx(20.0, abs=0.5)
    assert found.calibration.map.parameters[9] == pytest.approx(k1, abs=0.012)
    within = off_mm(found.billet.shape, shown.outline) < 2 * max(found.billet.vertex_sigma_mm)
    assert within.mean() > 0.95


@pytest.mark.parametrize("roll_deg", [0.0, 37.0, 180.0, 275.0])
def test_the_mat_may_lie_any_way_round_in_the_picture(roll_deg):
    shown = scene(fill=0.58, tilt_deg=10.0, roll_deg=roll_deg)
    found = capture(shown.photo(), [MEASURED])
    assert p95_mm(found, shown.outline) < 0.1


def test_a_picture_that_cuts_a_side_of_the_mat_off_still_measures():
    shown = scene("a4", tilt_deg=8.0, fill=0.9)
    aim = (shown.camera.aim_mm[0] + 40.0, shown.camera.aim_mm[1] + 55.0)
    shown = dataclasses.replace(shown, camera=dataclasses.replace(shown.camera, aim_mm=aim))
    photo = shown.photo()
    whole = mat_layout("a4")
    seen = find_mat(photo)
    assert len(seen.points_px) < len(whole.corners_mm) - 4
    assert p95_mm(capture(photo, [MEASURED]), shown.outline) < 0.1


@pytest.mark.parametrize("printed", [(1.006, 0.995), (0.985, 1.012)])
def test_the_bars_readings_take_out_what_the_printer_did(printed):
    shown = scene(fill=0.74, tilt_deg=12.0, printed=printed)
    photo = shown.photo()
    told = MatReference(printed_x=printed[0], printed_y=printed[1])
    found = capture(photo, [told])
    assert p95_mm(found, shown.outline) < 0.1
    assert not any("measured" in note for note in found.notes)
    assert any("disagree by 2.7 %" in note for note in found.notes) == (printed[0] == 0.985)
    half = capture(photo, [MatReference(printed_x=printed[0])])
    assert any("mat's upright bar is not measured" in note for note in half.notes)
    untold = capture(photo, [MatReference()])
    assert any("bars are not measured" in note for note in untold.notes)
    assert max(untold.billet.vertex_sigma_mm) > 2 * max(found.billet.vertex_sigma_mm)
    within = off_mm(untold.billet.shape, shown.outline) < 2 * max(untold.billet.vertex_sigma_mm)
    assert within.mean() > 0.95


def test_a_photo_that_says_nothing_of_its_camera_is_measured_too():
    shown = scene(side="left", fill=0.74, tilt_deg=20.0, k1=-0.05)
    assert p95_mm(capture(shown.photo(focal=False), [MEASURED]), shown.outline) < 0.1


def test_steel_that_covers_markers_and_words_is_measured_by_the_rest():
    steel = shapely.Polygon([(5, 60), (60, 50), (190, 210), (204, 270), (150, 285), (60, 250)])
    shown = scene("a4", steel=steel, fill=0.74, tilt_deg=15.0, azimuth_deg=40)
    found = capture(shown.photo(), [MEASURED], subject="steel", thickness_mm=0.001)
    off = off_mm(found.billet.shape, steel)
    assert np.quantile(off, 0.95) < 0.15
    # where its edge crosses printed squares it is bridged, and the doubt says so
    assert off.max() < 2 * max(found.billet.vertex_sigma_mm)
    assert len(find_mat(shown.photo()).points_px) < len(mat_layout("a4").corners_mm)


def test_a_line_drawn_beside_the_piece_is_told_from_the_mats_own_bars():
    """Both bars are 120 mm long, too; only what the maker drew is looked at."""
    layout = mat_layout("a4")
    left, bottom, *_ = layout.field_mm
    drawn = shapely.LineString([(left + 20, bottom + 12), (left + 140, bottom + 12)]).buffer(0.3)
    both = scene("a4", fill=0.8, tilt_deg=6.0, marks=[drawn])
    found = capture(both.photo(), [LineReference(length_mm=120.6), MEASURED])
    line = found.calibration.found[0]
    ends = np.array(line.points_px)
    true = both.camera.to_px([(left + 19.7, bottom + 12), (left + 140.3, bottom + 12)])
    assert np.abs(np.sort(ends, axis=0) - np.sort(true, axis=0)).max() < 6.0
    assert p95_mm(found, both.outline) < 0.1


def test_corners_are_found_to_a_small_part_of_a_pixel():
    shown = scene(fill=0.74, tilt_deg=20.0, k1=-0.05)
    seen = find_mat(shown.photo())
    off = np.hypot(*(seen.points_px - shown.camera.to_px(seen.places_mm)).T)
    assert len(off) == len(mat_layout("letter").corners_mm)
    assert np.sqrt((off**2).mean()) < 0.06
    assert off.max() < 0.15


@pytest.mark.parametrize("blur_px", [1.8, 2.6])
def test_blur_moves_no_corner(blur_px):
    shown = scene(fill=0.74, tilt_deg=20.0, azimuth_deg=40, k1=-0.05, blur_px=blur_px)
    layout = mat_layout("letter")
    grey = shown.photo().rgb[:, :, 1]
    here = shown.camera.to_px(layout.corners_mm)
    steps = [shown.camera.to_px(np.add(layout.corners_mm, step)) for step in ((1, 0), (0, 1))]
    across = np.stack([step - here for step in steps], axis=2)
    wrong = here + np.random.default_rng(4).normal(0.0, 0.7, here.shape)
    guesses = [
        Guess(index=k, point_px=wrong[k], across=across[k]) for k in range(len(layout.corners_mm))
    ]
    kept, points, _ = measured(np.ascontiguousarray(grey), layout, guesses)
    assert len(kept) == len(here)
    assert np.hypot(*(points - here[kept]).T).max() < 0.2


@pytest.mark.parametrize("axis", [0, 1])
@pytest.mark.parametrize("rise_mm", [3.0, 5.0, 8.0, 12.0, -8.0])
def test_a_mat_that_does_not_lie_flat_is_measured_as_it_bends(rise_mm, axis):
    flat = scene(fill=0.74, k1=-0.02)
    shown = dataclasses.replace(flat, camera=bowed(flat.camera, "letter", rise_mm, axis))
    found = capture(shown.photo(), [MEASURED])
    off = off_mm(found.billet.shape, shown.outline)
    assert np.quantile(off, 0.95) < 0.1
    assert np.mean(off < 2.0 * np.median(found.billet.vertex_sigma_mm)) > 0.9
    told = [note for note in found.notes if "does not lie flat" in note]
    assert len(told) == 1
    rise = float(told[0].split("about ")[1].split(" mm")[0])
    assert rise == pytest.approx(abs(rise_mm), abs=1.0)


def test_a_mat_that_bends_under_a_leaning_camera_and_half_covered_is_measured():
    flat = scene("a4", "left", fill=0.74, k1=-0.02, tilt_deg=15.0, azimuth_deg=40)
    shown = dataclasses.replace(flat, camera=bowed(flat.camera, "a4", 5.0, 1))
    found = capture(shown.photo(), [MEASURED])
    off = off_mm(found.billet.shape, shown.outline)
    assert np.mean(off < 2.0 * np.median(found.billet.vertex_sigma_mm)) > 0.9


def test_a_mat_that_bends_too_much_is_refused():
    flat = scene(fill=0.7)
    shown = dataclasses.replace(flat, camera=bowed(flat.camera, "letter", 20.0, 1))
    with pytest.raises(PhotoError, match="does not lie flat"):
        capture(shown.photo(), [MEASURED])


def test_a_mat_that_lies_flat_is_not_told_to_bend():
    seen = find_mat(scene("a4", "upper", fill=0.74, tilt_deg=20.0, blur_px=1.8).photo())
    assert not seen.bends
    assert seen.rise_mm == seen.lifted_share == 0.0


def test_marks_of_another_sheet_are_put_aside():
    """A strip of the same mat lies beside it, turned: its markers are no place of this one."""
    shown = scene("a4", tilt_deg=8.0, fill=0.72)
    photo = shown.photo()
    rgb = photo.rgb.copy()
    strip = rgb[300:620, 330:560]
    rgb[20 : 20 + strip.shape[0], 1700 : 1700 + strip.shape[1]] = strip[::-1, ::-1]
    seen = find_mat(Photo(rgb=rgb, focal_px=photo.focal_px, name="two"))
    off = np.hypot(*(seen.points_px - shown.camera.to_px(seen.places_mm)).T)
    assert len(off) > 25
    assert off.max() < 0.4


def test_a_corner_of_the_wrong_turn_is_none():
    """Between the same squares, dark and bare the other way round."""
    shown = scene(fill=0.74, tilt_deg=0.0)
    photo = shown.photo()
    layout = mat_layout("letter")
    grey = photo.rgb[:, :, 1]
    here = shown.camera.to_px(layout.corners_mm)
    steps = [shown.camera.to_px(np.add(layout.corners_mm, step)) for step in ((1, 0), (0, 1))]
    across = np.stack([step - here for step in steps], axis=2)
    right = [Guess(index=k, point_px=here[k], across=across[k]) for k in range(len(here))]
    assert len(measured(grey, layout, right)[0]) == len(here)
    turned = [dataclasses.replace(one, across=one.across[:, ::-1] * (1, -1)) for one in right]
    assert measured(grey, layout, turned)[0] == []


def test_each_printed_place_is_filled_once_however_the_mat_lies():
    printed = np.zeros((203, 301), np.uint8)  # not whole cells
    printed[20:190, 20:30] = printed[180:190, 20:290] = 255  # its box holds the other's
    printed[40:80, 200:290] = 255
    patches = _patches(printed, 9.4)
    filled = np.zeros(printed.shape, int)
    for box, own in patches:
        assert own.shape == printed[box].shape
        filled[box] += own
    assert len(patches) == 2
    np.testing.assert_array_equal(filled, printed)


def test_clearing_leaves_no_ink_but_the_makers():
    shown = scene("a4", fill=0.74, tilt_deg=15.0, k1=-0.04)
    photo = shown.photo()
    bare = cleared(photo, find_mat(photo)).photo
    empty = dataclasses.replace(shown, outline=None).photo()
    clean = cleared(empty, find_mat(empty)).photo
    ring = shown.camera.to_px([(5, 5), (205, 5), (205, 292), (5, 292)])
    low, high = ring.min(axis=0).astype(int), ring.max(axis=0).astype(int)
    centre = clean.rgb[low[1] : high[1], low[0] : high[0]]
    assert photo.rgb.min() < 70  # toner
    on_paper = shapely.contains_xy(
        shapely.Polygon(ring),
        *np.meshgrid(np.arange(low[0], high[0]), np.arange(low[1], high[1])),
    )
    assert centre[on_paper].min() > 100
    pen = shown.camera.to_px(shapely.get_coordinates(shown.outline.buffer(0.25).exterior))
    x, y = np.rint(pen).astype(int).T
    assert (np.abs(bare.rgb[y, x].astype(int) - photo.rgb[y, x]).max(axis=1) == 0).mean() > 0.99


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"turned_over": True}, "mirrored"),
        ({"blur_px": 9.0}, "the picture is blurred"),
        ({"fill": 2.6}, "too little of the mat|no mat is seen"),
    ],
)
def test_a_picture_that_cannot_be_used_says_why(options, told):
    with pytest.raises(PhotoError, match=told):
        capture(scene(**options).photo(), [MEASURED])


def test_a_mat_of_another_paper_than_told_is_refused():
    with pytest.raises(PhotoError, match=r"for Letter paper, not for A4"):
        capture(scene(fill=0.74).photo(), [MatReference(paper="a4")])


@pytest.mark.parametrize("ends_px", [None, ((700.0, 700.0), (1100.0, 700.0))])
def test_a_mat_that_nobody_told_of_is_not_measured_by_its_bars(ends_px):
    """Its bars are 120 mm: taken for a line of 100 they would make the piece a sixth too small."""
    photo = scene(fill=0.74).photo()
    with pytest.raises(PhotoError, match="the sheet is the printed mat"):
        capture(photo, [LineReference(length_mm=100.0, ends_px=ends_px)])
