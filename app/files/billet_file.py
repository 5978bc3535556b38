"""BILLET.json: the piece of steel as a polygon, with its uncertainty and thickness."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Self

import shapely
from pydantic import Field
from shapely import Polygon
from shapely.geometry.polygon import orient

from app.files.json_file import (
    PER_UNIT,
    FileModel,
    Ring,
    Units,
    blamed_on,
    open_ring,
    other_kind,
    read_model,
    schema_up_to,
    write_model,
)
from geometry.allowance import Allowance
from geometry.billet import Billet
from geometry.error_budget import Budget, Part

if TYPE_CHECKING:  # heavy
    from calibration.capture import Capture

#: 1: the first. 2: flaws, and a measure that is known to be too large, which an older program
#: would pass over. 3: allowances. A file without any of them still says 1.
SCHEMA = 3
Doubt = Annotated[float, Field(ge=0)]
Place = Annotated[list[float], Field(min_length=2, max_length=2)]


class PartModel(FileModel):
    """A line of the error budget."""

    name: str
    bias_mm: float
    sigma_mm: Doubt


class CheckModel(FileModel):
    """A size of the steel beside the same size of the billet."""

    size: str
    steel_mm: float
    billet_mm: float
    sigma_mm: Doubt


class MeasuredModel(FileModel):
    """How a billet was measured: what was taken off its trace, and what is left in doubt."""

    offset_taken_off_mm: float = 0.0
    offset_sigma_mm: Doubt = 0.0
    sizes: list[CheckModel] = Field(default_factory=list)
    budget: list[PartModel] = Field(default_factory=list)

    @classmethod
    def of(cls, found: Capture) -> Self:
        """Return the model of a capture."""
        return cls(
            offset_taken_off_mm=found.offset.value_mm,
            offset_sigma_mm=found.offset.sigma_mm,
            sizes=[
                CheckModel(
                    size=check.size.name,
                    steel_mm=check.size.true_mm,
                    billet_mm=check.photo_mm,
                    sigma_mm=check.sigma_mm,
                )
                for check in found.checks
            ],
            budget=[PartModel(**asdict(part)) for part in found.budget.parts],
        )

    @classmethod
    def left_in(cls, billet: Billet) -> Self | None:
        """Return the model of what a billet itself tells of its measure; None if nothing."""
        parts = [PartModel(**asdict(part)) for part in billet.budget.parts]
        return cls(budget=parts) if parts else None

    def budget_value(self) -> Budget:
        """Return the error budget."""
        return Budget(parts=tuple(Part(**part.model_dump()) for part in self.budget))


class AllowanceModel(FileModel):
    """Steel to leave along the edge from one place to another, with the steel to the left."""

    start: Place
    end: Place
    depth: float = Field(gt=0)

    def allowance(self, factor: float) -> Allowance:
        """Return the allowance, mm."""
        (x1, y1), (x2, y2) = self.start, self.end
        return Allowance(
            start_mm=(x1 * factor, y1 * factor),
            end_mm=(x2 * factor, y2 * factor),
            depth_mm=self.depth * factor,
        )


def _least_schema(billet: Billet) -> int:
    if billet.allowances:
        return SCHEMA
    return 2 if billet.flaws or billet.too_large_mm else 1


class BilletModel(FileModel):
    """The file's keys: ``units``, ``outline``, ``holes`` are enough; rings are not closed."""

    billet_schema: Annotated[int, schema_up_to(SCHEMA)] = SCHEMA
    outline_schema: Annotated[object, other_kind("a knife's outline")] = Field(
        default=None, exclude=True
    )
    units: Units
    outline: Ring
    holes: list[Ring] = Field(default_factory=list)
    vertex_sigma_mm: list[Doubt] = Field(default_factory=list)
    thickness_mm: float | None = Field(default=None, gt=0)
    flaws: list[Ring] = Field(default_factory=list)
    allowances: list[AllowanceModel] = Field(default_factory=list)
    notes: list[str] = Field(default_factory=list)
    measured: MeasuredModel | None = None

    @classmethod
    def of(
        cls, billet: Billet, notes: tuple[str, ...] = (), measured: MeasuredModel | None = None
    ) -> Self:
        """Return the model of a billet."""
        return cls(
            billet_schema=_least_schema(billet),
            units="mm",
            outline=open_ring(billet.shape.exterior),
            holes=[open_ring(ring) for ring in billet.shape.interiors],
            vertex_sigma_mm=list(billet.vertex_sigma_mm),
            thickness_mm=billet.thickness_mm,
            flaws=[open_ring(flaw.exterior) for flaw in billet.flaws],
            allowances=[
                AllowanceModel(
                    start=list(each.start_mm), end=list(each.end_mm), depth=each.depth_mm
                )
                for each in billet.allowances
            ],
            notes=list(notes),
            measured=measured or MeasuredModel.left_in(billet),
        )

    def billet(self) -> Billet:
        """Return the billet.

        Raises
        ------
        InputError
            If the edge crosses itself or the holes are not inside.
        """
        factor = PER_UNIT[self.units]
        shape, *flaws = (
            shapely.transform(polygon, lambda points: points * factor)
            for polygon in (Polygon(self.outline, self.holes), *map(Polygon, self.flaws))
        )
        sigmas = self.vertex_sigma_mm
        vertices = len(shapely.get_coordinates(shape)) - 1 - len(shape.interiors)
        if len(sigmas) != vertices or orient(shape) != shape:
            sigmas = [max(sigmas)] * vertices if sigmas else []  # the worst, when not told apart
            shape = orient(shape)
        return Billet(
            shape=shape,
            vertex_sigma_mm=tuple(sigmas),
            thickness_mm=self.thickness_mm,
            flaws=tuple(flaws),
            allowances=tuple(each.allowance(factor) for each in self.allowances),
            budget=Budget() if self.measured is None else self.measured.budget_value(),
        )


def read_billet(path: Path) -> Billet:
    """Return the billet in a file.

    Raises
    ------
    FileError
        If the file cannot be read or holds no usable billet.
    """
    model = read_model(path, BilletModel, "a billet")
    with blamed_on(str(path)):
        return model.billet()


def write_billet(
    path: Path,
    billet: Billet,
    notes: tuple[str, ...] = (),
    *,
    measured: MeasuredModel | None = None,
) -> None:
    """Write a billet; FileError when the folder cannot be written."""
    write_model(path, BilletModel.of(billet, notes, measured))
