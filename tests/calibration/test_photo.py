import dataclasses
import io
import threading
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pillow_heif
import pytest
from PIL import Image, ImageOps

from calibration.cores import beside
from calibration.errors import PhotoError
from calibration.photo import load_photo, photo_from_bytes
from tests.calibration.stored_ways import STORED


def corner_picture() -> np.ndarray:
    """Grey, 240 wide and 160 high, red at the upper left and blue at the lower left."""
    picture = np.full((160, 240, 3), 128, np.uint8)
    picture[:40, :40] = (255, 0, 0)
    picture[-40:, :40] = (0, 0, 255)
    return picture


def written(picture: np.ndarray, kind: str, **options: object) -> bytes:
    buffer = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(picture)).save(buffer, kind, **options)
    return buffer.getvalue()


def exif(orientation: int = 1, focal_35_mm: int | None = None) -> Image.Exif:
    tags = Image.Exif()
    tags[0x0112] = orientation
    if focal_35_mm is not None:
        tags.get_ifd(0x8769)[0xA405] = focal_35_mm
    return tags


def assert_upright(rgb: np.ndarray) -> None:
    assert rgb.shape == (160, 240, 3)
    assert rgb.dtype == np.uint8
    assert rgb.flags.c_contiguous
    assert rgb[20, 20].astype(float) == pytest.approx([255, 0, 0], abs=12)
    assert rgb[140, 20].astype(float) == pytest.approx([0, 0, 255], abs=12)
    assert rgb[20, 220].astype(float) == pytest.approx([128, 128, 128], abs=12)


@pytest.mark.parametrize("orientation", STORED)
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_every_stored_orientation_comes_upright(kind, orientation):
    stored = STORED[orientation](corner_picture())
    data = written(stored, kind, exif=exif(orientation), quality=95)
    assert_upright(photo_from_bytes(data, "x").rgb)


def test_a_turned_heic_is_turned_once():
    heif = pillow_heif.from_pillow(
        Image.fromarray(np.ascontiguousarray(STORED[6](corner_picture())))
    )
    buffer = io.BytesIO()
    heif.save(buffer, quality=95, exif=exif(6, 26).tobytes())  # written as its rotation property
    photo = photo_from_bytes(buffer.getvalue(), "x.heic")
    assert_upright(photo.rgb)


def test_the_focal_length_compares_diagonals():
    # 26 mm on 36 x 24 mm (diagonal 43.267 mm) is 0.60093 diagonals; 240 x 160 px has 288.44 px
    photo = photo_from_bytes(written(corner_picture(), "JPEG", exif=exif(1, 26)), "x")
    assert photo.focal_px == pytest.approx(0.60093 * 288.444, rel=1e-4)


def test_no_focal_length_is_told_from_a_wrong_one():
    assert photo_from_bytes(written(corner_picture(), "JPEG"), "x").focal_px is None
    wild = written(corner_picture(), "JPEG", exif=exif(1, 2))
    assert photo_from_bytes(wild, "x").focal_px is None


def test_16_bit_grey_keeps_its_tones():
    ramp = np.linspace(0, 65535, 240).astype(np.uint16)
    rgb = photo_from_bytes(written(np.tile(ramp, (160, 1)), "PNG"), "x").rgb
    assert rgb[80, :, 1].astype(float) == pytest.approx(np.linspace(0, 255, 240), abs=1)


def test_what_is_clear_is_shown_on_white():
    clear = np.zeros((160, 240, 4), np.uint8)
    clear[:80] = (0, 0, 0, 255)
    rgb = photo_from_bytes(written(clear, "PNG"), "x").rgb
    assert rgb[20, 20].tolist() == [0, 0, 0]
    assert rgb[140, 20].tolist() == [255, 255, 255]


def test_a_palette_with_a_clear_colour_is_shown_on_white():
    indices = np.zeros((160, 240), np.uint8)
    indices[:80] = 1
    picture = Image.fromarray(indices, "L").convert("P")
    picture.putpalette([10, 20, 30, 200, 100, 50] + [0] * 762)
    buffer = io.BytesIO()
    picture.save(buffer, "PNG", transparency=0)
    rgb = photo_from_bytes(buffer.getvalue(), "x").rgb
    assert rgb[20, 20].tolist() == [200, 100, 50]
    assert rgb[140, 20].tolist() == [255, 255, 255]


def test_cmyk_is_read():
    buffer = io.BytesIO()
    Image.fromarray(corner_picture()).convert("CMYK").save(buffer, "JPEG", quality=95)
    assert_upright(photo_from_bytes(buffer.getvalue(), "x").rgb)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP"])
def test_a_cut_file_is_refused(kind):
    rng = np.random.default_rng(1)
    data = written(rng.integers(0, 255, (400, 400, 3), dtype=np.uint8), kind)
    with pytest.raises(PhotoError, match=r"(damaged or cut short|not a picture)"):
        photo_from_bytes(data[: len(data) // 2], "cut")


def test_a_bomb_is_refused_before_it_is_decoded():
    buffer = io.BytesIO()
    Image.new("1", (12_000, 11_000)).save(buffer, "PNG")
    with pytest.raises(PhotoError, match="more than 120 megapixels"):
        photo_from_bytes(buffer.getvalue(), "bomb.png")


def test_a_bomb_that_the_reader_itself_refuses_is_refused_alike():
    buffer = io.BytesIO()
    Image.new("1", (20_000, 10_000)).save(buffer, "PNG")
    with pytest.raises(PhotoError, match="more than 120 megapixels"):
        photo_from_bytes(buffer.getvalue(), "bomb.png")


def test_one_pixel_is_no_photo():
    with pytest.raises(PhotoError, match="only 1 x 1 pixels"):
        photo_from_bytes(written(np.zeros((1, 1, 3), np.uint8), "PNG"), "dot.png")


@pytest.mark.parametrize(
    ("data", "words"), [(b"", "empty"), (b"not a picture" * 50, "not a picture")]
)
def test_no_picture_is_refused(data, words):
    with pytest.raises(PhotoError, match=words) as caught:
        photo_from_bytes(data, "notes.txt")
    assert caught.value.where == "notes.txt"
    assert caught.value.remedy


def test_a_missing_file_and_a_folder_are_refused(tmp_path):
    with pytest.raises(PhotoError, match="there is no file"):
        load_photo(tmp_path / "none.jpg")
    with pytest.raises(PhotoError, match="cannot be read"):
        load_photo(tmp_path)


def test_a_name_with_accents_is_read(tmp_path):
    path = tmp_path / "Übergröße – 写真.png"
    path.write_bytes(written(corner_picture(), "PNG"))
    photo = load_photo(path)
    assert photo.name == path.name
    assert (photo.width_px, photo.height_px) == (240, 160)


@pytest.mark.parametrize("orientation", STORED)
def test_a_large_jpeg_is_read_as_any_other_reader_does_and_its_small_picture_is_it_shrunk(
    orientation,
):
    large = np.kron(corner_picture(), np.ones((14, 14, 1), np.uint8))
    data = written(STORED[orientation](large), "JPEG", exif=exif(orientation), quality=95)
    photo = photo_from_bytes(data, "x")
    other = ImageOps.exif_transpose(Image.open(io.BytesIO(data)))
    assert np.abs(photo.rgb.astype(int) - np.asarray(other)).max() <= 2
    shrunk = np.asarray(other.resize((1000, 667), Image.Resampling.BOX), int)
    assert photo.begun is not None
    assert photo.small.shape == shrunk.shape
    assert np.abs(photo.small - shrunk).mean() < 1.0
    again = dataclasses.replace(photo)
    assert again.begun is None
    assert np.abs(again.small.astype(int) - photo.small).mean() < 1.0
    assert again.ground.sheet_found == photo.ground.sheet_found


def test_a_jpeg_is_read_though_no_file_can_be_written(monkeypatch):
    def refuse(*args, **options):
        raise PermissionError

    monkeypatch.setattr("tempfile.TemporaryDirectory", refuse)
    assert_upright(photo_from_bytes(written(corner_picture(), "JPEG", quality=95), "x").rgb)


def test_a_jpeg_is_read_though_the_file_on_the_way_cannot_be(monkeypatch):
    monkeypatch.setattr("pathlib.Path.write_bytes", lambda *args: 0)
    assert_upright(photo_from_bytes(written(corner_picture(), "JPEG", quality=95), "x").rgb)


def test_a_jpeg_that_ends_before_its_picture_is_refused():
    data = written(corner_picture(), "JPEG")
    with pytest.raises(PhotoError, match="damaged"):
        photo_from_bytes(data[:2] + b"\xff\xd9" + data[2:], "x")


def test_photos_do_not_wait_for_each_other(monkeypatch):
    helpers = ThreadPoolExecutor(max_workers=1)
    monkeypatch.setattr("calibration.cores._helpers", lambda: helpers)
    data = written(np.full((1500, 2000, 3), 200, np.uint8), "JPEG")
    one = photo_from_bytes(data, "one")
    one.begun.ground.result()
    free = threading.Event()
    beside(free.wait)
    asked = beside(lambda: one.ground)  # its turn comes before the other's small picture is made
    other = photo_from_bytes(data, "other")
    waiting = threading.Thread(target=lambda: other.ground, daemon=True)
    waiting.start()
    waiting.join(0.2)
    free.set()
    assert asked.result(timeout=20).sheet_found == other.ground.sheet_found
    helpers.shutdown()


def test_a_changed_photo_is_shrunk_anew():
    photo = photo_from_bytes(written(np.full((1500, 2000, 3), 250, np.uint8), "JPEG"), "light")
    dark = dataclasses.replace(photo, rgb=np.full_like(photo.rgb, 10))
    assert photo.small.min() > 240
    assert dark.small.max() < 20
