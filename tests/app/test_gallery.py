"""The gallery: families drawn at one scale with their main dimensions, read back from the PDF."""

import dataclasses
import datetime
import io
import json
import math
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
import pytest
import shapely

from app.cli import run
from app.document.drawing import Circle, Cross, Drawing, Label, Polyline, Text, TitleBlock
from app.document.gallery import MainSizes, figure, holes_words, lines_of, main_sizes
from app.document.gallery_pages import SIDE_MM, Gallery, gallery
from app.document.lengths import Unit
from app.document.paper import paper_named
from app.exports.labels import with_labels_settled
from app.exports.pdf import sheets_bytes
from geometry.blade_measures import blade_measures
from geometry.errors import InputError
from geometry.family import Family, built_in_families, family_from_text

DAY = datetime.date(2026, 1, 2)
DPI = 254  # ten pixels to a millimetre

# By hand: handle 80 mm, blade 100 mm, 24 mm wide, two pins; every corner a number.
PLAIN = """
format = 1
name = "Plain by hand"
notes = "Straight all round."
parameter = [
  {key = "blade", label = "Blade", unit = "mm", default = 100, low = 50, high = 400, help = "."},
]
node = [
  {x = 0, y = 0, joint = "corner", next = "line", station = "heel"},
  {x = "blade", y = 10, joint = "corner", next = "line", station = "tip"},
  {x = 60, y = 24, joint = "corner", next = "line"},
  {x = -80, y = 24, joint = "corner", next = "line", station = "butt"},
  {x = -80, y = 0, joint = "corner", next = "line"},
]
hole = [
  {kind = "pin", x = -60, y = 12, diameter = 5, web = 3},
  {kind = "pin", x = -20, y = 12, diameter = 5, web = 3},
]
mark = [
  {kind = "handle front", across = -0.001},
  {kind = "plunge line", across = 0.001},
]
"""


@pytest.fixture
def plain() -> Family:
    return family_from_text(PLAIN, "plain_by_hand")


def printed(made: Gallery) -> bytes:
    return sheets_bytes(made.pages, paper=made.paper)


def test_the_main_sizes_are_those_of_a_drawing_by_hand(plain: Family) -> None:
    sizes = main_sizes(plain.outline())
    assert sizes.overall_mm == pytest.approx(180.0)
    assert sizes.blade_mm == pytest.approx(100.0, abs=0.01)
    assert sizes.handle_mm == pytest.approx(80.0, abs=0.01)
    assert sizes.heel_mm == pytest.approx(24.0, abs=0.01)


def test_without_a_named_heel_the_plunge_line_s_foot_is_it(plain: Family) -> None:
    outline = plain.outline()
    rest = tuple(station for station in outline.stations if station.name != "heel")
    sizes = main_sizes(dataclasses.replace(outline, stations=rest))
    assert sizes.heel_mm == pytest.approx(24.0, abs=0.01)


@pytest.mark.parametrize("family", built_in_families(), ids=lambda family: family.key)
def test_the_main_sizes_are_the_trade_s_measures(family: Family) -> None:
    outline = family.outline()
    sizes, measures = main_sizes(outline), blade_measures(outline)
    assert measures.edge is not None
    assert sizes == MainSizes(
        overall_mm=pytest.approx(measures.overall_mm),
        blade_mm=pytest.approx(measures.blade_mm),
        handle_mm=pytest.approx(measures.handle_mm),
        heel_mm=pytest.approx(measures.edge.heel_width_mm, abs=0.02),
    )


@pytest.mark.parametrize(
    ("unit", "expected"),
    [
        ("mm", ["blade 100 mm", "handle 80 mm", "overall 180 mm", "24 mm at the heel"]),
        # 100/25.4 = 3.937, 80/25.4 = 3.150, 180/25.4 = 7.087, 24/25.4 = 0.945
        ("in", ["blade 3.94 in", "handle 3.15 in", "overall 7.09 in", "0.94 in at the heel"]),
    ],
)
def test_the_dimensions_say_the_true_lengths_at_any_scale(
    plain: Family, unit: Unit, expected: list[str]
) -> None:
    for scale in (1.0, 0.5):
        items = figure(plain, scale, unit).items
        said = [getattr(item, "text", "") for item in items]
        assert set(expected) <= set(said)


def test_holes_are_told_by_kind_and_size(plain: Family) -> None:
    assert holes_words(plain.outline(), "mm") == "2 pin holes 5 mm"
    assert holes_words(plain.outline(), "in") == "2 pin holes 0.197 in"  # 5 / 25.4 = 0.19685


def test_lines_of_a_shape_have_no_words(plain: Family) -> None:
    items = lines_of(plain.outline())
    assert sum(isinstance(item, Circle) for item in items) == 2
    assert sum(isinstance(item, Polyline) and item.layer == "MARKS" for item in items) == 2
    assert not any(hasattr(item, "text") for item in items)


@pytest.mark.parametrize("paper", ["letter", "a4", "a5", "a3"])
def test_every_family_is_on_the_pages_once_inside_the_margins(paper: str) -> None:
    made = gallery(built_in_families(), paper=paper_named(paper), day=DAY)
    reader = pypdf.PdfReader(io.BytesIO(printed(made)))
    words = " ".join("\n".join(page.extract_text() for page in reader.pages).split())
    for family in built_in_families():
        assert words.count(f"{family.key} ") == 1
    for page in made.pages:
        for item in page.items:
            places = item.points_mm if isinstance(item, Polyline) else [(item.x_mm, item.y_mm)]
            for x, y in places:
                assert SIDE_MM - 0.01 <= x <= made.paper.width_mm - SIDE_MM + 0.01
                assert 0.0 < y < made.paper.height_mm - SIDE_MM + 0.01


@pytest.mark.parametrize("paper", ["letter", "a3"])
def test_no_two_families_are_drawn_over_each_other(paper: str) -> None:
    made = gallery(built_in_families(), paper=paper_named(paper), day=DAY)
    for page in made.pages:
        boxes = [
            (*np.min(i.points_mm, axis=0), *np.max(i.points_mm, axis=0))
            for i in page.items
            if isinstance(i, Polyline) and i.layer == "PROFILE"
        ]
        for n, (left, bottom, right, top) in enumerate(boxes):
            for left2, bottom2, right2, top2 in boxes[:n]:
                assert right < left2 or right2 < left or top < bottom2 or top2 < bottom


def test_a_page_is_filled_before_another_begins() -> None:
    """Three and no four of the 46 to 61 mm that most are high stand on the 167 mm of Letter."""
    made = gallery(built_in_families(), paper=paper_named("letter"), day=DAY)
    profiles = [sum(i.layer == "PROFILE" for i in page.items) for page in made.pages]
    at_true_size = [n for n, scale in zip(profiles, made.scales, strict=True) if scale == (1, 1)]
    assert len(at_true_size) == math.ceil(sum(at_true_size) / 3)
    assert sum(profiles) == len(built_in_families())


@pytest.mark.parametrize(("paper", "scale"), [("a3", (1, 1)), ("letter", (1, 1))])
def test_true_scale_where_it_fits(plain: Family, paper: str, scale: tuple[int, int]) -> None:
    """180 mm stand within the 196 mm of Letter that printers reach."""
    assert gallery((plain,), paper=paper_named(paper), day=DAY).scales == (scale,)


def test_a_family_that_is_too_long_stands_smaller_on_a_page_of_its_own(plain: Family) -> None:
    long = dataclasses.replace(
        plain, key="long", parameters=(dataclasses.replace(plain.parameters[0], default=400.0),)
    )
    made = gallery((long, plain), paper=paper_named("letter"), day=DAY)
    assert made.scales == ((1, 1), (1, 2))  # 480 mm on at most 259
    said = [[item.text for item in page.items if isinstance(item, Text)] for page in made.pages]
    for words, size, bar_mm, key in zip(
        said, ("true size (1:1)", "half size (1:2)"), (100, 50), ("plain_by_hand", "long"),
        strict=True,
    ):  # fmt: skip
        assert any(size in text for text in words)
        assert any(f"this bar is {bar_mm} mm long on paper" in text for text in words)
        assert any(text.startswith(key) for text in words)


def test_the_width_at_the_heel_is_told_above_where_it_is_drawn_too_small(plain: Family) -> None:
    """24 mm drawn at 1:3 are 8: words beside that would lie over others."""
    for scale, beside in ((1.0, True), (1 / 3, False)):
        items = figure(plain, scale, "mm").items
        labels = [i.text for i in items if isinstance(i, Label)]
        texts = [i.text for i in items if isinstance(i, Text)]
        assert ("24 mm at the heel" in labels) == beside
        assert any("plain_by_hand · 24 mm at the heel" in text for text in texts) != beside


def test_letters_that_the_typeface_lacks_are_question_marks(plain: Family) -> None:
    named = dataclasses.replace(plain, name="Größe 刀 2")
    made = gallery((named,), paper=paper_named("letter"), day=DAY)
    words = pypdf.PdfReader(io.BytesIO(printed(made))).pages[0].extract_text()
    assert "Größe ? 2" in words


@pytest.mark.parametrize(
    ("blade_mm", "unit", "bar_mm", "said"),
    [
        (100.0, "mm", 100.0, "100 mm of knife: this bar is 100 mm long"),
        (400.0, "mm", 50.0, "100 mm of knife: this bar is 50 mm long"),  # 480 mm at half size
        (100.0, "in", 4 * 25.4, "4 in of knife: this bar is 4 in long"),
        (400.0, "in", 2 * 25.4, "4 in of knife: this bar is 2 in long"),
    ],
)
def test_bar_and_profile_are_as_long_on_the_page_as_they_say(
    plain: Family, blade_mm: float, unit: Unit, bar_mm: float, said: str
) -> None:
    """Seen in the picture of the page, which another library than wrote it makes."""
    drawn = dataclasses.replace(
        plain, parameters=(dataclasses.replace(plain.parameters[0], default=blade_mm),)
    )
    made = gallery((drawn,), paper=paper_named("letter"), day=DAY, unit=unit)
    assert any(said in item.text for item in made.pages[0].items if isinstance(item, Text))
    factor = made.scales[0][0] / made.scales[0][1]
    page = pypdfium2.PdfDocument(printed(made))[0]
    dark = np.asarray(page.render(scale=DPI / 72).to_pil().convert("L")) < 128
    rows = {}
    for row in np.flatnonzero(dark.any(axis=1)):
        columns = np.flatnonzero(dark[row])
        runs = np.split(columns, np.flatnonzero(np.diff(columns) > 1) + 1)
        rows[int(row)] = max(len(run) for run in runs) / 10.0
    foot = [length for row, length in rows.items() if row > dark.shape[0] - 250]
    assert max(foot) == pytest.approx(bar_mm + 0.1, abs=0.2)  # half a tick's ink at each end
    above = [length for row, length in rows.items() if row < dark.shape[0] - 300]
    assert max(above) == pytest.approx((80.0 + blade_mm) * factor, abs=0.2)  # the overall line


def test_a_family_that_makes_no_outline_is_told_and_the_others_drawn(plain: Family) -> None:
    broken = dataclasses.replace(
        family_from_text(PLAIN.replace("y = 10", "y = 40"), "crossed"), name="Crossed"
    )
    made = gallery((broken, plain), paper=paper_named("letter"), day=DAY)
    said = " ".join(
        item.text for page in made.pages for item in page.items if isinstance(item, Text)
    )
    assert "crossed · cannot be drawn" in said
    assert "plain_by_hand" in said


def test_no_families_are_no_gallery() -> None:
    with pytest.raises(InputError, match="no families"):
        gallery((), paper=paper_named("letter"), day=DAY)


def test_the_command_writes_the_pages_and_says_their_scale(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = tmp_path / "new folder" / "sheet.pdf"
    assert run(["families", "--out", str(sheet), "--paper", "a3"]) == 0
    assert "of A3, true size (1:1)" in capsys.readouterr().out
    reader = pypdf.PdfReader(sheet)
    sides = sorted(float(side) * 25.4 / 72 for side in reader.pages[0].mediabox[2:])
    assert sides == pytest.approx([297.0, 420.0], abs=0.01)  # ISO 216
    assert reader.metadata is not None
    assert reader.metadata.subject == "Scale 1:1: print without scaling"


def test_the_command_lists_them_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["families", "--json"]) == 0
    listed = json.loads(capsys.readouterr().out)["families"]
    assert [each["key"] for each in listed] == [f.key for f in built_in_families()]
    for each, family in zip(listed, built_in_families(), strict=True):
        assert each["name"] == family.name
        for parameter, known in zip(each["parameters"], family.parameters, strict=True):
            assert parameter["unit"] in ("mm", "deg", "none")
            assert parameter["min"] <= parameter["default"] <= parameter["max"]
            assert (parameter["key"], parameter["help"]) == (known.key, known.help)


def test_the_command_prints_a_table_and_the_measures_of_one(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["families"]) == 0
    table = capsys.readouterr().out
    for family in built_in_families():
        assert family.key in table
        assert family.name in table
    assert run(["families", "drop point", "--unit", "in"]) == 0
    assert "blade_length" in capsys.readouterr().out
    assert run(["families", "nothing like it"]) == 2
    assert run(["families", "--out", "sheet.png"]) == 2


def test_the_command_names_files_that_are_no_family_and_counts_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path))
    (tmp_path / "families").mkdir()
    (tmp_path / "families" / "broken.toml").write_text("nonsense", encoding="utf-8")
    assert run(["families", "--out", str(tmp_path / "all.pdf")]) == 0
    assert "left out  " in (said := capsys.readouterr().out)
    assert "broken.toml" in said
    assert run(["families", "drop point", "--out", str(tmp_path / "one.pdf")]) == 0
    assert "one.pdf: 1 family on 1 page of" in capsys.readouterr().out


@pytest.mark.parametrize("scale", [1.0, 0.5, 1 / 3, 0.2, 0.1])
@pytest.mark.parametrize("family", built_in_families(), ids=lambda family: family.key)
def test_no_leader_meets_a_hole(family: Family, scale: float) -> None:
    drawn = figure(family, scale, "mm")
    title = TitleBlock(name="one", date=DAY, unit="mm")
    settled = with_labels_settled(Drawing(items=drawn.items, title=title)).items
    leaders = [i for i in settled if isinstance(i, Polyline) and i.layer == "CENTRES"]
    for cross in (item for item in settled if isinstance(item, Cross)):
        reach = shapely.Point(cross.x_mm, cross.y_mm).buffer(cross.size_mm / 2)
        for leader in leaders:
            assert not shapely.LineString(leader.points_mm).intersects(reach)
