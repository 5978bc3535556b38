"""BILLET.json: what is written reads back; what cannot be used is refused in one line."""

import json
from pathlib import Path

import pytest
import shapely

from app.files.billet_file import read_billet, write_billet
from app.files.errors import FileError
from app.files.outline_file import read_outline
from geometry.allowance import Allowance
from geometry.billet import Billet

SQUARE = [[0, 0], [10, 0], [10, 10], [0, 10]]
HOLE = [[4, 4], [6, 4], [6, 6], [4, 6]]


def written(path: Path, **keys: object) -> Path:
    path.write_text(json.dumps(keys), encoding="utf-8")
    return path


def test_a_billet_survives_unchanged(tmp_path: Path) -> None:
    shape = shapely.Polygon([(0, 0), (9.87654321, 0), (10, 10), (0, 10)])
    billet = Billet(shape=shape, vertex_sigma_mm=(0.1, 0.2, 0.3, 0.4), thickness_mm=4.5)
    write_billet(tmp_path / "b.json", billet)
    assert read_billet(tmp_path / "b.json") == billet


def test_flaws_survive_and_are_told_to_programs_that_do_not_know_them(tmp_path: Path) -> None:
    billet = Billet(shape=shapely.box(0, 0, 10, 10), flaws=(shapely.box(4, 4, 6, 6),))
    write_billet(tmp_path / "b.json", billet)
    assert read_billet(tmp_path / "b.json") == billet
    assert json.loads((tmp_path / "b.json").read_text())["billet_schema"] == 2
    write_billet(tmp_path / "b.json", Billet(shape=billet.shape))
    assert json.loads((tmp_path / "b.json").read_text())["billet_schema"] == 1


def test_flaws_in_inches_become_millimetres(tmp_path: Path) -> None:
    path = written(tmp_path / "b.json", units="in", outline=SQUARE, flaws=[HOLE])
    assert read_billet(path).usable().area == pytest.approx((100 - 4) * 25.4**2)


def test_three_keys_are_enough(tmp_path: Path) -> None:
    billet = read_billet(written(tmp_path / "b.json", units="mm", outline=SQUARE, holes=[HOLE]))
    assert billet.shape.area == pytest.approx(100 - 4)
    assert billet.shape.exterior.is_ccw
    assert billet.sigma_at_mm((0.0, 0.0)) == 0.0


def test_inches_become_millimetres(tmp_path: Path) -> None:
    billet = read_billet(written(tmp_path / "b.json", units="in", outline=SQUARE))
    assert billet.shape.area == pytest.approx((10 * 25.4) ** 2)


def test_a_ring_that_runs_the_other_way_keeps_the_worst_doubt(tmp_path: Path) -> None:
    sigmas = [0.1, 0.5, 0.2, 0.2]
    path = written(tmp_path / "b.json", units="mm", outline=SQUARE[::-1], vertex_sigma_mm=sigmas)
    assert set(read_billet(path).vertex_sigma_mm) == {0.5}


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"units": "mm"}, "outline"),
        ({"units": "furlong", "outline": SQUARE}, "units"),
        ({"units": "mm", "outline": SQUARE[:2]}, "outline"),
        ({"units": "mm", "outline": [[0, 0], [10, 10], [10, 0], [0, 10]]}, "edge cannot be used"),
        ({"units": "mm", "outline": [["0", 0], [1, 0], [1, 1]]}, "outline"),
        ({"units": "mm", "outline": SQUARE, "thickness_mm": -1}, "thickness_mm"),
        ({"units": "mm", "outline": SQUARE, "billet_schema": 4}, "newer version"),
        ({"units": "mm", "outline": SQUARE, "vertex_sigma_mm": [0.1, -0.1]}, "vertex_sigma_mm"),
        ({"units": "mm", "outline": SQUARE, "flaws": [SQUARE]}, "leave no steel"),
        ({"units": "mm", "outline": SQUARE, "flaws": [[[0, 0], [9, 9], [9, 0], [0, 9]]]}, "flaw 1"),
        ({"units": "mm", "outline": [[0, 0], [1e200, 0], [0, 1e200]]}, "beyond 1 km"),
    ],
)
def test_what_is_no_billet_is_refused_in_one_line(
    tmp_path: Path, keys: dict[str, object], words: str
) -> None:
    with pytest.raises(FileError, match=words) as caught:
        read_billet(written(tmp_path / "b.json", **keys))
    assert "\n" not in str(caught.value)
    assert caught.value.remedy


@pytest.mark.parametrize(
    "text", ["", "{", "null", '{"units": "mm", "outline": [[NaN, 0]]}', "\x00"]
)
def test_what_is_no_json_is_refused(tmp_path: Path, text: str) -> None:
    (tmp_path / "b.json").write_text(text, encoding="utf-8")
    with pytest.raises(FileError, match="not a billet"):
        read_billet(tmp_path / "b.json")


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such file"):
        read_billet(tmp_path / "absent.json")


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="could not be read"):
        read_billet(tmp_path)


def test_a_knifes_outline_is_no_billet_nor_the_other_way_round(tmp_path: Path) -> None:
    ring = [[0.0, 0.0], [90.0, 0.0], [90.0, 20.0]]
    path = tmp_path / "x.json"
    path.write_text(json.dumps({"units": "mm", "outline": ring, "outline_schema": 1}))
    with pytest.raises(FileError, match=r"it is not a billet: .*knife's outline"):
        read_billet(path)
    path.write_text(json.dumps({"units": "mm", "outline": ring, "billet_schema": 1}))
    with pytest.raises(FileError, match="piece of steel"):
        read_outline(path)
    path.write_text(json.dumps({"units": "mm", "outline": ring}))
    assert read_billet(path).shape.area == read_outline(path).polygon().area == 900.0


def test_allowances_are_kept_and_only_then_need_a_newer_program(tmp_path: Path) -> None:
    left = Allowance(start_mm=(0.0, 0.0), end_mm=(10.0, 0.0), depth_mm=2.0)
    billet = Billet(shape=shapely.box(0, 0, 10, 10), allowances=(left,))
    path = tmp_path / "piece.json"
    write_billet(path, billet)
    assert read_billet(path) == billet
    assert json.loads(path.read_text())["billet_schema"] == 3
    inches = {
        "units": "in",
        "outline": [[0, 0], [4, 0], [4, 2], [0, 2]],
        "allowances": [{"start": [0, 0], "end": [4, 0], "depth": 0.25}],
    }
    path.write_text(json.dumps(inches))
    assert read_billet(path).usable().bounds == pytest.approx((0, 6.35, 101.6, 50.8), abs=0.01)
    inches["allowances"][0]["depth"] = 0
    path.write_text(json.dumps(inches))
    with pytest.raises(FileError, match="allowance"):
        read_billet(path)
