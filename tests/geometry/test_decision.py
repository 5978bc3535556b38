"""Decisions whose answers follow from least widths."""

import pytest
from shapely import box

from geometry.decision import fits
from geometry.errors import Cancelled
from geometry.pose import Pose
from geometry.report import Report
from geometry.site import Site, Target

SITE, SLAB = Site(box(0, 0, 200, 40)), Target(box(0, 0, 150, 26))
QUIET = Report(None, None)


def test_the_three_answers() -> None:
    # Least width: (40 - 26) / 2 = 7 is the most.
    decision = fits(SITE, SLAB, 6.9, mirror=False, report=QUIET)
    assert decision.answer == "fits"
    assert decision.best is not None
    placed = decision.best.pose.shape(SLAB.outline)
    assert SITE.region.clearance(placed).value_mm == decision.best.value_mm >= 6.9
    assert fits(SITE, SLAB, 7.1, mirror=False, report=QUIET).answer == "does not fit"
    hasty = fits(SITE, SLAB, 7.1, mirror=False, report=QUIET, seconds=0.0)
    assert hasty.answer == "too close to call"


def test_a_pose_known_to_fit_is_enough() -> None:
    known = Pose(x_mm=25.0, y_mm=7.0)
    decision = fits(SITE, SLAB, 6.5, mirror=False, report=QUIET, start=known, seconds=0.0)
    assert decision.answer == "fits"


def test_it_is_asked_at_a_scale() -> None:
    # 26 x 1.25 = 32.5 leaves 3.75 a side.
    twice = {"mirror": False, "report": QUIET, "scale": 1.25}
    assert fits(SITE, SLAB, 3.7, **twice).answer == "fits"
    assert fits(SITE, SLAB, 3.9, **twice).answer == "does not fit"


def test_stopped_before_any_pose_it_says_so() -> None:
    with pytest.raises(Cancelled):
        fits(SITE, SLAB, 7.1, mirror=False, report=Report(None, lambda: True))
