"""The DXF read back and audited."""

import io
from collections.abc import Callable
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf.document import Drawing as Document
from ezdxf.lldxf.encoding import decode_dxf_unicode

from app.document.drawing import Drawing, Polyline
from app.exports.dxf import dxf_bytes, write_dxf
from app.files.errors import FileError

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
    points = np.array([(v.x, v.y) for v in line.vertices_in_wcs()])
    distance = shapely.hausdorff_distance(
        shapely.LinearRing(points), shapely.LinearRing(profile.points_mm)
    )
    assert distance < 0.01
    assert shapely.LinearRing(points).is_ccw  # y up: not its mirror image


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
