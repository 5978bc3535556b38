"""The proposed parts of a shape, held against families that know theirs, and what is doubted."""

import math
from pathlib import Path

import numpy as np
import pytest
from shapely import Polygon

from app.files.job_file import read_job
from geometry.errors import InputError
from geometry.family import Family, built_in_families
from geometry.knife_parts import Pointed, parts_of
from geometry.outline import Outline
from geometry.part_doubts import HEEL, SPINE, TIP, doubts_of
from geometry.pose import Pose


def drawn(family: Family, rng: np.random.Generator) -> Outline | None:
    """A family at random measures; None where they do not go together."""
    values = {
        p.key: float(
            rng.integers(int(p.low), int(p.high) + 1) if p.whole else rng.uniform(p.low, p.high)
        )
        for p in family.parameters
    }
    try:
        outline = family.outline(values)
        outline.polygon()
    except InputError:
        return None
    return outline


def test_a_proposal_that_is_wrong_is_doubted() -> None:
    rng = np.random.default_rng(20)
    shapes = wrong_tips = wrong_spines = undoubted = 0
    for family in built_in_families():
        for _ in range(8):
            outline = drawn(family, rng)
            if outline is None:
                continue
            lies = Pose(theta_rad=float(rng.uniform(0, 6)), mirrored=bool(rng.integers(2)))
            shape = outline.moved(lies).polygon()
            parts = parts_of(shape, Pointed())
            doubts = doubts_of(shape, Pointed(), parts)
            [tip] = lies.back([parts.tip_mm]).tolist()
            known = {s.name: (s.x_mm, s.y_mm) for s in outline.stations}
            shapes += 1
            if math.dist(tip, known["tip"]) > math.dist(tip, known["butt"]):
                wrong_tips += 1
                assert "tip" in doubts, family.key
            elif parts.spine != ("right" if lies.mirrored else "left"):
                wrong_spines += 1
                undoubted += "spine" not in doubts
    assert shapes > 80
    assert wrong_tips <= 0.03 * shapes
    assert wrong_spines <= 0.15 * shapes
    assert undoubted <= 0.01 * shapes


@pytest.mark.parametrize("family", built_in_families(), ids=lambda family: family.key)
def test_the_families_at_their_usual_measures_leave_tip_and_spine_beyond_doubt(
    family: Family,
) -> None:
    shape = family.outline().polygon()
    doubts = doubts_of(shape, Pointed(), parts_of(shape, Pointed()))
    assert "tip" not in doubts
    if family.key != "boning_fillet":  # it has no corner at its heel
        assert "spine" not in doubts


def test_a_plain_bar_is_doubted_in_all_and_what_is_pointed_at_in_nothing() -> None:
    bar = Polygon([(0, 0), (200, 0), (200, 30), (0, 30)])
    assert doubts_of(bar, Pointed(), parts_of(bar, Pointed())) == {
        "tip": TIP,
        "spine": SPINE,
        "heel": HEEL,
    }
    told = Pointed(tip_mm=(200.0, 15.0), butt_mm=(0.0, 15.0), heel_mm=(90.0, 0.0))
    assert doubts_of(bar, told, parts_of(bar, told)) == {}
    half = Pointed(tip_mm=(200.0, 15.0), spine="left")
    assert doubts_of(bar, half, parts_of(bar, half)) == {"heel": HEEL}


def notched(*, edge_up: bool) -> Polygon:
    """A knife 210 mm long with a gentle notch at its heel: corners of 22 and 24 degrees."""
    lower = [(0, 10), (10, 0), (107.5, 4), (117.5, 0), (150, 0), (180, 1.5), (212.5, 8)]
    upper = [(195, 24), (175, 30.5), (150, 33), (117.5, 34), (10, 30), (0, 20)]
    sign = -1 if edge_up else 1
    return Polygon([(x, sign * y) for x, y in (*lower, *upper)])


@pytest.mark.parametrize("edge_up", [False, True])
def test_a_gentle_notch_tells_the_edge_and_the_heel(edge_up: bool) -> None:
    shape = notched(edge_up=edge_up)
    parts = parts_of(shape, Pointed())
    assert parts.spine == ("right" if edge_up else "left")
    assert parts.heel_mm == pytest.approx((117.5, 0.0), abs=0.5)
    assert "spine" not in doubts_of(shape, Pointed(), parts)


def test_a_hammered_shoulder_tells_the_edge_and_the_heel(samples: Path) -> None:
    """On the sample the tang begins with the hollow at x 111, y 113 mm of its true edge."""
    billet = read_job(samples / "forging.blankwright").billet
    assert billet is not None
    parts = parts_of(billet.shape, Pointed())
    assert parts.spine == "left"
    x, y = parts.heel_mm
    assert 111.0 < x < 118.0
    assert y < 113.0
    assert "spine" not in doubts_of(billet.shape, Pointed(), parts)
