"""Whole captures of 12-megapixel JPEGs beside `cv2.imread` of the same file, and peak memory.

Told only what a maker tells: the length of the drawn line, the sides of the drawn rectangle, or
that the mat is printed true.  The mat's photo is rendered, with a phone's lens, tilt and noise.
Each time is the least of a few in a warm process. Memory is the most that a fresh process held, the
program with its libraries included, for the picture as it is and enlarged to 48 and 100 megapixels.
"""

import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import cv2
from PIL import Image

from calibration.capture import capture
from calibration.mat import mat_layout
from calibration.photo import load_photo
from calibration.references import MatReference
from tests.benchmarks.timing import Row
from tests.benchmarks.truth import TruePhoto, true_photos
from tests.calibration.mat_render import MatScene, over, piece

RUNS = 4
LEAST_PIXELS = 11_000_000  # twelve megapixels, as makers of phones count
ENLARGED = {"48 MP": 4, "100 MP": 8}  # of 12 megapixels: the area's factor
MAT = "letter"
EXIF_IFD, FOCAL_35_MM = 0x8769, 0xA405
TRIED_LARGE = 2  # photos whose memory is measured; each capture of 100 megapixels takes seconds


def rows() -> Iterator[Row]:
    large = [true for true in true_photos() if _is_large(true.path)]
    for true in large:
        yield Row(
            what=true.path.name[:36],
            seconds=_least(lambda: true.captured(true.drawn())),  # noqa: B023  (called at once)
            rival_seconds=_least(lambda: cv2.imread(str(true.path))),  # noqa: B023
            aim="<= 6 times",
        )
    yield _mat()
    for true in large[:TRIED_LARGE]:
        yield _memory(true, "12 MP", 1)
        for size, factor in ENLARGED.items():
            yield _memory(true, size, factor)


def _mat() -> Row:
    layout = mat_layout(MAT)
    camera = over(MAT, size_px=(4000, 3000), tilt_deg=15.0, azimuth_deg=40.0, k1=-0.03)
    rendered = MatScene(paper=MAT, camera=camera, outline=piece(layout)).photo()
    told = MatReference(printed_x=1.0, printed_y=1.0)
    exif = Image.Exif()
    exif.get_ifd(EXIF_IFD)[FOCAL_35_MM] = 26
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "mat.jpg"
        Image.fromarray(rendered.rgb).save(path, quality=92, exif=exif)
        return Row(
            what=f"printed mat, {MAT}",
            seconds=_least(lambda: capture(load_photo(path), [told])),
            rival_seconds=_least(lambda: cv2.imread(str(path))),
            aim="<= 6 times",
        )


def _is_large(path: Path) -> bool:
    if path.suffix != ".jpg":
        return False
    with Image.open(path) as picture:
        return picture.width * picture.height >= LEAST_PIXELS


def _least(work: Callable[[], object]) -> float:
    times = []
    for _ in range(RUNS + 1):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times[1:])


def _memory(true: TruePhoto, size: str, factor: int) -> Row:
    """Return the time of a capture in a fresh process, and what it held at most."""
    with tempfile.TemporaryDirectory() as folder:
        picture = true.path if factor == 1 else _enlarged(true.path, factor, Path(folder))
        start = time.perf_counter()
        done = subprocess.run(
            [
                sys.executable,
                "-m",
                "tests.benchmarks.capture",
                str(picture),
                json.dumps(true.truth),
            ],
            capture_output=True,
            text=True,
            check=False,
        )
        seconds = time.perf_counter() - start
        rival_seconds = _least(lambda: cv2.imread(str(picture)))
    said = done.stdout.strip() or done.stderr.strip().splitlines()[-1]
    return Row(
        what=f"{true.name} {size}, fresh: {said}",
        seconds=seconds,
        rival_seconds=rival_seconds,
        aim="< 1000 MB",
    )


def _enlarged(path: Path, factor: int, folder: Path) -> Path:
    """Return a picture of so many times the pixels, kept as a JPEG with its camera's notes."""
    with Image.open(path) as picture:
        side = factor**0.5
        size = (round(picture.width * side), round(picture.height * side))
        large = picture.resize(size, Image.Resampling.BICUBIC)
        large.save(folder / "large.jpg", quality=92, exif=picture.getexif())
    return folder / "large.jpg"


def _peak_mb() -> float:
    """Return the most memory that this process has held, MB."""
    status = Path("/proc/self/status")
    if status.exists():
        line = next(row for row in status.read_text().splitlines() if row.startswith("VmHWM"))
        return int(line.split()[1]) * 1024 / 1e6
    import resource  # not on Windows; its figure starts at the parent's on Linux

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / 1e6 if sys.platform == "darwin" else most * 1024 / 1e6


if __name__ == "__main__":
    asked = TruePhoto(path=Path(sys.argv[1]), truth=json.loads(sys.argv[2]))
    asked.captured(asked.drawn())
    sys.stdout.write(f"peak {_peak_mb():.0f} MB\n")
