"""Linear programs in a handful of unknowns, faster than a general solver starts up.

The dual simplex method: as many limits as unknowns are held as equations; the limit that the
point they meet in breaks most is taken in, and the one that must give way first is let go, until
none is broken.
"""

from __future__ import annotations

import numpy as np

from geometry.segments import Floats

TOLERANCE = 1e-10
MAX_EXCHANGES = 300
TILT = 1e-9  # of the objective, in uneven parts: equal corners would be exchanged for ever


def greatest(objective: Floats, rows: Floats, limits: Floats, box: Floats) -> Floats | None:
    """Return the u that makes ``objective @ u`` greatest with ``rows @ u <= limits``.

    Parameters
    ----------
    objective : numpy.ndarray
        (K,) what to make great.
    rows, limits : numpy.ndarray
        (N, K) and (N,) the limits.
    box : numpy.ndarray
        (K,) > 0: every unknown also keeps within plus and minus this.

    Returns
    -------
    numpy.ndarray or None
        (K,) the unknowns, to rounding; None where no u keeps all limits, or the exchanges do not
        end.

    Examples
    --------
    >>> steep = np.array([[1.0, 1.0]])
    >>> greatest(np.array([1.0, 2.0]), steep, np.array([3.0]), np.array([5.0, 2.0])).round(6)
    array([1., 2.])
    """
    count = len(objective)
    lean = objective + TILT * np.sqrt(np.arange(2.0, 2.0 + count)) * np.abs(objective).max()
    sides = np.eye(count) * np.where(lean >= 0.0, 1.0, -1.0)
    matrix = np.concatenate([sides, -sides, rows])
    right = np.concatenate([box, box, limits])
    held = np.arange(count)
    for _ in range(MAX_EXCHANGES):
        inverse = np.linalg.inv(matrix[held])
        point = inverse @ right[held]
        broken = matrix @ point - right
        worst = int(broken.argmax())
        if broken[worst] <= TOLERANCE * (1.0 + abs(right[worst])):
            return np.asarray(point, dtype=float)
        shares = matrix[worst] @ inverse
        pressures = lean @ inverse
        giving = shares > TOLERANCE
        if not giving.any():
            return None
        ratios = np.where(giving, pressures / np.where(giving, shares, 1.0), np.inf)
        held[ratios.argmin()] = worst
    return None
