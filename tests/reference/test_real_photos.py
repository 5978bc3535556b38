"""Real photographs of flat things with known places, beside the project in ../shared/real.

The figures are those of the folder's README: what an independent computation reached with the
same pictures, in per cent of the board's diagonal.
"""

from __future__ import annotations

import functools
import itertools
import math
from pathlib import Path

import cv2
import numpy as np
import pytest
from scipy.optimize import least_squares

from calibration.adjustment import Adjusted, adjust
from calibration.calibrate import Calibration, calibrate
from calibration.errors import PhotoError
from calibration.ink import find_ink
from calibration.photo import load_photo
from calibration.references import PRINTED, RectangleReference, paper_reference
from calibration.seen import PlacesSeen, Seen, SheetSeen
from calibration.sheet_edges import find_sheet_edges
from tests.calibration.render import rigid_error
from tests.reference.boards import BOARDS, SQUARE_MM, Board

LISTED_PX = 0.07  # the README rounds places to tenths, in x and in y


@pytest.fixture(scope="module")
def photos(shared: Path) -> Path:
    folder = shared / "real" / "photos"
    if not folder.is_dir():
        pytest.skip("the real photographs are not beside the project")
    return folder


@functools.cache
def photo_of(path: Path):
    return load_photo(path)


@functools.cache
def corners_of(path: Path, inner: tuple[int, int]) -> tuple[np.ndarray, np.ndarray]:
    """Corners in the picture, and on the board, mm; the board's frame may be mirrored."""
    grey = cv2.cvtColor(photo_of(path).rgb, cv2.COLOR_RGB2GRAY)
    flags = cv2.CALIB_CB_EXHAUSTIVE | cv2.CALIB_CB_ACCURACY
    found, corners = cv2.findChessboardCornersSB(grey, inner, flags=flags)
    if not found:
        found, corners = cv2.findChessboardCorners(grey, inner)
        assert found
        ends = (cv2.TERM_CRITERIA_COUNT + cv2.TERM_CRITERIA_EPS, 40, 1e-3)
        corners = cv2.cornerSubPix(grey, corners, (5, 5), (-1, -1), ends)
    columns, rows = np.meshgrid(np.arange(inner[0]), np.arange(inner[1]))
    board = np.column_stack([columns.ravel(), rows.ravel()]) * SQUARE_MM
    points = corners.reshape(-1, 2).astype(float)
    return points, unmirrored(points, board)


def unmirrored(points_px: np.ndarray, places_mm: np.ndarray) -> np.ndarray:
    """The places with y up, whichever way they were counted: pictures have y down."""
    first, second, last = (0, 1, len(points_px) - 1)
    turns = []
    for each in (points_px, places_mm):
        (ax, ay), (bx, by) = each[second] - each[first], each[last] - each[first]
        turns.append(ax * by - ay * bx)
    return places_mm * (1.0, -1.0) if turns[0] * turns[1] > 0.0 else places_mm


def outermost(inner: tuple[int, int]) -> np.ndarray:
    columns, rows = inner
    return np.array([0, columns - 1, columns * rows - 1, columns * (rows - 1)])


def by_places(path: Path, points_px: np.ndarray, places_mm: np.ndarray, **doubts) -> Adjusted:
    photo = photo_of(path)
    figure = PlacesSeen(points_px=points_px, places_mm=places_mm, **doubts)
    middle = (0.5 * (photo.width_px - 1), 0.5 * (photo.height_px - 1))
    return adjust(Seen(middle_px=middle, focal_px=photo.focal_px, figures=(figure,)))


def by_four(path: Path, corners_px: np.ndarray, width_mm: float, height_mm: float) -> Calibration:
    photo = photo_of(path)
    corners = tuple(map(tuple, corners_px))
    reference = RectangleReference(width_mm=width_mm, height_mm=height_mm, corners_px=corners)
    return calibrate(photo, find_ink(photo), [reference], recognise_sheet=False)


def off_by_four(found_mm: np.ndarray, true_mm: np.ndarray, four: np.ndarray) -> np.ndarray:
    """Distances of all places from their true ones, laid onto these by the four alone."""
    found, true = (places @ (1.0, 1.0j) for places in (found_mm, true_mm))
    found, true = found - found[four].mean(), true - true[four].mean()
    turn = np.vdot(found[four], true[four])
    return np.abs(found * turn / abs(turn) - true)


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.name)
def test_four_corners_of_a_chessboard_place_the_others(photos: Path, board: Board) -> None:
    path = photos / f"{board.name}.jpg"
    points, places = (each.copy() for each in corners_of(path, board.inner))
    four = outermost(board.inner)
    columns, rows = board.inner
    calibration = by_four(
        path, np.array(board.corners_px), (columns - 1) * SQUARE_MM, (rows - 1) * SQUARE_MM
    )
    diagonal = math.hypot(columns - 1, rows - 1) * SQUARE_MM
    points[four] = board.corners_px
    found = calibration.map.to_mm(points)
    others = np.setdiff1d(np.arange(len(points)), four)
    off = 100.0 / diagonal * off_by_four(found, places, four)[others]
    listed = 100.0 * LISTED_PX / math.dist(board.corners_px[0], board.corners_px[2])
    assert off.max() <= board.four[0] + listed
    assert math.sqrt(np.mean(off**2)) <= board.four[1] + listed


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.name)
def test_a_lens_that_bows_is_doubted_and_warned_of(photos: Path, board: Board) -> None:
    path = photos / f"{board.name}.jpg"
    points, places = corners_of(path, board.inner)
    columns, rows = board.inner
    calibration = by_four(
        path, np.array(board.corners_px), (columns - 1) * SQUARE_MM, (rows - 1) * SQUARE_MM
    )
    warned = any("bows straight lines" in note for note in calibration.notes)
    errors = rigid_error(calibration.map.to_mm(points), places)
    covered = np.mean(errors < 2.0 * calibration.map.sigma_mm(points))
    assert covered > 0.88
    assert warned == board.bowed


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board.name)
def test_all_corners_show_the_lens_too(photos: Path, board: Board) -> None:
    path = photos / f"{board.name}.jpg"
    points, places = corners_of(path, board.inner)
    adjusted = by_places(path, points, places, sigma_mm=0.1)
    errors = rigid_error(adjusted.map.to_mm(points), places)
    diagonal = math.hypot(*(np.array(board.inner) - 1)) * SQUARE_MM
    assert 100.0 / diagonal * math.sqrt(np.mean(errors**2)) <= board.freed


def test_a_charuco_board_by_its_four_far_corners(photos: Path) -> None:
    path = photos / "charuco_choriginal.jpg"
    grey = cv2.cvtColor(photo_of(path).rgb, cv2.COLOR_RGB2GRAY)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_250)
    board = cv2.aruco.CharucoBoard((5, 7), 40.0, 20.0, dictionary)
    board.setLegacyPattern(True)
    corners, numbers, _, _ = cv2.aruco.CharucoDetector(board).detectBoard(grey)
    assert numbers is not None
    assert len(numbers) == 24
    points = corners.reshape(-1, 2)[np.argsort(numbers.ravel())].astype(float)
    places = unmirrored(points, board.getChessboardCorners()[:, :2].astype(float))
    four = outermost((4, 6))
    found = by_four(path, points[four], 3 * 40.0, 5 * 40.0).map.to_mm(points)
    others = np.setdiff1d(np.arange(24), four)
    off = 100.0 / math.hypot(120.0, 200.0) * off_by_four(found, places, four)[others]
    listed = 100.0 * LISTED_PX / math.dist(points[four[0]], points[four[2]])
    assert off.max() <= 0.151 + listed
    assert math.sqrt(np.mean(off**2)) <= 0.092 + listed


def markers_in(path: Path) -> dict[int, np.ndarray]:
    """Corners (4, 2) of the markers in a picture by their numbers."""
    grey = cv2.cvtColor(photo_of(path).rgb, cv2.COLOR_RGB2GRAY)
    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_250)
    quads, numbers, _ = cv2.aruco.ArucoDetector(dictionary, parameters).detectMarkers(grey)
    assert sorted(numbers.ravel()) == [23, 40, 62, 98, 124, 203]
    return {
        int(n): quad.reshape(4, 2).astype(float)
        for n, quad in zip(numbers.ravel(), quads, strict=True)
    }


def markers_of(photos: Path) -> tuple[np.ndarray, np.ndarray]:
    """Corners of the six markers in the photo, (6, 4, 2), and in the page, y up, as mm."""
    page = markers_in(photos / "markers_singlemarkerssource.png")
    assert page[98].min(axis=0) == pytest.approx((1607.6, 918.6), abs=0.5)  # as listed
    seen = markers_in(photos / "markers_singlemarkersoriginal.jpg")
    both = [(seen[number], page[number] * (1.0, -1.0)) for number in sorted(page)]
    return np.array([one for one, _ in both]), np.array([other for _, other in both])


def off_the_page(found: np.ndarray, page: np.ndarray) -> np.ndarray:
    """Distances of places from a printed page, turned, shifted, and stretched along and up.

    A printer does that to a page, and the README's homography takes it out too.
    """

    def off(numbers: np.ndarray) -> np.ndarray:
        cos, sin = math.cos(numbers[0]), math.sin(numbers[0])
        laid = page * (1.0 + numbers[1:3]) @ np.array([[cos, sin], [-sin, cos]]) + numbers[3:]
        return (laid - found).ravel()

    return np.hypot(*off(least_squares(off, np.zeros(5)).x).reshape(-1, 2).T)


def test_six_markers_give_the_page(photos: Path) -> None:
    points, page = (each.reshape(-1, 2) for each in markers_of(photos))
    path = photos / "markers_singlemarkersoriginal.jpg"
    stretch = (PRINTED[1] - 1.0) / 3.0  # of a page that nobody measured
    adjusted = by_places(path, points, page, sigma_mm=1.0, stretch_sigma=(stretch, stretch))
    errors = 100.0 / 1877.0 * off_the_page(adjusted.map.to_mm(points), page)
    assert math.sqrt(np.mean(errors**2)) <= 0.132
    assert errors.max() <= 0.217


def test_distances_between_markers_follow_from_four_of_them(photos: Path) -> None:
    """Calibrated on the four outer markers' corners; all distances among all six then follow."""
    points, page = markers_of(photos)
    path = photos / "markers_singlemarkersoriginal.jpg"
    outer = np.argsort(-np.hypot(*(page.mean(axis=1) - page.mean(axis=(0, 1))).T))[:4]
    adjusted = by_places(
        path, points[outer].reshape(-1, 2), page[outer].reshape(-1, 2), sigma_mm=2.0
    )
    firsts = adjusted.map.to_mm(points[:, 0])
    for a, b in itertools.combinations(range(6), 2):
        true = math.dist(page[a, 0], page[b, 0])
        assert math.dist(firsts[a], firsts[b]) == pytest.approx(true, abs=0.005 * 1877.0)


def open_sheet(path: Path) -> Adjusted:
    """A sheet's edges adjusted with its sides left open."""
    photo = photo_of(path)
    edges = find_sheet_edges(photo)
    assert edges is not None
    assert min(edges.seen) > 0.0
    ways = np.hypot(*(np.roll(edges.corners_px, -1, axis=0) - edges.corners_px).T)
    width, height = 0.05 * (ways[0] + ways[2]), 0.05 * (ways[1] + ways[3])
    sheet = SheetSeen(edges=edges, width_mm=width, height_mm=height, free=True)
    middle = (0.5 * (photo.width_px - 1), 0.5 * (photo.height_px - 1))
    return adjust(Seen(middle_px=middle, focal_px=photo.focal_px, sheet=sheet), thorough=True)


@pytest.mark.parametrize(
    ("name", "ratio"),
    [
        ("sheet_page01", 1.220),  # curled, of no known size; with the focal length given
        ("sheet_page09", 297.0 / 210.0),  # ISO 216
        ("sheet_page10", 279.4 / 215.9),  # ANSI/ASME Y14.1
        ("sheet_test1", 297.0 / 210.0),
    ],
)
def test_a_sheets_shape_is_within_half_a_per_cent(photos: Path, name: str, ratio: float) -> None:
    short, long = sorted(open_sheet(photos / f"{name}.jpg").sides_mm)
    assert long / short == pytest.approx(ratio, rel=0.005)


@pytest.mark.parametrize(
    ("name", "paper", "wrong"),
    [
        ("sheet_page09", "a4", "letter"),
        ("sheet_page10", "letter", "a4"),
        ("sheet_test1", "a4", "letter"),
        ("sheet_page01", None, "a4"),
        ("sheet_page01", None, "letter"),
    ],
)
def test_another_papers_size_does_not_pass(
    photos: Path, name: str, paper: str | None, wrong: str
) -> None:
    photo = photo_of(photos / f"{name}.jpg")
    ink = find_ink(photo)
    with pytest.raises(PhotoError, match="has not the shape"):
        calibrate(photo, ink, [paper_reference(wrong)])
    if paper is not None:
        (found,) = calibrate(photo, ink, [paper_reference(paper)]).found
        assert found.residual_mm < 0.5
