"""The samples open, and measure what their README says."""

from pathlib import Path

import pytest

from app.cli.outline_frame import drawing_in_frame
from app.document.flow import layout_of
from app.files.job_file import read_job
from app.files.outline_choice import choice_and_notes
from geometry.blade_measures import blade_measures
from geometry.knife_parts import Pointed
from geometry.verdict import Verdict


def test_the_finished_job_opens_and_fits(samples: Path) -> None:
    job = read_job(samples / "forging.blankwright")
    assert job.measure_is_current
    assert job.billet is not None
    assert job.billet.size_mm() == pytest.approx((231.1, 42.6), abs=0.05)
    layout = layout_of(job)
    assert layout is not None
    assert layout.verdict is Verdict.FITS
    assert job.photo is not None
    assert job.photo.data == (samples / "forging.jpg").read_bytes()


@pytest.mark.parametrize(
    ("name", "length_mm", "width_mm", "holes"),
    [("neck_knife.json", 146.0, 23.8, 4), ("bench_sheepsfoot.dxf", 166.0, 28.5, 3)],
)
def test_an_outline_has_its_stated_size(
    samples: Path, name: str, length_mm: float, width_mm: float, holes: int
) -> None:
    outline = choice_and_notes(str(samples / name))[0].drawing
    assert outline is not None
    left, bottom, right, top = outline.bounds_mm
    assert right - left == pytest.approx(length_mm, abs=0.05)
    assert top - bottom == pytest.approx(width_mm, abs=0.06)
    assert len(outline.holes) == holes
    outline.polygon()


def test_the_drawn_sheepsfoot_measures_what_its_line_says(samples: Path) -> None:
    drawn = choice_and_notes(str(samples / "bench_sheepsfoot.dxf"))[0].drawing
    assert drawn is not None
    outline = drawing_in_frame(drawn, Pointed(heel_mm=(109.0, 6.55))).outline
    edge = blade_measures(outline).edge
    assert edge is not None
    assert edge.heel_width_mm == pytest.approx(22.0, abs=0.05)
    tip = next(station for station in outline.stations if station.name == "tip")
    assert tip.x_mm == pytest.approx(57.0, abs=0.05)
    told = (samples / "README.md").read_text(encoding="utf-8")
    assert "`--heel 109,6.55` | 166 x 28.5 mm; 22 mm wide at the heel" in told
    assert "the tip lies 57 mm forward" in told


def test_every_sample_has_its_line_in_the_readme(samples: Path) -> None:
    told = (samples / "README.md").read_text(encoding="utf-8")
    files = {path.name for path in samples.iterdir() if not path.name.endswith(".truth.json")}
    shown_elsewhere = {"README.md", "window.png"}
    assert [name for name in sorted(files - shown_elsewhere) if name not in told] == []
