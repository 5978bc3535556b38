"""The printed mat read back from its PDF, by other libraries than wrote it."""

import datetime
import io

import cv2
import numpy as np
import pypdf
import pypdfium2
import pytest

from app.cli import run
from app.document.drawing import Text
from app.document.mat import mat_drawing
from app.document.paper import paper_named
from app.exports.lettering import text_width_mm
from app.exports.pdf import page_bytes
from calibration.mat import BAR_MM, MATS, mat_layout

DAY = datetime.date(2026, 1, 2)
DPI = 300
PX_PER_MM = DPI / 25.4
# ISO 216 and ANSI/ASME Y14.1, trimmed sizes, mm
SIZES = {
    "letter": (215.9, 279.4),
    "a4": (210.0, 297.0),
    "tabloid": (279.4, 431.8),
    "a3": (297.0, 420.0),
}


def printed(paper: str) -> bytes:
    return page_bytes(mat_drawing(mat_layout(paper), DAY), paper=paper_named(paper))


def raster(paper: str) -> np.ndarray:
    page = pypdfium2.PdfDocument(printed(paper))[0]
    return np.asarray(page.render(scale=DPI / 72).to_pil().convert("L"))


@pytest.mark.parametrize("paper", MATS)
def test_a_mat_is_one_page_of_its_paper_that_asks_not_to_be_scaled(paper):
    reader = pypdf.PdfReader(io.BytesIO(printed(paper)))
    (page,) = reader.pages
    sides = (float(page.mediabox.width) * 25.4 / 72, float(page.mediabox.height) * 25.4 / 72)
    assert sides == pytest.approx(SIZES[paper], abs=0.01)
    assert reader.viewer_preferences is not None
    assert reader.viewer_preferences.print_scaling == "/None"
    words = page.extract_text()
    assert paper in words.lower()
    assert "version 1" in words
    assert "100 %" in words


@pytest.mark.parametrize("paper", MATS)
def test_nothing_is_printed_where_printers_cannot_reach(paper):
    dark_rows, dark_columns = np.nonzero(raster(paper) < 200)
    height = SIZES[paper][1] * PX_PER_MM
    width = SIZES[paper][0] * PX_PER_MM
    assert dark_columns.min() == pytest.approx(10.0 * PX_PER_MM, abs=2)
    assert width - dark_columns.max() == pytest.approx(10.0 * PX_PER_MM, abs=2)
    assert dark_rows.min() == pytest.approx(10.0 * PX_PER_MM, abs=2)
    assert height - dark_rows.max() == pytest.approx(15.0 * PX_PER_MM, abs=2)


@pytest.mark.parametrize("paper", MATS)
def test_the_field_is_bare(paper):
    left, bottom, right, top = (PX_PER_MM * edge for edge in mat_layout(paper).field_mm)
    image = raster(paper)
    foot = SIZES[paper][1] * PX_PER_MM
    rows = np.s_[int(foot - top) + 2 : int(foot - bottom) - 2]
    assert image[rows, int(left) + 2 : int(right) - 2].min() == 255


@pytest.mark.parametrize("paper", MATS)
def test_the_bars_are_printed_at_their_length(paper):
    image = raster(paper)
    foot = SIZES[paper][1] * PX_PER_MM
    ((ax, ay), (bx, _)), ((cx, cy), (_, dy)) = mat_layout(paper).bars_mm
    assert bx - ax == pytest.approx(BAR_MM) == pytest.approx(dy - cy)
    # a row just above the lying bar meets its two end marks and nothing else
    row = 255.0 - image[int(foot - (ay + 0.6) * PX_PER_MM)]
    row[: int((ax - 3) * PX_PER_MM)] = row[int((bx + 3) * PX_PER_MM) :] = 0
    middle = int((ax + bx) / 2 * PX_PER_MM)
    marks = [
        np.average(np.arange(len(each)), weights=each) for each in (row[:middle], row[middle:])
    ]
    assert (marks[1] + middle - marks[0]) / PX_PER_MM == pytest.approx(BAR_MM, abs=0.05)
    column = 255.0 - image[:, int((cx + 0.6) * PX_PER_MM)]
    column[int(foot - (cy - 3) * PX_PER_MM) :] = column[: int(foot - (dy + 3) * PX_PER_MM)] = 0
    middle = int(foot - (cy + dy) / 2 * PX_PER_MM)
    marks = [
        np.average(np.arange(len(each)), weights=each)
        for each in (column[:middle], column[middle:])
    ]
    assert (marks[1] + middle - marks[0]) / PX_PER_MM == pytest.approx(BAR_MM, abs=0.05)


@pytest.mark.parametrize("paper", MATS)
def test_words_stay_within_their_boxes(paper):
    """Those boxes are cleared from photos; a letter outside would be taken for ink."""
    layout = mat_layout(paper)
    words = [item for item in mat_drawing(layout, DAY).items if isinstance(item, Text)]
    assert len(words) == 10
    for item in words:
        width = text_width_mm(item.text, item.height_mm)
        left = item.x_mm - {"start": 0.0, "middle": 0.5, "end": 1.0}[item.align] * width
        assert any(
            box[0] <= left
            and left + width <= box[2]
            and box[1] <= item.y_mm - 0.25 * item.height_mm
            and item.y_mm + item.height_mm <= box[3] + 0.01
            for box in layout.words_mm
        ), item.text


@pytest.mark.parametrize("paper", MATS)
def test_every_marker_is_read_where_the_layout_says_it_is(paper):
    """The detector of the library that made the dictionary reads the rasterised page."""
    layout = mat_layout(paper)
    detector = cv2.aruco.ArucoDetector(
        cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_250), cv2.aruco.DetectorParameters()
    )
    corners, ids, _ = detector.detectMarkers(raster(paper))
    seen = dict(zip(np.ravel(ids).tolist(), corners, strict=True))
    assert seen.keys() == layout.markers_mm.keys()
    for number, ring in layout.markers_mm.items():
        x, y = ring.T
        true = np.column_stack([x, SIZES[paper][1] - y]) * PX_PER_MM - 0.5
        assert np.abs(seen[number].reshape(4, 2) - true).max() < 2.0


def test_no_two_mats_share_a_marker():
    numbers = [number for paper in MATS for number in mat_layout(paper).markers_mm]
    assert len(numbers) == len(set(numbers))
    assert max(numbers) < 250  # of the dictionary


def test_the_command_writes_a_page(tmp_path, capsys):
    out = tmp_path / "new" / "mat.pdf"
    assert run(["mat", "--paper", "A4", "--out", str(out)]) == 0
    assert len(pypdf.PdfReader(out).pages) == 1
    assert "162 x 244 mm free" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--paper", "legal", "--out", "m.pdf"], "no mat for the paper"),
        (["--paper", "a4", "--out", "m.svg"], ".pdf file"),
    ],
)
def test_a_mat_that_cannot_be_made_says_why(options, told, capsys):
    assert run(["mat", *options]) == 2
    assert told in capsys.readouterr().err
