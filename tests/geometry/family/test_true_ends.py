"""A family kept from a drawing or a trace is as long as it is told, tip and butt at its ends."""

from pathlib import Path

import numpy as np
import pytest

from app.document.measured_outline import outline_of_billet
from app.files.job_file import read_job
from geometry.blade_measures import blade_measures
from geometry.curves import flatten_chain
from geometry.family import built_in_families
from geometry.family.model import Family
from geometry.family.saving import family_of
from geometry.outline import Outline

NEAR_MM = 0.01
SHARES = (-0.9, -0.3, 0.4, 1.0)  # of the way to an end of a range


def told(family: Family, key: str, share: float) -> float:
    [measure] = [each for each in family.parameters if each.key == key]
    end = measure.high if share > 0 else measure.low
    value = round(measure.default + abs(share) * (end - measure.default), 1)
    return min(max(value, measure.low), measure.high)


def ends_mm(outline: Outline) -> tuple[float, float]:
    """The least and the greatest x, by a second method: the edge in chords of 0.0001 mm."""
    x = flatten_chain(outline.chain, 1e-4)[:, 0]
    return float(x.min()), float(x.max())


@pytest.fixture(scope="module")
def traced(samples: Path) -> Family:
    billet = read_job(samples / "forging.blankwright").billet
    assert billet is not None
    return family_of(outline_of_billet(billet, name="forging"), name="Forging")


@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize("key", ["blade_length", "handle_length", "blade_width", "handle_width"])
def test_a_traced_knife_keeps_its_tip_and_gets_the_length_told(
    traced: Family, key: str, share: float
) -> None:
    value, drawn = told(traced, key, share), ends_mm(traced.outline({}))
    outline = traced.outline({key: value})
    defaults = {each.key: each.default for each in traced.parameters}
    more = value - defaults[key] if key.endswith("length") else 0.0
    butt, tip = ends_mm(outline)
    assert tip - butt == pytest.approx(drawn[1] - drawn[0] + more, abs=NEAR_MM)
    stations = {station.name: station.x_mm for station in outline.stations}
    assert stations["tip"] == pytest.approx(tip, abs=NEAR_MM)
    sizes = blade_measures(outline)
    assert sizes.edge is not None
    if key == "blade_length":
        assert stations["tip"] - stations["heel"] == pytest.approx(value, abs=NEAR_MM)


@pytest.mark.parametrize("family", built_in_families(), ids=lambda family: family.key)
def test_a_kept_family_gets_the_lengths_told(family: Family) -> None:
    """Blade and handle, each by itself and both at once."""
    kept = family_of(family.outline({}), name="Kept")
    draw = np.random.default_rng(3)
    for _ in range(4):
        values = {
            each.key: told(kept, each.key, draw.uniform(-0.5, 0.5))
            for each in kept.parameters
            if each.key.endswith("length")
        }
        sizes = blade_measures(kept.outline(values))
        for key, size in (("blade_length", sizes.blade_mm), ("handle_length", sizes.handle_mm)):
            if key in values:
                assert size == pytest.approx(values[key], abs=NEAR_MM)
