import itertools

import numpy as np
import pytest

from calibration.steel_rim import FARTHEST, JUMP, _cheapest


def cost_of(cost, way):
    steps = np.abs(np.diff([*way, way[0]]))
    if steps.max() > FARTHEST:
        return np.inf
    return float(sum(cost[row, place] for row, place in enumerate(way)) + JUMP * steps.sum())


@pytest.mark.parametrize("rows", [5, 6])
def test_the_way_round_a_ring_is_the_cheapest_of_all(rows):
    cost = np.random.default_rng(rows).uniform(-1.0, 1.0, (rows, 5))
    first = int(np.argmin(cost[0]))
    every = itertools.product([first], *(range(5) for _ in range(rows - 1)))
    best = min(cost_of(cost, way) for way in every)
    assert cost_of(cost, _cheapest(cost, first)) == pytest.approx(best)
