"""OUTLINE.json: an outline as plain rings, and beside them its true curves, holes and marks."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal, Self, TypeAlias

import shapely
from pydantic import Field, model_validator
from shapely import Polygon

from app.files.json_file import (
    PER_UNIT,
    FileModel,
    Point,
    Ring,
    Units,
    blamed_on,
    open_ring,
    other_kind,
    read_model,
    schema_up_to,
    write_model,
)
from geometry.curves import Arc, Chain, Cubic, Line, Segment
from geometry.errors import InputError
from geometry.outline import Hole, Mark, Outline, Station, outline_from_rings
from geometry.pose import Pose

SCHEMA = 1
AGREE_MM = 0.05  # the rings are flattened within 0.01 mm of the curves

Positive = Annotated[float, Field(gt=0)]


class LineModel(FileModel):
    """A straight piece."""

    kind: Literal["line"]
    start: Point
    end: Point

    def segment(self) -> Line:
        """Return the piece."""
        return Line(start=self.start, end=self.end)


class ArcModel(FileModel):
    """A part of a circle; the sweep in radians, counter-clockwise positive."""

    kind: Literal["arc"]
    start: Point
    end: Point
    sweep_rad: float

    @model_validator(mode="after")
    def _is_an_arc(self) -> Self:
        self.segment()
        return self

    def segment(self) -> Arc:
        """Return the piece."""
        return Arc(start=self.start, end=self.end, sweep_rad=self.sweep_rad)


class CubicModel(FileModel):
    """A cubic Bezier curve."""

    kind: Literal["cubic"]
    start: Point
    control1: Point
    control2: Point
    end: Point

    def segment(self) -> Cubic:
        """Return the piece."""
        return Cubic(start=self.start, control1=self.control1, control2=self.control2, end=self.end)


SegmentModel: TypeAlias = Annotated[LineModel | ArcModel | CubicModel, Field(discriminator="kind")]
ChainModel: TypeAlias = Annotated[list[SegmentModel], Field(min_length=1)]


class HoleModel(FileModel):
    """A round hole."""

    kind: str
    x: float
    y: float
    diameter: Positive


class MarkModel(FileModel):
    """A line to draw."""

    kind: str
    points: list[Point] = Field(min_length=2)


class StationModel(FileModel):
    """A named place."""

    name: str
    x: float
    y: float


class OutlineModel(FileModel):
    """The file's keys: ``units``, ``outline``, ``holes`` are enough; rings are not closed.

    With ``chain`` the edge is that, true curves and all, and ``round_holes`` and ``cutouts`` are
    the holes; the rings have to agree with them.
    """

    outline_schema: Annotated[int, schema_up_to(SCHEMA)] = SCHEMA
    billet_schema: Annotated[object, other_kind("a piece of steel")] = Field(
        default=None, exclude=True
    )
    units: Units
    name: str = "outline"
    outline: Ring
    holes: list[Ring] = Field(default_factory=list)
    chain: ChainModel | None = None
    round_holes: list[HoleModel] = Field(default_factory=list)
    cutouts: list[ChainModel] = Field(default_factory=list)
    marks: list[MarkModel] = Field(default_factory=list)
    stations: list[StationModel] = Field(default_factory=list)

    @classmethod
    def of(cls, outline: Outline) -> Self:
        """Return the model of an outline.

        Raises
        ------
        InputError
            If the outline crosses itself.
        """
        polygon = outline.polygon()
        return cls(
            outline_schema=SCHEMA,
            units="mm",
            name=outline.name,
            outline=open_ring(polygon.exterior),
            holes=[open_ring(ring) for ring in polygon.interiors],
            chain=_chain_model(outline.chain),
            round_holes=[
                HoleModel(kind=h.kind, x=h.x_mm, y=h.y_mm, diameter=h.diameter_mm)
                for h in outline.holes
            ],
            cutouts=[_chain_model(cutout) for cutout in outline.cutouts],
            marks=[MarkModel(kind=m.kind, points=list(m.points_mm)) for m in outline.marks],
            stations=[StationModel(name=s.name, x=s.x_mm, y=s.y_mm) for s in outline.stations],
        )

    def outline_value(self) -> Outline:
        """Return the outline in mm, checked.

        Raises
        ------
        InputError
            If the edge crosses itself, a hole is not inside, or rings and curves disagree.
        """
        bare = outline_from_rings(self.name, self.outline, self.holes)
        outline = Outline(
            name=self.name,
            chain=bare.chain if self.chain is None else _chain(self.chain),
            holes=tuple(
                Hole(x_mm=h.x, y_mm=h.y, diameter_mm=h.diameter, kind=h.kind)
                for h in self.round_holes
            ),
            cutouts=tuple(map(_chain, self.cutouts)) if self.chain else bare.cutouts,
            marks=tuple(Mark(kind=m.kind, points_mm=tuple(m.points)) for m in self.marks),
            stations=tuple(Station(name=s.name, x_mm=s.x, y_mm=s.y) for s in self.stations),
        )
        factor = PER_UNIT[self.units]
        if factor != 1.0:
            outline, bare = (o.moved(Pose(scale=factor)) for o in (outline, bare))
        if self.chain is not None:
            _check_agreement(outline.polygon(), bare.polygon())
        outline.polygon()
        return outline


def read_outline(path: Path) -> Outline:
    """Return the outline in a file, in mm.

    Raises
    ------
    FileError
        If the file cannot be read or holds no usable outline; one line.
    """
    model = read_model(path, OutlineModel, "an outline")
    if "name" not in model.model_fields_set:
        model.name = path.stem
    with blamed_on(str(path)):
        return model.outline_value()


def write_outline(outline: Outline, path: Path) -> None:
    """Write an outline, rings and curves; reading gives the same outline back.

    Raises
    ------
    InputError
        If the outline crosses itself.
    FileError
        If the folder cannot be written.
    """
    write_model(path, OutlineModel.of(outline))


def _check_agreement(curves: Polygon, rings: Polygon) -> None:
    apart = shapely.hausdorff_distance(curves.boundary, rings.boundary)
    if apart > AGREE_MM:
        raise InputError(
            f"its rings and its curves disagree by {apart:.2f} mm.",
            remedy="Take “chain” out of the file to keep the rings.",
        )


def _chain_model(chain: Chain) -> list[LineModel | ArcModel | CubicModel]:
    return [_segment_model(segment) for segment in chain]


def _segment_model(segment: Segment) -> LineModel | ArcModel | CubicModel:
    if isinstance(segment, Line):
        return LineModel(kind="line", start=segment.start, end=segment.end)
    if isinstance(segment, Arc):
        return ArcModel(
            kind="arc", start=segment.start, end=segment.end, sweep_rad=segment.sweep_rad
        )
    return CubicModel(
        kind="cubic",
        start=segment.start,
        control1=segment.control1,
        control2=segment.control2,
        end=segment.end,
    )


def _chain(models: list[SegmentModel]) -> Chain:
    return tuple(model.segment() for model in models)
