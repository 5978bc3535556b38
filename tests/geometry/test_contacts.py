import numpy as np
import pytest
from shapely import box

from geometry.clearance import UsableRegion
from geometry.contacts import Fitting
from geometry.pose import Pose
from tests.geometry.shapes import knife, moved, regular, wavy

STEEL = wavy(260, 80, 140, 9, 0.03).difference(moved(regular(24, 3), 40, 25, 0))
FITTING = Fitting(knife(), STEEL, cell_mm=0.5)
POSES = [
    Pose(x_mm=3.0, y_mm=1.0, theta_rad=0.1, mirrored=mirrored, scale=scale)
    for mirrored in (False, True)
    for scale in (0.6, 0.9)
]


@pytest.mark.parametrize("pose", POSES)
def test_the_least_value_is_the_exact_clearance(pose: Pose) -> None:
    exact_mm = UsableRegion(STEEL).clearance(pose.shape(knife())).value_mm
    assert exact_mm > 0.0
    assert FITTING.contacts(pose, 5.0).values_mm.min() == pytest.approx(exact_mm, abs=1e-6)


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("direction", range(4))
def test_the_clearance_changes_as_the_rates_say(pose: Pose, direction: int) -> None:
    step = np.zeros(4)
    step[direction] = 1e-4
    contacts = FITTING.contacts(pose, 5.0)
    tightest = contacts.values_mm.argmin()
    region = UsableRegion(STEEL)
    before = region.clearance(pose.shape(knife())).value_mm
    after = region.clearance(FITTING.stepped(pose, step).shape(knife())).value_mm
    rate = contacts.rates[tightest, direction]
    assert (after - before) / 1e-4 == pytest.approx(rate, abs=5e-3)


def test_a_hole_under_the_outline_pushes_it_to_the_nearer_side() -> None:
    steel = box(0, 0, 200, 100).difference(moved(regular(24, 3), 100, 55, 0))
    fitting = Fitting(box(-40, -10, 40, 10), steel, cell_mm=0.5)
    contacts = fitting.contacts(Pose(x_mm=100, y_mm=50), 1.0)
    tightest = contacts.values_mm.argmin()
    assert contacts.values_mm[tightest] < -3.0
    assert contacts.rates[tightest, :2] == pytest.approx((0.0, -1.0), abs=1e-6)  # down, off it


def test_what_is_covered_counts_by_how_far_it_is_to_get_clear() -> None:
    """A hole of radius 3, its middle 8 mm below the outline's upper edge; a crack at the same 8."""
    steel, pose = box(0, 0, 200, 100), Pose(x_mm=100, y_mm=50)
    hole, crack = moved(regular(24, 3), 100, 52, 0), box(80, 52, 120, 52.02)
    for fitting in (
        Fitting(box(-40, -10, 40, 10), steel.difference(hole), cell_mm=0.5),
        Fitting(box(-40, -10, 40, 10), steel, cell_mm=0.5, flaws=[crack]),
    ):
        radius = 3.0 if fitting.steel.interiors else 0.0
        least = fitting.contacts(pose, 1.0).values_mm.min()
        assert least == pytest.approx(-8.0 - radius, abs=0.05)


@pytest.mark.parametrize("scale", [0.25, 1.0])
def test_an_edge_far_away_is_read_as_exactly_as_a_near_one(scale: float) -> None:
    steel = wavy(460, 300, 40, 3, 0.1)
    fitting = Fitting(knife(), steel, cell_mm=0.5, scale=scale)
    pose = Pose(x_mm=8.0, y_mm=20.0, theta_rad=0.2, scale=scale)
    exact_mm = UsableRegion(steel).clearance(pose.shape(knife())).value_mm
    assert exact_mm > 15.0
    assert fitting.contacts(pose, 5.0).values_mm.min() == pytest.approx(exact_mm, abs=1e-6)
