"""The largest scale of an outline that keeps a margin in a piece of steel."""

from __future__ import annotations

import time

from geometry.clearance import UsableRegion
from geometry.contacts import Fitting
from geometry.local_fit import larger, roomier
from geometry.pose import Pose
from geometry.pose_search import promising_poses
from geometry.report import Progress

CANDIDATES = 16
ROUNDS = 6
HIGHER = 1.001  # the next round looks at this times the best scale
SETTLED = 1e-5  # a round that gains less is the last
FIRST_TRIM, TRIMMED = 1e-4, 1e-7  # of the scale


def grown_pose(
    fitting: Fitting,
    margin_mm: float,
    start_scale: float,
    *,
    mirror: bool,
    seed: int,
    tell: Progress,
) -> Pose:
    """Return the pose of greatest scale that the climbs from all promising poses lead to.

    Poses are looked for at the start scale, and each is grown as far as it goes; then again a
    little above the best scale, where only what is roomier elsewhere still shows.
    """
    best: Pose | None = None
    scale = start_scale
    for number in range(ROUNDS):
        poses = promising_poses(
            fitting, mirror=mirror, count=CANDIDATES, seed=seed + number, scale=scale
        )
        before = best
        for place, pose in enumerate(poses):
            tell((number + place / len(poses)) / ROUNDS)
            settled, room = roomier(fitting, pose)
            if best is not None and room < margin_mm:
                continue  # it has less room at this scale than the best found
            grown, _ = larger(fitting, settled, margin_mm=margin_mm)
            if best is None or grown.scale > best.scale:
                best = grown
        assert best is not None
        if before is not None and best.scale < before.scale * (1.0 + SETTLED):
            break
        scale = best.scale * HIGHER
    assert best is not None
    return best


def trimmed(fitting: Fitting, region: UsableRegion, pose: Pose, margin_mm: float) -> Pose | None:
    """Return a pose shrunk about the outline's centre until its exact clearance is the margin.

    The climb measured it nearly right: if it must lose more than half, it was no place at all.
    """
    centre = pose.points(fitting.centre_mm[None])[0]

    def at(scale: float) -> Pose:
        return fitting.pose_at(centre, pose.theta_rad, pose.mirrored, scale)

    def keeps(scale: float) -> bool:
        time.sleep(0)  # the window's thread gets a turn
        return region.clearance(at(scale).shape(fitting.outline)).value_mm >= margin_mm

    high, shrink = pose.scale * (1.0 + FIRST_TRIM), FIRST_TRIM
    while not keeps(high * (1.0 - shrink)):
        shrink *= 2.0
        if shrink > 0.5:
            return None
    low = high * (1.0 - shrink)
    while high - low > TRIMMED * low:
        middle = (low + high) / 2.0
        low, high = (middle, high) if keeps(middle) else (low, middle)
    return at(low)
