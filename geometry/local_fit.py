"""From a pose to the nearest one that no small move betters: steps by small linear programs.

Near a pose each tight place changes in proportion to the move, so the move that raises the least
of them most, or that lets the outline grow most while all keep the margin, solves a small linear
program. Its step is bounded by how far the proportion can be trusted; that bound grows where the
forecast came true and shrinks where it did not.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from geometry.contacts import CLEAR_MM, Contacts, Fitting
from geometry.pose import Pose
from geometry.segments import Floats
from geometry.small_program import greatest

MAX_STEPS = 60
LEAST_GAIN_MM = 1e-6  # a forecast below this ends the climb
LEAST_TRUST_MM = 1e-6
REACH = 12.0  # of the trust: no step brings two places nearer by more, the trust then doubled
LEAST_REACH_MM = 3.0
SLIDE_TRUST_MM = 5.0
FAR_MM = 1e5  # farther than any value


class _Step(NamedTuple):
    """A step in the directions of `Contacts.rates`, and the merit that it should lead to."""

    step_mm: Floats
    forecast_mm: float


def roomier(fitting: Fitting, pose: Pose, *, trust_mm: float = 1.0) -> tuple[Pose, float]:
    """Return the locally roomiest pose and the value of its tightest place, mm."""

    def step(contacts: Contacts, pose: Pose, trust: float) -> _Step | None:
        rows = np.column_stack([-contacts.rates[:, :3], ~contacts.shut])
        box = np.array([trust, trust, trust, FAR_MM])
        held = np.maximum(contacts.values_mm - CLEAR_MM, 0.0)
        limits = np.where(contacts.shut, held, contacts.values_mm)
        found = greatest(np.array([0.0, 0.0, 0.0, 1.0]), rows, limits, box)
        return None if found is None else _Step(np.append(found[:3], 0.0), float(found[3]))

    def merit(contacts: Contacts, pose: Pose) -> float:
        return float(contacts.values_mm.min())

    return _climb(fitting, pose, trust_mm, step, merit)


def larger(
    fitting: Fitting, pose: Pose, *, margin_mm: float, trust_mm: float = 1.0
) -> tuple[Pose, float]:
    """Return the locally largest pose that keeps a margin, and its scale less what it breaks.

    Growth counts at the rim of the outline. A pose that breaks the margin is charged more for it
    than any growth could bring, so the climb ends on a pose that keeps it, as measured here.
    """
    price = 4.0 * fitting.rim_mm / fitting.disc_mm

    def step(contacts: Contacts, pose: Pose, trust: float) -> _Step | None:
        # unknowns: shift, shift, turn, growth, and how far the margin may stay broken
        rows = np.column_stack([-contacts.rates, -np.ones(len(contacts.rates))])
        rows = np.vstack([rows, [0.0, 0.0, 0.0, 0.0, -1.0]])
        limits = np.append(contacts.values_mm - margin_mm, 0.0)
        box = np.array([trust, trust, trust, trust, FAR_MM])
        found = greatest(np.array([0.0, 0.0, 0.0, 1.0, -price]), rows, limits, box)
        if found is None:
            return None
        return _Step(found[:4], pose.scale * fitting.rim_mm + float(found[3] - price * found[4]))

    def merit(contacts: Contacts, pose: Pose) -> float:
        broken = max(0.0, margin_mm - float(contacts.values_mm.min()))
        return pose.scale * fitting.rim_mm - price * broken

    largest, value = _climb(fitting, pose, trust_mm, step, merit)
    return largest, value / fitting.rim_mm


def slid(fitting: Fitting, pose: Pose, way: Floats, *, floor_mm: float) -> Pose:
    """Return the pose slid as far as goes in a direction while no place falls below a floor.

    It may turn on its way. Where it cannot move at once, it stays.

    Parameters
    ----------
    fitting, pose
        As above.
    way : numpy.ndarray
        (2,) unit direction.
    floor_mm : float
        What the tightest place must keep.
    """
    price = 4.0  # of a broken floor: more than any slide could bring

    def step(contacts: Contacts, pose: Pose, trust: float) -> _Step | None:
        rows = np.column_stack([-contacts.rates[:, :3], -np.ones(len(contacts.rates))])
        rows = np.vstack([rows, [0.0, 0.0, 0.0, -1.0]])
        limits = np.append(contacts.values_mm - floor_mm, 0.0)
        box = np.array([trust, trust, trust, FAR_MM])
        found = greatest(np.array([way[0], way[1], 0.0, -price]), rows, limits, box)
        if found is None:
            return None
        gain = float(found[:2] @ way - price * found[3])
        return _Step(np.append(found[:3], 0.0), float(fitting.centre_of(pose) @ way) + gain)

    def merit(contacts: Contacts, pose: Pose) -> float:
        broken = max(0.0, floor_mm - float(contacts.values_mm.min()))
        return float(fitting.centre_of(pose) @ way) - price * broken

    return _climb(fitting, pose, SLIDE_TRUST_MM, step, merit)[0]


def _climb(
    fitting: Fitting,
    pose: Pose,
    trust_mm: float,
    step: Callable[[Contacts, Pose, float], _Step | None],
    merit: Callable[[Contacts, Pose], float],
) -> tuple[Pose, float]:
    """Take steps while the forecasts promise anything; return the pose and its merit."""
    contacts = fitting.contacts(pose, max(LEAST_REACH_MM, REACH * trust_mm))
    value = merit(contacts, pose)
    for _ in range(MAX_STEPS):
        planned = step(contacts, pose, trust_mm)
        if planned is None or trust_mm < LEAST_TRUST_MM:
            break
        promise = planned.forecast_mm - value
        if promise < LEAST_GAIN_MM:
            break
        tried = fitting.stepped(pose, planned.step_mm)
        there = fitting.contacts(tried, max(LEAST_REACH_MM, REACH * trust_mm))
        gain = merit(there, tried) - value
        if gain < 0.25 * promise:
            trust_mm /= 3.0
        elif gain > 0.75 * promise and np.abs(planned.step_mm).max() > 0.9 * trust_mm:
            trust_mm *= 2.0
        if gain > 0.0:
            pose, contacts, value = tried, there, value + gain
    return pose, value
