"""Pictures as they come from a phone: any common file, upright, in 8-bit RGB."""

from __future__ import annotations

import functools
import io
import math
import struct
import tempfile
import warnings
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import pi_heif
from numpy.typing import NDArray
from PIL import Image, UnidentifiedImageError

from calibration.errors import PhotoError

MAX_MEGAPIXELS = 120  # phones give 12 to 108; more is a scan or a bomb that fills the memory
MIN_SIDE_PX = 100  # a drawn line is lost below this
SMALL_PX = 1000  # long side of the picture on which paper, sheet and steel are looked for
FULL_FRAME_DIAGONAL_MM = math.hypot(36.0, 24.0)  # "35 mm equivalent" refers to this frame
FOCAL_RANGE = (0.25, 15.0)  # focal length in picture diagonals; outside it the entry is wrong

_EXIF_IFD, _ORIENTATION = 0x8769, 0x0112
_FOCAL_LENGTH, _FOCAL_35_MM = 0x920A, 0xA405
_PLANE_X_RESOLUTION, _PLANE_UNIT, _PIXEL_WIDTH = 0xA20E, 0xA210, 0xA002
_MM_PER_PLANE_UNIT = {2: 25.4, 3: 10.0, 4: 1.0, 5: 0.001}
_BROKEN = (OSError, SyntaxError, ValueError, EOFError, RuntimeError, TypeError, struct.error)
# what cameras, scanners and editors write; nothing that is a program, or needs one to be drawn
_KINDS = ["JPEG", "PNG", "HEIF", "AVIF", "WEBP", "TIFF", "JPEG2000", "BMP", "GIF", "PPM"]
_PLAIN_JPEG = ("RGB", "L")  # what the fast reader takes as it is; CMYK has to be converted
_JPEG_END = b"\xff\xd9"
_AS_STORED = cv2.IMREAD_COLOR_RGB | cv2.IMREAD_IGNORE_ORIENTATION


@dataclass(frozen=True, kw_only=True, eq=False)
class Photo:
    """One upright picture.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (h, w, 3)
        C-contiguous; pixel centres at integers, y down.
    focal_px : float or None
        Focal length in pixels as the file states it; None if it does not.
    name : str
        The file's name, for messages.
    """

    rgb: NDArray[np.uint8]
    focal_px: float | None
    name: str

    @property
    def width_px(self) -> int:
        """Width of the upright picture."""
        return int(self.rgb.shape[1])

    @property
    def height_px(self) -> int:
        """Height of the upright picture."""
        return int(self.rgb.shape[0])

    @functools.cached_property
    def half(self) -> NDArray[np.uint8]:
        """The picture at half its size, pixels averaged."""
        return cells_of(self.rgb, 2)

    @functools.cached_property
    def small(self) -> NDArray[np.uint8]:
        """The picture at most `SMALL_PX` long, pixels averaged."""
        large = max(self.width_px, self.height_px) >= 2 * SMALL_PX
        return at_most(self.half if large else self.rgb, SMALL_PX)

    def cells(self, factor: int) -> NDArray[np.uint8]:
        """Return a picture whose pixels are each the mean of `factor` by `factor` of this."""
        return self.half if factor == 2 else cells_of(self.rgb, factor)


def cells_of(rgb: NDArray[np.uint8], factor: int) -> NDArray[np.uint8]:
    """Return a picture of cells, each the mean of its pixels."""
    if factor == 1:
        return rgb
    rows, columns = (side // factor for side in rgb.shape[:2])
    return _averaged(rgb[: rows * factor, : columns * factor], (columns, rows))


def at_most(rgb: NDArray[np.uint8], long_px: int) -> NDArray[np.uint8]:
    """Return a picture shrunk to a long side, pixels averaged; itself if it is no longer."""
    height, width = rgb.shape[:2]
    scale = long_px / max(height, width)
    if scale >= 1.0:
        return rgb
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    while rgb.shape[1] >= 2 * size[0] and rgb.shape[0] >= 2 * size[1]:  # by halves: far faster
        rgb = _averaged(rgb, (rgb.shape[1] // 2, rgb.shape[0] // 2))
    return _averaged(rgb, size)


def _averaged(rgb: NDArray[np.uint8], size_px: tuple[int, int]) -> NDArray[np.uint8]:
    return np.asarray(cv2.resize(rgb, size_px, interpolation=cv2.INTER_AREA), np.uint8)


def load_photo(path: str | Path) -> Photo:
    """Read a picture file: JPEG, PNG, HEIC, AVIF, WebP, TIFF, JPEG 2000, BMP, GIF, PPM.

    Raises
    ------
    PhotoError
        If there is no such file, or it is no picture, broken, too large or too small.
    """
    path = Path(path)
    try:
        data = path.read_bytes()
    except FileNotFoundError as error:
        raise PhotoError(
            f"there is no file {path}.", remedy="Check the name and the folder."
        ) from error
    except OSError as error:
        reason = error.strerror or "unknown reason"
        raise PhotoError(
            f"{path} cannot be read ({reason}).", remedy="Check that it is a file you may read."
        ) from error
    return photo_from_bytes(data, path.name)


def photo_from_bytes(data: bytes, name: str) -> Photo:
    """Return the picture held in a file's bytes.

    Raises
    ------
    PhotoError
        If the bytes are no picture, broken, too large or too small.
    """
    _register_heif()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # oversize and odd metadata are judged here
        picture = _open(data, name)
        _check_size(picture.size, name)
        try:
            focal_px = _focal_px(picture, math.hypot(*picture.size))
            if picture.format == "PNG":
                _open(data, name).verify()  # its check sums, which reading passes over
            rgb = _fast_jpeg(picture, data)
            if rgb is None:
                picture.load()  # some kinds turn the picture themselves, and say so then
                rgb = _rgb(picture)
            rgb = _upright(rgb, _orientation(picture))
        except (*_BROKEN, MemoryError) as error:
            raise PhotoError(
                "the picture is damaged or cut short.",
                where=name,
                remedy="Copy it from the phone again, or save it as JPEG or PNG.",
            ) from error
    return Photo(rgb=rgb, focal_px=focal_px, name=name)


@functools.cache
def _register_heif() -> None:
    pi_heif.register_heif_opener()


def _open(data: bytes, name: str) -> Image.Image:
    if not data:
        raise PhotoError(
            "the file is empty.", where=name, remedy="Copy it from the phone or camera again."
        )
    try:
        return Image.open(io.BytesIO(data), formats=_KINDS)
    except Image.DecompressionBombError as error:
        raise _too_large(name) from error
    except (UnidentifiedImageError, *_BROKEN) as error:
        raise PhotoError(
            "this is not a picture that can be read.",
            where=name,
            remedy="Use a JPEG, PNG, HEIC, WebP or TIFF file.",
        ) from error


def _check_size(size_px: tuple[int, int], name: str) -> None:
    width, height = size_px
    if width * height > MAX_MEGAPIXELS * 1_000_000:
        raise _too_large(name, f" ({width} x {height})")
    if min(width, height) < MIN_SIDE_PX:
        raise PhotoError(
            f"the picture is only {width} x {height} pixels.",
            where=name,
            remedy="Use the photo as the camera took it, not a thumbnail.",
        )


def _too_large(name: str, size: str = "") -> PhotoError:
    return PhotoError(
        f"the picture has more than {MAX_MEGAPIXELS} megapixels{size}.",
        where=name,
        remedy="Take it with the camera's normal setting, or make it smaller.",
    )


def _fast_jpeg(picture: Image.Image, data: bytes) -> NDArray[np.uint8] | None:
    """Return a usual JPEG as stored, without the copies that Pillow makes; None for others.

    A file without its end is left to Pillow, which tells that it was cut short.
    """
    if picture.format not in ("JPEG", "MPO") or picture.mode not in _PLAIN_JPEG:
        return None
    if not data.endswith(_JPEG_END):
        return None
    try:
        rgb = _into_place(data, picture.size)
        if rgb is None:
            rgb = cv2.imdecode(np.frombuffer(data, np.uint8), _AS_STORED)
    except cv2.error:
        return None
    return None if rgb is None else np.asarray(rgb, np.uint8)


def _into_place(data: bytes, size: tuple[int, int]) -> cv2.typing.MatLike | None:
    """Return a picture as stored, read by way of a file; None if there can be none.

    Only the reader of files takes a place to read into: the one of bytes makes two copies, which
    takes nearly as long as decoding.
    """
    place = np.empty((size[1], size[0], 3), np.uint8)
    try:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "picture.jpg"
            path.write_bytes(data)
            return cv2.imread(str(path), place, _AS_STORED)
    except OSError:
        return None


def _orientation(picture: Image.Image) -> int:
    """Return how a picture is stored (Exif 2.32, tag 0112), 1 if it is upright or does not say."""
    try:
        return int(picture.getexif().get(_ORIENTATION, 1))
    except (*_BROKEN, KeyError):
        return 1


def _upright(rgb: NDArray[np.uint8], orientation: int) -> NDArray[np.uint8]:
    """Return a picture turned and mirrored as its orientation tells."""
    if orientation in (5, 6, 7, 8):
        rgb = np.asarray(cv2.transpose(rgb), np.uint8)
    over = {2: 1, 3: -1, 4: 0, 6: 1, 7: -1, 8: 0}.get(orientation)
    if over is not None:
        rgb = np.asarray(cv2.flip(rgb, over), np.uint8)
    return np.ascontiguousarray(rgb)


def _rgb(picture: Image.Image) -> NDArray[np.uint8]:
    """Return any mode as 8-bit RGB, what is clear shown on white."""
    if picture.mode.startswith("I") or picture.mode == "F":
        grey = _grey_8_bit(picture)
        return np.repeat(grey[:, :, None], 3, axis=2)
    if "A" in picture.getbands() or "a" in picture.getbands() or "transparency" in picture.info:
        clear = picture.convert("RGBA")
        paper = Image.new("RGBA", clear.size, "white")
        picture = Image.alpha_composite(paper, clear)
    if picture.mode != "RGB":
        picture = picture.convert("RGB")
    return np.asarray(picture, dtype=np.uint8)


def _grey_8_bit(picture: Image.Image) -> NDArray[np.uint8]:
    """Return a grey picture of more than 8 bits, its range taken from its numbers."""
    values = np.asarray(picture).astype(np.float64)
    top = float(values.max(initial=0.0))
    whole = 1.0 if top <= 1.0 and picture.mode == "F" else 255.0 if top <= 255.0 else 65535.0
    if picture.mode.startswith("I;16"):
        whole = 65535.0
    scaled: NDArray[np.uint8] = np.clip(np.rint(values * (255.0 / whole)), 0, 255).astype(np.uint8)
    return scaled


def _focal_px(picture: Image.Image, diagonal_px: float) -> float | None:
    """Return the focal length in pixels that the file's EXIF states, None if it does not.

    The 35 mm equivalent compares diagonals (CIPA DCG-001); else the focal length and the
    sensor's pixels per unit are used (Exif 2.32, tags A20E and A210).
    """
    try:
        exif = picture.getexif().get_ifd(_EXIF_IFD)
    except (*_BROKEN, KeyError):
        return None
    equivalent = _positive(exif.get(_FOCAL_35_MM))
    if equivalent:
        focal = equivalent / FULL_FRAME_DIAGONAL_MM * diagonal_px
    else:
        unit = _MM_PER_PLANE_UNIT.get(int(_positive(exif.get(_PLANE_UNIT)) or 2), 25.4)
        per_mm = _positive(exif.get(_PLANE_X_RESOLUTION)) / unit
        taken = _positive(exif.get(_PIXEL_WIDTH)) or picture.width
        focal = _positive(exif.get(_FOCAL_LENGTH)) * per_mm * picture.width / taken
    low, high = FOCAL_RANGE
    return focal if low * diagonal_px < focal < high * diagonal_px else None


def _positive(value: object) -> float:
    """Return a number from the metadata, 0.0 if it is missing, odd or not above zero."""
    try:
        number = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, ZeroDivisionError):
        return 0.0
    return number if math.isfinite(number) and number > 0 else 0.0
