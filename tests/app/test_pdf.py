"""The PDF read back by other libraries than wrote it, and measured as pixels like a print."""

import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
import pytest
import shapely
from numpy.typing import NDArray

from app.document.drawing import Circle, Drawing, Polyline
from app.document.paper import NAMED, Paper, paper_named
from app.exports.pages import FOOT_MM as PAGE_FOOT_MM
from app.exports.pages import SIDE_MM, laid_out
from app.exports.pdf import pdf_bytes, write_pdf
from app.exports.rulers import APART_MM, FOOT_MM, LEFT_MM
from app.files.errors import FileError
from geometry.errors import InputError

DPI = 600
PX_PER_MM = DPI / 25.4
TOLERANCE_MM = 0.05
MM_PER_PT = 25.4 / 72  # ISO 32000-1, 8.3.2.3

Make = Callable[..., Drawing]


def ink_of(data: bytes, page: int, dpi: int = DPI) -> NDArray[np.float64]:
    """One page as darkness 0..1, row 0 at the foot, so that index / PX_PER_MM is mm."""
    bitmap = pypdfium2.PdfDocument(data)[page].render(scale=dpi / 72, grayscale=True)
    return 1.0 - np.flipud(bitmap.to_numpy().reshape(bitmap.height, bitmap.width)) / 255.0


def bar_mm(ink: NDArray[np.float64], along_mm: tuple[float, float], at_mm: float) -> float:
    """Length of the dark run in a row of pixels at a height, within a stretch of it."""
    row = ink[round(at_mm * PX_PER_MM - 0.5)]
    lo, hi = (round(end * PX_PER_MM) for end in along_mm)
    return float(row[lo:hi].sum()) / PX_PER_MM


def end_to_end_mm(ink: NDArray[np.float64], along_mm: tuple[float, float], at_mm: float) -> float:
    """Distance between the middles of the first and the last tick crossed at a height."""
    row = ink[round(at_mm * PX_PER_MM - 0.5)]
    lo, hi = (round(end * PX_PER_MM) for end in along_mm)
    dark = row[lo:hi] > 0.5
    edges = np.flatnonzero(np.diff(np.concatenate([[0], dark.astype(int), [0]])))
    starts, ends = edges[::2], edges[1::2]
    return float((starts[-1] + ends[-1]) / 2 - (starts[0] + ends[0]) / 2) / PX_PER_MM


@pytest.mark.parametrize("name", NAMED)
def test_every_page_is_exactly_the_paper(make_pattern: Make, name: str) -> None:
    paper = NAMED[name]
    data, count = pdf_bytes(make_pattern(length_mm=330.0), paper=paper)
    reader = pypdf.PdfReader(io.BytesIO(data))
    assert len(reader.pages) == count
    sizes = {(float(p.mediabox.width), float(p.mediabox.height)) for p in reader.pages}
    assert len(sizes) == 1
    for got, asked in zip(
        sorted(sizes.pop()), sorted((paper.width_mm, paper.height_mm)), strict=True
    ):
        assert got * MM_PER_PT == pytest.approx(asked, abs=0.001)
    assert all(float(page.user_unit) == 1.0 for page in reader.pages)


def test_the_dialog_is_asked_not_to_scale(make_pattern: Make) -> None:
    data, _ = pdf_bytes(make_pattern(name="Älv"), paper=NAMED["a4"])
    reader = pypdf.PdfReader(io.BytesIO(data))
    assert reader.root_object["/ViewerPreferences"]["/PrintScaling"] == "/None"  # type: ignore[index]
    assert reader.metadata is not None
    assert reader.metadata.title == "Älv"


def test_the_same_drawing_gives_the_same_bytes(make_pattern: Make) -> None:
    first, _ = pdf_bytes(make_pattern(), paper=NAMED["a4"])
    assert pdf_bytes(make_pattern(), paper=NAMED["a4"])[0] == first


def test_words_are_there_and_their_font_is_embedded(make_pattern: Make) -> None:
    data, _ = pdf_bytes(make_pattern(name="Нож Ωmega ½"), paper=NAMED["letter"])
    page = pypdf.PdfReader(io.BytesIO(data)).pages[0]
    text = page.extract_text()
    for words in ("Нож Ωmega ½", "2026-03-07", "scale 1:1", "steel 3.2 mm thick", "100 mm", "4 in",
                  "Measure both bars before cutting", "middle of the line", "6.35 mm (1/4 in)",
                  "ask locally"):  # fmt: skip
        assert words in text, words
    fonts = page["/Resources"]["/Font"]  # type: ignore[index]
    used = [font.get_object() for font in fonts.values()]
    embedded = [f for f in used if "/FontDescriptor" in f and "/FontFile2" in f["/FontDescriptor"]]
    assert embedded


@pytest.mark.parametrize(("name", "length_mm"), [("a4", 180.0), ("letter", 180.0), ("a4", 420.0)])
def test_bars_measure_true_on_every_page(make_pattern: Make, name: str, length_mm: float) -> None:
    """100 mm and 4 in = 101.6 mm, in x and in y, each page rasterised at 600 dpi."""
    data, count = pdf_bytes(make_pattern(length_mm=length_mm), paper=NAMED[name])
    assert (count > 1) == (length_mm > 300)
    for page in range(count):
        ink = ink_of(data, page)
        for axis, pixels in ((0, ink), (1, ink.T)):
            start, other = (SIDE_MM + LEFT_MM, PAGE_FOOT_MM + 5.2) if axis == 0 else (
                PAGE_FOOT_MM + FOOT_MM + 2.0, SIDE_MM + 5.8)  # fmt: skip
            span = (start - 1.0, start + 103.0)
            inch, metric = other, other + APART_MM
            assert bar_mm(pixels, span, metric) == pytest.approx(100.0, abs=TOLERANCE_MM)
            assert bar_mm(pixels, span, inch) == pytest.approx(101.6, abs=TOLERANCE_MM)
            # and between the end ticks' middles
            assert end_to_end_mm(pixels, span, metric + 2.7) == pytest.approx(100, abs=TOLERANCE_MM)
            assert end_to_end_mm(pixels, span, inch - 2.3) == pytest.approx(101.6, abs=TOLERANCE_MM)


def profile_on(
    drawing: Drawing, paper: Paper, page: int
) -> tuple[NDArray[np.float64], tuple[float, float, float, float]]:
    """The profile's points on a page in mm, and the page's window, from the page's corner."""
    pages = laid_out(drawing, paper)
    found = pages.pages[page]
    (line,) = [i for i in found.content if isinstance(i, Polyline) and i.layer == "PROFILE"]
    left, bottom, right, top = found.window_mm
    dx, dy = pages.corner_mm
    return np.add(line.points_mm, (dx, dy)), (left + dx, bottom + dy, right + dx, top + dy)


@pytest.mark.parametrize(("name", "length_mm"), [("a4", 180.0), ("letter", 420.0)])
def test_the_printed_outline_is_the_polygon(
    make_pattern: Make, name: str, length_mm: float
) -> None:
    """The ink's middle across the line lies on the profile: sampled along it, 600 dpi."""
    drawing = make_pattern(length_mm=length_mm)
    data, count = pdf_bytes(drawing, paper=NAMED[name])
    measured = 0
    for page in range(count):
        points, window = profile_on(drawing, NAMED[name], page)
        ink, ring = ink_of(data, page), shapely.LinearRing(points)
        inner = shapely.box(*window).buffer(-2.0)
        for at in np.arange(1.0, ring.length, 7.3):
            here, ahead = ring.interpolate(at), ring.interpolate(at + 0.01)
            if not inner.contains(here):
                continue
            normal = np.array([ahead.y - here.y, here.x - ahead.x]) / 0.01
            across = np.linspace(-0.25, 0.25, 101)
            xy = np.array([here.x, here.y]) + across[:, None] * normal
            column, row = np.floor(xy * PX_PER_MM).astype(int).T
            dark = ink[row, column]
            if not 0.15 < dark.sum() * 0.005 < 0.27:  # another line crosses here, or a corner
                continue
            assert abs((dark * across).sum() / dark.sum()) < TOLERANCE_MM
            measured += 1
    assert measured > 25


def test_a_page_holds_the_blank_at_true_size(
    make_pattern: Make, make_blade: Callable[..., object]
) -> None:
    """Sizes read from the PDF's own path points, against the outline's polygon."""
    data, _ = pdf_bytes(make_pattern(), paper=NAMED["a3"])
    content = pypdf.PdfReader(io.BytesIO(data)).pages[0].get_contents()
    assert content is not None
    paths: list[list[tuple[float, float]]] = []
    for operands, operator in content.operations:
        if operator == b"m":
            paths.append([])
        if operator in (b"m", b"l"):
            paths[-1].append((float(operands[0]), float(operands[1])))
    longest = np.array(max(paths, key=len)) * MM_PER_PT
    area = shapely.Polygon(longest).area
    polygon = make_blade().polygon(0.001)  # type: ignore[attr-defined]
    assert area == pytest.approx(shapely.Polygon(polygon.exterior).area, rel=1e-4)


def test_a_correction_stretches_the_drawing_and_not_the_page(make_pattern: Make) -> None:
    """A printer that prints 99 mm for 100 across and 100.5 up: bars drawn 100/0.99, 100/1.005."""
    data, _ = pdf_bytes(make_pattern(), paper=NAMED["a4"], correct_x=0.99, correct_y=1.005)
    page = pypdf.PdfReader(io.BytesIO(data)).pages[0]
    assert sorted((float(page.mediabox.width), float(page.mediabox.height))) == pytest.approx(
        [210 / MM_PER_PT, 297 / MM_PER_PT], abs=0.001
    )
    assert "× 1.01010 across and × 0.99502 up" in page.extract_text()
    ink = ink_of(data, 0)
    y_mm = PAGE_FOOT_MM + (5.2 + APART_MM + 2.7) / 1.005
    x_mm = SIDE_MM + LEFT_MM / 0.99
    across = end_to_end_mm(ink, (x_mm - 1, x_mm + 103), y_mm)
    assert across == pytest.approx(100 / 0.99, abs=TOLERANCE_MM)
    x_mm = SIDE_MM + (5.8 + APART_MM + 2.7) / 0.99
    y_mm = PAGE_FOOT_MM + (FOOT_MM + 2.0) / 1.005
    up = end_to_end_mm(ink.T, (y_mm - 1, y_mm + 103), x_mm)
    assert up == pytest.approx(100 / 1.005, abs=TOLERANCE_MM)


@pytest.mark.parametrize(
    ("ratio", "cause"),
    [
        (0.9407, "A4 page was fitted on Letter"),
        (0.75, "72 and 96"),
        (0.9604, "1/6 in"),
        (25.4, "inches and"),
        (0.5, "dialog scaled"),
        (float("nan"), "dialog"),
    ],
)
def test_a_scaled_print_is_not_corrected(make_pattern: Make, ratio: float, cause: str) -> None:
    with pytest.raises(InputError, match=cause):
        pdf_bytes(make_pattern(), paper=NAMED["a4"], correct_x=ratio)


def test_nothing_is_drawn_where_printers_cannot_reach(make_pattern: Make) -> None:
    for length_mm, paper in ((180.0, "a4"), (420.0, "letter"), (300.0, "a5")):
        data, count = pdf_bytes(make_pattern(length_mm=length_mm), paper=NAMED[paper])
        for page in range(count):
            ink = ink_of(data, page, dpi=100)
            mm = 100 / 25.4
            assert (
                ink[: int((PAGE_FOOT_MM - 3.5) * mm)].max() == 0.0
            )  # a join's cross may reach out
            edge = int((SIDE_MM - 3.5) * mm)
            assert max(ink[-edge:].max(), ink[:, :edge].max(), ink[:, -edge:].max()) == 0.0


def test_a_hole_is_printed_at_its_size(make_pattern: Make) -> None:
    drawing = make_pattern()
    data, _ = pdf_bytes(drawing, paper=NAMED["a4"])
    pages = laid_out(drawing, NAMED["a4"])
    hole = max(
        (i for i in pages.pages[0].content if isinstance(i, Circle)), key=lambda c: c.diameter_mm
    )
    ink = ink_of(data, 0)
    x_mm, y_mm = hole.x_mm + SIDE_MM, hole.y_mm + PAGE_FOOT_MM
    # a chord half a radius above the centre: 2 r cos(30 deg) = 6.35 x 0.8660 = 5.499 mm
    chord = (
        end_to_end_mm(ink, (x_mm - 4.0, x_mm - 0.5), y_mm + 6.35 / 4),
        end_to_end_mm(ink, (x_mm - 4.0, x_mm + 4.0), y_mm + 6.35 / 4),
    )
    assert chord[1] == pytest.approx(5.499, abs=TOLERANCE_MM)


def test_a_folder_that_cannot_be_written_is_said(make_pattern: Make, tmp_path: Path) -> None:
    with pytest.raises(FileError, match="could not be written"):
        write_pdf(make_pattern(), tmp_path / "none" / "a.pdf", paper=NAMED["a4"])


def test_paper_too_small_for_the_bars_is_said(make_pattern: Make) -> None:
    with pytest.raises(InputError, match="no room"):
        pdf_bytes(make_pattern(), paper=paper_named("120x120"))


def test_a_pattern_of_metres_is_not_printed(make_pattern: Make) -> None:
    with pytest.raises(InputError, match="pages of A5"):
        pdf_bytes(make_pattern(length_mm=18000.0), paper=NAMED["a5"])
