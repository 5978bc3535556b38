"""A job draws the outline that it was saved with, whatever becomes of the program's families."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
import shapely

from app.document.families import chosen_family, newer, pinned, unpinned
from app.document.flow import outline_of
from app.document.job import Job, OutlineChoice, sorted_values
from app.files.errors import FileError
from app.files.job_file import job_bytes, job_from_bytes
from app.files.layout_file import read_layout, write_layout
from geometry.billet import Billet
from geometry.clearance import Clearance
from geometry.family import Family, built_in_families, family_named
from geometry.placement import Placement
from geometry.pose import Pose
from tests.app.later_program import blade_of, install_later

DROP = "full_tang_drop_point"
TOLD = OutlineChoice(family=DROP, values=(("blade_length", 140.0), ("blade_width", 30.0)))
NARROWER = blade_of(usual=80, low=60, high=135)  # 140 mm is out of it


@pytest.fixture(autouse=True)
def as_it_was() -> Iterator[None]:
    yield
    built_in_families.cache_clear()


def ring(job: Job) -> np.ndarray:
    return shapely.get_coordinates(outline_of(job).polygon())


@pytest.mark.parametrize("choice", [TOLD, OutlineChoice(family=DROP)])
@pytest.mark.parametrize("change", [NARROWER, lambda _text: ""])
def test_a_job_draws_the_same_outline_after_its_family_changed(
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    choice: OutlineChoice,
    change: Callable[[str], str],
) -> None:
    job = Job(outline=choice)
    saved, before = job_bytes(job), ring(job)
    install_later(monkeypatch, tmp_path, DROP, change)
    again = job_from_bytes(saved, "job")
    assert ring(again).shape == before.shape
    assert np.abs(ring(again) - before).max() <= 1e-9
    assert outline_of(again).holes == outline_of(job_from_bytes(job_bytes(again), "job")).holes
    assert chosen_family(again.outline).defaults["blade_length"] == 95.0


@pytest.mark.parametrize("key", [family.key for family in built_in_families()])
def test_no_family_of_the_programs_is_needed_to_draw_a_job_of_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, key: str
) -> None:
    family = family_named(key)
    jobs = [
        Job(outline=OutlineChoice(family=key, values=sorted_values(dict(size.values))))
        for size in family.sizes
    ]
    saved = [(job_bytes(job), outline_of(job)) for job in jobs]
    assert saved
    install_later(monkeypatch, tmp_path, key, lambda _text: "")
    for data, before in saved:
        after = outline_of(job_from_bytes(data, "job"))
        assert after == before  # chain, holes, marks, stations: each number
    assert key not in [each.key for each in built_in_families()]


def test_a_layout_keeps_its_measures_after_its_family_changed(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    pose = Pose(x_mm=150.0, y_mm=20.0, theta_rad=0.0)
    job = Job(outline=TOLD, pose=pose, billet=Billet(shape=shapely.box(0, 0, 400, 90)))
    room = Clearance(value_mm=2.5, blank_point_mm=(1.0, 2.0), edge_point_mm=(1.0, 4.5))
    found = Placement(pose=pose, clearance=room, upper_bound_mm=3.0, proven=False)
    write_layout(tmp_path / "l.json", job, found)
    before = ring(job)
    install_later(monkeypatch, tmp_path, DROP, NARROWER)
    again = read_layout(tmp_path / "l.json")
    assert again.outline.drawing is None
    assert again.outline.values == TOLD.values
    assert np.abs(ring(again) - before).max() <= 1e-9


@pytest.mark.parametrize("family", built_in_families(), ids=lambda family: family.key)
def test_the_text_of_each_of_the_programs_families_is_that_family(family: Family) -> None:
    choice = OutlineChoice(family=family.key)
    assert chosen_family(pinned(choice)) == family
    assert unpinned(pinned(choice)) == choice  # as long as the program has it just so


def test_a_drawing_and_an_unknown_family_are_kept_as_they_are() -> None:
    drawn = OutlineChoice(drawing=family_named("neck_knife").outline())
    for choice in (drawn, OutlineChoice(family="of_no_program"), OutlineChoice()):
        assert pinned(choice) == choice == unpinned(choice)


@pytest.mark.parametrize("schema", [1, 2, 3])
def test_a_job_of_an_older_schema_takes_the_programs_family(schema: int) -> None:
    with zipfile.ZipFile(io.BytesIO(job_bytes(Job(outline=TOLD)))) as container:
        facts = json.loads(container.read("job.json"))
    facts["schema"] = schema
    facts["outline"].pop("family_text")
    older = io.BytesIO()
    with zipfile.ZipFile(older, "w") as container:
        container.writestr("job.json", json.dumps(facts))
    job = job_from_bytes(older.getvalue(), "job")
    assert job.outline == TOLD
    assert b"[[node]]" in zipped(job)  # saved again it keeps it


def zipped(job: Job) -> bytes:
    with zipfile.ZipFile(io.BytesIO(job_bytes(job))) as container:
        text = json.loads(container.read("job.json"))["outline"]["family_text"]
    return str(text).encode()


def test_a_newer_job_is_refused() -> None:
    facts = {"format": "blankwright job", "schema": 5}
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as container:
        container.writestr("job.json", json.dumps(facts))
    with pytest.raises(FileError, match="newer Blankwright"):
        job_from_bytes(data.getvalue(), "job")


def test_a_family_that_is_only_told_otherwise_is_no_earlier_one(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    saved, before = job_bytes(Job(outline=TOLD)), outline_of(Job(outline=TOLD))
    words = "From the front of the handle to the tip."
    install_later(monkeypatch, tmp_path, DROP, lambda text: text.replace(words, "Tip to handle."))
    again = job_from_bytes(saved, "job")
    assert again.outline == TOLD
    assert outline_of(again) == before
    assert chosen_family(again.outline).parameters[0].help == "Tip to handle."


def test_the_newer_family_takes_the_measures_that_it_can(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    saved = job_bytes(Job(outline=TOLD))
    install_later(monkeypatch, tmp_path, DROP, NARROWER)
    earlier = job_from_bytes(saved, "job").outline
    taken, left = newer(earlier, family_named(DROP))
    assert taken == OutlineChoice(family=DROP, values=(("blade_width", 30.0),))
    assert left == ("Blade length",)
    assert chosen_family(taken).defaults["blade_length"] == 80.0
