"""Simulated phone photos with known cameras, kept beside the project."""

import json
import re

import numpy as np
import pytest
import shapely

from calibration.calibrate import calibrate
from calibration.capture import capture
from calibration.ink import find_ink
from calibration.photo import load_photo
from calibration.references import LineReference, RectangleReference, SheetReference
from tests.calibration.render import rigid_error

# the worst and the oddest: a steel scale on the edge; two lines; a rectangle; grid paper;
# a shadow under barrel distortion at 20 degrees; few pixels; rust and a steel scale
NAMES = ["p04", "p05", "p06", "p07", "p09", "p10", "p14"]


def seen_by(camera, places_mm):
    """The truth file's own formula."""
    assert re.match(r"X_cam = R \(X - C\)", camera["model"])
    flat = np.column_stack([places_mm, np.zeros(len(places_mm))])
    x = (flat - camera["C_mm"]) @ np.array(camera["R"]).T
    a = x[:, :2] / x[:, 2:]
    r2 = (a**2).sum(axis=1, keepdims=True)
    stretch = 1 + camera["k1"] * r2 + camera["k2"] * r2**2
    return np.array([camera["cx"], camera["cy"]]) + camera["f_px"] * a * stretch


@pytest.mark.parametrize("name", NAMES)
def test_the_steel_is_mapped_to_a_tenth_of_a_millimetre(shared, name):
    truth_path = next((shared / "photos").glob(f"{name}_*.truth.json"))
    truth = json.loads(truth_path.read_text())
    photo = load_photo(truth_path.parent / truth["photo"])
    references = [
        LineReference(length_mm=r["length_mm"])
        if r["kind"] == "line"
        else RectangleReference(width_mm=r["sides_mm"][0], height_mm=r["sides_mm"][1])
        for r in truth["references"]
    ]
    ink = find_ink(photo)
    steel = np.array(truth["steel"])
    px = seen_by(truth["camera"], steel)
    width, height = truth["sheet"]["size_mm"]
    sheet = SheetReference(width_mm=width, height_mm=height)
    for given in (references, [*references, sheet]):
        calibration = calibrate(photo, ink, given)
        errors = rigid_error(calibration.map.to_mm(px), steel)
        assert errors.max() < 0.1
        assert np.quantile(errors / calibration.map.sigma_mm(px[::20]).max(), 0.95) < 2.0
    for reference, found in zip(truth["references"], calibration.found, strict=False):
        true = np.array(reference.get("ends_px") or reference["corners_px"])
        seen = np.array(found.points_px)
        nearest = np.hypot(*(seen[:, None] - true).transpose(2, 0, 1)).min(axis=1)
        assert nearest.max() < 0.5


@pytest.mark.parametrize("name", ["p12", "p13", "p14"])
def test_steel_of_untold_thickness_is_doubted_by_as_much_as_it_is_off(shared, name):
    """Their tops are 5, 6 and 8 mm nearer to the lens: 0.5 to 1.6 mm too large all round."""
    truth_path = next((shared / "photos").glob(f"{name}_*.truth.json"))
    truth = json.loads(truth_path.read_text())
    photo = load_photo(truth_path.parent / truth["photo"])
    references = [LineReference(length_mm=truth["references"][0]["length_mm"])]
    found = capture(photo, references, subject="steel").billet
    steel = shapely.Polygon(truth["steel"])
    too_large_mm = (found.shape.area - steel.area) / steel.length
    assert too_large_mm > 0.4
    assert abs(too_large_mm - found.too_large_mm) < 2 * found.budget.bias_sigma_mm
    told = capture(photo, references, subject="steel", thickness_mm=truth["thickness_mm"]).billet
    assert abs((told.shape.area - steel.area) / steel.length) < 0.1
    assert told.too_large_mm == 0.0
    assert max(told.vertex_sigma_mm) < max(found.vertex_sigma_mm)
