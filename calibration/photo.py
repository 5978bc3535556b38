"""Pictures as they come from a phone: any common file, upright, in 8-bit RGB."""

from __future__ import annotations

import functools
import io
import math
import warnings
from concurrent.futures import Future
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pi_heif
from numpy.typing import NDArray
from PIL import Image, UnidentifiedImageError

from calibration import jpeg
from calibration.cores import beside
from calibration.errors import PhotoError
from calibration.exif import BROKEN, focal_px, orientation
from calibration.ground import Ground, ground_of
from calibration.resized import at_most, cells_of, upright

MAX_MEGAPIXELS = 120  # phones give 12 to 108; more is a scan or a bomb that fills the memory
MIN_SIDE_PX = 100  # a drawn line is lost below this
SMALL_PX = 1000  # long side of the picture on which paper, sheet and steel are looked for

# what cameras, scanners and editors write; nothing that is a program, or needs one to be drawn
_KINDS = ["JPEG", "PNG", "HEIF", "AVIF", "WEBP", "TIFF", "JPEG2000", "BMP", "GIF", "PPM"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Begun:
    """What is made of a picture at small size while it is read at full size.

    Parameters
    ----------
    small : Future of ndarray of uint8, (h, w, 3), or of None if it cannot be read so
    ground : Future of Ground, or of None
    """

    small: Future[NDArray[np.uint8] | None]
    ground: Future[Ground | None]

    @classmethod
    def of(cls, data: bytes, size: tuple[int, int], turned: int) -> Begun:
        """Begin with a plain JPEG of a size, stored turned as its orientation tells."""

        def small() -> NDArray[np.uint8] | None:
            stored = jpeg.read_small(data, size, SMALL_PX)
            return None if stored is None else upright(stored, turned)

        def ground() -> Ground | None:
            seen = first.result()
            return None if seen is None else ground_of(seen)

        first = beside(small)
        return cls(small=first, ground=beside(ground))


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
    begun : Begun, optional
        What is made of the same file beside reading it; a changed copy has none.
    """

    rgb: NDArray[np.uint8]
    focal_px: float | None
    name: str
    begun: Begun | None = field(default=None, init=False)

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

    @property
    def small(self) -> NDArray[np.uint8]:
        """The picture at most `SMALL_PX` long, pixels averaged."""
        begun = None if self.begun is None else self.begun.small.result()
        return self._shrunk if begun is None else begun

    @property
    def ground(self) -> Ground:
        """The light of the bare sheet, and where it lies, on the small picture."""
        begun = None if self.begun is None else self.begun.ground.result()
        return self._own_ground if begun is None else begun

    # a property that is kept locks that of every photo while it is made (till Python 3.12):
    # in these nothing waits for another core

    @functools.cached_property
    def _shrunk(self) -> NDArray[np.uint8]:
        large = max(self.width_px, self.height_px) >= 2 * SMALL_PX
        return at_most(self.half if large else self.rgb, SMALL_PX)

    @functools.cached_property
    def _own_ground(self) -> Ground:
        return ground_of(self.small)

    def cells(self, factor: int) -> NDArray[np.uint8]:
        """Return a picture whose pixels are each the mean of `factor` by `factor` of this."""
        return self.half if factor == 2 else cells_of(self.rgb, factor)


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
            focal = focal_px(picture, math.hypot(*picture.size))
            turned, begun, rgb = orientation(picture), None, None
            if picture.format == "PNG":
                _open(data, name).verify()  # its check sums, which reading passes over
            if jpeg.is_plain(picture, data):
                begun = Begun.of(data, picture.size, turned)
                rgb = jpeg.read(data)
            if rgb is None:
                picture.load()  # some kinds turn the picture themselves, and say so then
                rgb, turned = _rgb(picture), orientation(picture)
        except (*BROKEN, MemoryError) as error:
            raise _damaged(name) from error
    photo = Photo(rgb=upright(rgb, turned), focal_px=focal, name=name)
    object.__setattr__(photo, "begun", begun)
    return photo


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
    except (UnidentifiedImageError, *BROKEN) as error:
        raise PhotoError(
            "this is not a picture that can be read.",
            where=name,
            remedy="Use a JPEG, PNG, HEIC, WebP or TIFF file.",
        ) from error


def _damaged(name: str) -> PhotoError:
    return PhotoError(
        "the picture is damaged or cut short.",
        where=name,
        remedy="Copy it from the phone again, or save it as JPEG or PNG.",
    )


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
