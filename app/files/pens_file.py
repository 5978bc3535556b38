"""The pens that were measured, by name: a small file in the person's data folder."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from pydantic import Field

from app.files.data_folder import data_folder, made_data_folder
from app.files.json_file import FileModel, blamed_on, read_model, schema_up_to, write_model
from app.files.photo_model import PenModel
from calibration.pens import Pen
from geometry.errors import InputError

SCHEMA = 1
FILE = "pens.json"
LONGEST_NAME = 40


class PensModel(FileModel):
    """The file's keys."""

    pens_schema: Annotated[int, schema_up_to(SCHEMA)] = SCHEMA
    pens: list[PenModel] = Field(default_factory=list)


def pens_path() -> Path:
    """Return where the pens are kept."""
    return data_folder() / FILE


def kept_pens() -> tuple[Pen, ...]:
    """Return the pens that were measured, by name; none where none was.

    Raises
    ------
    FileError
        If the file is damaged.
    """
    path = pens_path()
    if not path.exists():
        return ()
    model = read_model(path, PensModel, "a list of pens")
    with blamed_on(str(path)):
        pens = [each.pen() for each in model.pens]
    return tuple(sorted(pens, key=lambda pen: pen.name))


def pen_named(name: str) -> Pen:
    """Return a pen by its name; InputError if there is none, FileError as `kept_pens`."""
    pens = kept_pens()
    for pen in pens:
        if pen.name == name.strip():
            return pen
    known = ", ".join(pen.name for pen in pens)
    raise InputError(
        f"no pen “{name}” was measured.",
        where="Pen",
        remedy=f"Use one of {known}, or measure it: blankwright pen measure."
        if known
        else "Measure it once: blankwright pen measure.",
    )


def keep_pen(pen: Pen) -> bool:
    """Keep a pen; return whether an older measure of it was replaced.

    Raises
    ------
    InputError
        If its name cannot be used.
    FileError
        If the file is damaged, or cannot be written.
    """
    if pen.name != checked_name(pen.name):
        raise ValueError("a pen is kept under a checked name")
    kept = kept_pens()
    others = [each for each in kept if each.name != pen.name]
    _write([*others, pen])
    return len(others) < len(kept)


def forget_pen(name: str) -> None:
    """Forget a pen; raises as `pen_named`."""
    gone = pen_named(name)
    _write([pen for pen in kept_pens() if pen.name != gone.name])


def checked_name(name: str) -> str:
    """Return a pen's name, tidied; InputError if it cannot be used."""
    tidy = " ".join(name.split())
    if not tidy or len(tidy) > LONGEST_NAME or not tidy.isprintable():
        raise InputError(
            "this is no name for a pen.",
            where="Pen",
            remedy=f"Give it one of 1 to {LONGEST_NAME} letters, like “blue biro”.",
        )
    return tidy


def _write(pens: list[Pen]) -> None:
    made_data_folder()
    ordered = sorted(pens, key=lambda pen: pen.name)
    write_model(pens_path(), PensModel(pens=[PenModel.of(pen) for pen in ordered]))
