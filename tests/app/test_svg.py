"""The SVG read back by another library than wrote it."""

import xml.etree.ElementTree as ElementTree
from collections.abc import Callable
from io import StringIO
from pathlib import Path

import numpy as np
import pytest
import shapely
import svgelements
from numpy.typing import NDArray

from app.document.drawing import Drawing, Polyline, box_of
from app.exports.one_sheet import on_one_sheet
from app.exports.svg import EDGE_MM, svg_text, write_svg
from app.files.errors import FileError

MM_PER_PX = 25.4 / 96  # CSS Values 3: 1in = 96px
NS = "{http://www.w3.org/2000/svg}"
Make = Callable[..., Drawing]


def points_mm(shape: svgelements.Shape) -> NDArray[np.float64]:
    path = abs(svgelements.Path(shape))
    points = []
    for segment in path:
        if isinstance(segment, svgelements.Arc | svgelements.CubicBezier):
            points += [segment.point(step / 64) for step in range(1, 64)]
        if segment.end is not None:
            points.append(segment.end)
    return np.array([(point.x, point.y) for point in points]) * MM_PER_PX


def shapes(text: str) -> list[svgelements.Shape]:
    parsed = svgelements.SVG.parse(StringIO(text), ppi=96, reify=True)
    return [e for e in parsed.elements() if isinstance(e, svgelements.Shape)]


def group_points(text: str, layer: str) -> list[NDArray[np.float64]]:
    """All paths of a layer, read by the plain XML parser."""
    root = ElementTree.fromstring(text.encode())
    (group,) = [g for g in root.iter(f"{NS}g") if g.get("id") == layer]
    only = ElementTree.tostring(group, encoding="unicode")
    box = (
        f'width="{root.get("width")}" height="{root.get("height")}" viewBox="{root.get("viewBox")}"'
    )
    return [
        points_mm(s) for s in shapes(f'<svg xmlns="http://www.w3.org/2000/svg" {box}>{only}</svg>')
    ]


def test_the_extents_are_those_of_the_drawing(make_pattern: Make) -> None:
    drawing = make_pattern()
    points = np.vstack([points_mm(shape) for shape in shapes(svg_text(drawing))])
    left, bottom, right, top = box_of(on_one_sheet(drawing).items)
    assert np.ptp(points[:, 0]) == pytest.approx(right - left, abs=0.01)
    assert np.ptp(points[:, 1]) == pytest.approx(top - bottom, abs=0.01)


def test_the_root_is_in_millimetres(make_pattern: Make) -> None:
    root = ElementTree.fromstring(svg_text(make_pattern()).encode())
    width, height = (root.get(key, "") for key in ("width", "height"))
    assert width.endswith("mm")
    assert root.get("viewBox") == f"0 0 {width[:-2]} {height[:-2]}"
    assert not [e for e in root.iter() if "transform" in e.attrib]


def test_the_profile_is_the_polygon_and_not_its_mirror_image(make_pattern: Make) -> None:
    """The points, flipped back, lie on the drawing's; an outline without symmetry."""
    drawing = make_pattern()
    (profile,) = [i for i in drawing.items if isinstance(i, Polyline) and i.layer == "PROFILE"]
    (found,) = group_points(svg_text(drawing), "PROFILE")
    left, _, _, top = box_of(on_one_sheet(drawing).items)
    back = np.column_stack([found[:, 0] + left - EDGE_MM, top + EDGE_MM - found[:, 1]])
    distance = shapely.hausdorff_distance(
        shapely.LinearRing(back), shapely.LinearRing(profile.points_mm)
    )
    assert distance < 0.01


def test_layers_are_groups_and_words_are_words(make_pattern: Make) -> None:
    root = ElementTree.fromstring(svg_text(make_pattern(name="A <b> & c")).encode())
    groups = {g.get("id") for g in root.iter(f"{NS}g")}
    assert {"PROFILE", "HOLES", "CENTRES", "BILLET", "RULERS", "TICKS", "TEXT"} <= groups
    words = {t.text for t in root.iter(f"{NS}text")}
    assert {"A <b> & c", "100 mm", "4 in", "6.35 mm (1/4 in)", "plunge line"} <= words
    assert len(list(root.iter(f"{NS}circle"))) == 2


def test_bars_are_there_in_both_directions(make_pattern: Make) -> None:
    bars = [
        np.ptp(bar, axis=0).round(6).tolist()
        for bar in group_points(svg_text(make_pattern()), "RULERS")
    ]
    assert sorted(bars) == pytest.approx(
        np.array([[0, 100], [0, 101.6], [100, 0], [101.6, 0]]), abs=1e-3
    )


def test_a_name_with_a_control_character_still_makes_a_readable_file(make_pattern: Make) -> None:
    root = ElementTree.fromstring(svg_text(make_pattern(name="a\x07b")).encode())
    assert root.findtext(f"{NS}title") == "ab"


def test_a_folder_that_cannot_be_written_is_said(make_pattern: Make, tmp_path: Path) -> None:
    with pytest.raises(FileError, match="could not be written"):
        write_svg(make_pattern(), tmp_path / "none" / "a.svg")
