"""A billet's edge as lines and arcs, run as a person would and read back with another library."""

import json
import math
from pathlib import Path

import ezdxf
import numpy as np
import pypdf
import pytest
import shapely
from ezdxf import path

from app.cli import run

SLOT = shapely.box(20, 20, 180, 40).buffer(20, quad_segs=32)  # 200 x 60 with round corners
HOLE = shapely.Point(60, 30).buffer(3.175, quad_segs=16)


@pytest.fixture
def plate(tmp_path: Path) -> Path:
    """A plate with rounded corners, a drilled hole and a flaw."""
    file = tmp_path / "plate.json"
    rings = [shapely.get_coordinates(shape)[:-1].tolist() for shape in (SLOT, HOLE)]
    flaw = [[120, 25], [130, 25], [130, 35]]
    facts = {"units": "mm", "outline": rings[0], "holes": rings[1:], "flaws": [flaw]}
    file.write_text(json.dumps(facts), encoding="utf-8")
    return file


def test_the_dxf_is_the_edge_alone_in_lines_and_arcs(
    plate: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = plate.parent / "new" / "contour.dxf"
    assert run(["contour", str(plate), "--out", str(out)]) == 0
    document = ezdxf.readfile(out)
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    assert document.header["$INSUNITS"] == 4  # DXF reference: millimetres
    assert document.header["$MEASUREMENT"] == 1
    kinds = sorted((entity.dxftype(), entity.dxf.layer) for entity in document.modelspace())
    assert kinds == [("CIRCLE", "CONTOUR"), ("LWPOLYLINE", "CONTOUR"), ("LWPOLYLINE", "FLAWS")]
    (edge,) = document.modelspace().query('LWPOLYLINE[layer=="CONTOUR"]')
    assert edge.closed
    bulges = [bulge for *_, bulge in edge.get_points("xyb")]
    assert len(bulges) == 8
    quarter = math.tan(math.radians(90) / 4)
    assert [b for b in bulges if b] == pytest.approx([quarter] * 4, abs=0.02)
    drawn = shapely.LinearRing([(v.x, v.y) for v in path.make_path(edge).flattening(0.001)])
    assert shapely.hausdorff_distance(drawn, SLOT.exterior, 0.01) <= 0.1
    (circle,) = document.modelspace().query("CIRCLE")
    assert circle.dxf.radius == pytest.approx(3.175, abs=1e-6)
    said = capsys.readouterr().out
    assert "4 lines and 4 arcs" in said
    assert "hole 1" in said


def test_a_narrower_tolerance_is_kept(plate: Path) -> None:
    """In inches, on an edge with noise; the DXF read back is within it."""
    facts = json.loads(plate.read_text(encoding="utf-8"))
    ring = shapely.get_coordinates(shapely.segmentize(SLOT.exterior, 2.0))[:-1]
    ring = ring + np.random.default_rng(4).uniform(-0.03, 0.03, ring.shape)
    plate.write_text(json.dumps({**facts, "outline": ring.tolist()}), encoding="utf-8")
    out = plate.parent / "contour.dxf"
    assert run(["contour", str(plate), "--out", str(out), "--tolerance", "0.002 in"]) == 0
    (edge,) = ezdxf.readfile(out).modelspace().query('LWPOLYLINE[layer=="CONTOUR"]')
    drawn = shapely.LinearRing([(v.x, v.y) for v in path.make_path(edge).flattening(0.0005)])
    assert shapely.hausdorff_distance(drawn, shapely.LinearRing(ring), 0.01) <= 0.0508 + 0.0005
    outside = shapely.Polygon(drawn).difference(shapely.Polygon(ring).buffer(0.021))
    assert outside.area < 1e-6


def test_a_pdf_and_an_svg_carry_bars_and_say_what_the_line_is(plate: Path) -> None:
    for name in ("contour.pdf", "contour.svg"):
        out = plate.parent / name
        assert run(["contour", str(plate), "--out", str(out), "--paper", "a4"]) == 0
        if name.endswith(".pdf"):
            words = " ".join(page.extract_text() for page in pypdf.PdfReader(out).pages)
        else:
            words = out.read_text(encoding="utf-8")
        assert "100 mm" in words
        assert "nowhere more than 0.02 mm outside" in " ".join(words.split())
        assert "Hatched" in words


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--tolerance", "0"], "--tolerance"),
        (["--tolerance", "-1 mm"], "--tolerance"),
        (["--paper", "napkin"], "napkin"),
    ],
)
def test_what_cannot_be_is_one_line(
    plate: Path, capsys: pytest.CaptureFixture[str], options: list[str], words: str
) -> None:
    out = str(plate.parent / "contour.dxf")
    assert run(["contour", str(plate), "--out", out, *options]) == 2
    said = capsys.readouterr().err.strip()
    assert words in said
    assert "\n" not in said


def test_the_billet_is_not_overwritten(plate: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = plate.read_bytes()
    assert run(["contour", str(plate), "--out", str(plate)]) == 2
    assert plate.read_bytes() == before
    assert run(["contour", str(plate), "--out", str(plate.parent / "c.png")]) == 2
    assert ".dxf" in capsys.readouterr().err
