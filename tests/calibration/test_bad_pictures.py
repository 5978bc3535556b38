"""Bad pictures: the right measures, or one clear sentence that names what is wrong and helps."""

import dataclasses
import io
import math
import re
import struct
import tracemalloc
import zlib
from pathlib import Path

import cv2
import numpy as np
import pillow_heif
import pytest
import shapely
from PIL import Image

from calibration.capture import capture
from calibration.errors import PhotoError
from calibration.photo import Photo, load_photo, photo_from_bytes
from calibration.references import (
    PAPERS,
    CrossReference,
    LineReference,
    MatReference,
    RectangleReference,
    SheetReference,
)
from geometry.errors import InputError
from tests.calibration.render import Camera, Mark, Scene, ruled_line, wavy_ring

BAR = wavy_ring((140.0, 140.0), 85.0, 25.0, width_mm=0.9)
LINE = ruled_line((60.0, 45.0), (160.0, 45.0), width_mm=0.9)
KNOWN = LineReference(length_mm=100.0)
LETTER = SheetReference(width_mm=279.4, height_mm=215.9)
CAMERA = Camera(size_px=(1200, 900), focal_px=900.0)
TOLD = {"line": [KNOWN], "sheet": [LETTER], "both": [KNOWN, LETTER]}


def refused(photo, references, words, remedy, **options):
    """Assert that a picture is refused for the right reason, with the right advice."""
    with pytest.raises(PhotoError) as caught:
        capture(photo, references, **options)
    assert re.search(words, caught.value.message), str(caught.value)
    assert re.search(remedy, caught.value.remedy), str(caught.value)


def shown(photo, rgb):
    return dataclasses.replace(photo, rgb=np.ascontiguousarray(rgb, np.uint8))


def drawn(marks, camera=CAMERA):
    return Scene(marks=marks, camera=camera).photo()


def plain(tone):
    return Photo(rgb=np.full((750, 1000, 3), tone, np.uint8), focal_px=None, name="x.jpg")


@pytest.fixture(scope="module")
def good():
    return drawn([BAR, *LINE])


def moved(rgb, length_px, angle_deg):
    """Return a picture smeared along a straight way, as by a hand that moved."""
    kernel = np.zeros((length_px, length_px), np.float32)
    middle = (length_px - 1) / 2
    way = 0.5 * length_px * np.exp(1j * np.radians(angle_deg))
    for end in (way, -way):
        tip = (round(middle + end.real), round(middle - end.imag))
        cv2.line(kernel, (round(middle), round(middle)), tip, 1.0)
    return cv2.filter2D(rgb, -1, kernel / kernel.sum())


@pytest.mark.parametrize(("sigma_px", "told"), [(15, "line"), (15, "both"), (40, "sheet")])
def test_a_picture_out_of_focus_is_called_blurred(good, sigma_px, told):
    photo = shown(good, cv2.GaussianBlur(good.rgb, (0, 0), sigma_px))
    refused(photo, TOLD[told], "blurred", "hold still")


@pytest.mark.parametrize("angle_deg", [0, 45])
def test_a_smeared_picture_is_called_blurred(good, angle_deg):
    photo = shown(good, moved(good.rgb, 31, angle_deg))
    refused(photo, [KNOWN], "blurred", "hold still")


def test_a_picture_that_is_blurred_a_little_is_measured_with_a_warning(good):
    photo = shown(good, cv2.GaussianBlur(good.rgb, (0, 0), 2.5))
    found = capture(photo, [KNOWN, LETTER])
    (told,) = (note for note in found.notes if "blurred" in note)
    # a normal curve of 2.5 px and the picture's own 0.8: 2 x 2.62 px of about 0.37 mm
    assert 1.5 < float(re.search(r"over (\d\.\d) mm", told).group(1)) < 2.6
    assert not any("blurred" in note for note in capture(good, [KNOWN, LETTER]).notes)


@pytest.mark.parametrize("told", ["line", "sheet"])
def test_a_blank_page_is_said_to_have_no_ink(told):
    refused(drawn([]), TOLD[told], "no ink is seen", "Draw the reference and trace")


ANY = {
    "line": KNOWN,
    "sheet": LETTER,
    "rectangle": RectangleReference(width_mm=100.0, height_mm=50.0),
    "cross": CrossReference(first_mm=100.0, second_mm=50.0),
    "mat": MatReference(),
}


@pytest.mark.parametrize("kind", ANY)
def test_a_black_picture_is_called_so_whatever_was_told(kind):
    refused(plain(0), [ANY[kind]], "all black", "even light")


@pytest.mark.parametrize(("tone", "words"), [(255, "all white"), (128, "of one tone")])
def test_a_picture_of_nothing_is_called_so(tone, words):
    refused(plain(tone), [KNOWN], words, "even light")


def test_a_page_without_steel_is_not_asked_for_ink():
    refused(drawn([]), [LETTER], "no steel is seen", "--inside", subject="steel")


# what was typed, and what of it a message must name
WRONG_LENGTHS = [
    (10.0, "by the length that was typed the sheet measures 27.9. x 21.[56]. mm", "unit"),
    (4.0, "by the length that was typed the sheet measures 11.1. x 8.6.. mm", "unit"),
]


@pytest.mark.parametrize(("typed_mm", "words", "remedy"), WRONG_LENGTHS)
def test_a_length_that_makes_the_paper_a_stamp_is_refused(good, typed_mm, words, remedy):
    """100 mm typed as 10, and 4 in as 4: Letter would be a tenth, or 4 / 100, of its size."""
    refused(good, [LineReference(length_mm=typed_mm)], words, remedy)


@pytest.mark.parametrize("typed_mm", [4.0, 1000.0])
def test_a_length_that_the_sheet_contradicts_is_refused(good, typed_mm):
    told = [LineReference(length_mm=typed_mm), LETTER]
    refused(
        good, told, rf"typed as {typed_mm:g} mm measures (100\.\d|99\.9) mm by the sheet", "Check"
    )


@pytest.mark.parametrize("typed_mm", [1000.0, 2540.0])
def test_a_length_that_makes_the_sheet_longer_than_any_is_refused(good, typed_mm):
    """100 mm typed as 1000 or as 100 in: Letter would be 2.8 or 7.1 m long."""
    refused(good, [LineReference(length_mm=typed_mm)], "the sheet measures", "its unit")


@pytest.mark.parametrize(
    ("typed_mm", "size"), [(254.0, "2.54 times its size"), (50.0, "half its size")]
)
def test_a_length_that_is_wrong_is_told_by_the_papers_shape(good, typed_mm, size):
    found = capture(good, [LineReference(length_mm=typed_mm)])
    told = " ".join(found.notes)
    assert f"the shape of Letter at {size}" in told
    assert "check the length that was typed and its unit" in told


def test_a_size_of_the_sheet_in_another_unit_is_told(good):
    found = capture(good, [SheetReference(width_mm=2159.0, height_mm=2794.0)])
    assert any("10 times that of Letter: check its numbers" in note for note in found.notes)


@pytest.mark.parametrize(("short", "long"), PAPERS.values(), ids=PAPERS)
def test_no_named_paper_is_taken_for_another_in_a_wrong_unit(short, long):
    from calibration.sheets import _slip_of_unit

    assert _slip_of_unit(SheetReference(width_mm=short, height_mm=long)) == []


NO_LENGTH = [0.0, -5.0, math.nan, math.inf, -math.inf, 1e-320, 1e-6, 0.5, 1e5, 1e300]


@pytest.mark.parametrize("length_mm", NO_LENGTH)
def test_a_length_that_nothing_has_is_refused(length_mm):
    for make in (
        lambda: LineReference(length_mm=length_mm),
        lambda: SheetReference(width_mm=210.0, height_mm=length_mm),
        lambda: RectangleReference(width_mm=length_mm, height_mm=100.0),
        lambda: CrossReference(first_mm=100.0, second_mm=length_mm),
    ):
        with pytest.raises(InputError, match=r"must be longer than zero|to 10000 mm is possible"):
            make()


@pytest.mark.parametrize("sides", [(8.5, 11.0), (21.0, 29.7), (21.59, 27.94)])
def test_a_sheet_in_inches_or_centimetres_without_unit_is_refused(sides):
    with pytest.raises(InputError, match=r"from 50 to 10000 mm.*give its unit.*8\.5x11in"):
        SheetReference(width_mm=sides[0], height_mm=sides[1])


@pytest.mark.parametrize("odd", [math.nan, math.inf])
def test_a_place_that_is_no_number_is_refused(odd):
    with pytest.raises(InputError, match="not two numbers"):
        LineReference(length_mm=100.0, ends_px=((odd, 10.0), (300.0, 10.0)))
    corners = ((0.0, 0.0), (9.0, 0.0), (9.0, odd), (0.0, 9.0))
    with pytest.raises(InputError, match="not two numbers"):
        RectangleReference(width_mm=100.0, height_mm=50.0, corners_px=corners)


@pytest.mark.parametrize("place", [(math.nan, 3.0), (math.inf, 3.0), (-5.0, 3.0), (5.0, 900.0)])
def test_a_place_outside_the_picture_is_refused(good, place):
    with pytest.raises(InputError, match="lies outside the picture, which has 1200 x 900"):
        capture(good, [KNOWN], inside_px=place)


@pytest.mark.parametrize("place", [(5.0, 5.0), (600.0, 670.0)])  # the bench; the bare sheet
def test_a_place_that_nothing_surrounds_is_named(good, place):
    refused(good, [KNOWN], "no closed trace surrounds the pixel", "inside", inside_px=place)


def length_and_width(found):
    return found.billet.size_mm()


def true_size(mark):
    """Return the steel's length and width: the pen line's middle less half its width all round."""
    points = np.array(mark.points_mm)
    return tuple(points.max(axis=0) - points.min(axis=0) - mark.width_mm)


UPPER = wavy_ring((140.0, 165.0), 85.0, 22.0, width_mm=0.9)
LOWER = wavy_ring((140.0, 100.0), 80.0, 20.0)
SMALL = wavy_ring((140.0, 100.0), 30.0, 12.0)


def test_of_two_pieces_the_larger_is_taken_and_the_others_place_is_told():
    photo = drawn([UPPER, LOWER, *LINE])
    found = capture(photo, [KNOWN])
    assert length_and_width(found) == pytest.approx(true_size(UPPER), abs=0.3)
    (told,) = (note for note in found.notes if "Another closed trace" in note)
    x, y = map(int, re.search(r"--inside (\d+),(\d+)", told).groups())
    other = capture(photo, [KNOWN], inside_px=(x, y))
    assert length_and_width(other) == pytest.approx(true_size(LOWER), abs=0.3)
    assert not any("Another closed trace" in note for note in other.notes)


@pytest.mark.parametrize("mark", [UPPER, LOWER])
def test_the_piece_that_was_pointed_at_is_measured(mark):
    photo = drawn([UPPER, LOWER, *LINE])
    place = CAMERA.to_px([np.mean(mark.points_mm, axis=0)])[0]
    found = capture(photo, [KNOWN], inside_px=(place[0], place[1]))
    assert length_and_width(found) == pytest.approx(true_size(mark), abs=0.3)


def test_a_second_piece_of_a_fifth_of_the_size_is_told():
    found = capture(drawn([UPPER, SMALL, *LINE]), [KNOWN])
    assert any("Another closed trace" in note for note in found.notes)


# from where to where a line is ruled through the bar, and how long it is
THROUGH = {
    "across": ((140.0, 60.0), (140.0, 190.0), 130.0),
    "along": ((45.0, 141.0), (240.0, 141.0), 195.0),
    "one side only": ((140.0, 60.0), (140.0, 160.0), 100.0),
    "inside": ((90.0, 140.0), (190.0, 140.0), 100.0),
}


@pytest.mark.parametrize("way", THROUGH)
def test_a_reference_line_in_or_through_the_piece_divides_nothing(way):
    a, b, length_mm = THROUGH[way]
    found = capture(drawn([BAR, *ruled_line(a, b)]), [LineReference(length_mm=length_mm)])
    assert length_and_width(found) == pytest.approx(true_size(BAR), abs=0.3)
    assert not found.billet.shape.interiors
    assert not any("closed trace" in note for note in found.notes)


def test_crossing_lines_through_the_piece_divide_nothing():
    marks = [BAR, *ruled_line((140.0, 40.0), (140.0, 200.0)), *ruled_line((40, 140), (240, 140))]
    found = capture(drawn(marks), [CrossReference(first_mm=160.0, second_mm=200.0)])
    assert length_and_width(found) == pytest.approx(true_size(BAR), abs=0.3)


def test_a_reference_hidden_in_the_trace_is_asked_for():
    """Drawn on the bar's straight lower side, 115 mm up, between its rounded corners."""
    straight = wavy_ring((140.0, 140.0), 85.0, 25.0, wave_mm=0.0)
    photo = drawn([straight, *ruled_line((90.0, 115.0), (190.0, 115.0))])
    refused(photo, [KNOWN], "no reference line found", r"--line X1,Y1,X2,Y2, or draw it apart")


def test_a_page_without_reference_asks_for_it():
    refused(drawn([BAR]), [KNOWN], "no reference line found", "a tick across each end")


def test_a_page_without_trace_is_said_to_have_none():
    refused(drawn(LINE), [KNOWN], "no closed trace", "--inside.*--subject steel")


@pytest.mark.parametrize("told", ["line", "both"])
def test_a_trace_that_runs_off_the_sheet_is_told(told):
    marks = [wavy_ring((230.0, 140.0), 85.0, 25.0), *LINE]
    refused(drawn(marks), TOLD[told], "runs off the sheet or the picture", "whole trace.*larger")


def test_a_trace_that_runs_off_the_picture_is_told():
    camera = dataclasses.replace(CAMERA, aim_mm=(230.0, 108.0), distance_mm=250.0)
    line = ruled_line((160.0, 45.0), (260.0, 45.0))
    photo = drawn([wavy_ring((120.0, 140.0), 85.0, 25.0), *line], camera)
    refused(photo, [KNOWN, LETTER], "runs off the sheet or the picture", "whole trace")


def saved(picture, kind, **options):
    buffer = io.BytesIO()
    picture.save(buffer, kind, **options)
    return buffer.getvalue()


def wide(values, ending):
    """Return a picture of 16 bits a tone, as another library than the reader's writes it."""
    done, data = cv2.imencode(ending, values.astype(np.uint16) * 257)
    assert done
    return data.tobytes()


def palette(rgb):
    """Return a palette picture of greys."""
    return Image.fromarray(rgb).convert("L").convert("P")


LAST_CLEAR = bytes([255] * 255 + [0])  # of the palette's colours


STORED = {
    "jpeg": lambda rgb: saved(Image.fromarray(rgb), "JPEG", quality=95),
    "grey jpeg": lambda rgb: saved(Image.fromarray(rgb).convert("L"), "JPEG", quality=95),
    "cmyk jpeg": lambda rgb: saved(Image.fromarray(rgb).convert("CMYK"), "JPEG", quality=95),
    "16-bit png": lambda rgb: wide(rgb[:, :, ::-1], ".png"),
    "16-bit tiff": lambda rgb: wide(rgb[:, :, ::-1], ".tiff"),
    "16-bit grey png": lambda rgb: wide(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY), ".png"),
    "grey with alpha": lambda rgb: saved(Image.fromarray(rgb).convert("LA"), "PNG"),
    "rgb with alpha": lambda rgb: saved(Image.fromarray(rgb).convert("RGBA"), "PNG"),
    "palette with alpha": lambda rgb: saved(palette(rgb), "PNG", transparency=LAST_CLEAR),
    "moving gif": lambda rgb: saved(
        palette(rgb), "GIF", save_all=True, append_images=[palette(255 - rgb)]
    ),
    "pages of a tiff": lambda rgb: saved(
        Image.fromarray(rgb), "TIFF", save_all=True, append_images=[Image.fromarray(255 - rgb)]
    ),
}


@pytest.fixture(scope="module")
def measured(good):
    return capture(good, [KNOWN, LETTER]).billet.shape


def same(shape, other):
    """Assert that two outlines lie within 0.05 mm all round, and within 0.02 mm on average.

    Where the sheet's corner is found moves both ways with the picture's grain: it is no part of
    the piece.
    """
    away = np.subtract(other.centroid.coords[0], shape.centroid.coords[0])
    shape = shapely.transform(shape, lambda places: places + away)
    edges = shape.exterior, other.exterior
    points = [shapely.points(shapely.get_coordinates(shapely.segmentize(e, 1.0))) for e in edges]
    apart = [shapely.distance(points[0], edges[1]), shapely.distance(points[1], edges[0])]
    assert np.quantile(np.concatenate(apart), 0.95) < 0.05
    assert abs(shape.area - other.area) / other.length < 0.02


@pytest.mark.parametrize("kind", STORED)
def test_a_picture_measures_the_same_however_it_is_stored(good, measured, kind):
    photo = photo_from_bytes(STORED[kind](good.rgb), kind)
    same(capture(photo, [KNOWN, LETTER]).billet.shape, measured)


def test_a_picture_in_black_and_white_is_measured_to_its_pixels(good):
    grey = Image.fromarray(good.rgb).convert("L")
    bare = grey.point(lambda tone: 255 * (tone > 145)).convert("1", dither=Image.Dither.NONE)
    found = capture(photo_from_bytes(saved(bare, "PNG"), "1bit.png"), [KNOWN])
    # each of two sides is good to a pixel, 330 mm / 900 px at this height of the camera
    assert length_and_width(found) == pytest.approx(true_size(BAR), abs=2 * 330.0 / 900.0)


def test_a_cut_out_sheet_on_a_clear_ground_measures_the_same(good, measured):
    """The bench made clear, as a phone does that cuts things out: the line alone is left."""
    y, x = np.mgrid[: good.height_px, : good.width_px]
    place = CAMERA.to_mm(np.column_stack([x.ravel(), y.ravel()]))
    on_it = ((place > 0) & (place < (LETTER.width_mm, LETTER.height_mm))).all(axis=1)
    alpha = (255 * on_it).astype(np.uint8).reshape(x.shape)
    data = saved(Image.fromarray(np.dstack([good.rgb, alpha])), "PNG")
    found = capture(photo_from_bytes(data, "cut.png"), [KNOWN])
    assert length_and_width(found) == pytest.approx(true_size(BAR), abs=0.3)


# Exif 2.32, tag 0112: how the upright picture is stored under each number
TURNED = {
    2: lambda a: a[:, ::-1],
    3: lambda a: a[::-1, ::-1],
    4: lambda a: a[::-1],
    5: lambda a: a.transpose(1, 0, 2),
    6: lambda a: np.rot90(a, 1),
    7: lambda a: a[::-1, ::-1].transpose(1, 0, 2),
    8: lambda a: np.rot90(a, -1),
}


@pytest.mark.parametrize("orientation", TURNED)
def test_a_picture_stored_turned_or_mirrored_comes_upright(good, orientation):
    tags = Image.Exif()
    tags[0x0112] = orientation
    stored = Image.fromarray(np.ascontiguousarray(TURNED[orientation](good.rgb)))
    photo = photo_from_bytes(saved(stored, "PNG", exif=tags, compress_level=1), "turned.png")
    assert np.array_equal(photo.rgb, good.rgb)


@pytest.mark.parametrize("orientation", [6, 7])  # a phone held upright; the same mirrored
def test_a_picture_stored_turned_or_mirrored_measures_the_same(good, measured, orientation):
    tags = Image.Exif()
    tags[0x0112] = orientation
    stored = np.ascontiguousarray(TURNED[orientation](good.rgb))
    data = saved(Image.fromarray(stored), "JPEG", quality=95, exif=tags)
    shape = capture(photo_from_bytes(data, "turned.jpg"), [KNOWN, LETTER]).billet.shape
    same(shape, measured)


def test_a_hundred_megapixels_are_measured(good):
    large = cv2.resize(good.rgb, (11_560, 8_670), interpolation=cv2.INTER_LINEAR)
    found = capture(Photo(rgb=large, focal_px=None, name="large.jpg"), [KNOWN, LETTER])
    assert length_and_width(found) == pytest.approx(true_size(BAR), abs=0.3)


SIZES = [(1, 1), (1, 5000), (5000, 1), (10, 10), (99, 4000)]


@pytest.mark.parametrize("size_px", SIZES)
def test_a_picture_of_few_pixels_is_refused(size_px):
    data = saved(Image.new("RGB", size_px, "white"), "PNG")
    with pytest.raises(PhotoError, match=r"only \d+ x \d+ pixels.*not a thumbnail"):
        photo_from_bytes(data, "small.png")


def chunk(kind, content):
    """Return a part of a PNG file (ISO/IEC 15948, 5.3)."""
    check = struct.pack(">I", zlib.crc32(kind + content))
    return struct.pack(">I", len(content)) + kind + content + check


def png(width, height, pixels=b""):
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    parts = [head, chunk(b"IDAT", zlib.compress(pixels, 9)), chunk(b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


@pytest.mark.parametrize("side", [11_000, 60_000, 2**31 - 1])
def test_a_small_file_that_claims_to_be_huge_is_refused(side):
    data = png(side, side)
    assert len(data) < 100
    with pytest.raises(PhotoError, match=r"more than 120 megapixels.*make it smaller"):
        photo_from_bytes(data, "bomb.png")


def test_a_picture_that_swells_a_thousandfold_is_refused_before_it_does():
    buffer = io.BytesIO()
    Image.new("L", (13_000, 12_000)).save(buffer, "PNG", compress_level=9)
    data = buffer.getvalue()
    assert 500 * len(data) < 13_000 * 12_000
    tracemalloc.start()
    with pytest.raises(PhotoError, match="more than 120 megapixels"):
        photo_from_bytes(data, "bomb.png")
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 20e6


@pytest.mark.parametrize("kind", [b"zTXt", b"iCCP"])
def test_a_picture_with_a_bomb_in_its_remarks_is_refused(good, kind):
    data = saved(Image.fromarray(good.rgb), "PNG")
    bomb = chunk(kind, b"name\0\0" + zlib.compress(b"a" * 80_000_000, 9))
    with pytest.raises(PhotoError, match="not a picture that can be read"):
        photo_from_bytes(data[:33] + bomb + data[33:], "bomb.png")


@pytest.mark.parametrize("share", [0.02, 0.5, 0.99])
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "HEIC", "WEBP"])
def test_a_file_cut_short_is_refused(good, kind, share):
    picture = Image.fromarray(good.rgb[200:500, 200:500])
    if kind == "HEIC":
        buffer = io.BytesIO()
        pillow_heif.from_pillow(picture).save(buffer, quality=80)
        data = buffer.getvalue()
    else:
        data = saved(picture, kind)
    with pytest.raises(PhotoError, match=r"damaged or cut short|not a picture") as caught:
        photo_from_bytes(data[: int(share * len(data))], "cut")
    assert re.search("Copy it|Use a JPEG", caught.value.remedy)


def test_a_png_with_a_flipped_bit_is_refused(good):
    data = bytearray(saved(Image.fromarray(good.rgb), "PNG"))
    data[len(data) // 2] ^= 1
    with pytest.raises(PhotoError, match="damaged"):
        photo_from_bytes(bytes(data), "flipped.png")


NO_PICTURES = {
    "text": b"three inches is the line\n" * 9,
    "svg": b'<svg xmlns="http://www.w3.org/2000/svg" width="200" height="200"/>',
    "pdf": b"%PDF-1.4\n1 0 obj\n<<>>\nendobj\n",
    "postscript": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 200 200\n%%EndComments\nshowpage\n",
}


@pytest.mark.parametrize("kind", NO_PICTURES)
def test_what_is_no_photo_is_refused(kind):
    """PostScript too, which is a program that another program would have to run."""
    with pytest.raises(PhotoError, match=r"not a picture that can be read.*Use a JPEG"):
        photo_from_bytes(NO_PICTURES[kind], "photo.jpg")


def test_a_file_that_may_not_be_read_is_named(tmp_path, monkeypatch):
    def refuse(self):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(PhotoError, match=r"locked\.jpg cannot be read \(Permission denied\)"):
        load_photo(tmp_path / "locked.jpg")


def test_a_bench_without_a_sheet_is_asked_for_reference_or_sheet(good):
    rng = np.random.default_rng(3)
    grain = cv2.GaussianBlur(rng.normal(size=good.rgb.shape[:2]), (0, 0), sigmaX=30, sigmaY=1)
    wood = np.clip(110 + 60 * grain, 0, 255)[..., None] * (1.0, 0.8, 0.6)
    refused(shown(good, wood), [KNOWN], "no reference line|blurred", "Point at|Photograph")
    refused(shown(good, wood), [LETTER], "sheet's edges were not found|blurred", "darker|Photo")


def labelled(marks):
    rgb = drawn(marks).rgb.copy()
    for k, text in enumerate(("Forged bar 1084", "no 7, 12.5 mm", "left side up")):
        place = (270, 240 + 140 * k)
        cv2.putText(rgb, text, place, cv2.FONT_HERSHEY_SIMPLEX, 1.6, (40, 40, 40), 3, cv2.LINE_AA)
    return Photo(rgb=rgb, focal_px=900.0, name="labels.jpg")


def test_writing_is_no_trace_and_no_reference():
    refused(labelled([]), [KNOWN], "no reference line", "a tick across each end")
    refused(labelled([]), [LETTER], "no closed trace", "Close its gaps")
    refused(labelled(LINE), [KNOWN, LETTER], "no closed trace", "Close its gaps")


@pytest.mark.parametrize("inside", [False, True])
def test_a_trace_open_by_thirty_millimetres_is_not_closed_by_guessing(inside):
    points = shapely.get_coordinates(shapely.segmentize(shapely.LinearRing(BAR.points_mm), 0.5))
    gone = (np.abs(points[:, 0] - 140.0) < 15.0) & (points[:, 1] > 140.0)
    first = int(np.flatnonzero(gone)[-1]) + 1
    ring = np.roll(points[:-1], -first, axis=0)[: -int(gone.sum())]
    assert 29.0 < math.dist(ring[0], ring[-1]) < 33.0
    photo = drawn([Mark(points_mm=tuple(map(tuple, ring)), width_mm=0.9), *LINE])
    where = tuple(CAMERA.to_px([(140.0, 140.0)])[0]) if inside else None
    words = "no closed trace surrounds" if inside else "no closed trace is seen"
    refused(photo, [KNOWN], words, "[Cc]lose (its|the) gaps? with a pen", inside_px=where)
