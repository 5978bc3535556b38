"""The photo's facts in a job's file: what is of known size, and what else was told about it."""

from __future__ import annotations

from dataclasses import asdict
from typing import Literal

from pydantic import Field, model_validator

from app.document.job import Edge, PhotoFacts, Subject
from app.files.json_file import FileModel, Point
from calibration.pens import Pen
from calibration.references import (
    CrossReference,
    LineReference,
    MatReference,
    RectangleReference,
    Reference,
    SheetReference,
)
from calibration.sizes import Kind, SteelSize


class ReferenceModel(FileModel):
    """A line, a sheet, a drawn rectangle, crossing lines, or a printed mat."""

    kind: Literal["line", "sheet", "rectangle", "cross", "mat"]
    size_mm: list[float] = Field(default_factory=list, max_length=2)
    paper: str = ""
    printed: list[float | None] = Field(default_factory=list, max_length=2)
    points_px: list[Point] = Field(default_factory=list)

    @model_validator(mode="after")
    def _has_its_sizes(self) -> ReferenceModel:
        told, needed = (self.printed, 2) if self.kind == "mat" else (self.size_mm, 1)
        if len(told) < needed:
            raise ValueError("its size is missing")
        return self

    @classmethod
    def of(cls, reference: Reference) -> ReferenceModel:
        """Return the model of a reference."""
        match reference:
            case LineReference():
                points = list(reference.ends_px or ())
                return cls(kind="line", size_mm=[reference.length_mm], points_px=points)
            case SheetReference():
                return cls(kind="sheet", size_mm=[reference.width_mm, reference.height_mm])
            case RectangleReference():
                points = list(reference.corners_px or ())
                size = [reference.width_mm, reference.height_mm]
                return cls(kind="rectangle", size_mm=size, points_px=points)
            case CrossReference():
                points = list(reference.ends_px or ())
                size = [reference.first_mm, reference.second_mm]
                return cls(kind="cross", size_mm=size, points_px=points)
            case MatReference():
                printed = [reference.printed_x, reference.printed_y]
                return cls(kind="mat", paper=reference.paper, printed=printed)

    def reference(self) -> Reference:
        """Return the reference."""
        points = self.points_px
        if self.kind == "mat":
            x, y = self.printed
            return MatReference(paper=self.paper, printed_x=x, printed_y=y)
        if self.kind == "line":
            ends = (points[0], points[1]) if len(points) == 2 else None
            return LineReference(length_mm=self.size_mm[0], ends_px=ends)
        width, height = self.size_mm[0], self.size_mm[-1]
        if self.kind == "sheet":
            return SheetReference(width_mm=width, height_mm=height)
        corners = (points[0], points[1], points[2], points[3]) if len(points) == 4 else None
        if self.kind == "cross":
            return CrossReference(first_mm=width, second_mm=height, ends_px=corners)
        return RectangleReference(width_mm=width, height_mm=height, corners_px=corners)


class SizeModel(FileModel):
    """A size of the steel; its places are in the picture or on the piece."""

    kind: Kind
    true_mm: float
    ends_px: tuple[Point, Point] | None = None
    ends_mm: tuple[Point, Point] | None = None


class PenModel(FileModel):
    """What a pen stands off; the name is empty where the offset was just told."""

    name: str
    offset_mm: float
    sigma_mm: float
    thickness_mm: float | None = Field(default=None, gt=0)
    edge: Edge = "inner"
    beyond_mm: float = Field(default=0.0, ge=0)

    @classmethod
    def of(cls, pen: Pen) -> PenModel:
        """Return the model of a pen."""
        return cls(**asdict(pen))

    def pen(self) -> Pen:
        """Return the pen; InputError if no pen is like that."""
        return Pen(**self.model_dump())


class PhotoModel(FileModel):
    """What was told about the photo; its bytes are a member of their own."""

    name: str
    references: list[ReferenceModel] = Field(default_factory=list)
    inside_px: Point | None = None
    edge: Edge = "inner"
    subject: Subject = "trace"
    sizes: list[SizeModel] = Field(default_factory=list)
    correct_offset: bool = False
    pen: PenModel | None = None

    @classmethod
    def of(cls, photo: PhotoFacts) -> PhotoModel:
        """Return the model of a photo's facts."""
        return cls(
            name=photo.name,
            references=[ReferenceModel.of(reference) for reference in photo.references],
            inside_px=photo.inside_px,
            edge=photo.edge,
            subject=photo.subject,
            sizes=[SizeModel(**asdict(size)) for size in photo.sizes],
            correct_offset=photo.correct_offset,
            pen=None if photo.pen is None else PenModel.of(photo.pen),
        )

    def facts(self, data: bytes) -> PhotoFacts:
        """Return the photo's facts with its bytes; InputError if one of them cannot be."""
        return PhotoFacts(
            name=self.name,
            data=data,
            references=tuple(item.reference() for item in self.references),
            inside_px=self.inside_px,
            edge=self.edge,
            subject=self.subject,
            sizes=tuple(SteelSize(**size.model_dump()) for size in self.sizes),
            correct_offset=self.correct_offset,
            pen=None if self.pen is None else self.pen.pen(),
        )
