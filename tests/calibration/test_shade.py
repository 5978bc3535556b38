import numpy as np
import pytest

from calibration.capture import capture
from calibration.errors import PhotoError
from calibration.ink import find_ink
from calibration.photo import Photo, load_photo
from calibration.references import LineReference
from calibration.shade import looks_like_steel

MM_PER_PX = 0.25


def sheet_with_plate(paper: float, plate: float, shade: float = 1.0) -> tuple[Photo, np.ndarray]:
    """A paper on a bench, a plate on it; the right half of the picture shaded."""
    grey = np.full((900, 1200), 40.0)
    grey[60:840, 80:1120] = paper
    grey[350:550, 300:900] = plate
    grey[:, 600:] *= shade
    rgb = np.repeat(np.clip(grey, 0, 255).astype(np.uint8)[..., None], 3, axis=2)
    corners = np.array([(300, 350), (900, 350), (900, 550), (300, 550)], float)
    return Photo(rgb=np.ascontiguousarray(rgb), focal_px=None, name="plate"), corners


@pytest.mark.parametrize("shade", [1.0, 0.6])
def test_only_what_is_darker_than_its_paper_looks_like_steel(shade: float) -> None:
    for plate, steel in ((228.0, False), (215.0, False), (120.0, True), (60.0, True)):
        photo, corners = sheet_with_plate(230.0, plate, shade)
        assert looks_like_steel(photo, find_ink(photo), corners, MM_PER_PX) is steel


def test_a_contour_without_paper_round_it_is_no_steel() -> None:
    photo, _ = sheet_with_plate(230.0, 230.0)
    whole = np.array([(0, 0), (1199, 0), (1199, 899), (0, 899)], float)
    assert not looks_like_steel(photo, find_ink(photo), whole, MM_PER_PX)


def test_steel_measured_as_a_trace_is_told(shared) -> None:
    # the rim of rusty steel closes to a ring of ink or just does not: either way it is named
    photo = load_photo(shared / "photos" / "p14_steel_rust_tilt15.jpg")
    try:
        said = " ".join(capture(photo, [LineReference(length_mm=152.4)]).notes)
    except PhotoError as error:
        said = str(error)
    assert "--subject steel" in said


def test_a_trace_is_not_taken_for_steel(samples) -> None:
    photo = load_photo(samples / "forging.jpg")
    notes = capture(photo, [LineReference(length_mm=152.4)]).notes
    assert not any("--subject steel" in note for note in notes)
