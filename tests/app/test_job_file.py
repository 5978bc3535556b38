"""The job on disk: everything comes back, and nothing damaged is taken for a job."""

import io
import json
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from app.document.job import Job, OutlineChoice, PatternFacts, PhotoFacts
from app.files.errors import FileError
from app.files.job_file import job_bytes, job_from_bytes, read_job, write_job
from calibration.pens import Pen
from calibration.references import (
    CrossReference,
    LineReference,
    MatReference,
    RectangleReference,
    SheetReference,
)
from calibration.sizes import SteelSize
from geometry.billet import Billet
from geometry.editing import AddFlaw, Cut, Redraw, RemoveFlaw
from geometry.outline import outline_from_rings
from geometry.pose import Pose

FULL = Job(
    name="Ünicode & quotes “”",
    unit="in",
    photo=PhotoFacts(
        name="sheet.jpg",
        data=bytes(range(256)) * 3,
        references=(
            LineReference(length_mm=152.4, ends_px=((1.5, 2.25), (300.125, 4.0))),
            SheetReference(width_mm=215.9, height_mm=279.4),
            RectangleReference(
                width_mm=250.0, height_mm=100.0, corners_px=((0, 0), (9, 0), (9, 9), (0, 9))
            ),
            CrossReference(
                first_mm=100.0, second_mm=50.0, ends_px=((0, 0), (9, 0), (0, 0), (0, 4))
            ),
            MatReference(paper="a4", printed_x=0.996),
        ),
        inside_px=(12.5, 13.0),
        edge="middle",
        subject="steel",
        sizes=(
            SteelSize(kind="between", true_mm=38.1, ends_px=((10.5, 3.0), (11.0, 40.25))),
            SteelSize(kind="between", true_mm=25.4, ends_mm=((0.5, 3.0), (1.0, 28.25))),
            SteelSize(kind="length", true_mm=200.0),
        ),
        correct_offset=True,
        pen=Pen(name="biro", offset_mm=0.8, sigma_mm=0.12, thickness_mm=6.35, edge="middle"),
    ),
    billet=Billet(shape=shapely.box(0, 0, 200, 40), vertex_sigma_mm=(0.1,) * 4, thickness_mm=4.0),
    edits=(
        Redraw(
            deed="move a vertex",
            start_mm=(0.0, 40.0),
            end_mm=(200.0, 0.0),
            length_mm=240.0,
            through_mm=((0.1, 1 / 3),),
            sigma_mm=0.15,
        ),
        Cut(start_mm=(150.0, 0.0), end_mm=(150.0, 40.0), keep_mm=(10.0, 10.0), kerf_mm=1.5),
        AddFlaw(points_mm=((50.0, 20.0), (60.0, 21.0)), reach_mm=2.0),
        RemoveFlaw(at_mm=(50.0, 20.0)),
    ),
    thickness_mm=4.0,
    outline=OutlineChoice(family="full_tang_drop_point", values=(("blade_length", 90.125),)),
    pose=Pose(x_mm=1 / 3, y_mm=-2.0, theta_rad=0.7, mirrored=True, scale=1.01),
    margin_mm=1.25,
    mirror_allowed=False,
    size_locked=False,
    locked=("blade_length", "handle_length"),
    pattern=PatternFacts(paper="a4", show_margin=True, correct_x=0.996, correct_y=1.002),
)


def test_every_fact_survives(tmp_path: Path) -> None:
    job = replace(FULL, measured_from=FULL.measure_fingerprint())
    write_job(tmp_path / "a.blankwright", job)
    again = read_job(tmp_path / "a.blankwright")
    assert again == job
    assert again.measure_is_current


def test_an_imported_outline_survives() -> None:
    ring = [(0, 0), (100, 0), (100, 20), (0, 20)]
    hole = [(20, 5), (30, 5), (30, 15), (20, 15)]
    job = Job(outline=OutlineChoice(drawing=outline_from_rings("offcut", ring, [hole])))
    again = job_from_bytes(job_bytes(job), "job")
    assert again.outline.drawing is not None
    assert again.outline.drawing.polygon().equals(job.outline.drawing.polygon())  # type: ignore[union-attr]


def test_the_same_job_gives_the_same_bytes() -> None:
    assert job_bytes(FULL) == job_bytes(FULL)


def test_a_changed_reference_makes_the_measure_stale() -> None:
    job = replace(FULL, measured_from=FULL.measure_fingerprint())
    assert job.photo is not None
    shorter = (LineReference(length_mm=152.0), *job.photo.references[1:])
    assert not replace(job, photo=replace(job.photo, references=shorter)).measure_is_current
    assert not replace(job, thickness_mm=5.0).measure_is_current  # the steel itself: height counts


def test_what_tells_how_much_too_large_the_trace_is_makes_the_measure_stale() -> None:
    photo = FULL.photo
    assert photo is not None
    plain = replace(photo, sizes=(), correct_offset=False, pen=None, subject="trace")
    job = replace(FULL, photo=plain)
    job = replace(job, measured_from=job.measure_fingerprint())
    told = replace(plain, sizes=photo.sizes)
    assert not replace(job, photo=told).measure_is_current  # the verdict needs what they say
    assert replace(job, thickness_mm=9.0).measure_is_current
    assert not replace(job, photo=replace(told, correct_offset=True)).measure_is_current
    with_pen = replace(job, photo=replace(plain, pen=photo.pen))
    with_pen = replace(with_pen, measured_from=with_pen.measure_fingerprint())
    assert not replace(with_pen, thickness_mm=9.0).measure_is_current


def test_a_job_of_the_first_schema_opens_as_it_was_saved() -> None:
    """Written by the first version of the program, before sizes and pens were kept."""
    job = read_job(Path(__file__).parent / "data" / "schema_1.blankwright")
    assert job.photo is not None
    assert job.photo.data == bytes(range(256)) * 3
    assert job.photo.references[0] == LineReference(
        length_mm=152.4, ends_px=((1.5, 2.25), (300.125, 4.0))
    )
    assert job.photo.sizes == ()
    assert not job.photo.correct_offset
    assert job.photo.pen is None
    assert job.measure_is_current
    assert job_from_bytes(job_bytes(job), "job") == job


def rewritten(job: Job, **changes: object) -> bytes:
    with zipfile.ZipFile(io.BytesIO(job_bytes(job))) as old:
        facts = {**json.loads(old.read("job.json")), **changes}
        photo = old.read("photo")
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as new:
        new.writestr("job.json", json.dumps(facts))
        new.writestr("photo", photo)
    return buffer.getvalue()


def test_a_newer_job_is_refused_with_the_reason() -> None:
    with pytest.raises(FileError, match="newer"):
        job_from_bytes(rewritten(FULL, schema=99, billet="other things"), "job")


def test_a_job_of_the_second_schema_has_no_family_of_the_makers_own() -> None:
    outline = {"family": FULL.outline.family, "values": dict(FULL.outline.values), "drawing": None}
    assert job_from_bytes(rewritten(FULL, schema=2, outline=outline), "job") == FULL


def test_a_key_that_is_not_known_is_passed_over() -> None:
    assert job_from_bytes(rewritten(FULL, colour="blue"), "job") == FULL


@pytest.mark.parametrize("kind", ["line", "mat"])
def test_a_reference_without_its_size_is_refused(kind: str) -> None:
    photo = {"name": "sheet.jpg", "references": [{"kind": kind}]}
    with pytest.raises(FileError, match="photo"):
        job_from_bytes(rewritten(FULL, photo=photo), "job")


@pytest.mark.parametrize("change", [{"unit": "parsec"}, {"name": None}, {"thickness_mm": -3}])
def test_a_wrong_fact_is_named(change: dict[str, object]) -> None:
    with pytest.raises(FileError, match=next(iter(change))):
        job_from_bytes(rewritten(FULL, **change), "job")


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        ({"kind": "melt"}, "kind"),
        ({"kind": "remove flaw", "at_mm": [1.0]}, "at_mm"),
        ({"kind": "add flaw", "points_mm": [[1.0, 1.0]], "reach_mm": 0.0}, "takes no room"),
    ],
)
def test_a_change_that_cannot_be_is_named(edit: dict[str, object], words: str) -> None:
    with pytest.raises(FileError, match=words):
        job_from_bytes(rewritten(FULL, edits=[edit]), "job")


@given(st.integers(0, len(job_bytes(FULL)) - 1))
def test_a_cut_file_is_refused(length: int) -> None:
    with pytest.raises(FileError):
        job_from_bytes(job_bytes(FULL)[:length], "job")


@given(st.integers(0, len(job_bytes(FULL)) - 1), st.integers(1, 255))
def test_a_damaged_byte_never_crashes(place: int, change: int) -> None:
    data = bytearray(job_bytes(FULL))
    data[place] ^= change
    try:
        job_from_bytes(bytes(data), "job")
    except FileError as error:
        assert "\n" not in str(error)  # noqa: PT017  (most damage is found, all of it calmly)


def test_a_write_into_a_missing_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileError):
        write_job(tmp_path / "absent" / "a.blankwright", FULL)
