"""What stands on a pattern, and where."""

import datetime
import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import shapely

from app.document.drawing import Circle, Cross, Drawing, Item, Label, Polyline, TitleBlock
from app.document.pattern import PatternOptions, pattern_drawing
from geometry.billet import Billet
from geometry.outline import Mark, Outline
from geometry.pose import Pose

Make = Callable[..., Drawing]


def on(drawing: Drawing, layer: str) -> list[Item]:
    return [item for item in drawing.items if item.layer == layer]


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("scale", [1.0, 0.8])
def test_the_profile_and_holes_lie_where_the_pose_puts_them(
    make_pattern: Make, make_blade: Callable[..., Outline], mirrored: bool, scale: float
) -> None:
    """The pose's own formula, written out: turned, mirrored in y, grown, moved."""
    pose = Pose(x_mm=50.0, y_mm=-7.0, theta_rad=0.7, mirrored=mirrored, scale=scale)
    drawing = make_pattern(pose=pose)
    outline = make_blade()
    cos, sin, flip = math.cos(0.7) * scale, math.sin(0.7) * scale, -1 if mirrored else 1
    edge = outline.ring(0.001)
    x, y = edge[:, 0], edge[:, 1] * flip
    ring = shapely.LinearRing(np.column_stack([cos * x - sin * y + 50, sin * x + cos * y - 7]))
    (profile,) = on(drawing, "PROFILE")
    assert isinstance(profile, Polyline)
    assert profile.closed
    assert shapely.hausdorff_distance(ring, shapely.LinearRing(profile.points_mm)) < 0.01
    hole = outline.holes[0]
    x_mm, y_mm = hole.x_mm, hole.y_mm * flip
    circle = on(drawing, "HOLES")[0]
    assert isinstance(circle, Circle)
    assert (circle.x_mm, circle.y_mm) == pytest.approx(
        (cos * x_mm - sin * y_mm + 50, sin * x_mm + cos * y_mm - 7)
    )
    assert circle.diameter_mm == pytest.approx(6.35)  # a quarter inch drill, at any scale


def test_every_hole_has_a_centre_mark_and_its_drill(make_pattern: Make) -> None:
    drawing = make_pattern()
    crosses = [item for item in on(drawing, "CENTRES") if isinstance(item, Cross)]
    circles = on(drawing, "HOLES")
    assert [(c.x_mm, c.y_mm) for c in crosses] == [(c.x_mm, c.y_mm) for c in circles]
    labels = {item.text for item in drawing.items if isinstance(item, Label)}
    assert {"6.35 mm (1/4 in)", "3.175 mm (1/8 in)", "plunge line", "centre line"} == labels


def test_the_margin_is_off_until_asked_for(make_pattern: Make) -> None:
    assert not on(make_pattern(), "MARGIN")
    shown = make_pattern(options=PatternOptions(margin_mm=2.0, show_margin=True))
    (line,), (edge,) = on(shown, "MARGIN"), on(shown, "BILLET")
    assert isinstance(line, Polyline)
    assert isinstance(edge, Polyline)
    ring = shapely.LinearRing(edge.points_mm)
    distances = [ring.distance(shapely.Point(point)) for point in line.points_mm]
    assert min(distances) == pytest.approx(2.0, abs=1e-6)
    assert any("margin" in note for note in shown.title.notes)


def test_a_margin_wider_than_the_steel_draws_nothing(make_pattern: Make) -> None:
    assert not on(make_pattern(options=PatternOptions(margin_mm=99.0, show_margin=True)), "MARGIN")


def test_each_kind_of_line_can_be_left_out(make_pattern: Make) -> None:
    bare = make_pattern(
        options=PatternOptions(show_billet=False, show_holes=False, show_marks=False)
    )
    assert {item.layer for item in bare.items} == {"PROFILE"}
    quiet = make_pattern(options=PatternOptions(show_labels=False))
    assert not [item for item in quiet.items if isinstance(item, Label)]


def test_a_hole_in_the_steel_is_drawn_too(make_blade: Callable[..., Outline]) -> None:
    steel = shapely.box(-150, -60, 150, 60).difference(shapely.Point(100, -40).buffer(8))
    drawing = pattern_drawing(
        outline=make_blade(),
        pose=Pose(),
        billet=Billet(shape=steel),
        title=TitleBlock(name="x", date=datetime.date(2026, 1, 2)),
        options=PatternOptions(),
    )
    assert len(on(drawing, "BILLET")) == 2


def test_a_row_of_jimping_is_drawn_tick_by_tick_and_named_once(
    make_blade: Callable[..., Outline],
) -> None:
    ticks = [((-20.0 + 1.5 * k, 22.0), (-20.0 + 1.5 * k, 21.0)) for k in range(8)]
    marks = tuple(Mark(kind="jimping", points_mm=tick) for tick in ticks)
    drawing = pattern_drawing(
        outline=replace(make_blade(), marks=marks),
        pose=Pose(),
        billet=None,
        title=TitleBlock(name="x", date=datetime.date(2026, 1, 2)),
        options=PatternOptions(),
    )
    assert len(on(drawing, "MARKS")) == 8
    assert [item.text for item in drawing.items if isinstance(item, Label)].count("jimping") == 1


def test_the_sheet_says_what_its_lines_mean(make_pattern: Make) -> None:
    plain = " ".join(make_pattern().title.notes)
    assert "middle of the line is the true outline" in plain
    assert "Dashed line: the edge of the steel" in plain
    assert "mirrored" not in plain
    assert "% of its own size" not in plain
    assert "mirrored" in " ".join(make_pattern(pose=Pose(mirrored=True)).title.notes)
    scaled = " ".join(make_pattern(pose=Pose(scale=0.935)).title.notes)
    assert "93.50 % of its own size; drilled holes keep theirs" in scaled


def test_flaws_are_hatched_where_there_is_steel(make_blade: Callable[..., Outline]) -> None:
    steel = shapely.box(-100, -20, 100, 40)
    flaws = (shapely.box(90, 10, 110, 30), shapely.box(-60, -10, -50, 0))
    drawing = pattern_drawing(
        outline=make_blade(),
        pose=Pose(),
        billet=Billet(shape=steel, flaws=flaws),
        title=TitleBlock(name="x", date=datetime.date(2026, 1, 2)),
        options=PatternOptions(margin_mm=2.0, show_margin=True),
    )
    lines = [item for item in on(drawing, "FLAWS") if isinstance(item, Polyline)]
    edges = shapely.union_all([shapely.Polygon(line.points_mm) for line in lines if line.closed])
    assert edges.symmetric_difference(
        shapely.union_all([shapely.box(90, 10, 100, 30), flaws[1]])
    ).area == pytest.approx(0.0, abs=1e-9)
    hatches = [shapely.LineString(line.points_mm) for line in lines if not line.closed]
    # A line every 1.5 mm: their length times 1.5 is about the area.
    assert 1.5 * sum(line.length for line in hatches) == pytest.approx(edges.area, rel=0.1)
    assert all(edges.buffer(1e-9).covers(line) for line in hatches)
    kept = [shapely.Polygon(i.points_mm) for i in on(drawing, "MARGIN") if isinstance(i, Polyline)]
    assert min(ring.exterior.distance(flaw) for ring in kept for flaw in flaws) == pytest.approx(
        2.0, abs=0.01
    )
    assert any("flaw" in note for note in drawing.title.notes)


def test_a_flaw_beside_the_steel_draws_nothing(make_blade: Callable[..., Outline]) -> None:
    drawing = pattern_drawing(
        outline=make_blade(),
        pose=Pose(),
        billet=Billet(shape=shapely.box(-100, -20, 100, 40), flaws=(shapely.box(0, 50, 9, 60),)),
        title=TitleBlock(name="x", date=datetime.date(2026, 1, 2)),
        options=PatternOptions(),
    )
    assert not list(on(drawing, "FLAWS"))
    assert not any("flaw" in note for note in drawing.title.notes)
