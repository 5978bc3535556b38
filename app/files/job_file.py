"""The job on disk: one zip that holds ``job.json`` and the photo as the camera wrote it."""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Literal, TypeVar

from pydantic import Field

from app.document.families import pinned, unpinned
from app.document.job import (
    Job,
    OutlineChoice,
    PatternFacts,
    sorted_values,
)
from app.document.lengths import Unit
from app.document.thickness import with_thickness
from app.files.atomic import LARGEST_BYTES, read_bytes, write_atomically
from app.files.billet_file import BilletModel
from app.files.edit_model import EditModel, edit_model, edit_of
from app.files.errors import FileError
from app.files.json_file import FileModel, blamed_on, model_bytes, parse_model
from app.files.outline_file import OutlineModel
from app.files.photo_model import PhotoModel
from geometry.family.reading import MAX_LETTERS
from geometry.pose import Pose

A = TypeVar("A")
B = TypeVar("B")

SUFFIX = ".blankwright"
#: 1: the first.  2: sizes of the steel, the pen, crossing lines, the mat, and changes by hand; a
#: file of schema 1 has none of them, and what is left out means just that.  3: the text of a family
#: of the maker's own, without which an older program could not draw it.  4: the text of every
#: family; in a file without it, a family of the program's is the one that this version has.
SCHEMA = 4
MOST_KEY = 255  # letters of a family's key: a file's name holds no more
FACTS, PHOTO = "job.json", "photo"
DAMAGE = (  # all that reading a damaged or foreign zip was seen to raise
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    NotImplementedError,
    RuntimeError,
    OSError,
    ValueError,
)
EPOCH = (1980, 1, 1, 0, 0, 0)  # a zip's earliest date: the same job gives the same bytes


class PoseModel(FileModel):
    """A pose; the angle stays in radians, so that it survives to the last bit."""

    x_mm: float
    y_mm: float
    theta_rad: float
    mirrored: bool
    scale: float = Field(gt=0)


class ChoiceModel(FileModel):
    """A family with its values, or a drawing that was read in."""

    family: str = Field(default="", max_length=MOST_KEY)
    values: dict[str, float] = Field(default_factory=dict)
    drawing: OutlineModel | None = None
    family_text: str = Field(default="", max_length=MAX_LETTERS)


class PatternModel(FileModel):
    """How the pattern is printed."""

    paper: str = "letter"
    show_margin: bool = False
    correct_x: float = Field(default=1.0, gt=0)
    correct_y: float = Field(default=1.0, gt=0)


class JobModel(FileModel):
    """The whole of ``job.json``."""

    format: Literal["blankwright job"]
    schema_version: int = Field(alias="schema", ge=1)
    name: str
    unit: Unit
    photo: PhotoModel | None
    billet: BilletModel | None
    edits: list[EditModel] = Field(default_factory=list)
    measured_from: str
    thickness_mm: float | None = Field(gt=0)
    outline: ChoiceModel
    pose: PoseModel | None
    margin_mm: float
    mirror_allowed: bool
    size_locked: bool
    locked: list[str] = Field(default_factory=list)
    pattern: PatternModel


def read_job(path: Path) -> Job:
    """Return the job in a file.

    Raises
    ------
    FileError
        If it is missing, damaged, newer than this program, or no job.
    """
    return job_from_bytes(read_bytes(path), str(path))


def write_job(path: Path, job: Job) -> None:
    """Write a job atomically; FileError when the folder cannot be written."""
    write_atomically(path, job_bytes(job))


def job_bytes(job: Job) -> bytes:
    """Return the job as the bytes of its file; the same job gives the same bytes."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as container:
        facts = zipfile.ZipInfo(FACTS, EPOCH)
        container.writestr(facts, model_bytes(_model_of(job)), zipfile.ZIP_DEFLATED)
        if job.photo is not None:
            container.writestr(zipfile.ZipInfo(PHOTO, EPOCH), job.photo.data, zipfile.ZIP_STORED)
    return buffer.getvalue()


def job_from_bytes(data: bytes, where: str) -> Job:
    """Return the job in a file's bytes; raises as `read_job`."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as container:
            facts = _member(container, FACTS, where)
            names = container.namelist()
            photo = _member(container, PHOTO, where) if PHOTO in names else None
    except DAMAGE as error:
        raise FileError(
            "it is not a Blankwright job, or it is damaged.",
            where=where,
            remedy="Open an earlier copy.",
        ) from error
    version = parse_model(facts, SchemaModel, "a Blankwright job", where)
    if version.schema_version > SCHEMA:
        raise FileError(
            "it was saved by a newer Blankwright.", where=where, remedy="Update the program."
        )
    return _job_of(parse_model(facts, JobModel, "a Blankwright job", where), photo, where)


class SchemaModel(FileModel):
    """The part of the file that says how to read the rest."""

    format: Literal["blankwright job"]
    schema_version: int = Field(alias="schema")


def _member(container: zipfile.ZipFile, name: str, where: str) -> bytes:
    try:
        if container.getinfo(name).file_size > LARGEST_BYTES:
            raise FileError(
                "a part of the file is too large.", where=where, remedy="Open an earlier copy."
            )
        return container.read(name)
    except KeyError as error:
        raise FileError(
            "it is not a Blankwright job.", where=where, remedy="Choose a file that it saved."
        ) from error


def _model_of(job: Job) -> JobModel:
    choice = pinned(job.outline)
    return JobModel(
        format="blankwright job",
        schema=SCHEMA,
        name=job.name,
        unit=job.unit,
        photo=_if_there(job.photo, PhotoModel.of),
        billet=_if_there(job.billet, BilletModel.of),
        edits=[edit_model(edit) for edit in job.edits],
        measured_from=job.measured_from,
        thickness_mm=job.thickness_mm,
        outline=ChoiceModel(
            family=choice.family,
            family_text=choice.family_text,
            values=dict(choice.values),
            drawing=_if_there(choice.drawing, OutlineModel.of),
        ),
        pose=_if_there(job.pose, lambda pose: PoseModel(**asdict(pose))),
        margin_mm=job.margin_mm,
        mirror_allowed=job.mirror_allowed,
        size_locked=job.size_locked,
        locked=list(job.locked),
        pattern=PatternModel(**asdict(job.pattern)),
    )


def _job_of(model: JobModel, photo: bytes | None, where: str) -> Job:
    if (model.photo is None) != (photo is None):
        raise FileError("the photo in it is missing.", where=where, remedy="Open an earlier copy.")
    with blamed_on(where):
        job = Job(
            name=model.name,
            unit=model.unit,
            photo=_if_there(model.photo, lambda told: told.facts(photo or b"")),
            billet=_if_there(model.billet, BilletModel.billet),
            edits=tuple(edit_of(edit) for edit in model.edits),
            measured_from=model.measured_from,
            thickness_mm=model.thickness_mm,
            outline=_choice_of(model.outline),
            pose=_if_there(model.pose, lambda pose: Pose(**pose.model_dump())),
            margin_mm=model.margin_mm,
            mirror_allowed=model.mirror_allowed,
            size_locked=model.size_locked,
            locked=tuple(sorted(set(model.locked))),
            pattern=PatternFacts(**model.pattern.model_dump()),
        )
        # Older files say nothing of what an unmeasured pen stands off.
        return with_thickness(job, job.thickness_mm)


def _choice_of(model: ChoiceModel) -> OutlineChoice:
    """Return the outline's choice; a text that is no family is told now.

    One that cannot be drawn opens, and is told by the outline step: another can be chosen there.
    """
    return unpinned(
        OutlineChoice(
            family=model.family,
            family_text=model.family_text,
            values=sorted_values(model.values),
            drawing=_if_there(model.drawing, OutlineModel.outline_value),
        )
    )


def _if_there(value: A | None, convert: Callable[[A], B]) -> B | None:
    return None if value is None else convert(value)
