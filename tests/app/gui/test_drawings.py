"""Drawings from elsewhere opened in the window: their unit asked for, what is left out told."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtWidgets import QInputDialog

from app.files.strokes import Imported, LeftOut
from app.gui.steps.drawings import told_words
from app.gui.window import MainWindow
from geometry.family import family_named


def test_a_drawing_without_a_unit_is_asked_about(
    window: MainWindow, idle, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ezdxf = pytest.importorskip("ezdxf")
    drawing = ezdxf.new(units=0)
    drawing.modelspace().add_lwpolyline([(0, 0), (8, 0), (8, 1.25), (0, 1.25)], close=True)
    drawing.modelspace().add_text("a note", dxfattribs={"insert": (9, 9)})
    drawing.saveas(tmp_path / "plain.dxf")
    offered: list[str] = []

    def in_inches(_parent, _title, _said, lines, _at, _editable):
        offered.extend(lines)
        return next(line for line in lines if line.endswith("in inches")), True

    monkeypatch.setattr(QInputDialog, "getItem", in_inches)
    window.files.open_path(tmp_path / "plain.dxf")
    idle(window, "drawing")
    taken = window.document.job.outline.drawing
    assert taken is not None
    x0, y0, x1, y1 = taken.polygon().bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((203.2, 31.75))  # 8 x 25.4, 1.25 x 25.4
    assert "203 mm by 32 mm: it is drawn in inches" in offered[:2]  # before what makes no knife
    assert "8 mm by 1.2 mm: it is drawn in mm" in [line.replace(".0", "") for line in offered[2:]]
    assert not window.steps.outline.panel.blade_tab.isEnabled()
    # The outline's lower left is the origin: 9 x 25.4 = 228.6 mm.
    said = "Left out: words (x 228.6, y 228.6 mm)."
    assert said in window.steps.outline.panel.message


@pytest.mark.parametrize(
    ("answer", "length"),
    [("280 mm by 200 mm, as proposed", 280), ("200 mm by 30 mm", 200), ("", None)],
)
def test_a_rectangle_that_may_be_a_page_is_asked_about(
    window: MainWindow,
    idle,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    answer: str,
    length: float | None,
) -> None:
    """A plate of 280 x 200 mm with a window as a knife of 200 x 30, or a page with that knife."""
    ezdxf = pytest.importorskip("ezdxf")
    drawing = ezdxf.new(units=4)
    space = drawing.modelspace()
    space.add_lwpolyline([(0, 0), (280, 0), (280, 200), (0, 200)], close=True)
    space.add_lwpolyline([(30, 40), (230, 40), (230, 60), (30, 70)], close=True)
    drawing.saveas(tmp_path / "page.dxf")
    asked: list[tuple[str, list[str]]] = []

    def answered(_parent, _title, said, lines, _at, _editable):
        asked.append((said, lines))
        return answer, bool(answer)

    monkeypatch.setattr(QInputDialog, "getItem", answered)
    window.files.open_path(tmp_path / "page.dxf")
    idle(window, "drawing")
    idle(window, "drawing")
    assert [lines for _, lines in asked] == [["280 mm by 200 mm, as proposed", "200 mm by 30 mm"]]
    assert "may be the page's frame round the piece" in asked[0][0]
    taken = window.document.job.outline.drawing
    assert (taken and taken.overall_length_mm) == (length and pytest.approx(length))


def test_things_of_one_kind_are_counted_and_their_first_places_told() -> None:
    left = [LeftOut(what="closed path inside", at_mm=(25.4 * n, 5.08)) for n in range(26)]
    left += [LeftOut(what=what) for what in ("words", "picture", "hidden line")]
    read = Imported(outline=family_named("drop point").outline(), left_out=tuple(left))
    assert told_words(read, "in") == (
        "Left out: 26 closed paths inside (x 0.00, y 0.20; x 1.00, y 0.20 in; …); "
        "words; picture; and more."
    )
