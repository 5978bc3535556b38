"""Whole captures of the photos with known truth: their error, their stated doubt, their time.

The error is what the scorer beside the photos says (95th percentile of the distance between the
measured and the true edge, registered without scale); covered is the share of the measured edge
whose true place is within two stated standard deviations. The rival is reading the file's pixels.
"""

import importlib.util
import json
import time
from pathlib import Path
from types import ModuleType

import numpy as np
import shapely

from calibration.capture import capture
from calibration.photo import load_photo
from calibration.references import LineReference, RectangleReference, Reference, SheetReference
from tests.benchmarks.timing import Row, least_seconds

PHOTOS = Path(__file__).resolve().parents[3] / "shared" / "photos"


def rows() -> list[Row]:
    if not PHOTOS.is_dir():
        return []
    scorer = _scorer()
    truths = sorted(PHOTOS.glob("*.truth.json"))
    return [_row(path, told, scorer) for path in truths for told in ("sheet told", "line only")]


def _scorer() -> ModuleType:
    spec = importlib.util.spec_from_file_location("score", PHOTOS / "score.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _row(path: Path, told: str, scorer: ModuleType) -> Row:
    truth = json.loads(path.read_text())
    photo = path.parent / truth["photo"]
    start = time.perf_counter()
    found = capture(
        load_photo(photo),
        _references(truth, told),
        subject=truth["category"],
        thickness_mm=truth.get("thickness_mm"),
    )
    seconds = time.perf_counter() - start
    ring = shapely.get_coordinates(found.billet.shape.exterior)[:-1]
    move, _ = scorer.register(ring, np.array(truth["steel"]))
    errors = scorer.compare(ring, np.array(truth["steel"]), move)
    apart = shapely.distance(
        shapely.points(scorer.move(ring, move)), shapely.LinearRing(truth["steel"])
    )
    sigmas = np.array(found.billet.vertex_sigma_mm[: len(ring)])
    p95, covered = errors["both"]["p95"], float(np.mean(apart <= 2 * sigmas))
    return Row(
        what=f"{photo.name[:3]} {told}: p95 {p95:.3f} mm, covered {covered:.0%}",
        seconds=seconds,
        rival_seconds=least_seconds(lambda: load_photo(photo), calls=1),
        aim="p95 <= 0.5 mm",
    )


def _references(truth: dict[str, object], told: str) -> list[Reference]:
    references: list[Reference] = []
    for item in truth["references"]:  # type: ignore[attr-defined]
        if item["kind"] == "line":
            references.append(LineReference(length_mm=item["length_mm"]))
        else:
            width_mm, height_mm = item["sides_mm"]
            references.append(RectangleReference(width_mm=width_mm, height_mm=height_mm))
    if told == "sheet told":
        width_mm, height_mm = truth["sheet"]["size_mm"]  # type: ignore[index]
        references.append(SheetReference(width_mm=width_mm, height_mm=height_mm))
    return references
