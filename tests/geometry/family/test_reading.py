"""Family files: a small one that works, and what is said of those that do not."""

import math

import pytest

from geometry.curves import Arc, Line
from geometry.errors import InputError
from geometry.family import Family, family_from_text

PLATE = """
format = 1
name = "Plate"

[[parameter]]
key = "width"
label = "Width"
unit = "mm"
default = 40
low = 10
high = 100
help = "Along x."

[[parameter]]
key = "holes"
label = "Holes"
unit = "none"
default = 2
low = 1
high = 5
whole = true
help = "How many."

[values]
height = "width / 2"

[[node]]
x = 0
y = 0
joint = "corner"
next = "line"
round = 3

[[node]]
x = "width"
y = 0
joint = "corner"
next = "arc"
sweep = 180
station = "tip"

[[node]]
x = "width"
y = "height"
joint = "corner"
next = "line"

[[node]]
x = 0
y = "height"
joint = "corner"
next = "line"

[[hole]]
kind = "pin"
x = "10 * (i + 1)"
diameter = 4
count = "holes"
web = 2

[[mark]]
kind = "centre line"
points = [["width / 4"], ["width / 2", "height / 2"]]

[[mark]]
kind = "plunge line"
across = "width / 2"

[[constraint]]
value = "width - 10 * holes"
least = 5
message = "{holes} holes do not go into {width} mm ({value})."
remedy = "Make it wider."
"""


def plate() -> Family:
    return family_from_text(PLATE, "plate")


def test_a_family_is_what_its_file_says() -> None:
    outline = plate().outline({"width": 60, "holes": 3})
    # 60 x 30 less a corner of radius 3, plus a half disc of radius 15, less three 4 mm holes.
    corner = 9 - math.pi * 9 / 4
    assert outline.area_mm2 == pytest.approx(1800 - corner + math.pi * 225 / 2 - 3 * math.pi * 4)
    assert [segment.__class__ for segment in outline.chain] == [Arc, Line, Arc, Line, Line]
    assert [(h.x_mm, h.y_mm, h.diameter_mm, h.kind) for h in outline.holes] == [
        (10.0, 15.0, 4.0, "pin"),
        (20.0, 15.0, 4.0, "pin"),
        (30.0, 15.0, 4.0, "pin"),
    ]
    assert outline.marks[0].points_mm == ((15.0, 15.0), (30.0, 15.0))
    assert outline.marks[1].points_mm == ((30.0, 0.0), (30.0, 30.0))
    assert outline.stations[0].name == "tip"
    assert outline.name == "Plate"


def test_left_out_values_keep_their_defaults() -> None:
    assert plate().outline() == plate().outline({"width": 40.0, "holes": 2})


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ({"width": 101}, r"width \(width\): 101 is out of range. Give 10 to 100 mm"),
        ({"width": math.nan}, "nan is out of range"),
        ({"holes": 2.5}, "2.5 is not a whole number. Give 1 to 5."),
        ({"wdith": 50}, "has no “wdith”. It has: width, holes"),
        ({"holes": 4}, r"Plate: 4 holes do not go into 40 mm \(0\). Make it wider"),
    ],
)
def test_values_that_do_not_go_are_refused(values: dict[str, float], message: str) -> None:
    with pytest.raises(InputError, match=message):
        plate().outline(values)


def test_a_hole_without_its_web_is_refused_with_what_is_left() -> None:
    wide = family_from_text(PLATE.replace("diameter = 4", "diameter = 7"), "plate")
    # 20 high: 10 - 3.5 leaves 6.5; 10 from the end less 3.5 leaves 6.5; between them 10 - 7 = 3.
    wide.outline()
    closer = family_from_text(PLATE.replace("diameter = 4", "diameter = 9"), "plate")
    with pytest.raises(InputError, match="less than 2 mm of steel between"):
        closer.outline()
    wider = family_from_text(PLATE.replace("diameter = 4", "diameter = 17"), "plate")
    with pytest.raises(InputError, match=r"a pin hole of 17 mm with 2 mm.*1\.5 mm would be left"):
        wider.outline()


def test_what_is_left_is_never_rounded_up_to_what_is_needed() -> None:
    """A hole of 16.1 in a plate of 20 leaves 1.95, which 2.0 would not tell from the 2 needed."""
    hole = family_from_text(PLATE.replace("diameter = 4", "diameter = 16.1"), "plate")
    with pytest.raises(InputError, match=r"; 1\.9 mm would be left"):
        hole.outline()


def test_a_radius_without_room_is_refused() -> None:
    with pytest.raises(InputError, match="no room near"):
        family_from_text(PLATE.replace("round = 3", "round = 30"), "plate").outline()


def test_a_radius_where_the_edge_folds_straight_back_is_refused() -> None:
    # (0, 20) to (0, 0) and back up to (0, 40): no circle touches both inside them.
    folded = PLATE.replace('x = "width"\ny = 0', "x = 0\ny = 40")
    with pytest.raises(InputError, match=r"no room near x 0\.0, y 0\.0"):
        family_from_text(folded, "plate").outline()


def test_a_radius_too_small_to_see_leaves_the_corner() -> None:
    sharp = family_from_text(PLATE.replace("round = 3", "round = 0"), "plate").outline()
    for radius in ("1e-300", "1e-9"):
        text = PLATE.replace("round = 3", f"round = {radius}")
        assert family_from_text(text, "plate").outline() == sharp


def test_an_edge_that_crosses_itself_is_refused() -> None:
    # (40, 0) to (-40, 20) and (0, 20) to (0, 0) cross at (0, 10).
    crossed = PLATE.replace('x = "width"\ny = "height"', 'x = "-width"\ny = "height"')
    crossed = crossed.replace('next = "arc"\nsweep = 180', 'next = "line"')
    with pytest.raises(InputError, match=r"crosses or touches itself near x 0\.0, y 10\.0"):
        family_from_text(crossed.replace("round = 3", ""), "plate").outline({"holes": 1})


def test_a_file_of_format_1_reads_as_one_of_format_2() -> None:
    newer = family_from_text(PLATE.replace("format = 1", "format = 2"), "plate")
    assert newer.outline() == plate().outline()


def test_a_file_marked_as_format_1_may_use_what_came_later() -> None:
    size = '[[size]]\nname = "Small"\nvalues = { width = 25 }'
    assert family_from_text(PLATE + size, "plate").size_named("small").values == (("width", 25.0),)


SLIPS = [
    ("format = 1", "format = 3", "format 3, and this program knows up to 2. Use a newer version"),
    ("format = 1", "format = 0", "format 0. Mend it"),
    ("format = 1", "format = 1.0", "“format”: it has to be a whole number"),
    ("format = 1", "format = true", "“format”: it has to be a whole number"),
    ("format = 1", "", "“format”: it is missing"),
    ('name = "Plate"', "name = 3", "“name”: it has to be a text"),
    ("default = 40", "default = 4", "parameter 1: “default”: it is not between low and high"),
    ("default = 40", "default = nan", "“default”: it has to be a number"),
    ("default = 40", 'default = "40"', "“default”: it has to be a number"),
    ('unit = "mm"', 'unit = "inch"', "“unit”: it has to be one of mm, deg, none"),
    ("whole = true", "whole = 1", "“whole”: it has to be true or false"),
    ('key = "width"', 'key = "min"', "“min” cannot be a name"),
    ('key = "width"', 'key = "i"', "“i” cannot be a name"),
    ('key = "width"', 'key = "two words"', "“two words” cannot be a name"),
    ('key = "holes"', 'key = "width"', "two parameters have one key"),
    ('height = "width / 2"', 'height = "depth / 2"', "uses “depth”, which nothing above it gives"),
    ('height = "width / 2"', 'height = "height / 2"', "uses “height”, which nothing above"),
    ('height = "width / 2"', 'width = "1"', "a value has a parameter's name|uses “height”"),
    ('x = "width"', 'x = "i * 2"', "uses “i”, which nothing above it gives"),
    ('x = "width"', 'x = "exec(1)"', "node 2, x: “exec.1.” cannot be worked out"),
    ('x = "width"', "x = [1]", "“x”: it has to be a number or an expression"),
    ('next = "arc"', 'next = "line"', "“sweep”: an arc, and nothing else, has a sweep"),
    ('joint = "corner"', 'joint = "smooth"\narrive = 3', "a smooth node has one direction"),
    ('joint = "corner"', 'jiont = "corner"', "“jiont”: it is not known here"),
    ("across =", "acros =", "a mark goes across at an x, or through two points"),
    ('points = [["width / 4"],', 'points = [["1", "2", "3"],', r"a point has to be \[x, y\] or"),
    ("[[hole]]", "[hole]", "“hole”: it has to be a list of tables"),
    ("[values]", "[[values]]", "“values”: it has to be a table"),
    ("[[node]]", "[[node]", "is not TOML"),
]


@pytest.mark.parametrize(("was", "slip", "message"), SLIPS)
def test_a_slip_in_the_file_gets_one_clear_line(was: str, slip: str, message: str) -> None:
    assert was in PLATE
    with pytest.raises(InputError, match=message) as caught:
        family_from_text(PLATE.replace(was, slip, 1), "plate")
    assert len(str(caught.value).splitlines()) == 1


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[" * 5000,
        "a = " + "[" * 5000,
        "x" * 300_000,
        PLATE + "\n[[hole]]\nkind='a'\nx=1\ndiameter=1\nweb=0" * 300,
    ],
)
def test_a_hostile_file_gets_one_clear_line(text: str) -> None:
    with pytest.raises(InputError) as caught:
        family_from_text(text, "plate")
    assert len(str(caught.value)) < 400


@pytest.mark.parametrize(
    ("was", "slip", "message"),
    [
        ('count = "holes"', 'count = "holes * 1e9"', "holes in one row. At most 64"),
        ("sweep = 180", "sweep = 359", "nearly all the way round"),
        ('y = "height"', 'y = "height\\ntension"', "not arithmetic"),
        ('across = "width / 2"', "across = 1000", "does not reach x 1000"),
        ('next = "arc"\nsweep = 180', "tension = 0.1", "tension is 0.1"),
        ("x = 0\ny = 0", "x = 0\ny = '1 / (width - 40)'", "no value here"),
        ("x = 0\ny = 0", "x = 0\ny = 1e300", "a node of it lies beyond 10 m. Check the unit"),
    ],
)
def test_values_that_break_the_shape_get_one_clear_line(was: str, slip: str, message: str) -> None:
    with pytest.raises(InputError, match=message) as caught:
        family_from_text(PLATE.replace(was, slip, 1), "plate").outline()
    assert len(str(caught.value).splitlines()) == 1


def test_all_smooth_nodes_make_one_closed_curve() -> None:
    ring = """
    format = 1
    name = "Ring"
    node = [{x = 10, y = 0}, {x = 0, y = 10}, {x = -10, y = 0}, {x = 0, y = -10}]
    """
    outline = family_from_text(ring, "ring").outline()
    assert outline.area_mm2 == pytest.approx(math.pi * 100, rel=1e-3)
