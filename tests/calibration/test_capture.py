import importlib.util
import json
import re

import numpy as np
import pytest
import shapely

from calibration.capture import capture
from calibration.errors import PhotoError
from calibration.photo import load_photo
from calibration.references import LineReference, RectangleReference, SheetReference
from calibration.simplify import MAX_VERTICES
from geometry.errors import Cancelled
from tests.calibration.render import Camera, Mark, Scene, ruled_line, wavy_ring
from tests.calibration.strokes_render import Sheet, box

# p95 against the steel, mm: what the photos' README reaches with the true camera, plus 0.05
TRACES = {
    "p07_a4_drilled_grid.jpg": 0.15,
    "p08_letter_ruled_gaps.jpg": 0.15,
    "p11_letter_pencil_crease.heic": 0.21,
}
STEEL = {"p14_steel_rust_tilt15.jpg": 0.4}


@pytest.fixture(scope="module")
def score(shared):
    spec = importlib.util.spec_from_file_location("score", shared / "photos" / "score.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def measure(shared, name, **options):
    truth = json.loads((shared / "photos" / f"{name.rpartition('.')[0]}.truth.json").read_text())
    references = [
        LineReference(length_mm=each["length_mm"])
        if each["kind"] == "line"
        else RectangleReference(width_mm=each["sides_mm"][0], height_mm=each["sides_mm"][1])
        for each in truth["references"]
    ]
    return truth, capture(load_photo(shared / "photos" / name), references, **options)


def errors(score, truth, polygon):
    """Return the p95 both ways and the bias, mm, with the photos' own scoring."""
    measured = score.ring(shapely.get_coordinates(polygon.exterior))
    steel = score.ring(truth["steel"])
    motion, _ = score.register(measured, steel)
    moved = shapely.Polygon(score.move(score.dense(measured), motion))
    true = shapely.Polygon(steel)
    points = shapely.points(shapely.get_coordinates(moved.exterior))
    there = shapely.distance(points, true.exterior)
    back = shapely.distance(shapely.points(score.dense(steel)), moved.exterior)
    bias = np.where(shapely.contains(true, points), -there, there).mean()
    return float(np.quantile(np.concatenate([there, back]), 0.95)), float(bias)


@pytest.mark.parametrize("name", TRACES)
def test_a_trace_is_measured_to_the_pen_lines_own_limit(name, shared, score):
    truth, found = measure(shared, name)
    p95, bias = errors(score, truth, found.billet.shape)
    assert p95 < TRACES[name]
    assert abs(bias) < 0.05
    assert len(found.billet.shape.interiors) == len(truth["holes"])
    assert len(found.billet.vertex_sigma_mm) < MAX_VERTICES


@pytest.mark.parametrize("name", STEEL)
def test_the_steel_itself_is_measured_without_its_sides(name, shared, score):
    thickness_mm = 8.0  # of p14, the photos' README
    truth, found = measure(shared, name, subject="steel", thickness_mm=thickness_mm)
    p95, bias = errors(score, truth, found.billet.shape)
    assert p95 < STEEL[name]
    assert abs(bias) < 0.1
    assert any("nearer to the lens" in note for note in found.notes)


def drawing(**gap):
    """Return a sheet of 0.2 mm pixels with a piece of 100 x 40 mm inside its pen line."""
    sheet = Sheet(900, 600)
    outline = box(147, 97, 653, 303)
    if gap:
        outline = np.vstack([[300, 97], outline[1:], outline[:1], [300 - gap["px"], 97]])
    sheet.stroke(outline, width=6, closed=not gap)
    return sheet.stroke([[200, 450], [600, 450]], width=6)


# from tip to tip of the stroke's round ends: 406 px of 0.2 mm
LINE = LineReference(length_mm=81.2, ends_px=((200.0, 450.0), (600.0, 450.0)))


def test_a_drawing_of_known_size_measures_so():
    found = capture(drawing().photo(), [LINE])
    left, low, right, high = found.billet.shape.bounds
    # the line's own ends are good to half a pixel of 400
    assert right - left == pytest.approx(100.0, rel=0.002)
    assert high - low == pytest.approx(40.0, rel=0.004)
    assert len(found.billet.vertex_sigma_mm) == len(found.billet.vertices_mm())
    assert min(found.billet.vertex_sigma_mm) > 0.05


def test_the_bench_round_a_sheet_that_fills_the_picture_is_no_trace():
    camera = Camera(size_px=(1000, 750), focal_px=750.0, distance_mm=220.0)  # 5 px of bench
    marks = [wavy_ring((140.0, 140.0), 85.0, 25.0), *ruled_line((60.0, 40.0), (160.0, 40.0))]
    photo = Scene(marks=marks, camera=camera).photo()
    sheet = SheetReference(width_mm=279.4, height_mm=215.9)
    found = capture(photo, [LineReference(length_mm=100.0), sheet])
    left, _, right, _ = found.billet.shape.bounds
    # from the middle of the pen line to its inner edge on both sides, 0.6 mm wide
    assert right - left == pytest.approx(170.0 - 0.6, abs=0.3)


def test_a_frame_printed_along_the_sheets_edges_is_no_trace():
    frame = ((5.0, 5.0), (274.4, 5.0), (274.4, 210.9), (5.0, 210.9), (5.0, 5.0))
    camera = Camera(size_px=(1000, 750), focal_px=750.0, tilt_deg=5.0)
    marks = [
        Mark(points_mm=frame),
        wavy_ring((140.0, 140.0), 55.0, 20.0),
        *ruled_line((60.0, 40.0), (160.0, 40.0)),
    ]
    found = capture(Scene(marks=marks, camera=camera).photo(), [LineReference(length_mm=100.0)])
    left, _, right, _ = found.billet.shape.bounds
    assert right - left == pytest.approx(110.0 - 0.6, abs=0.4)


def test_the_box_drawn_round_a_close_up_piece_is_not_taken_for_the_sheet():
    sheet_given = SheetReference(width_mm=279.4, height_mm=215.9)
    found = capture(drawing().photo(), [LINE, sheet_given])
    assert not found.calibration.tilt_known
    trapezoid = np.array([[147, 97], [653, 97], [560, 303], [200, 303]], float)
    sheet = Sheet(900, 600).stroke(trapezoid, width=6, closed=True)
    photo = sheet.stroke([[200, 450], [600, 450]], width=6).photo()
    left, _, right, _ = capture(photo, [LINE]).billet.shape.bounds
    assert right - left == pytest.approx(100.0, rel=0.02)  # its corners are not square


def test_bridged_gaps_are_told_with_length_and_place():
    found = capture(drawing(px=15).photo(), [LINE])
    told = [note for note in found.notes if "bridged" in note]
    # 15 px between the strokes' ends less their round tips, half of 6 px each, are 9 of 0.2 mm
    assert len(told) == 1
    words = re.fullmatch(
        r"A gap in the trace was bridged: (1\.[6-9]) mm at pixel (29\d),9[67]; see it in the "
        r"picture\.",
        told[0],
    )
    assert words, told
    assert abs(int(words[2]) - 292.5) <= 1


def test_progress_rises_to_the_end():
    told = []
    capture(drawing().photo(), [LINE], progress=told.append)
    assert told == sorted(told)
    assert told[0] == 0.0
    assert told[-1] == 1.0


@pytest.mark.parametrize("after", [0, 1, 2, 3])
def test_stopping_is_obeyed_at_every_step(after):
    asked = []

    def stop():
        asked.append(None)
        return len(asked) > after

    with pytest.raises(Cancelled):
        capture(drawing().photo(), [LINE], stop=stop)


def test_a_piece_as_small_as_a_letter_is_refused():
    tiny = LineReference(length_mm=2.0, ends_px=((200.0, 450.0), (600.0, 450.0)))
    with pytest.raises(PhotoError, match=r"too small .* reference's length"):
        capture(drawing().photo(), [tiny])


def test_steel_without_thickness_is_measured_with_a_warning():
    sheet = Sheet(900, 600).fill(box(150, 100, 650, 300), (0.75, 0.75, 0.75))
    sheet.stroke([[200, 450], [600, 450]], width=6)
    found = capture(sheet.photo(), [LINE], subject="steel")
    assert any("thickness is not told" in note for note in found.notes)
