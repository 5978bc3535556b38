"""Built-in families saved as families of a maker's own, and a plain plate."""

from dataclasses import replace
from functools import cache

from geometry.family import Family, built_in_families, family_named
from geometry.family.saving import family_of
from geometry.features import Station
from geometry.outline import outline_from_rings

KEYS = [family.key for family in built_in_families()]
FLAT = replace(
    outline_from_rings("flat", [(0, 0), (100, 0), (100, 30), (0, 30)]),
    stations=(
        Station(name="tip", x_mm=100.0, y_mm=15.0),
        Station(name="butt", x_mm=0.0, y_mm=15.0),
    ),
)


@cache
def saved(key: str) -> Family:
    return family_of(family_named(key).outline(), name="Mine")


def grown(own: Family, key: str, share: float) -> dict[str, float]:
    """One measure changed by a share of it, or as far as its range goes."""
    [each] = [parameter for parameter in own.parameters if parameter.key == key]
    return {key: min(max(each.default * (1 + share), each.low), each.high)}
