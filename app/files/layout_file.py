"""LAYOUT.json: a billet, an outline, and where it was placed, in one file."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Annotated, Literal

import shapely
from pydantic import Field

from app.document.advice_for import JobAdvice, given_way
from app.document.families import pinned, unpinned
from app.document.flow import FIT_CHORD_MM, billet_of, chosen_outline, outline_of
from app.document.job import Job, OutlineChoice, sorted_values
from app.document.lengths import Unit
from app.files.billet_file import BilletModel
from app.files.json_file import FileModel, blamed_on, read_model, schema_up_to, write_model
from app.files.outline_file import OutlineModel
from geometry.advice import Advice
from geometry.billet import Billet
from geometry.clearance import UsableRegion
from geometry.errors import InputError
from geometry.outline import Outline
from geometry.placement import Placement
from geometry.pose import Pose

SCHEMA = 1
SAME_MM = 0.05  # a family that draws the file's outline this closely is the one that was placed


class PlacementModel(FileModel):
    """Where the blank lies, and what was found about it.

    Clearance and bound are to the billet's edge as it stands in the file.  Where its budget says
    that it is likely measured too large, by ``taken_off_mm``, so much of both is no steel.
    """

    x: float
    y: float
    theta_deg: float
    mirrored: bool = False
    scale: float = Field(default=1.0, gt=0)
    clearance_mm: float
    taken_off_mm: float = Field(default=0.0, ge=0)
    upper_bound_mm: float | None = None
    upper_bound_scale: float | None = None
    proven: bool = False

    def pose(self) -> Pose:
        """Return the pose."""
        return Pose(
            x_mm=self.x,
            y_mm=self.y,
            theta_rad=math.radians(self.theta_deg),
            mirrored=self.mirrored,
            scale=self.scale,
        )


class WayModel(FileModel):
    """A change that makes the outline fit: its values, and where it lies then.

    ``change`` is the share of their ranges that the measures change by; ``next_values`` are a step
    nearer to what they are, and ``next_answer`` whether it fits there.  A drawing has no values:
    the scale of its placement is what changes.
    """

    values: dict[str, float] = Field(default_factory=dict)
    change: float | None = None
    placement: PlacementModel
    next_values: dict[str, float] = Field(default_factory=dict)
    next_answer: str = ""


class PieceModel(FileModel):
    """A piece that holds the outline as it is: more steel all round, or a bar, its sides in mm."""

    grow_mm: float
    bar_mm: tuple[float, float]


class LayoutModel(FileModel):
    """The whole file; ``billet``, ``outline`` and ``placement`` are enough."""

    layout_schema: Annotated[int, schema_up_to(SCHEMA)] = SCHEMA
    units: Literal["mm"] = "mm"
    name: str = "Layout"
    unit: Unit = "mm"
    margin_mm: float = 1.0
    family: str = ""
    family_text: str = ""
    values: dict[str, float] = Field(default_factory=dict)
    billet: BilletModel
    outline: OutlineModel
    placement: PlacementModel
    advice: list[WayModel] | None = None
    advice_complete: bool | None = None
    piece_needed: PieceModel | None = None
    format: Literal["blankwright layout"] = "blankwright layout"


def write_layout(
    path: Path, job: Job, placement: Placement, advice: JobAdvice | None = None
) -> None:
    """Write a job's layout with what was found; FileError when it cannot be written."""
    billet, outline = billet_of(job), outline_of(job)
    choice = pinned(job.outline)
    of_family = advice.of_family if advice is not None else None
    write_model(
        path,
        LayoutModel(
            layout_schema=SCHEMA,
            name=job.name,
            unit=job.unit,
            margin_mm=job.margin_mm,
            family=choice.family,
            family_text=choice.family_text,
            values=dict(choice.values),
            billet=BilletModel.of(billet),
            outline=OutlineModel.of(outline),
            placement=_placement_model(billet, outline, placement),
            advice=None if advice is None else _way_models(job, advice),
            advice_complete=None if of_family is None else of_family.complete,
            piece_needed=_piece_model(of_family),
        ),
    )


def _placement_model(billet: Billet, outline: Outline, placement: Placement) -> PlacementModel:
    pose = placement.pose
    clearance_mm, bound_mm = placement.clearance.value_mm, placement.upper_bound_mm
    if billet.too_large_mm:
        blank = pose.shape(outline.polygon(FIT_CHORD_MM))
        clearance_mm = UsableRegion(billet.sound()).clearance(blank).value_mm
        bound_mm += billet.too_large_mm
    return PlacementModel(
        x=pose.x_mm,
        y=pose.y_mm,
        theta_deg=math.degrees(math.remainder(pose.theta_rad, math.tau)),
        mirrored=pose.mirrored,
        scale=pose.scale,
        clearance_mm=clearance_mm,
        taken_off_mm=billet.too_large_mm,
        upper_bound_mm=bound_mm if math.isfinite(bound_mm) else None,
        upper_bound_scale=placement.upper_bound_scale,
        proven=placement.proven,
    )


def _way_models(job: Job, advice: JobAdvice) -> list[WayModel]:
    billet = billet_of(job)
    if advice.of_size is not None:
        return [WayModel(placement=_placement_model(billet, outline_of(job), advice.of_size))]
    models = []
    for way in advice.of_family.ways if advice.of_family is not None else ():
        found = Placement(
            pose=way.pose, clearance=way.clearance, upper_bound_mm=math.inf, proven=False
        )
        outline = outline_of(given_way(job, way))
        models.append(
            WayModel(
                values=dict(way.values),
                change=way.share,
                placement=_placement_model(billet, outline, found),
                next_values=dict(way.beside),
                next_answer=way.beside_answer,
            )
        )
    return models


def _piece_model(advice: Advice | None) -> PieceModel | None:
    if advice is None or advice.piece is None:
        return None
    return PieceModel(grow_mm=advice.piece.grow_mm, bar_mm=advice.piece.bar_mm)


def read_layout(path: Path) -> Job:
    """Return the job that a layout holds.

    Raises
    ------
    FileError
        If the file cannot be read or holds no usable layout.
    """
    model = read_model(path, LayoutModel, "a layout")
    with blamed_on(str(path)):
        billet = model.billet.billet()
        outline = model.outline.outline_value()
    return Job(
        name=model.name,
        unit=model.unit,
        billet=billet,
        thickness_mm=billet.thickness_mm,
        outline=_choice(model, outline),
        pose=model.placement.pose(),
        margin_mm=model.margin_mm,
        size_locked=model.placement.scale == 1.0,
    )


def _choice(model: LayoutModel, outline: Outline) -> OutlineChoice:
    """Return the family that was placed, or the file's own outline where no family draws it.

    What was placed is what is cut: a family may be changed, or its values edited in the file.
    """
    told = OutlineChoice(
        family=model.family,
        family_text=model.family_text,
        values=sorted_values(model.values),
    )
    try:
        choice = unpinned(told)
        drawn = chosen_outline(choice).polygon()
    except InputError:
        return OutlineChoice(drawing=outline)
    apart_mm = shapely.hausdorff_distance(drawn.boundary, outline.polygon().boundary)
    return choice if apart_mm <= SAME_MM else OutlineChoice(drawing=outline)
