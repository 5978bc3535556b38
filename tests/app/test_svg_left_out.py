"""Whatever an SVG holds is read or named with its count: nothing goes without a word."""

from collections import Counter
from pathlib import Path

import pytest

from app.files.errors import FileError
from app.files.strokes import Imported
from app.files.svg_file import read_svg

MM = 'width="200mm" height="100mm" viewBox="0 0 200 100"'  # a user unit is a millimetre
NAMES = 'xmlns="http://www.w3.org/2000/svg" xmlns:x="http://www.w3.org/1999/xlink"'
BAR = '<rect width="120" height="30"/>'
BIG = '<rect width="199" height="99"/>'


def read(folder: Path, body: str, frame: str = MM) -> Imported:
    path = folder / "part.svg"
    path.write_text(f"<svg {NAMES} {frame}>{body}</svg>", "utf-8")
    return read_svg(path)


NAMED: list[tuple[str, dict[str, int]]] = [
    (f'<g display="none">{BIG}<circle r="40"/><g>{BIG}</g></g>',
     {"hidden rectangle": 2, "hidden circle": 1}),
    (f'<g style="display:none"><g display="inline">{BIG}</g></g>', {"hidden rectangle": 1}),
    ('<g display="none"><text x="3" y="3">word</text><image width="9" height="9"/></g>',
     {"words": 1, "picture": 1}),
    (f"<style>.h{{display:none !important}}</style><g class='h'>{BIG}</g>",
     {"hidden rectangle": 1}),
    (f'<g visibility="hidden">{BIG}</g><path visibility="collapse" d="M0 0h99"/>',
     {"hidden rectangle": 1, "hidden path": 1}),
    (f'<defs>{BIG}<g id="g"><circle r="9"/></g></defs>',
     {"rectangle that is defined and not used": 1, "circle that is defined and not used": 1}),
    (f'<symbol id="s">{BIG}</symbol>', {"rectangle that is defined and not used": 1}),
    ('<defs><circle id="c" cx="9" cy="9" r="2"/></defs><use href="#c"/>', {}),
    ('<use href="#none"/><use x:href="#"/>', {"use of something that is not there": 2}),
    ('<use href="other.svg#a"/>', {"use of another file": 1}),
    (f'<clipPath id="c">{BIG}</clipPath><clipPath id="d">{BIG}</clipPath>'
     '<g clip-path="url(#c)"><circle cx="9" cy="9" r="2"/></g>',
     {"clip path that is not followed": 1, "rectangle that is defined and not used": 1}),
    *((f'<defs><{kind} id="k"><g>{BIG}</g><circle r="4"/></{kind}></defs>',
       {"rectangle that is defined and not used": 1, "circle that is defined and not used": 1})
      for kind in ("pattern", "marker", "mask", "clipPath")),
    (f'<pattern id="p">{BIG}</pattern><rect width="9" height="9" x="150" fill="url(#p)"/>',
     {"pattern of a fill": 1, "closed rectangle beside the outline": 1}),
    (f'<mask id="m">{BIG}</mask><style>.m{{mask:url("#m")}}</style>',
     {"mask that is not followed": 1}),
    ('<marker id="m"><path d="M0 0h9v9z"/></marker><path d="M130 0h9" marker-end="url(#m)"/>',
     {"arrow head or marker": 1, "open path beside the outline": 1}),
    (f'<foreignObject>{BIG}</foreignObject>', {"page of another kind": 1}),
    (f'<flowRoot><flowRegion>{BIG}</flowRegion><flowPara>hi</flowPara></flowRoot>', {"words": 1}),
    ('<text><textPath>round about</textPath></text>', {"words": 1}),
    ('<rect width="0" height="5"/><circle r="0"/><path/><path d=" "/><line x1="5" x2="5"/>'
     '<ellipse rx="0" ry="4"/>',
     {"rectangle without size": 1, "circle without size": 1, "path without size": 2,
      "line without size": 1, "ellipse without size": 1}),
    (f'<svg width="0" height="9" viewBox="0 0 1 1">{BIG}</svg>', {"rectangle without size": 1}),
    (f'<svg height="0%"><g>{BIG}</g></svg>', {"rectangle without size": 1}),
    ('<image href="a.png" width="9" height="9"/>', {"picture": 1}),
]  # fmt: skip


@pytest.mark.parametrize(("body", "told"), NAMED)
@pytest.mark.parametrize("first", [True, False])
def test_what_is_not_read_is_named_with_its_count(
    tmp_path: Path, body: str, told: dict[str, int], first: bool
) -> None:
    found = read(tmp_path, body + BAR if first else BAR + body)
    assert found.outline.bounds_mm == pytest.approx((0, 0, 120, 30), abs=1e-6)
    assert Counter(thing.what for thing in found.left_out) == told


@pytest.mark.parametrize("paint", ['fill="none"', 'fill="none" stroke="black" stroke-width="0"'])
def test_what_no_ink_is_seen_of_is_taken_alone_with_a_note(tmp_path: Path, paint: str) -> None:
    unseen = f'<g {paint}>{BAR}<circle cx="20" cy="15" r="3"/></g>'
    found = read(tmp_path, unseen)
    assert found.outline.bounds_mm == pytest.approx((0, 0, 120, 30), abs=1e-6)
    assert len(found.outline.holes) == 1
    assert ["neither ink nor fill" in note for note in found.notes] == [True]
    beside = read(tmp_path, f'{unseen}<rect width="100" height="20"/>')
    assert beside.outline.bounds_mm == pytest.approx((0, 0, 100, 20), abs=1e-6)
    assert not beside.notes


FLAWS = [
    "M10 10H20V20H10Z M0 0H120 q5 V30H0Z",
    "M10 10H20V20H10Z M0 0H120V30 b H0Z",
    "M0 0H120V30 L0",
    "M0 0 A5 5 0 2 1 9 9 V30 H120 Z",
    "X M0 0H120V30H0Z",
]


@pytest.mark.parametrize("path", FLAWS)
def test_a_path_with_a_flaw_is_never_read_up_to_it_alone(tmp_path: Path, path: str) -> None:
    """What stands behind a flaw may be the profile, and what stands before it a hole."""
    with pytest.raises(FileError, match="may be the profile"):
        read(tmp_path, f'<path d="{path}"/><circle cx="150" cy="50" r="30"/>')


def test_a_polygon_with_a_flaw_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="may be the profile"):
        read(tmp_path, '<polygon points="0,0 120,0 120,30 0"/><circle cx="50" cy="60" r="12"/>')
    found = read(tmp_path, BAR + '<polygon points="9,9 20,9 20,20 z"/>')
    assert [thing.what for thing in found.left_out] == ["polygon with damaged numbers"]


@pytest.mark.parametrize(
    "path",
    ["M0,0,120,0,120,30,0,30z", "m0 0h120v30h-120z,", "M0 0h120v30h-1.2e2z m9 9 a2 2 0 014 0z"],
)
def test_commas_and_flags_that_run_together_are_no_flaw(tmp_path: Path, path: str) -> None:
    assert read(tmp_path, f'<path d="{path}"/>').outline.bounds_mm == pytest.approx(
        (0, 0, 120, 30), abs=1e-6
    )
