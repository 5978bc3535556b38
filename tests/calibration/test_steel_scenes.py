"""Rendered photos of plates whose edge and holes are known, from sheet to measured piece."""

import dataclasses
import functools

import numpy as np
import pytest
import shapely

from tests.calibration.steel_render import KRAFT, scene
from tests.calibration.steel_score import captured, scored


@functools.cache
def measured(seed):
    plan = scene(seed)
    found = captured(plan, plan.photo())
    return plan, found, scored(plan, found)


@pytest.mark.parametrize("seed", [3, 8, 14])  # rust and scale; white, cream and grey paper
def test_a_dark_plate_is_measured_beside_its_shadow(seed):
    _, _, score = measured(seed)
    assert score.p95_mm < 0.25
    assert abs(score.bias_mm) < 0.12
    assert score.covered >= 0.9


def test_ground_steel_on_brown_paper_as_bright_as_itself_is_measured():
    plan, _, score = measured(16)
    assert plan.paper == KRAFT
    assert np.mean(plan.surface.base) > np.mean(KRAFT)
    assert score.p95_mm < 0.4


@pytest.mark.parametrize("seed", [0, 16])
def test_a_hole_drilled_through_the_plate_is_a_hole_of_the_piece(seed):
    plan, found, score = measured(seed)
    assert len(found.billet.shape.interiors) == len(plan.plate.interiors) == 1
    (hole,) = score.holes
    assert hole.centre_mm < 0.25
    assert abs(hole.wider_mm) < 0.2
    assert len(found.contour.holes_px) == 1


@pytest.mark.parametrize("seed", [2, 8])  # forged with glints; rusty
def test_glints_and_rust_are_no_holes(seed):
    plan, found, _ = measured(seed)
    assert not plan.plate.interiors
    assert not found.billet.shape.interiors


def test_a_rim_that_is_not_seen_all_round_is_told_and_not_cut():
    plan, found, score = measured(3)
    assert len(plan.plate.interiors) == 1
    assert not score.holes
    notes = [note for note in found.notes if "may be a hole" in note]
    told = [note.split("at pixel ")[1].split(" ")[0].split(",") for note in notes]
    centre = shapely.Polygon(plan.plate.interiors[0]).centroid
    top = dataclasses.replace(plan.camera, height_mm=plan.thickness_mm)
    off = np.array(told, float) - top.to_px([[centre.x, centre.y]])
    assert np.hypot(*off.T).min() < 3.0


@pytest.mark.parametrize(("seed", "told"), [(3, False), (8, False), (10, True)])
def test_steel_that_is_as_bright_as_its_paper_is_told(seed, told):
    _, found, score = measured(seed)
    assert told == (score.p95_mm > 0.4)
    assert told == any("rim is not seen against the paper" in note for note in found.notes)
