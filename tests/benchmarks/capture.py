"""Whole captures of 12-megapixel JPEGs beside `cv2.imread` of the same file, and peak memory.

Told only what a maker tells: the length of the drawn line, or the sides of the drawn rectangle.
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

from calibration.capture import Capture, capture
from calibration.photo import load_photo
from calibration.references import LineReference, RectangleReference, Reference
from tests.benchmarks.timing import Row

PHOTOS = Path(__file__).resolve().parents[3] / "shared" / "photos"
RUNS = 4
LEAST_PIXELS = 11_000_000  # twelve megapixels, as makers of phones count
ENLARGED = {"48 MP": 4, "100 MP": 8}  # of 12 megapixels: the area's factor
TRIED_LARGE = 2  # photos whose memory is measured; each capture of 100 megapixels takes seconds


def rows() -> Iterator[Row]:
    truths = [json.loads(path.read_text()) for path in sorted(PHOTOS.glob("*.truth.json"))]
    told = [(PHOTOS / truth["photo"], truth) for truth in truths]
    whole = [(path, truth) for path, truth in told if path.suffix == ".jpg" and _is_large(path)]
    for path, truth in whole:
        yield Row(
            what=path.name[:36],
            seconds=_least(lambda: captured(path, truth)),  # noqa: B023  (called at once)
            rival_seconds=_least(lambda: cv2.imread(str(path))),  # noqa: B023
            aim="<= 6 times",
        )
    for path, truth in whole[:TRIED_LARGE]:
        yield _memory(path, truth, "12 MP", 1)
        for size, factor in ENLARGED.items():
            yield _memory(path, truth, size, factor)


def _is_large(path: Path) -> bool:
    with Image.open(path) as picture:
        return picture.width * picture.height >= LEAST_PIXELS


def _least(work: Callable[[], object]) -> float:
    times = []
    for _ in range(RUNS + 1):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times[1:])


def captured(path: Path, truth: dict[str, object]) -> Capture:
    """Return the capture of a photo that is told its drawn references."""
    references: list[Reference] = []
    for item in truth["references"]:  # type: ignore[attr-defined]
        if item["kind"] == "line":
            references.append(LineReference(length_mm=item["length_mm"]))
        else:
            width_mm, height_mm = item["sides_mm"]
            references.append(RectangleReference(width_mm=width_mm, height_mm=height_mm))
    return capture(
        load_photo(path),
        references,
        subject=truth["category"],  # type: ignore[arg-type]
        thickness_mm=truth.get("thickness_mm"),  # type: ignore[arg-type]
    )


def _memory(path: Path, truth: dict[str, object], size: str, factor: int) -> Row:
    """Return the time of a capture in a fresh process, and what it held at most."""
    with tempfile.TemporaryDirectory() as folder:
        picture = path if factor == 1 else _enlarged(path, factor, Path(folder))
        start = time.perf_counter()
        done = subprocess.run(
            [sys.executable, "-m", "tests.benchmarks.capture", str(picture), json.dumps(truth)],
            capture_output=True,
            text=True,
            check=False,
        )
        seconds = time.perf_counter() - start
        rival_seconds = _least(lambda: cv2.imread(str(picture)))
    said = done.stdout.strip() or done.stderr.strip().splitlines()[-1]
    return Row(
        what=f"{path.name[:3]} {size}, fresh: {said}",
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
    captured(Path(sys.argv[1]), json.loads(sys.argv[2]))
    sys.stdout.write(f"peak {_peak_mb():.0f} MB\n")
