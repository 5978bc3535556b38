"""Changes of a billet by hand as they stand in a job's file."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Literal

from pydantic import Field

from app.files.json_file import FileModel, Point
from geometry.editing import AddFlaw, Cut, Edit, Redraw, RemoveFlaw
from geometry.editing.redraw import Deed


class RedrawModel(FileModel):
    """A stretch of edge drawn anew."""

    kind: Literal["redraw"] = "redraw"
    deed: Deed
    start_mm: Point
    end_mm: Point
    length_mm: float
    through_mm: tuple[Point, ...]
    sigma_mm: float


class CutModel(FileModel):
    """A cut, and what is kept."""

    kind: Literal["cut"] = "cut"
    start_mm: Point
    end_mm: Point
    keep_mm: Point | None
    kerf_mm: float
    sigma_mm: float


class AddFlawModel(FileModel):
    """A flaw marked."""

    kind: Literal["add flaw"] = "add flaw"
    points_mm: tuple[Point, ...]
    reach_mm: float


class RemoveFlawModel(FileModel):
    """A flaw taken away."""

    kind: Literal["remove flaw"] = "remove flaw"
    at_mm: Point


EditModel = Annotated[
    RedrawModel | CutModel | AddFlawModel | RemoveFlawModel, Field(discriminator="kind")
]


def edit_model(edit: Edit) -> EditModel:
    """Return the model of a change."""
    match edit:
        case Redraw():
            return RedrawModel(**asdict(edit))
        case Cut():
            return CutModel(**asdict(edit))
        case AddFlaw():
            return AddFlawModel(**asdict(edit))
        case RemoveFlaw():
            return RemoveFlawModel(**asdict(edit))


def edit_of(model: EditModel) -> Edit:
    """Return the change of a model; InputError when its numbers cannot be used."""
    facts = model.model_dump(exclude={"kind"})
    match model:
        case RedrawModel():
            return Redraw(**facts)
        case CutModel():
            return Cut(**facts)
        case AddFlawModel():
            return AddFlaw(**facts)
        case RemoveFlawModel():
            return RemoveFlaw(**facts)
