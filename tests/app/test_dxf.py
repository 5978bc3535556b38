"""The DXF read back and audited."""

import io
import math
from collections.abc import Callable
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf import path
from ezdxf.document import Drawing as Document
from ezdxf.lldxf.encoding import decode_dxf_unicode

from app.document.drawing import Drawing, Polyline
from app.document.pattern import closed_chain
from app.exports.dxf import bare_dxf_bytes, dxf_bytes, write_dxf
from app.files.errors import FileError
from geometry.curves import Arc, Cubic, Line
from geometry.family import family_named

Make = Callable[..., Drawing]


@pytest.fixture
def document(make_pattern: Make) -> Document:
    return ezdxf.read(io.StringIO(dxf_bytes(make_pattern()).decode("cp1252")))


def test_the_file_says_millimetres(document: Document, make_pattern: Make) -> None:
    assert b"$INSUNITS" in dxf_bytes(make_pattern())
    assert document.header["$INSUNITS"] == 4  # DXF reference: 4 is millimetres
    assert document.header["$MEASUREMENT"] == 1
    assert document.dxfversion == "AC1015"  # R2000


def test_an_audit_finds_nothing(document: Document) -> None:
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes


def test_the_profile_is_one_closed_polyline_where_the_layout_has_it(
    document: Document, make_pattern: Make
) -> None:
    (profile,) = [
        i for i in make_pattern().items if isinstance(i, Polyline) and i.layer == "PROFILE"
    ]
    (line,) = document.modelspace().query('LWPOLYLINE[layer=="PROFILE"]')
    assert line.closed
    points = np.array([(v.x, v.y) for v in path.make_path(line).flattening(0.001)])
    distance = shapely.hausdorff_distance(
        shapely.LinearRing(points), shapely.LinearRing(profile.points_mm)
    )
    assert distance < 0.01
    assert shapely.LinearRing(points).is_ccw  # y up: not its mirror image


def test_arcs_are_bulges_in_the_few_pieces_of_the_outline(document: Document) -> None:
    """The blade of the fixture: four straight sides and one arc of 30 degrees, clockwise there."""
    (line,) = document.modelspace().query('LWPOLYLINE[layer=="PROFILE"]')
    bulges = [bulge for *_, bulge in line.get_points("xyb")]
    assert len(bulges) == 5
    bent = [bulge for bulge in bulges if bulge]
    assert bent == pytest.approx([math.tan(math.radians(30.0) / 4)])  # left turns are positive


def read_bare(line: Polyline) -> Document:
    document = ezdxf.read(io.StringIO(bare_dxf_bytes([line]).decode("cp1252")))
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    return document


def test_a_circle_in_two_halves_is_a_circle() -> None:
    west, east = (-3.0, 5.0), (7.0, 5.0)
    halves = (
        Arc(start=west, end=east, sweep_rad=-math.pi),
        Arc(start=east, end=west, sweep_rad=-math.pi),
    )
    (circle,) = read_bare(closed_chain("CONTOUR", halves)).modelspace()
    assert circle.dxftype() == "CIRCLE"
    assert tuple(circle.dxf.center)[:2] == (2.0, 5.0)
    assert circle.dxf.radius == 5.0


def test_an_open_chain_keeps_its_last_point() -> None:
    chain = (
        Line(start=(0.0, 0.0), end=(10.0, 0.0)),
        Arc(start=(10.0, 0.0), end=(20.0, 0.0), sweep_rad=math.pi),
    )
    line = Polyline(layer="MARKS", points_mm=((0.0, 0.0), (10.0, 0.0), (20.0, 0.0)), chain=chain)
    (read,) = read_bare(line).modelspace()
    assert not read.closed
    vertices = np.array(read.get_points("xyb"))  # the bulge of a half circle: tan 45 degrees
    assert vertices == pytest.approx(np.array([(0, 0, 0), (10, 0, 1), (20, 0, 0)]))


@pytest.mark.parametrize("key", ["kitchen_chef", "neck_knife"])
def test_curves_become_few_arcs_within_five_thousandths(key: str) -> None:
    outline = family_named(key).outline({})
    assert any(isinstance(piece, Cubic) for piece in outline.chain)
    (line,) = read_bare(closed_chain("PROFILE", outline.chain)).modelspace()
    assert line.closed
    assert len(line) < 80
    drawn = shapely.LinearRing([(v.x, v.y) for v in path.make_path(line).flattening(1e-4)])
    true = shapely.LinearRing(outline.ring(1e-4))
    for one, other in ((drawn, true), (true, drawn)):
        spots = shapely.points(shapely.get_coordinates(one))
        assert shapely.distance(other, spots).max() <= 0.005 + 4e-4


def test_holes_are_circles_of_their_size(document: Document) -> None:
    circles = document.modelspace().query('CIRCLE[layer=="HOLES"]')
    assert sorted(2 * c.dxf.radius for c in circles) == pytest.approx([3.175, 6.35])


def test_layers_have_their_dashes_and_nothing_lies_on_layer_0(document: Document) -> None:
    assert not document.modelspace().query('*[layer=="0"]')
    assert document.layers.get("BILLET").dxf.linetype == "BILLET"
    assert document.layers.get("PROFILE").dxf.lineweight == 20


def test_bars_measure_true(document: Document) -> None:
    bars = document.modelspace().query('LINE[layer=="RULERS"]')
    lengths = sorted(bar.dxf.start.distance(bar.dxf.end) for bar in bars)
    assert lengths == pytest.approx([100.0, 100.0, 101.6, 101.6], abs=1e-6)


def test_letters_beyond_the_code_page_survive(make_pattern: Make, tmp_path: Path) -> None:
    write_dxf(make_pattern(name="Нож Ω"), tmp_path / "a.dxf")
    again = ezdxf.readfile(tmp_path / "a.dxf")
    texts = [decode_dxf_unicode(text.dxf.text) for text in again.modelspace().query("TEXT")]
    assert "Нож Ω" in texts


def test_a_folder_that_cannot_be_written_is_said(make_pattern: Make, tmp_path: Path) -> None:
    with pytest.raises(FileError, match="could not be written"):
        write_dxf(make_pattern(), tmp_path / "none" / "a.dxf")
