"""From a pose to the nearest pose that no small move betters: steps by linear programs.

Near a pose each tight place changes in proportion to the move, so the move that raises the least
of them most is the solution of a small linear program. Its step is bounded by how far the
proportion can be trusted; that bound grows where the forecast came true and shrinks where not.
"""

from __future__ import annotations

import numpy as np

from geometry.contacts import Contacts, Fitting
from geometry.pose import Pose
from geometry.segments import Floats

MAX_STEPS = 60
LEAST_GAIN_MM = 1e-6  # a forecast below this ends the climb
LEAST_TRUST_MM = 1e-6
REACH_MM = 6.0  # places this much roomier than the tightest take part, at a step of 1 mm


def roomier(
    fitting: Fitting, pose: Pose, *, trust_mm: float = 1.0, steps: int = MAX_STEPS
) -> tuple[Pose, float]:
    """Return the locally roomiest pose and the value of its tightest place, mm."""
    contacts = fitting.contacts(pose, REACH_MM)
    value = float(contacts.values_mm.min())
    for _ in range(steps):
        step, forecast = _best_step(contacts, trust_mm)
        if forecast - value < LEAST_GAIN_MM or trust_mm < LEAST_TRUST_MM:
            break
        tried = fitting.stepped(pose, step)
        there = fitting.contacts(tried, 2.0 * trust_mm + REACH_MM * min(1.0, trust_mm))
        gain = float(there.values_mm.min()) - value
        if gain < 0.25 * (forecast - value):
            trust_mm /= 3.0
        elif gain > 0.75 * (forecast - value):
            trust_mm *= 2.0
        if gain > 0.0:
            pose, contacts, value = tried, there, value + gain
    return pose, value


def _best_step(contacts: Contacts, trust_mm: float) -> tuple[Floats, float]:
    """Return the step within the trust that raises the least value most, and that value."""
    from scipy.optimize import linprog  # slow to import: only a search needs it

    rates = contacts.rates[:, :3]
    rows = np.column_stack([-rates, np.ones(len(rates))])
    bounds = [(-trust_mm, trust_mm)] * 3 + [(None, None)]
    found = linprog([0, 0, 0, -1], A_ub=rows, b_ub=contacts.values_mm, bounds=bounds)
    return np.append(found.x[:3], 0.0), float(found.x[3])
