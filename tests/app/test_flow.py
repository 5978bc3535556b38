"""From the measured piece and what was changed by hand to what follows."""

import datetime
from dataclasses import replace

import pytest
import shapely

from app.document.flow import (
    billet_of,
    claim_of,
    drawing_of,
    layout_of,
    placed,
    roomiest_for,
    settled,
)
from app.document.job import Job, OutlineChoice
from geometry.billet import Billet
from geometry.editing import AddFlaw, Cut, vertex_moved
from geometry.errors import InputError
from geometry.outline import outline_from_rings
from geometry.pose import Pose

BAR = Billet(shape=shapely.box(0, 0, 200, 40), vertex_sigma_mm=(0.1,) * 4)
BLANK = outline_from_rings("strip", [(0, 0), (60, 0), (60, 10), (0, 10)])
JOB = Job(billet=BAR, outline=OutlineChoice(drawing=BLANK), pose=Pose(x_mm=70.0, y_mm=15.0))
FLAW = AddFlaw(points_mm=((90.0, 30.0), (110.0, 30.0), (110.0, 35.0), (90.0, 35.0)))


def test_the_layout_keeps_clear_of_flaws_and_cuts() -> None:
    room = layout_of(JOB)
    flawed = layout_of(replace(JOB, edits=(FLAW,)))
    cut = layout_of(replace(JOB, edits=(FLAW, Cut(start_mm=(131.0, 0.0), end_mm=(131.0, 40.0)))))
    assert room is not None
    assert flawed is not None
    assert cut is not None
    assert room.clearance.value_mm == pytest.approx(15.0)
    assert flawed.clearance.value_mm == pytest.approx(5.0)
    assert cut.clearance.value_mm == pytest.approx(1.0)
    assert cut.sigma_mm == 0.25  # the saw's


def test_the_search_stays_out_of_flaws() -> None:
    """A flaw right across the middle: the strip fits in either half and never over it."""
    across = AddFlaw(points_mm=((100.0, -1.0), (100.0, 41.0)), reach_mm=10.0)
    job = replace(JOB, edits=(across,))
    found = roomiest_for(job)
    layout = layout_of(placed(job, found))
    assert layout is not None
    assert layout.clearance.value_mm == pytest.approx(15.0, abs=0.02)  # (40 - 10) / 2, as unflawed
    assert layout.blank.distance(across.region()) >= 14.9
    assert settled(placed(job, found)).clearance.value_mm >= layout.clearance.value_mm - 1e-6


def test_without_changes_the_piece_is_the_very_one_and_with_them_the_same_each_time() -> None:
    assert billet_of(JOB) is BAR
    job = replace(JOB, edits=(FLAW,))
    assert billet_of(job) is billet_of(replace(job, name="other"))
    assert billet_of(replace(job, edits=())) is BAR


def test_a_job_without_steel_says_so() -> None:
    with pytest.raises(InputError, match="no piece of steel"):
        billet_of(Job())


def test_steel_drawn_in_by_hand_is_said_on_the_pattern() -> None:
    edits = (vertex_moved(BAR, (200.0, 40.0), (203.0, 40.0)),)
    claimed = claim_of(replace(JOB, edits=edits))
    assert claimed is not None
    assert claimed.beyond_mm == pytest.approx(3.0, abs=2e-3)
    notes = drawing_of(replace(JOB, edits=edits), datetime.date(2026, 1, 2)).title.notes
    assert any("up to 3.00 mm outside the steel" in note for note in notes)
    inward = (vertex_moved(BAR, (200.0, 40.0), (197.0, 40.0)),)
    assert claim_of(replace(JOB, edits=inward)) is None
    notes = drawing_of(replace(JOB, edits=inward), datetime.date(2026, 1, 2)).title.notes
    assert not any("by hand" in note for note in notes)
