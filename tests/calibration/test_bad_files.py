"""Files that hold a picture in any way, or none: the same measures, or one clear sentence."""

import io
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
from tests.calibration.bad_scenes import (
    BAR,
    CAMERA,
    KNOWN,
    LETTER,
    good_photo,
    length_and_width,
    true_size,
)
from tests.calibration.stored_ways import STORED as ORIENTED


@pytest.fixture(scope="module")
def good():
    return good_photo()


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


@pytest.mark.parametrize("orientation", [way for way in ORIENTED if way > 1])
def test_a_picture_stored_turned_or_mirrored_comes_upright(good, orientation):
    tags = Image.Exif()
    tags[0x0112] = orientation
    stored = Image.fromarray(np.ascontiguousarray(ORIENTED[orientation](good.rgb)))
    photo = photo_from_bytes(saved(stored, "PNG", exif=tags, compress_level=1), "turned.png")
    assert np.array_equal(photo.rgb, good.rgb)


@pytest.mark.parametrize("orientation", [6, 7])  # a phone held upright; the same mirrored
def test_a_picture_stored_turned_or_mirrored_measures_the_same(good, measured, orientation):
    tags = Image.Exif()
    tags[0x0112] = orientation
    stored = np.ascontiguousarray(ORIENTED[orientation](good.rgb))
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
