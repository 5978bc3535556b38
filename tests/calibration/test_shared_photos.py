"""Simulated phone photos with known cameras, kept beside the project."""

import json
import re

import numpy as np
import pytest

from calibration.calibrate import calibrate
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
