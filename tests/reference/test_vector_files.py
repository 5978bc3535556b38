"""All public drawings beside the project, in place: read at their size, or refused and told why.

Sizes are those of the folder's own README (ezdxf's bounding box, svgelements at 96 px to the inch,
Shapely's polygonised line work), or are computed here by another way than the program's.
"""

import math
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import pytest
import shapely
import svgelements
from ezdxf import bbox, disassemble, path, recover

from app.files.outline_choice import read_drawing
from app.files.strokes import Imported
from geometry.errors import ToolError

MM_PER_PX = 25.4 / 96  # CSS Values 3: 1in is 96px
CLOSED = "no closed outline"


@dataclass(frozen=True, kw_only=True)
class Known:
    """What is known of a file.

    ``size`` in mm, with ``unit`` told where the file says none or one that cannot be;
    ``asked`` what the question has to name; ``refused`` why it is none; ``area`` of the outer edge.
    """

    size: tuple[float, float] | None = None
    unit: str = ""
    asked: str = ""
    refused: str = ""
    area: float | None = None
    holes: int | None = None


FRAME_W3C = (478 * MM_PER_PX, 358 * MM_PER_PX)  # its frame is a rectangle of 478 x 358 px
FRAME_RESVG = (198 * MM_PER_PX, 198 * MM_PER_PX)
ASKED = "does not say its unit"
DOUBTED = "no knife's size"

KNOWN = {
    "acadsharp_sample_AC1009_binary.dxf": Known(size=(1799.494, 253.807), unit="mm", asked=ASKED),
    "boxes_ABox.svg": Known(size=(100.2, 100.2)),
    "boxes_BottleTag.svg": Known(size=(72.2, 98.2), holes=1),
    "cadquery_gear.dxf": Known(
        size=(32.1947, 32.0238), unit="mm", asked="32.19 x 32.02 mm if in mm", area=557.9307
    ),
    "cadquery_vslot-2020_1.dxf": Known(size=(20.0, 20.0), area=176.3788, holes=1),
    "ezdxf_ASCII_R12.dxf": Known(refused=CLOSED),
    "ezdxf_Leica_Disto_S910.dxf": Known(refused="no closed outline|in space"),
    "ezdxf_Minimal_DXF_AC1009.dxf": Known(refused="no lines of an outline"),
    "ezdxf_POLI-ALL210_12.DXF": Known(refused="drawing in space"),
    "ezdxf_bin_dxf_r13.dxf": Known(refused=CLOSED),
    "ezdxf_edgeminer_1_polylines.dxf": Known(size=(50.2803, 117.2137), unit="mm", asked=DOUBTED),
    "ezdxf_forms.dxf": Known(size=(365.0, 160.0), area=math.pi / 4 * 365 * 160),
    "ezdxf_recover01.dxf": Known(size=(1052.25, 776.925), unit="mm", asked=ASKED, area=660493.29),
    "lasersaur_MechParts-v14.03.dxf": Known(size=(147.8, 124.0), unit="mm", asked=ASKED),
    "lasersaur_job-mount-panels-v14.03.dxf": Known(size=(488.0, 488.0), unit="mm", asked=ASKED),
    "lasersaur_job-mount-panels-v14.03.svg": Known(
        size=(488.0, 488.0), unit="px90", asked="457.50 x 457.50 mm .*488.00 x 488.00 mm .*90"
    ),
    "libredwg_2007_Polyline.dxf": Known(refused=CLOSED),
    "nanosvg_drawing.svg": Known(size=(195.0237, 159.3843), unit="px", asked=ASKED),
    "resvg_nested-svg-with-rect-and-viewBox-1.svg": Known(size=FRAME_RESVG, unit="px", asked=ASKED),
    "resvg_rect_mm-values.svg": Known(size=FRAME_RESVG, unit="px", asked=ASKED),
    "skym_openscad_export.dxf": Known(size=(40.0, 40.0), unit="mm", asked=ASKED, area=1600.0),
    "skym_splineA.dxf": Known(refused=CLOSED),
    "skym_squareandcircle.dxf": Known(size=(10.0, 10.0), unit="mm", asked=DOUBTED, area=100.0),
    "svgpathtools_transforms.svg": Known(
        size=(300 * MM_PER_PX, 300 * MM_PER_PX), unit="px", asked=ASKED
    ),
    "w3c_coords-trans-01-b.svg": Known(size=FRAME_W3C, unit="px", asked=ASKED),
    "w3c_coords-units-02-b.svg": Known(size=FRAME_W3C, unit="px", asked=ASKED),
    "w3c_paths-data-02-t.svg": Known(size=FRAME_W3C, unit="px", asked=ASKED),
}


@pytest.fixture(scope="session")
def folder(shared: Path) -> Path:
    found = shared / "real" / "vector"
    if not found.is_dir():
        pytest.skip("the drawings are not beside the project")
    return found


def test_every_file_is_in_the_table(folder: Path) -> None:
    assert {file.name for file in folder.iterdir()} == set(KNOWN)


@pytest.mark.parametrize("name", KNOWN)
def test_it_is_read_at_its_size_or_refused_for_a_stated_reason(folder: Path, name: str) -> None:
    known = KNOWN[name]
    if known.asked or known.refused:
        with pytest.raises(ToolError, match=known.asked or known.refused) as said:
            read_drawing(folder / name)
        assert name in str(said.value)
        assert "\n" not in str(said.value)
    if known.size is None:
        return
    outline = read_drawing(folder / name, known.unit).outline
    x0, y0, x1, y1 = outline.polygon().bounds
    assert (x1 - x0, y1 - y0) == pytest.approx(known.size, abs=0.02)
    if known.area is not None:
        area = shapely.Polygon(outline.ring(1e-3)).area
        assert area == pytest.approx(known.area, rel=2e-5)  # flattened to 0.001
    if known.holes is not None:
        assert len(outline.holes) == known.holes


@pytest.mark.parametrize("name", [n for n, k in KNOWN.items() if k.size and n.endswith("dxf")])
def test_a_dxf_is_at_the_scale_of_ezdxf_s_own_measure(folder: Path, name: str) -> None:
    """Another way to the largest loop: all paths of the library, flattened, noded, polygonised."""
    unit = KNOWN[name].unit
    outline = read_drawing(folder / name, unit).outline
    x0, y0, x1, y1 = outline.bounds_mm
    try:
        document = ezdxf.readfile(folder / name)  # type: ignore[attr-defined]
    except ezdxf.DXFError:  # type: ignore[attr-defined]
        document, _ = recover.readfile(folder / name)
    entities = list(disassemble.recursive_decompose(document.modelspace()))
    extents = bbox.extents(entities)
    assert x1 - x0 <= extents.size.x + 0.02
    assert y1 - y0 <= extents.size.y + 0.02
    if name.startswith("acadsharp"):
        return  # its lines lie in many planes; the library draws them all from above
    flat = [
        shapely.LineString([(v.x, v.y) for v in points])
        for entity in entities
        if entity.dxftype() in ("LINE", "ARC", "CIRCLE", "ELLIPSE", "LWPOLYLINE", "POLYLINE")
        for points in [list(path.make_path(entity).flattening(0.01))]
        if len(points) > 1
    ]
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all(flat, grid_size=1e-3)]))
    pieces = shapely.get_parts(shapely.union_all([shapely.Polygon(f.exterior) for f in faces]))
    hulls = [piece.convex_hull for piece in pieces]
    left, bottom, right, top = max(hulls, key=lambda hull: hull.area).bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((right - left, top - bottom), abs=0.1)


@pytest.mark.parametrize("name", ["boxes_ABox.svg", "boxes_BottleTag.svg"])
def test_an_svg_in_millimetres_is_at_the_scale_of_its_view_box(folder: Path, name: str) -> None:
    """Width over view box is 1 mm a unit there, so the numbers of its paths are mm."""
    root = ElementTree.parse(folder / name).getroot()
    width, view = root.get("width", ""), root.get("viewBox", "").split()
    assert float(width.removesuffix("mm")) == pytest.approx(float(view[2]))
    outline = read_drawing(folder / name).outline
    boxes = [
        svgelements.Path(element.get("d", "")).bbox()
        for element in root.iter("{http://www.w3.org/2000/svg}path")
    ]
    sizes = [(right - left, bottom - top) for left, top, right, bottom in boxes]
    x0, y0, x1, y1 = outline.bounds_mm
    assert any((x1 - x0, y1 - y0) == pytest.approx(size, abs=0.02) for size in sizes)


def test_lengths_in_mm_inside_a_drawing_in_pixels_are_true(folder: Path) -> None:
    """The rectangle of 44 x 44 mm with corners of 6 mm (README), whose frame is told in pixels."""
    outline = read_drawing(folder / "resvg_rect_mm-values.svg", "px").outline
    (cutout,) = outline.polygon(1e-3).interiors
    x0, y0, x1, y1 = cutout.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((44, 44), abs=1e-3)
    area = 44 * 44 - (4 - math.pi) * 36  # four corners of 6 mm
    assert shapely.Polygon(cutout).area == pytest.approx(area, abs=0.1)


def test_the_two_drawings_of_one_job_agree(folder: Path) -> None:
    """The DXF in mm and the SVG at 90 px to the inch, its true scale (README): the same steel."""
    drawn: list[Imported] = [
        read_drawing(folder / f"lasersaur_job-mount-panels-v14.03.{kind}", unit)
        for kind, unit in (("dxf", "mm"), ("svg", "px90"))
    ]
    one, other = (read.outline for read in drawn)
    assert one.area_mm2 == pytest.approx(other.area_mm2, rel=1e-4)
    assert len(one.holes) == len(other.holes)
    assert len(one.cutouts) == len(other.cutouts)


def test_what_was_mended_in_a_damaged_file_is_told(folder: Path) -> None:
    read = read_drawing(folder / "ezdxf_recover01.dxf", "mm")
    assert any("damaged" in note and "68 places" in note for note in read.notes)  # README: 68 fixes
    assert {"words, 63 times"} <= {line.split(":")[0] for line in read.told()}  # README: TEXT 63
