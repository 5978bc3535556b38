import json
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import shapely
from shapely import MultiPolygon, Polygon, box

from geometry.clearance import UsableRegion
from geometry.errors import Cancelled, InputError
from geometry.placement import roomiest, settle
from geometry.pose import Pose
from tests.geometry.shapes import knife, moved, regular, wavy


def shared_fit(folder: Path, name: str) -> tuple[Polygon, Polygon, dict[str, Any]]:
    given = json.loads((folder / "fits" / f"{name}.json").read_text(encoding="utf-8"))
    region = Polygon(given["region"]["outer"], given["region"]["holes"])
    return Polygon(given["outline"]), region, given


def test_a_bar_in_a_bar_lies_in_its_middle() -> None:
    # Least width: no more than (40 - 26) / 2 = 7, and 7 is reached.
    found = roomiest(box(0, 0, 150, 26), box(0, 0, 200, 40))
    assert found.clearance.value_mm == pytest.approx(7.0, abs=1e-3)
    assert found.proven
    assert found.upper_bound_mm == pytest.approx(7.0, abs=0.05)


def test_a_square_in_a_square_turns_to_lie_along_it() -> None:
    found = roomiest(moved(box(-10, -10, 10, 10), 3, 4, 31), box(0, 0, 50, 50))
    assert found.clearance.value_mm == pytest.approx(15.0, abs=1e-3)
    assert found.proven


def test_the_claim_is_the_exact_clearance_of_the_pose() -> None:
    steel = wavy(250, 70, 150, 23, 0.03).difference(moved(regular(30, 3), 20, 5, 0))
    found = roomiest(knife(), steel)
    region = UsableRegion(steel)
    assert region.clearance(found.pose.shape(knife())) == found.clearance
    assert found.clearance.value_mm <= found.upper_bound_mm


def test_a_blank_cut_from_the_steel_is_found_again() -> None:
    place = moved(knife(), 412, -77, 118)
    steel = place.buffer(1.5, quad_segs=32)
    found = roomiest(knife(), steel, mirror=False)
    assert found.clearance.value_mm == pytest.approx(1.5, abs=5e-3)
    assert found.proven


def test_only_the_other_face_fits() -> None:
    flipped = shapely.transform(knife(), lambda points: points * (1, -1))
    steel = moved(flipped, 30, 10, 70).buffer(1.5, quad_segs=32)
    assert roomiest(knife(), steel, mirror=True).pose.mirrored
    assert roomiest(knife(), steel, mirror=False).clearance.value_mm < 1.0


def test_a_symmetric_outline_is_not_turned_over_for_nothing() -> None:
    plate = wavy(200, 60, 300, 17, 0.02)
    symmetric = Polygon([(0, -10), (90, -10), (120, 0), (90, 10), (0, 10)])
    assert not roomiest(symmetric, plate, mirror=True).pose.mirrored


def test_a_small_outline_in_a_large_sheet() -> None:
    found = roomiest(box(0, 0, 5, 3), box(0, 0, 600, 400))
    assert found.clearance.value_mm == pytest.approx((400 - 3) / 2, abs=2e-3)
    assert found.proven


def test_an_outline_far_too_long() -> None:
    # Diameters: (sqrt(500^2 + 40^2) - sqrt(100^2 + 30^2)) / 2 at least at one of the ends.
    found = roomiest(box(0, 0, 500, 40), box(0, 0, 100, 30))
    least_mm = -(math.hypot(500, 40) - math.hypot(100, 30)) / 2
    assert -200.0 <= found.clearance.value_mm <= least_mm


def test_a_drilled_hole_is_kept_out() -> None:
    steel = box(0, 0, 300, 60).difference(moved(regular(48, 4), 150, 30, 0))
    found = roomiest(box(0, 0, 100, 20), steel)
    # Left of the hole: (60 - 20) / 2 = 20 above and below, (146 - 100) / 2 = 23 at the ends.
    assert found.clearance.value_mm == pytest.approx(20.0, abs=1e-3)


def test_steel_too_small_gives_the_least_bad_pose() -> None:
    # Least width again: 26 mm in 20 mm sticks out 3 mm on either side.
    found = roomiest(box(0, 0, 150, 26), box(0, 0, 200, 20))
    assert found.clearance.value_mm == pytest.approx(-3.0, abs=1e-3)
    assert found.proven


def test_the_roomier_of_several_parts_is_taken() -> None:
    steel = MultiPolygon([box(0, 0, 200, 40), box(0, 40.2, 200, 90)])
    found = roomiest(box(0, 0, 150, 26), steel)
    assert found.clearance.value_mm == pytest.approx((49.8 - 26) / 2, abs=1e-3)


def test_the_same_question_gives_the_same_answer() -> None:
    steel = wavy(260, 70, 150, 23, 0.02)
    assert roomiest(knife(), steel) == roomiest(knife(), steel)


def test_settling_slides_to_the_near_best_and_never_back() -> None:
    pose = Pose(x_mm=20, y_mm=6, theta_rad=0.04)
    bar, steel = box(0, 0, 150, 26), box(0, 0, 200, 40)
    settled = settle(bar, steel, pose)
    assert settled.clearance.value_mm == pytest.approx(7.0, abs=1e-3)
    assert math.degrees(settled.pose.theta_rad) == pytest.approx(0.0, abs=0.02)
    again = settle(bar, steel, settled.pose)
    assert again.clearance.value_mm >= settled.clearance.value_mm


def test_a_start_keeps_its_scale_and_is_never_made_worse() -> None:
    start = Pose(x_mm=20, y_mm=6, theta_rad=0.04, scale=1.25)
    found = roomiest(box(0, 0, 120, 20), box(0, 0, 200, 40), start=start)
    assert found.pose.scale == 1.25
    assert found.clearance.value_mm == pytest.approx((40 - 25) / 2, abs=1e-3)
    assert found.proven


def test_a_start_that_is_turned_over_counts_only_where_it_may() -> None:
    steel = box(0, 0, 200, 40)
    start = Pose(x_mm=25, y_mm=33, mirrored=True)
    assert not roomiest(box(0, 0, 150, 26), steel, mirror=False, start=start).pose.mirrored


def test_stopping_and_progress() -> None:
    shares: list[float] = []
    roomiest(box(0, 0, 150, 26), box(0, 0, 200, 40), progress=shares.append)
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    with pytest.raises(Cancelled):
        roomiest(box(0, 0, 150, 26), box(0, 0, 200, 40), stop=lambda: True)


def test_an_outline_that_crosses_itself_is_refused() -> None:
    bow = Polygon([(0, 0), (10, 10), (10, 0), (0, 10)])
    with pytest.raises(InputError, match="outline"):
        roomiest(bow, box(0, 0, 200, 40))


@pytest.mark.parametrize(
    "name",
    [
        "f03_planted_sheepsfoot_tight",
        "f05_mirrored_only",
        "f12_billet_flaws",
        "f14_rough_edge_tight",
    ],
)
def test_known_answers_are_reached(shared: Path, name: str) -> None:
    outline, steel, given = shared_fit(shared, name)
    found = roomiest(outline, steel, mirror=given["mirror_allowed"])
    known = given["known"]
    best_mm = known.get("best_known_mm", known["clearance_mm"])
    assert found.clearance.value_mm >= best_mm - 0.02
    assert found.upper_bound_mm >= best_mm - known["tolerance_mm"]


def test_importing_loads_no_slow_library() -> None:
    # scipy alone takes longer to import than the window may take to open
    code = "import sys, geometry.clearance, geometry.placement; sys.exit('scipy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


CRACK = box(70, 14.9, 130, 15.0)  # in the middle third of a bar of 200 x 40


def test_a_pose_beside_a_crack_is_found_where_there_is_room() -> None:
    """24 mm of blank above the crack at 15 leaves 40 - 15 - 24 = 1 mm, 0.5 on either side."""
    bar = box(0, 0, 200, 40)
    found = roomiest(box(0, 0, 180, 24), bar.difference(CRACK), flaws=[CRACK])
    assert found.clearance.value_mm == pytest.approx(0.5, abs=1e-3)
    assert found.pose.shape(box(0, 0, 180, 24)).distance(CRACK) > 0.49


@pytest.mark.parametrize("told", [True, False])
def test_where_nothing_fits_it_rather_sticks_out_than_lies_over_a_crack(told: bool) -> None:
    """27 mm of blank above the crack, of 25: out by 2; over the crack it would be by 0.05."""
    bar, blank = box(0, 0, 200, 40), box(0, 0, 180, 27)
    found = roomiest(blank, bar.difference(CRACK), flaws=[CRACK] if told else ())
    place = found.pose.shape(blank)
    assert not place.intersects(CRACK)
    assert -2.03 < found.clearance.value_mm < 0.0
    assert found.pose.shape(blank).difference(bar).area > 0.0
    over = Pose(x_mm=10.0, y_mm=6.5)
    moved_off = settle(blank, bar.difference(CRACK), over, flaws=[CRACK] if told else ())
    assert moved_off.pose != over


def test_a_crack_from_the_edge_is_kept_clear_of_as_well() -> None:
    """A saw cut of 0.2 mm runs 18 mm in at the middle; 20 mm of blank lie beside its end."""
    cut = box(100, -1, 100.2, 18)
    bar, blank = box(0, 0, 200, 40), box(0, 0, 180, 22.5)
    found = roomiest(blank, bar.difference(cut), flaws=[cut])
    place = found.pose.shape(blank)
    assert place.difference(bar).area > 0.0
    assert found.clearance.value_mm > -0.6
    assert not place.intersects(cut)
