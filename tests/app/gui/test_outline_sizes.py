"""The sizes on the outline's canvas: each has its name, and none lies over another."""

from __future__ import annotations

from itertools import combinations

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtWidgets import QGraphicsPathItem

from app.document.job import OutlineChoice
from app.gui.canvas.outline_sizes import widths_of
from app.gui.canvas.tag import Tag
from app.gui.rail import Step
from app.gui.window import MainWindow
from geometry.blade_measures import blade_measures
from geometry.family import built_in_families
from geometry.outline import outline_from_rings

KEYS = [family.key for family in built_in_families()]


def frames(window: MainWindow) -> dict[str, QRectF]:
    """The frames of what is written on the canvas, px."""
    view = window.bench.view
    tags = [item for item in window.steps.outline.scene.items() if isinstance(item, Tag)]
    return {
        tag._lines[0]: tag.frame().translated(view.viewportTransform().map(tag.pos()))
        for tag in tags
    }


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("width_px", [960, 1366])
def test_every_size_has_its_name_and_none_lies_over_another(
    window: MainWindow, unit: str, width_px: int
) -> None:
    window.resize(width_px, 720)
    window.go(Step.OUTLINE)
    window.use_unit(unit)
    for key in KEYS:
        window.steps.outline._choose(key)
        found = frames(window)
        names = {" ".join(words.split()[:2]) for words in found}
        held = "tang" if key.startswith("hidden") else "handle"
        expected = {"overall length", "blade length", f"{held} length", "overall width"}
        assert expected | {"width at"} <= names, key
        for (one, a), (other, b) in combinations(found.items(), 2):
            assert not a.intersects(b), f"{key}: {one} lies over {other}"
        shown = QRectF(window.bench.view.viewport().rect())
        assert all(shown.contains(frame) for frame in found.values()), key


def test_a_drawing_that_names_nothing_shows_what_is_over_all(window: MainWindow) -> None:
    bar = outline_from_rings("bar", [(0, 0), (200, 0), (200, 30), (0, 30)])
    window.go(Step.OUTLINE)
    window.steps.outline._take(OutlineChoice(drawing=bar), "Open a drawing")
    assert set(frames(window)) == {"overall length 200.0 mm", "overall width 30.0 mm"}


@pytest.mark.parametrize("key", KEYS)
def test_a_line_leads_from_each_width_to_its_words(window: MainWindow, key: str) -> None:
    window.go(Step.OUTLINE)
    window.steps.outline._choose(key)
    items = window.steps.outline.scene.items()
    paths = [item.path() for item in items if isinstance(item, QGraphicsPathItem)]
    ends = [path.currentPosition() for path in paths if not path.isEmpty()]
    tags = [tag for tag in items if isinstance(tag, Tag) and "wid" in tag._lines[0]]
    assert len(tags) >= 2
    for tag in tags:
        nearest = min((end - tag.pos()).manhattanLength() for end in ends)
        assert nearest == pytest.approx(0.0, abs=1e-9), tag._lines


@pytest.mark.parametrize("key", KEYS)
def test_the_widths_are_those_that_calipers_would_read(key: str) -> None:
    """Against the slow measures: a finer flattening, and nodes looked at too."""
    outline = next(f for f in built_in_families() if f.key == key).outline()
    slow, quick = blade_measures(outline), {w.name: w for w in widths_of(outline)}
    heel = quick["width at the heel"]
    assert slow.edge is not None
    assert heel.high_mm - heel.low_mm == pytest.approx(slow.edge.heel_width_mm, abs=0.02)
    if "handle at its widest" in quick:
        handle = quick["handle at its widest"]
        assert slow.handle_widest_mm is not None
        assert handle.high_mm - handle.low_mm == pytest.approx(slow.handle_widest_mm, abs=0.3)
