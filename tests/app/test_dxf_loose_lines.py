"""Loose lines of DXF files: gaps closed, specks kept, doublings dropped."""

import math
from pathlib import Path

import numpy as np
import pytest

from app.files.errors import FileError
from geometry.curves import Line
from tests.app.dxf_hands import BAR, SIDES, bar, in_mm, lines, read


@pytest.mark.parametrize("gap_mm", [0.0008, 0.02, 0.06, 0.099])
@pytest.mark.parametrize("way", ["along", "across", "short of the middle"])
def test_gaps_up_to_a_tenth_are_closed_and_told(tmp_path: Path, gap_mm: float, way: str) -> None:
    sides = list(SIDES)
    if way == "along":
        sides[0] = ((0.0, 0.0), (60.0, 0.0))
        sides.append(((60.0 + gap_mm, 0.0), (120.0, 0.0)))
    elif way == "across":
        sides[1] = ((120.0 + gap_mm * 0.7, gap_mm * 0.7), sides[1][1])
    else:  # the upright stops short of a long line that goes on
        sides[0] = ((-9.0, 0.0), (140.0, 0.0))
        sides[3] = ((0.0, 30.0), (0.0, gap_mm))
        sides[1] = ((120.0, 0.0), (120.0, 30.0))
    document = in_mm()
    lines(document.modelspace(), sides)
    found = read(document, tmp_path)
    assert found.outline.area_mm2 == pytest.approx(3600, abs=15 * gap_mm + 0.1)
    assert len(found.notes) == (gap_mm > 0.001)


def test_a_speck_between_two_gaps_is_a_part_of_the_edge(tmp_path: Path) -> None:
    """Two gaps of 0.06 about a piece of 0.04, whose own ends are nearer to one another."""
    document = in_mm()
    cuts = [0.0, 60.0, 60.06, 60.1, 60.16, 120.0]
    pieces = [((a, 0.0), (b, 0.0)) for a, b in zip(cuts[::2], cuts[1::2], strict=True)]
    lines(document.modelspace(), [*pieces, *SIDES[1:]])
    found = read(document, tmp_path)
    assert found.outline.area_mm2 == pytest.approx(3600)
    assert found.notes == ("2 gaps of up to 0.060 mm closed.",)


def test_a_gap_wider_than_a_tenth_is_not_closed(tmp_path: Path) -> None:
    document = in_mm()
    sides = [*SIDES[:3], ((0.0, 30.0), (0.0, 0.13))]
    lines(document.modelspace(), sides)
    with pytest.raises(FileError, match=r"no closed outline.*0\.13 mm apart"):
        read(document, tmp_path)


def test_fine_pieces_are_not_joined_across_one_another(tmp_path: Path) -> None:
    """A circle in 8000 lines of 0.04 mm: all ends are within reach of their neighbours' ends."""
    turns = np.linspace(0, 2 * math.pi, 8001)
    ring = np.column_stack([50 * np.cos(turns), 50 * np.sin(turns)])
    document = in_mm()
    lines(document.modelspace(), [(tuple(a), tuple(b)) for a, b in zip(ring, ring[1:])])  # noqa: B905,RUF007
    found = read(document, tmp_path)
    assert not found.notes
    radii = np.hypot(*(found.outline.ring() - 50).T)
    assert np.abs(radii - 50).max() < 2e-3


def test_lines_drawn_again_are_dropped_and_told(tmp_path: Path) -> None:
    """The whole edge once more, a part of a side, a side a hair off, and the hole again."""
    document = in_mm()
    space = document.modelspace()
    lines(space, [*SIDES, *SIDES, ((20, 0), (70, 0)), ((0, 30.004), (120, 30.004))])
    for _ in range(3):
        space.add_circle((60, 15), 5)
    found = read(document, tmp_path)
    assert found.outline.area_mm2 == pytest.approx(3600 - 25 * math.pi, abs=0.6)
    assert len(found.outline.holes) == 1
    assert len(found.outline.chain) == 4
    assert [line.partition(":")[0] for line in found.told()] == [
        "6 lines drawn twice",
        "2 circles drawn twice",
    ]


def test_a_closed_edge_drawn_again_as_lines_counts_once(tmp_path: Path) -> None:
    document = in_mm()
    bar(document.modelspace())
    lines(document.modelspace(), SIDES)
    found = read(document, tmp_path)
    assert found.outline.area_mm2 == pytest.approx(3600)
    assert [line.partition(":")[0] for line in found.told()] == ["4 lines drawn twice"]


def test_pieces_with_no_length_are_passed_over(tmp_path: Path) -> None:
    document = in_mm()
    space = document.modelspace()
    bar(space, [*BAR[:2], BAR[1], *BAR[2:], BAR[3]])
    space.add_line((5, 5), (5, 5))
    space.add_circle((9, 9), 0)
    outline = read(document, tmp_path).outline
    assert len(outline.chain) == 4
    assert all(isinstance(piece, Line) for piece in outline.chain)
