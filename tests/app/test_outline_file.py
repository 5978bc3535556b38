"""OUTLINE.json: a round trip loses nothing, plain files are taken, bad ones get one line."""

import json
import math
from pathlib import Path
from typing import Any

import pytest
import shapely

from app.files.errors import FileError
from app.files.outline_file import read_outline, write_outline
from geometry.curves import Arc, Cubic, Line
from geometry.family import built_in_families
from geometry.outline import Hole, Mark, Outline, Station

SQUARE = [[0, 0], [50, 0], [50, 20], [0, 20]]
PLAIN: dict[str, Any] = {"units": "mm", "outline": SQUARE}


def with_everything() -> Outline:
    corner = (0.1, 0.2)
    slot = [(10.0, 5.0), (20.0, 5.0), (15.0, 8.0)]
    return Outline(
        name="Everything",
        chain=(
            Line(start=corner, end=(50.3, 0.2)),
            Arc(start=(50.3, 0.2), end=(50.3, 20.2), sweep_rad=math.pi),
            Cubic(start=(50.3, 20.2), control1=(30, 25), control2=(20, 25), end=corner),
        ),
        holes=(Hole(x_mm=30.1, y_mm=10.0, diameter_mm=4.7625, kind="bolt"),),
        cutouts=(
            tuple(Line(start=a, end=b) for a, b in zip(slot, [*slot[1:], slot[0]], strict=True)),
        ),
        marks=(Mark(kind="plunge line", points_mm=((1 / 3, 0.0), (1 / 3, 20.0))),),
        stations=(Station(name="tip", x_mm=60.3, y_mm=10.2),),
    )


def written(tmp_path: Path, data: object) -> Path:
    path = tmp_path / "knife.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    return path


def test_a_round_trip_loses_nothing(tmp_path: Path) -> None:
    path = tmp_path / "outline.json"
    for outline in [with_everything(), *(family.outline() for family in built_in_families())]:
        write_outline(outline, path)
        assert read_outline(path) == outline


def test_the_rings_alone_are_the_outline_to_a_hundredth(tmp_path: Path) -> None:
    path = tmp_path / "outline.json"
    write_outline(with_everything(), path)
    data = json.loads(path.read_text(encoding="utf-8"))
    plain = {key: data[key] for key in ("units", "outline", "holes")}
    polygon = read_outline(written(tmp_path, plain)).polygon()
    true = with_everything().polygon(0.0001)
    assert len(polygon.interiors) == 2
    apart = shapely.hausdorff_distance(polygon.boundary, true.boundary)
    assert apart < 0.0101


def test_a_plain_file_is_taken_and_named_for_its_file(tmp_path: Path) -> None:
    hole = [[10, 5], [20, 5], [20, 10]]
    outline = read_outline(written(tmp_path, {**PLAIN, "holes": [hole], "made by": "hand"}))
    assert outline.name == "knife"
    assert outline.polygon().area == pytest.approx(1000 - 25)


def in_inches(value: Any) -> Any:
    """Every length in a file's data over 25.4; an angle stays."""
    if isinstance(value, dict):
        return {k: v if k == "sweep_rad" else in_inches(v) for k, v in value.items()}
    if isinstance(value, list):
        return [in_inches(part) for part in value]
    return value / 25.4 if isinstance(value, float) else value


def test_inches_are_read_as_inches(tmp_path: Path) -> None:
    path = tmp_path / "outline.json"
    write_outline(with_everything(), path)
    data = in_inches(json.loads(path.read_text(encoding="utf-8")))
    outline = read_outline(written(tmp_path, {**data, "units": "in"}))
    assert outline.area_mm2 == pytest.approx(with_everything().area_mm2)
    assert outline.holes[0].diameter_mm == pytest.approx(4.7625)  # 3/16 in
    assert outline.stations[0].x_mm == pytest.approx(60.3)
    assert outline.marks[0].points_mm[1] == pytest.approx((1 / 3, 20))


ARC = {"kind": "arc", "start": [0, 0], "end": [50, 0], "sweep_rad": 0}
WRONG: list[tuple[object, str]] = [
    ({**PLAIN, "units": "furlong"}, "units"),
    ({"outline": SQUARE}, "units"),
    ({"units": "mm"}, "outline"),
    ({**PLAIN, "outline": SQUARE[:2]}, "outline"),
    ({**PLAIN, "outline": [[0, 0], [1, "2"], [1, 1]]}, "outline"),
    ({**PLAIN, "outline": [[0, 0], [1, math.nan], [1, 1]]}, "outline"),
    ({**PLAIN, "outline": [[0, 0], [1, math.inf], [1, 1]]}, "outline"),
    ({**PLAIN, "outline": [[0, 0], [10, 10], [10, 0], [0, 10]]}, "crosses"),
    ({**PLAIN, "holes": [[[60, 5], [70, 5], [70, 9]]]}, "not inside"),
    ({**PLAIN, "chain": []}, "chain"),
    ({**PLAIN, "chain": [{"kind": "spiral"}]}, "chain"),
    ({**PLAIN, "chain": [ARC]}, "chain"),
    ({**PLAIN, "chain": [{"kind": "line", "start": [0, 0], "end": [9, 9]}]}, "open by"),
    ({**PLAIN, "round_holes": [{"kind": "pin", "x": 5, "y": 5, "diameter": 0}]}, "diameter"),
    ({**PLAIN, "marks": [{"kind": "plunge line", "points": []}]}, "marks"),
    ({**PLAIN, "outline_schema": 99}, "newer version"),
    ([], "outline"),
]


@pytest.mark.parametrize(("data", "message"), WRONG)
def test_a_wrong_file_gets_one_line(tmp_path: Path, data: object, message: str) -> None:
    with pytest.raises(FileError, match=message) as caught:
        read_outline(written(tmp_path, data))
    assert len(str(caught.value).splitlines()) == 1


def numbers_in(data: Any) -> list[tuple[Any, int | str]]:
    """Every number of a file as what holds it and its key there, but for the schema's."""
    found: list[tuple[Any, int | str]] = []
    for key, value in data.items() if isinstance(data, dict) else enumerate(data):
        if isinstance(value, dict | list):
            found += numbers_in(value)
        elif isinstance(value, float):
            found.append((data, key))
    return found


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("number", [1e308, -1e308, 1e200, 1e20, 10_001.0])
def test_whatever_reaches_beyond_ten_metres_is_refused(
    tmp_path: Path, number: float, units: str
) -> None:
    """Whichever number of the file it is: quickly, with a remedy, and no word of a library."""
    path = tmp_path / "outline.json"
    write_outline(with_everything(), path)
    data = {**json.loads(path.read_text(encoding="utf-8")), "units": units}
    rings = [*data["holes"], data["outline"]]
    corners = [corner for ring in rings for corner in ring[2:]]  # two of each ring are enough
    places = [at for at in numbers_in(data) if not any(at[0] is corner for corner in corners)]
    assert len(places) > 30
    for holder, key in places:
        kept, holder[key] = holder[key], number
        with pytest.raises(FileError) as caught:
            read_outline(written(tmp_path, data))
        assert caught.value.remedy
        holder[key] = kept


@pytest.mark.parametrize("key", ["round_holes", "holes"])
def test_holes_without_end_are_refused_at_once(tmp_path: Path, key: str) -> None:
    """A hundred thousand in one spot took a minute to be found in each other's way."""
    hole: Any = {"kind": "pin", "x": 5, "y": 5, "diameter": 2}
    hole = hole if key == "round_holes" else [[5, 5], [6, 5], [6, 6]]
    with pytest.raises(FileError, match="more than 5000 holes"):
        read_outline(written(tmp_path, {**PLAIN, key: [hole] * 100_000}))


def test_rings_and_curves_that_disagree_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "outline.json"
    write_outline(with_everything(), path)
    data = json.loads(path.read_text(encoding="utf-8"))
    data["outline"][0] = [0.0, -0.5]
    with pytest.raises(FileError, match=r"disagree by 0\.[67]"):
        read_outline(written(tmp_path, data))


@pytest.mark.parametrize("text", ["", "{", "null", '{"units": "mm"'])
def test_what_is_no_json_gets_one_line(tmp_path: Path, text: str) -> None:
    path = tmp_path / "knife.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileError) as caught:
        read_outline(path)
    assert len(str(caught.value).splitlines()) == 1


def test_a_missing_file_is_said(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such file"):
        read_outline(tmp_path / "none.json")


def test_a_folder_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(FileError):
        write_outline(with_everything(), tmp_path / "none" / "outline.json")
