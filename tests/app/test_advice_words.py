"""What must give, in words: numbers as the maker reads them."""

import shapely

from app.document.advice_for import JobAdvice, advice_for, given_way, measures_of
from app.document.advice_words import advice_lines, change_words, outcome_words, short_words
from app.document.families import chosen_family
from app.document.flow import layout_of
from app.document.job import Job, OutlineChoice
from geometry.advice import Advice, Short, Way
from geometry.billet import Billet
from geometry.clearance import Clearance
from geometry.placement import Placement
from geometry.pose import Pose
from geometry.verdict import Verdict

JOB = Job(outline=OutlineChoice(family="full_tang_drop_point"))  # blade 95 long, 26 wide
ROOM = Clearance(value_mm=1.024, blank_point_mm=(0.0, 0.0), edge_point_mm=(0.0, 1.024))
WAY = Way(
    values=(("blade_length", 91.0), ("blade_width", 24.6)),
    share=0.12,
    pose=Pose(),
    clearance=ROOM,
    beside=(("blade_length", 91.1), ("blade_width", 24.7)),
    beside_answer="too close to call",
)


def test_a_change_is_told_from_what_it_is_to_what_it_gives() -> None:
    assert change_words(WAY, JOB) == (
        "blade length 95.0 -> 91.0 mm, blade width at the heel 26.0 -> 24.6 mm"
    )
    told = outcome_words(WAY, JOB)
    assert told == "fits, 1.02 mm spare; 91.1 with 24.7 is too close to call"


def test_in_inches() -> None:
    from dataclasses import replace

    inches = replace(JOB, unit="in")
    way = replace(WAY, values=(("blade_length", 88.9),), beside=(("blade_length", 89.154),))
    # 95 / 25.4 = 3.7402, 88.9 = 3.5 in, 89.154 = 3.51 in
    assert change_words(way, inches) == "blade length 3.740 -> 3.50 in"
    assert outcome_words(way, inches) == "fits, 0.040 in spare; 3.51 is too close to call"
    [step] = {
        each.step for each in measures_of(chosen_family(JOB.outline), inches) if each.high > 20
    }
    assert step == 0.254


def test_measures_that_are_not_enough_alone() -> None:
    short = (
        Short(key="blade_width", value=18.0, clearance_mm=0.4),
        Short(key="handle_length", value=95.0, clearance_mm=-2.5),
    )
    assert short_words(short, JOB) == (
        "Not enough alone: blade width at the heel at 18.0 mm (0.4 mm spare), "
        "handle length at 95.0 mm (sticks out by 2.5 mm)."
    )


def test_what_was_cut_short_says_so() -> None:
    found = Placement(pose=Pose(), clearance=ROOM, upper_bound_mm=2.0, proven=False)
    advice = Advice(present=found, answer="does not fit", complete=False)
    lines = advice_lines(JOB, JobAdvice(of_family=advice))
    assert lines == [
        "No change of one measure or of two was found to help.",
        "Time ran out before all was looked at: there may be more.",
    ]


def test_a_job_with_the_change_made_fits_for_sure() -> None:
    # An edge known to 0.1 mm: 1 + 0.2 is asked for, so that the verdict is no doubtful one.
    bar = Billet(shape=shapely.box(0, 0, 206, 60), vertex_sigma_mm=(0.1,) * 4)
    job = Job(billet=bar, outline=OutlineChoice(family="full_tang_spear_point"))
    told = advice_for(job).of_family
    assert told is not None
    assert told.ways
    for way in told.ways:
        layout = layout_of(given_way(job, way))
        assert layout is not None
        assert layout.verdict is Verdict.FITS
        assert layout.clearance.value_mm >= 1.2 - 1e-6
