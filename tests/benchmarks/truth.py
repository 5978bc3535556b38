"""The photos with known truth beside the project, and how far a measured piece is from it."""

import importlib.util
import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import ModuleType

import numpy as np
import shapely

from calibration.capture import Capture, capture
from calibration.photo import Photo, load_photo
from calibration.references import LineReference, RectangleReference, Reference, SheetReference

PHOTOS = Path(__file__).resolve().parents[3] / "shared" / "photos"
STEP_MM = 0.5  # between the places of the edge that are judged


@dataclass(frozen=True, kw_only=True)
class TruePhoto:
    """A photo and its truth file."""

    path: Path
    truth: dict[str, object]

    @property
    def name(self) -> str:
        return self.path.name[:3]

    def load(self) -> Photo:
        return load_photo(self.path)

    def drawn(self) -> list[Reference]:
        """Return what is drawn on the sheet, its lengths as they are."""
        return [
            LineReference(length_mm=one["length_mm"])
            if one["kind"] == "line"
            else RectangleReference(width_mm=one["sides_mm"][0], height_mm=one["sides_mm"][1])
            for one in self.truth["references"]  # type: ignore[attr-defined]
        ]

    def one_line(self) -> tuple[Reference, ...]:
        """Return one drawn line, pointed at where others are drawn too; none where none is."""
        lines = [one for one in self.truth["references"] if one["kind"] == "line"]  # type: ignore[attr-defined]
        ends = [tuple(map(tuple, one["ends_px"])) for one in lines] if len(lines) > 1 else [None]
        return tuple(
            LineReference(length_mm=one["length_mm"], ends_px=at)
            for one, at in zip(lines[:1], ends, strict=False)
        )

    def sheet(self) -> SheetReference:
        """Return the sheet's own edges, its size as it is."""
        width_mm, height_mm = self.truth["sheet"]["size_mm"]  # type: ignore[index]
        return SheetReference(width_mm=width_mm, height_mm=height_mm)

    def captured(self, references: list[Reference], *, recognise_sheet: bool = True) -> Capture:
        """Read and measure the photo, told some references."""
        return capture(
            self.load(),
            references,
            subject=self.truth["category"],  # type: ignore[arg-type]
            thickness_mm=self.truth.get("thickness_mm"),  # type: ignore[arg-type]
            recognise_sheet=recognise_sheet,
        )

    def score(self, found: Capture) -> tuple[float, float]:
        """Return the scorer's 95th percentile of the distance both ways, and the bias, mm."""
        steel = np.array(self.truth["steel"])
        ring = shapely.get_coordinates(found.billet.shape.exterior)[:-1]
        move, _ = _scorer().register(ring, steel)
        compared = _scorer().compare(ring, steel, move)
        return compared["both"]["p95"], compared["bias"]

    def errors(self, found: Capture) -> tuple[np.ndarray, np.ndarray]:
        """Return true error and stated deviation, mm, at places evenly along the edge.

        The piece is laid on the true steel by turning and shifting alone, as the scorer beside
        the photos does; each place states what its nearest vertex does.
        """
        scorer = _scorer()
        steel = np.array(self.truth["steel"])
        ring = shapely.get_coordinates(found.billet.shape.exterior)[:-1]
        move, _ = scorer.register(ring, steel)
        along = scorer.dense(ring, STEP_MM)
        apart = shapely.distance(
            shapely.points(scorer.move(along, move)), shapely.LinearRing(steel)
        )
        vertex = shapely.STRtree(shapely.points(ring)).nearest(shapely.points(along))
        return apart, np.array(found.billet.vertex_sigma_mm)[vertex]


def true_photos() -> list[TruePhoto]:
    """Return the photos, none where the folder is absent."""
    truths = {path: json.loads(path.read_text()) for path in sorted(PHOTOS.glob("*.truth.json"))}
    return [
        TruePhoto(path=path.parent / truth["photo"], truth=truth) for path, truth in truths.items()
    ]


@cache
def _scorer() -> ModuleType:
    spec = importlib.util.spec_from_file_location("score", PHOTOS / "score.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
