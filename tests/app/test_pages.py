"""How a drawing is laid on pages: few, turned well, joined so that the joins can be trusted."""

import math
from collections.abc import Callable

import numpy as np
import pytest
import shapely

from app.document.drawing import Circle, Cross, Drawing, Item, Polyline, Text
from app.document.paper import NAMED, paper_named
from app.document.pattern import PatternOptions
from app.exports.lettering import text_width_mm
from app.exports.pages import FOOT_MM, SIDE_MM, Pages, laid_out
from app.exports.tiles import OVERLAP_MM
from geometry.pose import Pose

Make = Callable[..., Drawing]
CASES = [("a4", 180.0), ("letter", 250.0), ("a4", 300.0), ("letter", 420.0), ("a5", 330.0)]


def plain_pages(drawing: Drawing, width_mm: float, height_mm: float) -> int:
    """Pages of a plain tiling, unturned, over all that a printer reaches: no bars, no words."""
    left, bottom, right, top = drawing.box_mm()
    counts = []
    for across, up in ((width_mm, height_mm), (height_mm, width_mm)):
        room = (across - 2 * SIDE_MM - OVERLAP_MM, up - SIDE_MM - FOOT_MM - OVERLAP_MM)
        size = (right - left - OVERLAP_MM, top - bottom - OVERLAP_MM)
        counts.append(math.prod(max(1, math.ceil(s / r)) for s, r in zip(size, room, strict=True)))
    return min(counts)


def box(words: Text) -> shapely.Polygon:
    width = text_width_mm(words.text, words.height_mm)
    left = words.x_mm - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[words.align]
    return shapely.box(left, words.y_mm, left + width, words.y_mm + words.height_mm)


def line(item: Item) -> shapely.LineString | None:
    if isinstance(item, Polyline):
        return shapely.LineString([*item.points_mm, *item.points_mm[: int(item.closed)]])
    if isinstance(item, Circle):
        return shapely.Point(item.x_mm, item.y_mm).buffer(item.diameter_mm / 2).exterior
    return None


@pytest.mark.parametrize(("paper", "length_mm"), CASES)
def test_content_is_moved_and_turned_and_never_scaled(
    make_pattern: Make, paper: str, length_mm: float
) -> None:
    drawing = make_pattern(length_mm=length_mm)
    (before,) = [i for i in drawing.items if isinstance(i, Polyline) and i.layer == "PROFILE"]
    for page in laid_out(drawing, NAMED[paper]).pages:
        (after,) = [i for i in page.content if isinstance(i, Polyline) and i.layer == "PROFILE"]
        a, b = np.array(before.points_mm), np.array(after.points_mm)
        assert np.hypot(*(a - a[0]).T) == pytest.approx(np.hypot(*(b - b[0]).T), abs=1e-9)
        assert shapely.LinearRing(b).is_ccw  # not its mirror image


@pytest.mark.parametrize(("paper", "length_mm"), CASES)
def test_everything_is_shown_on_some_page(make_pattern: Make, paper: str, length_mm: float) -> None:
    drawing = make_pattern(length_mm=length_mm)
    pages = laid_out(drawing, NAMED[paper])
    first = pages.pages[0].content[0]
    assert isinstance(first, Polyline)
    shown = []
    for page in pages.pages:
        anchor = page.content[0]
        assert isinstance(anchor, Polyline)
        dx, dy = np.subtract(first.points_mm[0], anchor.points_mm[0])
        left, bottom, right, top = page.window_mm
        shown.append(shapely.box(left + dx, bottom + dy, right + dx, top + dy))
    lines = shapely.union_all([shape for item in first_items(pages) if (shape := line(item))])
    assert lines.difference(shapely.union_all(shown).buffer(1e-6)).length < 1e-6


def first_items(pages: Pages) -> tuple[Item, ...]:
    return pages.pages[0].content


@pytest.mark.parametrize("paper", ["letter", "a4", "tabloid"])
@pytest.mark.parametrize("length_mm", [90.0, 180.0, 230.0, 300.0, 380.0])
@pytest.mark.parametrize("theta_rad", [0.0, 0.5, 1.2])
def test_few_pages_are_used(
    make_pattern: Make, paper: str, length_mm: float, theta_rad: float
) -> None:
    """Not more than one above a plain tiling that has no bars and no words to carry."""
    drawing = make_pattern(length_mm=length_mm, pose=Pose(theta_rad=theta_rad))
    count = len(laid_out(drawing, NAMED[paper]).pages)
    assert count <= plain_pages(drawing, NAMED[paper].width_mm, NAMED[paper].height_mm) + 1


def test_a_leaning_layout_is_laid_along_the_page(make_pattern: Make) -> None:
    """At 45 degrees it is over 190 mm wide and high: two pages as it stands, one if turned."""
    alone = PatternOptions(show_billet=False)
    drawing = make_pattern(length_mm=268.0, pose=Pose(theta_rad=math.pi / 4), options=alone)
    assert plain_pages(drawing, 210.0, 297.0) == 2
    assert len(laid_out(drawing, NAMED["a4"]).pages) == 1


def test_a_layout_that_fits_as_it_is_is_not_turned(make_pattern: Make) -> None:
    assert laid_out(make_pattern(), NAMED["a4"]).turn_rad == 0.0


@pytest.mark.parametrize(("paper", "length_mm"), [("letter", 420.0), ("a5", 330.0), ("a5", 200.0)])
def test_crosses_with_one_number_are_one_place(
    make_pattern: Make, paper: str, length_mm: float
) -> None:
    """Seen from the drawing; each lies on two sheets at least, four on every overlap."""
    pages = laid_out(make_pattern(length_mm=length_mm), NAMED[paper]).pages
    assert len(pages) > 1
    places: dict[str, list[tuple[float, float]]] = {}
    for page in pages:
        anchor = page.content[0]
        assert isinstance(anchor, Polyline)
        origin = np.array(anchor.points_mm[0])
        crosses = [i for i in page.furniture if isinstance(i, Cross)]
        numbers = [i for i in page.furniture if isinstance(i, Text) and i.text.isdigit()]
        numbers = [i for i in numbers if i.height_mm < 1.9]  # not the 4 and the 100 of the bars
        assert len(crosses) == len(numbers) >= 4
        for cross, number in zip(crosses, numbers, strict=True):
            spot = np.array([cross.x_mm, cross.y_mm]) - origin
            places.setdefault(number.text, []).append((float(spot[0]), float(spot[1])))
    for spots in places.values():
        assert len(spots) >= 2
        assert np.ptp(spots, axis=0) == pytest.approx([0.0, 0.0], abs=1e-6)


def test_tiles_overlap_by_ten_millimetres(make_pattern: Make) -> None:
    pages = laid_out(make_pattern(length_mm=420.0), NAMED["letter"]).pages
    starts = []
    for page in pages:
        anchor = page.content[0]
        assert isinstance(anchor, Polyline)
        starts.append(page.window_mm[0] - anchor.points_mm[0][0])
    width = pages[0].window_mm[2] - pages[0].window_mm[0]
    assert width - (starts[1] - starts[0]) == pytest.approx(10.0)


def test_a_name_without_end_leaves_room_for_the_drawing(make_pattern: Make) -> None:
    pages = laid_out(make_pattern(name="Creek knife " * 400), NAMED["letter"])
    assert len(pages.pages) == len(laid_out(make_pattern(), NAMED["letter"]).pages)
    words = " ".join(i.text for i in pages.pages[0].furniture if isinstance(i, Text))
    assert words.count("Creek knife") == 10  # 120 letters


def test_tiles_say_which_they_are(make_pattern: Make) -> None:
    pages = laid_out(make_pattern(length_mm=420.0), NAMED["letter"]).pages
    for number, page in enumerate(pages, 1):
        words = " ".join(i.text for i in page.furniture if isinstance(i, Text))
        assert f"Row A, column {number} of {len(pages)}, crossed on the small map." in words
        assert page.name == f"row A, column {number} of {len(pages)}"


@pytest.mark.parametrize(("paper", "length_mm"), [*CASES, ("150x200", 180.0), ("a5", 700.0)])
@pytest.mark.parametrize("stretch", [(1.0, 1.0), (1.03, 0.98)])
def test_nothing_overlaps_or_leaves_the_reach_of_printers(
    make_pattern: Make, paper: str, length_mm: float, stretch: tuple[float, float]
) -> None:
    name = "A rather long name of a knife for a long day in the hills, third and last version"
    drawing = make_pattern(length_mm=length_mm, name=name)
    pages = laid_out(drawing, paper_named(paper), stretch=stretch, extra=("A line more.",))
    width = (pages.paper.width_mm - 2 * SIDE_MM) / stretch[0]
    height = (pages.paper.height_mm - SIDE_MM - FOOT_MM) / stretch[1]
    reach = shapely.box(0.0, 0.0, width, height).buffer(1e-6)
    for page in pages.pages:
        words = [i for i in page.furniture if isinstance(i, Text)]
        boxes = [box(item) for item in words]
        assert all(reach.contains(shape) for shape in boxes)
        assert reach.contains(shapely.box(*page.window_mm))
        tree = shapely.STRtree(boxes)
        assert len(tree.query(boxes, predicate="intersects")[0]) == len(boxes)  # each only itself
        bars = [line(i) for i in page.furniture if i.layer in ("RULERS", "TICKS")]
        assert reach.contains(shapely.union_all(bars))
        window = shapely.box(*page.window_mm)
        large = [shape for item, shape in zip(words, boxes, strict=True) if item.height_mm != 1.8]
        assert not any(window.intersects(shape) for shape in [*bars, *large])
        assert not len(tree.query(bars, predicate="intersects")[0])


def test_labels_cover_no_line_on_an_ordinary_blank(make_pattern: Make) -> None:
    for theta_rad in (0.0, 0.4, 1.3, 2.8):
        page = laid_out(make_pattern(pose=Pose(theta_rad=theta_rad)), NAMED["a4"]).pages[0]
        lines = [shape for item in page.content if (shape := line(item))]
        for item in page.content:
            if isinstance(item, Text):
                assert not any(shape.intersects(box(item)) for shape in lines), item.text


def test_labels_in_a_crowd_stand_apart_from_each_other(make_pattern: Make) -> None:
    drawing = make_pattern()
    label = next(item for item in drawing.items if getattr(item, "clear_mm", 0) > 2)
    crowd = Drawing(items=(*drawing.items, label, label), title=drawing.title)
    texts = [i for i in laid_out(crowd, NAMED["a4"]).pages[0].content if isinstance(i, Text)]
    same = [box(item) for item in texts if item.text == label.text]  # type: ignore[union-attr]
    assert len(same) == 3
    assert not any(a.intersects(b) for i, a in enumerate(same) for b in same[:i])
