"""One outline laid on another: known motions come back, and doubt is told where there is some."""

import math

import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.billet import Billet
from geometry.errors import Cancelled, InputError
from geometry.pose import Pose
from geometry.registration import edge_points, register
from geometry.two_faces import both_faces
from tests.geometry.shapes import knife, regular

TRAPEZOID = shapely.Polygon([(0, 0), (200, 0), (190, 36), (10, 42)])
BAR = shapely.box(0, 0, 200, 40)
poses = st.builds(
    Pose,
    x_mm=st.floats(-300, 300),
    y_mm=st.floats(-300, 300),
    theta_rad=st.floats(-math.pi, math.pi),
    mirrored=st.booleans(),
)


def traced(shape, sigma_mm, seed):
    """A shape as a hand traces it: its edge wanders by sigma, the same over 10 mm or so."""
    rng = np.random.default_rng(seed)
    points = edge_points(shape, 500)
    kernel = np.exp(-0.5 * (np.arange(-20, 21) / 6.0) ** 2)
    kernel /= np.sqrt((kernel**2).sum())
    raw = rng.normal(0.0, sigma_mm, (len(points), 2))
    wrapped = np.vstack([raw[-20:], raw, raw[:20]])
    wander = np.column_stack([np.convolve(column, kernel, "valid") for column in wrapped.T])
    return shapely.make_valid(shapely.Polygon(points + wander))


def misplaced(found, true, shape):
    """How far the answer puts the edge from where it belongs, mm."""
    points = edge_points(shape, 60)
    return np.hypot(*(found.pose.points(true.points(points)) - points).T).max()


@settings(max_examples=15, deadline=None)
@given(poses)
@pytest.mark.parametrize("shape", [knife(), TRAPEZOID], ids=["knife", "trapezoid"])
def test_a_rigid_motion_comes_back(shape, pose):
    (found,) = register(shape, pose.shape(shape))
    assert found.pose.mirrored == pose.mirrored
    assert misplaced(found, pose, shape) < 0.01


@settings(max_examples=10, deadline=None)
@given(poses, st.integers(0, 1000))
def test_noise_moves_it_no_more_than_it_says(pose, seed):
    first = traced(knife(), 0.08, seed)
    second = traced(pose.shape(knife()), 0.08, seed + 1)
    (found,) = register(first, second)
    points = edge_points(knife(), 60)
    normals = np.tile([[1.0, 0.0]], (60, 1))
    doubt = np.hypot(found.sigma_mm(points, normals), found.sigma_mm(points, normals[:, ::-1]))
    assert misplaced(found, pose, knife()) < 4.0 * doubt.max()
    assert found.apart_mm < 0.2


def test_faces_that_really_differ_in_a_place_are_laid_on_the_rest():
    """A lump of 6 mm on one side of the second: 30 mm of 400 round."""
    lump = shapely.box(60, 38, 90, 48)
    second = Pose(x_mm=12.0, y_mm=50.0, theta_rad=1.0).shape(shapely.union(TRAPEZOID, lump))
    (found,) = register(TRAPEZOID, second, turned=False)
    assert misplaced(found, Pose(x_mm=12.0, y_mm=50.0, theta_rad=1.0), TRAPEZOID) < 0.1


def drawn_in(shape, insets_mm):
    """A convex shape with each side drawn in by its own, as a bevel leaves the second face."""
    corners = shapely.get_coordinates(shapely.geometry.polygon.orient(shape).exterior)
    left = shape
    for one, other, inset_mm in zip(corners[:-1], corners[1:], insets_mm, strict=True):
        along = (other - one) / np.hypot(*(other - one))
        start = one + inset_mm * np.array([-along[1], along[0]])
        half = [start + n * 500.0 * along for n in (-1, 1)]
        half += [end + 500.0 * np.array([-along[1], along[0]]) for end in half[::-1]]
        left = left.intersection(shapely.Polygon(half))
    return left


def sloped(rise_mm, *ends_mm):
    """A bar of 180 x 40 mm whose upper side rises, and whose ends are sawn askew."""
    right, left = ends_mm
    return shapely.Polygon([(0, 0), (180, 0), (180 + right, 40 + rise_mm), (left, 40)])


@pytest.mark.parametrize("seed", range(6))
def test_a_face_that_is_smaller_all_round_is_not_taken_for_the_mirrored_one(seed):
    """3 mm smaller: how large the distance is says nothing, how it varies along the edge does."""
    rng = np.random.default_rng(seed)
    ends_mm = rng.uniform(3, 10, 2) * rng.choice([-1, 1])  # alike: turned over, they slope back
    first = sloped(rng.uniform(2, 6), *ends_mm)
    second = first.buffer(-3.0, join_style="mitre")
    pose = Pose(x_mm=30.0, theta_rad=rng.uniform(-3, 3), mirrored=bool(rng.integers(2)))
    first, second = traced(first, 0.08, seed), pose.shape(traced(second, 0.08, seed + 50))
    (found,) = register(first, second)
    assert found.pose.mirrored == pose.mirrored
    assert misplaced(found, pose, first) < 0.3
    assert found.apart_mm == pytest.approx(3.0, abs=0.3)
    assert found.uneven_mm < 0.3


@pytest.mark.parametrize("seed", range(6))
def test_a_face_that_is_unevenly_smaller_is_laid_the_right_way_or_it_is_told(seed):
    rng = np.random.default_rng(100 + seed)
    first = sloped(rng.uniform(0, 4), *rng.uniform(-6, 6, 2))
    second = drawn_in(first, 2.0 * rng.uniform(0.5, 1.5, 4))
    answers = register(traced(first, 0.08, seed), traced(second, 0.08, seed + 50))
    turns = [math.remainder(answer.pose.theta_rad, math.tau) for answer in answers]
    right = [
        not answer.pose.mirrored and abs(turn) < math.radians(3)
        for answer, turn in zip(answers, turns, strict=True)
    ]
    assert any(right)
    assert right[0] or len(answers) > 1


def test_a_wedge_that_fits_turned_over_as_well_is_told_so_and_loses_next_to_nothing():
    """From 40 to 46 mm over 200: turned over by 1.7 degrees, its ends slope by 0.7 mm each way.

    What both have is smaller than the second by the four corners that its ends slope away:
    triangles of 20 x 0.6 mm, 6 mm2 each.
    """
    first = shapely.Polygon([(0, 0), (200, 0), (200, 46), (0, 40)])
    second = first.buffer(-3.0, join_style="mitre")
    faces = both_faces(billet(first), billet(second))
    assert not faces.best.pose.mirrored
    assert faces.best.uneven_mm < 0.02  # but for the corners, which lie 3 mm times root 2 apart
    assert faces.shape.area > second.area - 4 * 6.0


def test_a_plain_bar_is_told_to_fit_four_ways():
    answers = register(traced(BAR, 0.08, 1), traced(BAR, 0.08, 2))
    turns = {
        (answer.pose.mirrored, round(math.degrees(answer.pose.theta_rad) % 360 / 180) % 2)
        for answer in answers
    }
    assert turns == {(False, 0), (False, 1), (True, 0), (True, 1)}
    assert len(register(BAR, BAR, turned=True)) == 2


def test_a_round_piece_is_told_to_fit_any_way():
    assert len(register(regular(180, 40.0), regular(180, 40.0, turn_deg=17.3))) > 3


def test_the_maker_may_say_whether_it_was_turned_over():
    mirrored = Pose(mirrored=True).shape(knife())
    assert register(knife(), mirrored)[0].pose.mirrored
    with pytest.raises(InputError, match="not of one piece"):
        register(knife(), shapely.box(0, 0, 400, 10), turned=False)


def test_a_smaller_face_is_of_the_same_piece_and_a_smaller_piece_is_not():
    """4.5 mm all round of a bar of 40 mm; a knife of 160 mm on the same knife of 200 mm."""
    (found,) = register(TRAPEZOID, TRAPEZOID.buffer(-4.5, join_style="mitre"))
    assert found.apart_mm == pytest.approx(4.5, abs=0.1)
    with pytest.raises(InputError, match="not of one piece"):
        register(knife(), shapely.affinity.scale(knife(), 0.8, 0.8))


def test_outlines_that_have_nothing_alike_are_refused():
    """Nearly all of the triangle lies past one side: nothing holds it along that side."""
    with pytest.raises(InputError, match="not of one piece"):
        register(TRAPEZOID, shapely.Polygon([(0, 0), (90, 0), (40, 80)]))


def test_it_can_be_stopped():
    with pytest.raises(Cancelled):
        register(knife(), knife(), stop=lambda: True)


def billet(shape, sigma_mm=0.1):
    count = len(Billet(shape=shape).vertices_mm())
    return Billet(shape=shapely.geometry.polygon.orient(shape), vertex_sigma_mm=(sigma_mm,) * count)


@settings(max_examples=10, deadline=None)
@given(poses)
def test_what_both_faces_have_is_within_both(pose):
    """The top is 0.8 mm smaller all round, but for a stretch where the bottom is."""
    bottom = knife().difference(shapely.box(-60, 9, -20, 20))
    top = knife().buffer(-0.8, join_style="mitre")
    faces = both_faces(billet(top), billet(pose.shape(bottom)))
    assert shapely.difference(faces.shape, top).area < 1e-6
    laid = faces.best.pose.shape(pose.shape(bottom))
    assert faces.shape.area == pytest.approx(shapely.intersection(top, bottom).area, rel=0.01)
    assert shapely.difference(faces.shape, laid).area < 1e-6
    assert 1.5 < faces.differ_mm < 5.0  # the bottom lacks up to 4 mm there, at x -60 to -20
    assert -65 < faces.differ_at_mm[0] < -15


def test_each_vertex_has_the_doubt_of_the_face_that_rules_there():
    """Bottom cut short on the right by 5 mm: its end rules there, the top's edge elsewhere."""
    top, bottom = TRAPEZOID, TRAPEZOID.intersection(shapely.box(-1, -1, 180, 50)).buffer(0.4)
    faces = both_faces(billet(top, 0.1), billet(bottom, 0.3), turned=False)
    sigma = faces.sigma_mm(np.array([[100.0, 0.0], [180.4, 20.0]]))
    assert sigma[0] == pytest.approx(0.1, abs=1e-6)
    assert sigma[1] > 0.3  # its own, and that of the registration


def test_holes_of_both_faces_are_kept_out():
    hole = shapely.Point(50, 20).buffer(4.0)
    other = shapely.Point(120, 18).buffer(3.0)
    first, second = TRAPEZOID.difference(hole), TRAPEZOID.difference(other)
    faces = both_faces(billet(first), billet(second))
    assert len(faces.shape.interiors) == 2


def test_a_bar_that_fits_either_way_loses_its_nick_at_both_ends():
    """A nick of 5 x 1 mm: which end has it cannot be told, so neither is counted there."""
    nicked = BAR.difference(shapely.box(195, 15, 201, 16))
    faces = both_faces(billet(BAR), billet(nicked), turned=False)
    assert len(faces.answers) == 2
    assert faces.shape.area == pytest.approx(BAR.area - 2 * 5.0, abs=6.0)
    for x in (3.0, 197.0):
        assert not faces.shape.contains(shapely.Point(x, 15.5)) or not faces.shape.contains(
            shapely.Point(x, 24.5)
        )
