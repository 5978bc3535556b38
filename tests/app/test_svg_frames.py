"""Frames of SVG files: sizes that none can have, and the scale that the others give."""

from pathlib import Path

import pytest

from app.files.errors import FileError
from app.files.strokes import Imported
from app.files.svg_file import read_svg

BAR = '<rect width="120" height="30"/>'


def read(folder: Path, frame: str, unit: str | None = None) -> Imported:
    path = folder / "part.svg"
    path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {frame}>{BAR}</svg>', "utf-8")
    return read_svg(path, unit=unit)


@pytest.mark.parametrize(
    ("frame", "said"),
    [
        ('width="1e308mm" height="100mm" viewBox="0 0 200 100"', "width is told as “1e308mm”"),
        ('width="1e400mm" height="100mm" viewBox="0 0 200 100"', "width is told as “1e400mm”"),
        ('width="1e308mm" height="1e308in"', "width is told as “1e308mm”"),
        ('width="200mm" height="1e-300in" viewBox="0 0 9 9"', "height is told as “1e-300in”"),
        ('width="0mm" height="100mm" viewBox="0 0 200 100"', "width is told as “0mm”"),
        ('width="200mm" viewBox="0 0 1e308 100"', "viewBox is told as “0 0 1e308 100”"),
        ('width="200mm" viewBox="0 0 1e-308 100"', "viewBox is told as “0 0 1e-308 100”"),
        ('width="200mm" height="9mm" viewBox="-1e300 0 9 100"', "viewBox is told as “-1e300 0 9"),
        ('width="1e308" height="1e308" viewBox="0 0 200 100"', "width is told as “1e308”"),
        ('width="1e-308px" height="9" viewBox="0 0 200 100"', "width is told as “1e-308px”"),
    ],
)
@pytest.mark.parametrize("unit", [None, "mm"])
def test_a_size_that_no_drawing_has_is_said(
    tmp_path: Path, frame: str, said: str, unit: str | None
) -> None:
    with pytest.raises(FileError, match=f"{said}.*a size that no drawing has") as caught:
        read(tmp_path, frame, unit)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("frame", "length_mm"),
    [
        ('width="200mm" height="100mm" viewBox="0 0 200 100"', 120.0),
        ('width="20cm" height="10cm" viewBox="0 0 400 200"', 60.0),
        ('width="2e2mm" height="1e2mm" viewBox="0 0 2e2 1e2"', 120.0),
        ('width="200mm" viewBox="0 0 400 200"', 60.0),
        ('height="8in" viewBox="0 0 400 200"', 120 * 8 * 25.4 / 200),
        # the smaller of 200 / 200 and 50 / 100: the whole view box is to be seen
        ('width="200mm" height="50mm" viewBox="0 0 200 100"', 60.0),
        ('width="800Q" height="400q" viewBox="0 0 200 100"', 120.0),  # a quarter of a mm
        ('width="12pc" height="6pc" viewBox="0 0 100 50"', 120 * 12 * 25.4 / 6 / 100),
    ],
)
def test_a_physical_frame_gives_the_scale(tmp_path: Path, frame: str, length_mm: float) -> None:
    x0, _, x1, _ = read(tmp_path, frame).outline.bounds_mm
    assert x1 - x0 == pytest.approx(length_mm, abs=1e-6)


def test_no_width_is_told_by_a_bare_nought(tmp_path: Path) -> None:
    frame = 'width="0" height="0" viewBox="0 0 200 100"'
    assert read(tmp_path, frame, "mm").outline.bounds_mm[2] == pytest.approx(120, abs=1e-6)


@pytest.mark.parametrize(
    ("view", "length_mm"),
    [("0 0 400 400", 60.0), ("0 0 4e2,4E2", 60.0), ("0 0 400", 120.0), ("a b", 120.0), ("", 120.0)],
)
def test_a_drawing_in_the_drawing_has_the_scale_of_its_view_box(
    tmp_path: Path, view: str, length_mm: float
) -> None:
    """200 units over 400; one that tells no box is not scaled."""
    body = f'<svg width="200" height="200" viewBox="{view}">{BAR}</svg>'
    path = tmp_path / "part.svg"
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" '
        f'viewBox="0 0 200 100">{body}</svg>',
        "utf-8",
    )
    x0, _, x1, _ = read_svg(path).outline.bounds_mm
    assert x1 - x0 == pytest.approx(length_mm, abs=1e-6)


@pytest.mark.parametrize("view", ["0 0 40 -1", "0 0 0 40", "0 0 -4 -4", "0 0 nan 4"])
def test_a_drawing_in_the_drawing_without_a_size_is_not_seen(tmp_path: Path, view: str) -> None:
    path = tmp_path / "part.svg"
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" '
        f'viewBox="0 0 200 100"><svg width="20" height="20" viewBox="{view}">'
        f'<rect width="8" height="8"/></svg>{BAR}</svg>',
        "utf-8",
    )
    found = read_svg(path)
    assert found.outline.bounds_mm[2] == pytest.approx(120, abs=1e-6)
    assert found.told() == ["rectangle without size"]


@pytest.mark.parametrize("flaw", ["scal(.5)", "scale(.5", "scale .5", "scale(.5) x", "(.5)"])
def test_a_transform_with_a_flaw_is_passed_over_and_told(tmp_path: Path, flaw: str) -> None:
    """As by whatever draws it (SVG 1.1, error processing); the size may be another than meant."""
    path = tmp_path / "part.svg"
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" '
        f'viewBox="0 0 200 100"><g transform="{flaw}">{BAR}</g></svg>',
        "utf-8",
    )
    found = read_svg(path)
    assert found.outline.bounds_mm[2] == pytest.approx(120, abs=1e-6)
    assert found.told() == ["transform with a flaw, passed over: check the size"]
