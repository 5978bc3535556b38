"""LAYOUT.json: what was placed is what is read, whatever becomes of the family."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import shapely

from app.document.flow import layout_of, outline_of
from app.document.job import Job, OutlineChoice
from app.files.errors import FileError
from app.files.layout_file import read_layout, write_layout
from geometry.billet import Billet
from geometry.clearance import Clearance
from geometry.placement import Placement
from geometry.pose import Pose

BAR = Billet(shape=shapely.box(0, 0, 300, 60), thickness_mm=4.0)
POSE = Pose(x_mm=150.0, y_mm=20.0, theta_rad=0.25, mirrored=True, scale=1.25)
JOB = Job(
    name="Creek knife",
    unit="in",
    billet=BAR,
    thickness_mm=4.0,
    outline=OutlineChoice(family="neck_knife"),
    pose=POSE,
    margin_mm=1.5,
    size_locked=False,
)
ROOM = Clearance(value_mm=2.5, blank_point_mm=(1.0, 2.0), edge_point_mm=(1.0, 4.5))


def written(path: Path, job: Job = JOB, **placement: Any) -> Path:
    found = Placement(pose=POSE, clearance=ROOM, upper_bound_mm=3.0, proven=False)
    write_layout(path, job, replace(found, **placement))
    return path


def edited(path: Path, **keys: Any) -> Path:
    data = json.loads(path.read_text(encoding="utf-8"))
    path.write_text(json.dumps({**data, **keys}), encoding="utf-8")
    return path


def test_a_layout_reads_back_as_the_job_that_was_placed(tmp_path: Path) -> None:
    job = read_layout(written(tmp_path / "l.json"))
    assert job.pose is not None
    assert job.pose.theta_rad == pytest.approx(0.25, abs=1e-12)
    assert replace(job, pose=POSE) == JOB


def test_the_placement_has_the_promised_keys(tmp_path: Path) -> None:
    path = written(tmp_path / "l.json", upper_bound_scale=1.5, proven=True)
    placement = json.loads(path.read_text(encoding="utf-8"))["placement"]
    assert placement.pop("theta_deg") == pytest.approx(14.3239448783, abs=1e-9)  # 0.25 x 180 / pi
    assert placement == {
        "x": 150.0,
        "y": 20.0,
        "mirrored": True,
        "scale": 1.25,
        "clearance_mm": 2.5,
        "taken_off_mm": 0.0,
        "upper_bound_mm": 3.0,
        "upper_bound_scale": 1.5,
        "proven": True,
    }


@pytest.mark.parametrize(
    "keys",
    [
        {"family": "of a later version", "family_text": ""},
        {"values": {"blade_length": 1e9}},
        {"family": "", "family_text": ""},
        {"family_text": "format = 2\nname = 3"},
    ],
)
def test_what_was_placed_is_kept_where_its_family_is_lost(
    tmp_path: Path, keys: dict[str, Any]
) -> None:
    job = read_layout(edited(written(tmp_path / "l.json"), **keys))
    assert job.outline.drawing is not None
    assert outline_of(job).area_mm2 == pytest.approx(outline_of(JOB).area_mm2)


def test_values_edited_in_the_file_do_not_change_what_was_placed(tmp_path: Path) -> None:
    longer = {"blade_length": 62.0}  # the default is 58
    job = read_layout(edited(written(tmp_path / "l.json"), values=longer))
    assert outline_of(job).area_mm2 == pytest.approx(outline_of(JOB).area_mm2)


def test_three_parts_are_enough(tmp_path: Path) -> None:
    slab = {"units": "mm", "outline": [[0, 0], [40, 0], [40, 20], [0, 20]]}
    bar = {"units": "mm", "outline": [[0, 0], [250, 0], [250, 45], [0, 45]]}
    placement = {"x": 10.0, "y": 5.0, "theta_deg": 0.0, "clearance_mm": 5.0}
    path = tmp_path / "l.json"
    path.write_text(json.dumps({"billet": bar, "outline": slab, "placement": placement}))
    layout = layout_of(read_layout(path))
    assert layout is not None
    assert layout.clearance.value_mm == pytest.approx(5.0)  # its lower side is at y 5 of the bar


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"layout_schema": 2}, "newer version"),
        ({"units": "in"}, "units"),
        ({"placement": {"x": 0.0}}, "placement"),
        ({"billet": {"units": "mm", "outline": [[0, 0], [1, 0]]}}, "the billet has 2 corners"),
        ({"format": "a shopping list"}, "format"),
    ],
)
def test_what_is_no_layout_is_refused_in_one_line(
    tmp_path: Path, keys: dict[str, Any], words: str
) -> None:
    with pytest.raises(FileError, match=words) as caught:
        read_layout(edited(written(tmp_path / "l.json"), **keys))
    assert "\n" not in str(caught.value)
    assert caught.value.remedy
