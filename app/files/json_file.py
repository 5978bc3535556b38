"""Reading and writing JSON that is checked against a model, with one clear line when it is not."""

from __future__ import annotations

import codecs
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Literal, TypeVar

import shapely
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from app.files.atomic import read_bytes, write_atomically
from app.files.errors import FileError
from geometry.errors import InputError

MAX_BYTES = 64 * 1024 * 1024  # a billet of 600 vertices is 30 kB
PER_UNIT = {"mm": 1.0, "in": 25.4}

Point = tuple[float, float]
RING_CORNERS = 3
Ring = Annotated[list[Point], Field(min_length=RING_CORNERS)]
Units = Literal["mm", "in"]
M = TypeVar("M", bound=BaseModel)


class FileModel(BaseModel):
    """A checked file: no numbers as text, no NaN; keys that we do not know are passed over."""

    model_config = ConfigDict(strict=True, extra="ignore", allow_inf_nan=False)


def schema_up_to(newest: int) -> AfterValidator:
    """Return the check of a file's schema number: from 1 to the newest that is known."""

    def check(schema: int) -> int:
        if schema < 1:
            raise ValueError(f"there is no schema {schema}; the first is 1")
        if schema > newest:
            raise ValueError(f"schema {schema} needs a newer version of the program")
        return schema

    return AfterValidator(check)


def other_kind(what: str) -> AfterValidator:
    """Return the check of a key that only files of another kind have: they are refused."""

    def check(_value: object) -> None:
        raise ValueError(f"the file is {what}")

    return AfterValidator(check)


def open_ring(ring: shapely.LinearRing) -> list[Point]:
    """Return a ring's points as files have them, the first not repeated at the end."""
    return [(x, y) for x, y in shapely.get_coordinates(ring)[:-1].tolist()]


def read_model(path: Path, model: type[M], what: str) -> M:
    """Return a JSON file as a checked model.

    Parameters
    ----------
    path : Path
        The file.
    model : type
        The model that it has to follow.
    what : str
        What the file is, for the message: ``a billet``.

    Raises
    ------
    FileError
        If it cannot be read, is no JSON, or does not follow the model; one line.
    """
    return parse_model(read_bytes(path, limit_bytes=MAX_BYTES), model, what, str(path))


def parse_model(data: bytes, model: type[M], what: str, where: str) -> M:
    """Return JSON bytes as a checked model; raises as `read_model`."""
    try:
        return model.model_validate_json(data.removeprefix(codecs.BOM_UTF8))
    except ValidationError as error:
        raise FileError(
            f"it is not {what}: {_first_problem(error)}.",
            where=where,
            remedy="Check that it is the right file, or mend that place of it.",
        ) from error


@contextmanager
def blamed_on(where: str) -> Iterator[None]:
    """Turn what is wrong with the content (InputError) into what is wrong with the file."""
    try:
        yield
    except InputError as error:
        raise FileError(error.message, where=where, remedy=error.remedy) from error


def write_model(path: Path, model: BaseModel) -> None:
    """Write a model as JSON, atomically; FileError when the folder cannot be written."""
    write_atomically(path, model_bytes(model))


def model_bytes(model: BaseModel) -> bytes:
    """Return a model as JSON text, one stable layout."""
    return (
        json.dumps(model.model_dump(mode="json", by_alias=True), allow_nan=False, indent=1) + "\n"
    ).encode()


def _first_problem(error: ValidationError) -> str:
    problem = error.errors()[0]
    place = ".".join(str(part) for part in problem["loc"])
    if problem["type"] == "too_short" and problem["ctx"]["min_length"] == RING_CORNERS:
        few = problem["ctx"]
        return (
            f"{_ring_name(problem['loc'])} has {few['actual_length']} corners, "
            f"and needs {few['min_length']} at least"
        )
    message = problem["msg"][0].lower() + problem["msg"][1:]
    message = message.replace(" after validation", "").removeprefix("value error, ")
    return f"“{place}”: {message}" if place else message


def _ring_name(place: tuple[int | str, ...]) -> str:
    """Return what a maker calls a ring: ``flaw 1`` for the first of the flaws."""
    name, *rest = (str(part) for part in place)
    if not rest or not rest[-1].isdigit():
        return f"the {name}"
    return f"{name.removesuffix('s')} {int(rest[-1]) + 1}"
