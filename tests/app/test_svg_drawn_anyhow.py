"""SVG files as drawing programs write them: paths, transforms, uses, hidden things."""

import math
from pathlib import Path

import pytest
import shapely

from app.files.strokes import Imported
from app.files.svg_file import read_svg
from geometry.curves import Arc, Cubic

MM = 'width="200mm" height="100mm" viewBox="0 0 200 100"'  # a user unit is a millimetre
NAMES = 'xmlns="http://www.w3.org/2000/svg" xmlns:x="http://www.w3.org/1999/xlink"'
BAR = '<rect width="120" height="30"/>'
BIG = '<rect width="199" height="99"/>'


def read(folder: Path, body: str, frame: str = MM, unit: str | None = None) -> Imported:
    path = folder / "part.svg"
    path.write_text(f"<svg {NAMES} {frame}>{body}</svg>", "utf-8")
    return read_svg(path, unit=unit)


def size(read_in: Imported) -> tuple[float, float]:
    x0, y0, x1, y1 = read_in.outline.polygon(1e-4).bounds
    return x1 - x0, y1 - y0


STADIUM = 800 + 100 * math.pi  # 40 x 20 and two half circles of radius 10
PATHS = [  # path, width, height, area; sums by hand
    ("M10 0H50A10 10 0 0150 20H10A10 10 0 0110 0Z", 60, 20, STADIUM),  # flags run together
    ("m10 0h40a10 10 0 010 20h-40a10,10,0,0,1,0-20z", 60, 20, STADIUM),
    ("m10 10 120 0 0 30 -120 0z", 120, 30, 3600),  # lines are meant after a move
    ("M1e1 1E+1 1.3e2,10 130 40 1e1.4e2z", 120, 30, 3600),  # numbers run together
    ("M0 0h120v30H0V0z", 120, 30, 3600),
    # a parabola over 60 whose control is 30 off is 15 high: 2/3 x 60 x 15 = 600; T mirrors it
    ("M0 30Q30 0 60 30T120 30V60H0z", 120, 45, 3600),
    ("m0 30q30-30 60 0t60 0v30h-120z", 120, 45, 3600),
    # a cubic with controls (0 or 60, 20) over 60 is 15 high and holds 3/5 x 60 x 20 = 720
    ("M0 20C0 0 60 0 60 20S120 40 120 20V50H0z", 120, 45, 3600),
    ("m0 20c0-20 60-20 60 0s60 20 60 0v30h-120z", 120, 45, 3600),
    ("M0 0S60 0 60 0 120 0 120 0V30H0Z", 120, 30, 3600),  # smooth after nothing to be smooth to
    ("M0 0T60 0 120 0V30H0Z", 120, 30, 3600),
    ("M0 0A0 5 0 0 1 120 0V30H0Z", 120, 30, 3600),  # no radius: a line
    # radii too small are grown to fit: half a circle over 100
    ("M0 60A1 1 0 0 1 100 60Z", 100, 50, math.pi * 1250),
]


@pytest.mark.parametrize(("path", "width", "height", "area"), PATHS)
def test_every_path_command_is_followed(
    tmp_path: Path, path: str, width: float, height: float, area: float
) -> None:
    found = read(tmp_path, f'<path d="{path}"/>')
    assert size(found) == pytest.approx((width, height), abs=1e-3)
    assert found.outline.area_mm2 == pytest.approx(area, rel=1e-5)


def test_circles_stay_arcs_and_ellipses_become_curves(tmp_path: Path) -> None:
    path = f'<path d="{PATHS[0][0]}"/>'
    plain, mirrored, leaning = (
        read(tmp_path, f'<g transform="{how}">{path}</g>').outline
        for how in ("rotate(30) scale(2)", "scale(-2 2)", "matrix(1 0 .5 1 0 0)")
    )
    for outline in (plain, mirrored):
        arcs = [piece for piece in outline.chain if isinstance(piece, Arc)]
        assert [arc.radius_mm for arc in arcs] == pytest.approx([20, 20])
        assert outline.area_mm2 == pytest.approx(4 * STADIUM)
    assert any(isinstance(piece, Cubic) for piece in leaning.chain)
    assert leaning.area_mm2 == pytest.approx(STADIUM, rel=1e-5)  # leaning keeps areas
    x0, _, x1, _ = leaning.polygon(1e-4).bounds
    # x + y / 2 round a circle of radius 10 reaches 10 times the root of 1 + 1/4
    assert x1 - x0 == pytest.approx(40 + 20 * math.sqrt(1.25), abs=1e-3)


SEEN = [  # body, width, height
    (f'<g transform="translate(50 20) rotate(90) scale(.5)">{BAR}</g>', 15, 60),
    (f'<g style="transform: scale(0.5)">{BAR}</g>', 60, 15),
    ('<rect transform="matrix(0 1 -1 0 90 0)" width="60" height="40"/>', 40, 60),
    ('<rect width="60%" height="30%"/>', 120, 30),
    (f'<svg x="10" y="10" width="60" height="60" viewBox="0 0 120 120">{BAR}</svg>', 60, 15),
    (f'<defs><g id="a">{BAR}</g></defs><use x:href="#a" transform="scale(.5)" x="9"/>', 60, 15),
    (f'<use href="#a"/><defs><g id="a">{BAR}</g></defs>', 120, 30),  # told after it is used
    ('<symbol id="s" viewBox="0 0 10 5"><rect width="10" height="5"/></symbol>'
     '<use href="#s" width="80" height="80"/>', 80, 40),
    ('<defs><svg id="s" viewBox="0 0 10 5" width="80" height="40"><rect width="10" height="5"/>'
     '</svg></defs><use href="#s"/>', 80, 40),
    ('<polygon points="0,0 60 0 60,40,0,40"/>', 60, 40),
    ('<polyline points="0 0 60 0 60 40 0 40 0 0"/>', 60, 40),
    ('<ellipse cx="50" cy="50" rx="40" ry="10"/>', 80, 20),
    ('<circle r="30"/>', 60, 60),
    ('<rect width="60" height="40" rx="20"/>', 60, 40),
    (f'<a x:href="there"><switch><g>{BAR}</g></switch></a>', 120, 30),
    (f'<!-- a note --><title>t</title><metadata><b/></metadata>{BAR}', 120, 30),
]  # fmt: skip


@pytest.mark.parametrize(("body", "width", "height"), SEEN)
def test_it_is_read_where_it_is_seen(
    tmp_path: Path, body: str, width: float, height: float
) -> None:
    assert size(read(tmp_path, body)) == pytest.approx((width, height), abs=1e-3)


CLEAR = [  # CSS Color 4: the last of four numbers, or what stands behind a stroke, is the alpha
    "NONE", "Transparent", "#0000", "#12345600", "rgba(0,0,0,0)", "rgba(9, 9, 9, 0.0)",
    "rgb(0 0 0 / 0)", "RGB(1 2 3 / 0%)", "hsla(0,0%,0%,0)", "hsl(120 50% 50% / 0.0)",
]  # fmt: skip
SOLID = ["black", "#000", "#000f", "#123456ff", "rgb(0,0,0)", "rgb(0 0 0)", "hsl(0,0%,0%)",
         "rgba(0,0,0,0.5)", "rgb(0 0 0 / 10%)", "url(#x)", "currentColor"]  # fmt: skip
UNSEEN = [
    f"<defs>{BIG}</defs>",
    f'<g display="none">{BIG}</g>',
    f'<g style="display:none" id="layer1">{BIG}</g>',
    f"<style>.h{{display:none}}</style><g class='h'>{BIG}</g>",
    f"<g class='h'>{BIG}</g><defs><style>.h{{display:none !important}}</style></defs>",
    f"<g style='display:none!important'>{BIG}</g>",
    f'<g visibility="hidden">{BIG}</g>',
    f'<g opacity="0">{BIG}</g>',
    f'<g opacity="0.00">{BIG}</g>',
    f'<g fill="none" stroke="none">{BIG}</g>',
    f'<g fill="none" stroke="transparent">{BIG}</g>',
    f'<g fill="none" stroke="black" stroke-opacity="0%">{BIG}</g>',
    *(f'<g fill="{clear}" stroke="{clear}">{BIG}</g>' for clear in CLEAR),
    *(f'<g fill="none" stroke="{clear}">{BIG}</g>' for clear in CLEAR),
    *(f'<g fill="{clear}">{BIG}</g>' for clear in CLEAR),
    *(f'<g fill="none" stroke="black" stroke-width="{w}">{BIG}</g>' for w in ("0", "0px", "0.0%")),
    '<g opacity="0"><rect width="199" height="99" opacity="1"/></g>',
    '<g style="opacity:0"><g><rect width="199" height="99" style="opacity:1"/></g></g>',
    f'<g opacity="0"><g opacity="50%">{BIG}</g></g>',
    f'<g opacity="1e-12">{BIG}</g>',
    f'<g opacity="0"><use href="#b" opacity="1"/></g><defs><g id="b">{BIG}</g></defs>',
    f'<g visibility="HIDDEN">{BIG}</g>',
    f'<clipPath id="c">{BIG}</clipPath>',
    f'<defs><clipPath id="c">{BIG}</clipPath></defs>',
    f'<mask id="m">{BIG}</mask>',
    f'<marker id="m">{BIG}</marker>',
    f'<pattern id="m">{BIG}</pattern>',
    f'<symbol id="s">{BIG}</symbol>',
    '<use href="#nowhere"/><use href="other.svg#a"/>',
    '<image width="199" height="99" href="picture.png"/>',
    '<text x="3" y="9" font-size="90">word</text>',
]


@pytest.mark.parametrize("body", UNSEEN)
def test_what_is_not_seen_as_a_line_is_not_read(tmp_path: Path, body: str) -> None:
    for both in (body + BAR, BAR + body):
        assert size(read(tmp_path, both)) == pytest.approx((120, 30), abs=1e-6)


@pytest.mark.parametrize("paint", SOLID)
def test_what_has_any_ink_is_read(tmp_path: Path, paint: str) -> None:
    for painted in (f'fill="none" stroke="{paint}"', f'fill="{paint}" stroke="none"',
                    f'fill="{paint}" stroke-width="0"'):  # fmt: skip
        assert size(read(tmp_path, f"<g {painted}>{BIG}</g>{BAR}")) == pytest.approx((199, 99))


def test_what_is_shown_within_something_switched_off_is_read(tmp_path: Path) -> None:
    """Unlike opacity, which holds for all that a group has in it."""
    inner = BIG.replace("/>", ' visibility="visible"/>')
    body = f'<g visibility="hidden" opacity="0.5">{inner}</g>{BAR}'
    assert size(read(tmp_path, body)) == pytest.approx((199, 99))


def test_what_is_left_out_is_named(tmp_path: Path) -> None:
    """y counts up from the lower left corner of the outline, which is 30 down."""
    body = (
        f'{BAR}<text x="3" y="9">word</text><image x="9" width="9" height="9" href="p.png"/>'
        '<g visibility="hidden"><circle cx="50" cy="10" r="4"/></g>'
        '<path d="M10 10H20M150 10h20"/><circle cx="100" cy="80" r="9"/>'
    )
    told = read(tmp_path, body).told()
    assert [line.partition(":")[0] for line in told] == [
        "words",
        "picture",
        "hidden circle",
        "open path inside",
        "open path beside the outline",
        "closed circle beside the outline",
    ]
    assert told[3].endswith("x 15.0, y 20.0")
    assert told[5].endswith("x 100.0, y -50.0")


def test_only_lines_without_ink_are_better_than_none(tmp_path: Path) -> None:
    assert size(read(tmp_path, f'<g fill="none">{BAR}</g>')) == pytest.approx((120, 30))


@pytest.mark.parametrize(
    ("frame", "mm"),
    [
        ('width="100mm" viewBox="0 0 200 100"', 0.5),  # the other side follows from the view box
        ('height="5cm" viewBox="0 0 200 100"', 0.5),
        ('width="800Q" height="400q" viewBox="0 0 200 100"', 1.0),  # quarters of a millimetre
        ('width="6pc" height="3pc" viewBox="0,0,20,10"', 25.4 / 20),  # a pica is a sixth of an inch
        ('width="2e2mm" height="1e2mm" viewBox=" 0 0  200 100 "', 1.0),
        ('width="200mm" height="200mm" viewBox="0 0 200 100"', 1.0),  # fitted, in the middle
        ('width="200mm" height="200mm" viewBox="0 0 200 100" preserveAspectRatio="xMidYMid slice"',
         2.0),
        ('width="200mm" height="100mm" viewBox="-50 -20 200 100"', 1.0),
    ],
)  # fmt: skip
def test_physical_frames_of_every_spelling_are_believed(
    tmp_path: Path, frame: str, mm: float
) -> None:
    assert size(read(tmp_path, BAR, frame)) == pytest.approx((120 * mm, 30 * mm), abs=1e-6)


def test_a_unit_told_to_a_drawing_that_states_its_size_is_not_used(tmp_path: Path) -> None:
    found = read(tmp_path, BAR, unit="in")
    assert size(found) == pytest.approx((120, 30))
    assert any("not used" in note for note in found.notes)


def test_an_opening_with_a_hole_s_shape_is_one_whatever_it_is_drawn_as(tmp_path: Path) -> None:
    """One path with its openings in it; a circle as arcs, an ellipse and a rounded rectangle."""
    body = (
        '<path fill-rule="evenodd" d="M0 0H120V30H0ZM10 10h10v10h-10z'
        'm20 5a5 5 0 1 0 10 0a5 5 0 1 0 -10 0z"/><ellipse cx="60" cy="15" rx="4" ry="4"/>'
        '<rect x="80" y="10" width="6" height="6" rx="3"/>'
    )
    outline = read(tmp_path, body).outline
    assert sorted(hole.diameter_mm for hole in outline.holes) == pytest.approx([6, 8, 10])
    (cutout,) = outline.cutouts
    assert shapely.Polygon([piece.start for piece in cutout]).area == pytest.approx(100)


def test_a_drawing_far_from_its_origin_is_read_as_near_to_it(tmp_path: Path) -> None:
    far = f'<g transform="translate(450000 5200000)">{BAR}<circle cx="20" cy="10" r="3"/></g>'
    outline = read(tmp_path, far).outline
    assert outline.bounds_mm == pytest.approx((0, 0, 120, 30), abs=1e-3)
    (hole,) = outline.holes
    assert (hole.x_mm, hole.y_mm, hole.diameter_mm) == pytest.approx((20, 20, 6), abs=1e-3)


@pytest.mark.parametrize("view", ["", 'viewBox="0 0 50 50" width="50" height="50"'])
def test_a_drawing_in_the_drawing_is_moved(tmp_path: Path, view: str) -> None:
    """The hole lies at 20 + 20 and 20 + 5 down, the bar at 10 and 10: 30 along, 15 down of 30."""
    body = (
        f'<svg x="10" y="10">{BAR}</svg><svg x="20" y="20" {view}><circle cx="20" cy="5" r="4"/>'
        "</svg>"
    )
    (hole,) = read(tmp_path, body).outline.holes
    assert (hole.x_mm, hole.y_mm) == pytest.approx((30, 15))
