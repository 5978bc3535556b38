"""The wheels of the maker's belt grinder: a small file in the person's data folder."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated

from pydantic import Field

from app.document.lengths import Unit, format_length, parse_positive_mm
from app.files.data_folder import data_folder, made_data_folder
from app.files.json_file import FileModel, read_model, schema_up_to, write_model
from geometry.errors import InputError

SCHEMA = 1
FILE = "wheels.json"
LEAST_MM, MOST_MM = 3.0, 600.0  # a rod under a belt; the largest contact wheels are 14 in
MOST_WHEELS = 20
LENGTH = re.compile(r"\s*[,;\n]\s*")


class WheelsModel(FileModel):
    """The file's keys."""

    wheels_schema: Annotated[int, schema_up_to(SCHEMA)] = SCHEMA
    diameters_mm: list[Annotated[float, Field(ge=LEAST_MM, le=MOST_MM)]] = Field(
        default_factory=list, max_length=MOST_WHEELS
    )


def wheels_path() -> Path:
    """Return where the wheels are kept."""
    return data_folder() / FILE


def kept_wheels_mm() -> tuple[float, ...]:
    """Return the diameters of the maker's wheels, the smallest first; none where none were told.

    Raises
    ------
    FileError
        If the file is damaged.
    """
    path = wheels_path()
    if not path.exists():
        return ()
    return tuple(sorted(set(read_model(path, WheelsModel, "a list of wheels").diameters_mm)))


def keep_wheels(diameters_mm: tuple[float, ...]) -> None:
    """Keep the wheels in place of those there were.

    Raises
    ------
    FileError
        If the file cannot be written.
    """
    made_data_folder()
    write_model(wheels_path(), WheelsModel(diameters_mm=sorted(set(diameters_mm))))


def wheels_told(text: str, unit: Unit = "mm") -> tuple[float, ...]:
    """Return the diameters that a person wrote, the smallest first: ``25, 50, 8in``.

    Raises
    ------
    InputError
        If one is not a length, or not that of a wheel.

    Examples
    --------
    >>> wheels_told("1in; 50, 8 in")
    (25.4, 50.0, 203.2)
    """
    found = []
    for part in LENGTH.split(text.strip()):
        if part:
            found.append(parse_positive_mm(part, unit=unit, where="Wheels"))
    for each in found:
        if not LEAST_MM <= each <= MOST_MM:
            raise InputError(
                f"a wheel of {format_length(each, unit)} is on no belt grinder.",
                where="Wheels",
                remedy=f"Give diameters of {format_length(LEAST_MM, unit)} to "
                f"{format_length(MOST_MM, unit)}, with commas between them.",
            )
    if len(found) > MOST_WHEELS:
        raise InputError(
            f"{len(found)} wheels are more than are kept.",
            where="Wheels",
            remedy=f"Give {MOST_WHEELS} at most.",
        )
    return tuple(sorted(set(found)))


def wheels_words(diameters_mm: tuple[float, ...], unit: Unit) -> str:
    """Return wheels as a person writes them: ``25 mm, 50 mm``."""
    return ", ".join(format_length(each, unit) for each in diameters_mm)
