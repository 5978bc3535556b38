import numpy as np
import pytest
import shapely

from calibration.camera import numbers_from_pose
from calibration.errors import PhotoError
from calibration.ink import find_ink
from calibration.sheet_map import SheetMap
from calibration.steel import find_steel
from calibration.steel_rough import find_thing
from calibration.top_face import top_face
from tests.calibration.strokes_render import Sheet, box

STEEL = (0.75, 0.74, 0.72)
CORNERS = np.array([[150, 120], [660, 150], [600, 380], [130, 360]], float)


def silhouette(sheet, **options):
    return found_on(sheet.photo(), **options)


def found_on(photo, inside_px=None):
    ink = find_ink(photo)
    return find_steel(photo, ink, find_thing(photo, ink, inside_px), inside_px=inside_px)


def off(points, corners):
    return shapely.distance(shapely.points(points), shapely.LinearRing(corners))


def test_the_edge_of_a_dark_plate_is_found():
    found = silhouette(Sheet(800, 500).fill(CORNERS, STEEL))
    assert np.quantile(off(found.outer_px, CORNERS), 0.95) < 0.3
    assert shapely.Polygon(found.outer_px).area == pytest.approx(
        shapely.Polygon(CORNERS).area, rel=0.002
    )


def test_a_soft_shadow_beside_the_plate_is_not_steel():
    shade = np.ones((500, 800))
    y, x = np.mgrid[:500, :800]
    below = shapely.distance(shapely.points(x, y), shapely.Polygon(CORNERS))
    shade = 1.0 - 0.35 * np.exp(-below / 12.0)
    photo = Sheet(800, 500).fill(CORNERS, STEEL).photo(shade=shade)
    found = found_on(photo)
    assert np.quantile(off(found.outer_px, CORNERS), 0.95) < 0.4


def test_glints_on_the_plate_are_steel():
    sheet = Sheet(800, 500).fill(CORNERS, STEEL)
    y, x = np.mgrid[:500, :800]
    for spot in ([300, 250], [400, 362], [500, 160]):  # within, and at the rim twice
        shine = (np.hypot(*(np.dstack([x, y]) - spot).transpose(2, 0, 1)) < 9) & (
            sheet.taken[..., 0] > 0.5
        )
        sheet.taken[shine] = -0.24
    found = silhouette(sheet)
    assert off(found.outer_px, CORNERS).max() < 4.0
    assert np.quantile(off(found.outer_px, CORNERS), 0.95) < 0.5


def test_a_drawn_line_and_rectangle_are_no_steel():
    sheet = Sheet(800, 500).stroke([[100, 460], [700, 460]], width=4)
    sheet.stroke(box(40, 30, 760, 440), width=4, closed=True).fill(CORNERS, STEEL)
    assert np.quantile(off(silhouette(sheet).outer_px, CORNERS), 0.95) < 0.3


def test_pointing_picks_the_smaller_plate():
    small = box(560, 400, 740, 470)
    sheet = Sheet(800, 500).fill(CORNERS - [0, 40], STEEL).fill(small, STEEL)
    found = silhouette(sheet, inside_px=(650.0, 435.0))
    assert np.quantile(off(found.outer_px, small), 0.95) < 0.3


def test_paper_alone_is_no_steel():
    with pytest.raises(PhotoError, match=r"no steel .* white paper"):
        silhouette(Sheet(400, 300))


def test_bare_paper_that_was_pointed_at_is_told_as_such():
    with pytest.raises(PhotoError, match="bare paper") as caught:
        silhouette(Sheet(800, 500).fill(CORNERS, STEEL), inside_px=(60.0, 440.0))
    assert "--inside" not in str(caught.value)


def over_the_sheet(tilt):
    """Return the map of a camera 400 mm over a sheet, looking down at a slant."""
    cos, sin = np.cos(tilt), np.sin(tilt)
    rotation = np.array([[1, 0, 0], [0, cos, -sin], [0, sin, cos]]) @ np.diag([1.0, -1.0, -1.0])
    numbers = numbers_from_pose(rotation, np.array([-100.0, 90.0, 400.0]), 3000.0)
    return SheetMap(
        parameters=tuple(numbers),
        covariance=tuple(tuple(row) for row in np.zeros((len(numbers), len(numbers)))),
        middle_px=(2000.0, 1500.0),
        span_px=((0.0, 0.0), (4000.0, 0.0), (4000.0, 3000.0)),
    )


@pytest.mark.parametrize("tilt_deg", [0.0, 8.0, 15.0, 25.0])
@pytest.mark.parametrize("middle", [(100.0, 100.0), (40.0, 160.0)])
def test_the_top_of_an_upright_plate_is_told_from_its_sides(tilt_deg, middle):
    turn = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    plate = np.column_stack([45 * np.cos(turn), 20 * np.sin(turn)]) + middle
    sheet_map = over_the_sheet(np.radians(tilt_deg))
    # what is seen of a convex plate: the hull of its top and its foot
    seen = shapely.MultiPoint(
        np.vstack([sheet_map.to_px(plate), sheet_map.raised(8.0).to_px(plate)])
    ).convex_hull
    measured = top_face(shapely.get_coordinates(seen.exterior)[:-1], sheet_map, 8.0)
    assert shapely.hausdorff_distance(measured, shapely.Polygon(plate)) < 0.08
    assert measured.area == pytest.approx(shapely.Polygon(plate).area, rel=2e-3)


def test_without_thickness_the_silhouette_is_read_on_the_paper():
    sheet_map = over_the_sheet(0.1)
    corners = np.array([[50, 60], [150, 60], [150, 120], [50, 120]], float)
    assert top_face(sheet_map.to_px(corners), sheet_map, 0.0).equals_exact(
        shapely.Polygon(corners), 1e-6
    )
