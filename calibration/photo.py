"""Pictures as they come from a phone: any common file, upright, in 8-bit RGB."""

from __future__ import annotations

import functools
import io
import math
import struct
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pi_heif
from numpy.typing import NDArray
from PIL import Image, ImageOps, UnidentifiedImageError

from calibration.errors import PhotoError

MAX_MEGAPIXELS = 120  # phones give 12 to 108; more is a scan or a bomb that fills the memory
MIN_SIDE_PX = 100  # a drawn line is lost below this
FULL_FRAME_DIAGONAL_MM = math.hypot(36.0, 24.0)  # "35 mm equivalent" refers to this frame
FOCAL_RANGE = (0.25, 15.0)  # focal length in picture diagonals; outside it the entry is wrong

_EXIF_IFD = 0x8769
_FOCAL_LENGTH, _FOCAL_35_MM = 0x920A, 0xA405
_PLANE_X_RESOLUTION, _PLANE_UNIT, _PIXEL_WIDTH = 0xA20E, 0xA210, 0xA002
_MM_PER_PLANE_UNIT = {2: 25.4, 3: 10.0, 4: 1.0, 5: 0.001}
_BROKEN = (OSError, SyntaxError, ValueError, EOFError, RuntimeError, TypeError, struct.error)


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


def load_photo(path: str | Path) -> Photo:
    """Read a picture file: JPEG, PNG, HEIC, WebP, TIFF and what else Pillow knows.

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
            picture.load()
            diagonal_px = math.hypot(*picture.size)
            focal_px = _focal_px(picture, diagonal_px)
            rgb = _rgb(ImageOps.exif_transpose(picture))
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
        return Image.open(io.BytesIO(data))
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


def _rgb(picture: Image.Image) -> NDArray[np.uint8]:
    """Return any mode as 8-bit RGB, what is clear shown on white."""
    if picture.mode.startswith("I") or picture.mode == "F":
        grey = _grey_8_bit(picture)
        return np.ascontiguousarray(np.repeat(grey[:, :, None], 3, axis=2))
    if "A" in picture.getbands() or "a" in picture.getbands() or "transparency" in picture.info:
        clear = picture.convert("RGBA")
        paper = Image.new("RGBA", clear.size, "white")
        picture = Image.alpha_composite(paper, clear)
    return np.ascontiguousarray(np.asarray(picture.convert("RGB"), dtype=np.uint8))


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
