"""SVG files that are damaged, or made to hang whoever reads them."""

import time
from pathlib import Path

import pytest

from app.files.errors import FileError
from app.files.strokes import Imported
from app.files.svg_file import read_svg
from geometry.errors import ToolError

MM = 'width="200mm" height="100mm" viewBox="0 0 200 100"'  # a user unit is a millimetre
NAMES = 'xmlns="http://www.w3.org/2000/svg" xmlns:x="http://www.w3.org/1999/xlink"'
BAR = '<rect width="120" height="30"/>'


def read(folder: Path, body: str, frame: str = MM) -> Imported:
    path = folder / "part.svg"
    path.write_text(f"<svg {NAMES} {frame}>{body}</svg>", "utf-8")
    return read_svg(path)


def size(read_in: Imported) -> tuple[float, float]:
    x0, y0, x1, y1 = read_in.outline.polygon(1e-4).bounds
    return x1 - x0, y1 - y0


@pytest.mark.parametrize(
    "head",
    [
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/'
        'svg11.dtd">',
        '<!DOCTYPE svg [<!ENTITY ns_svg "http://www.w3.org/2000/svg">]>',
    ],
)
def test_a_harmless_document_type_is_read(tmp_path: Path, head: str) -> None:
    path = tmp_path / "part.svg"
    path.write_text(f'<?xml version="1.0"?>{head}<svg {NAMES} {MM}>{BAR}</svg>', "utf-8")
    assert size(read_svg(path)) == pytest.approx((120, 30), abs=1e-6)


def doubled(levels: int, times: int) -> str:
    groups = "".join(
        f'<g id="l{n}">{f"""<use href="#l{n - 1}"/>""" * times}</g>' for n in range(1, levels)
    )
    return f'<defs><g id="l0">{BAR}</g>{groups}</defs><use href="#l{levels - 1}"/>'


TRAPS = {
    "uses of uses": doubled(12, 10),
    "a use of itself": '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>',
    "a long row of uses": "".join(f'<g id="c{i}"><use href="#c{i + 1}"/></g>' for i in range(500)),
    "deep groups": "<g>" * 5000 + BAR + "</g>" * 5000,
    "very deep groups": "<g>" * 200_000 + "</g>" * 200_000,
    "a path without end": f'<path d="M0 0{"L1 1L2 0" * 500_000}Z"/>',
    "shapes without end": BAR * 80_000,
}


@pytest.mark.parametrize("trap", TRAPS)
def test_a_file_made_to_hang_its_reader_is_refused_at_once(tmp_path: Path, trap: str) -> None:
    start = time.process_time()
    with pytest.raises(FileError) as refused:
        read(tmp_path, TRAPS[trap])
    assert "\n" not in str(refused.value)
    assert time.process_time() - start < 20  # the first would otherwise take years


@pytest.mark.parametrize(
    "head",
    [
        '<!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>',
        '<!DOCTYPE svg [<!ENTITY b SYSTEM "file:///etc/hostname">]>',
        "<!DOCTYPE svg [<!ENTITY % p \"<!ENTITY b 'x'>\"> %p;]>",
        f'<!DOCTYPE svg [<!ENTITY b "{"x" * 100_000}">]>',
    ],
)
def test_names_that_stand_for_others_are_refused(tmp_path: Path, head: str) -> None:
    path = tmp_path / "part.svg"
    path.write_text(f"{head}<svg {NAMES} {MM}><text>&b;</text>{BAR}</svg>", "utf-8")
    with pytest.raises(FileError, match="document type") as refused:
        read_svg(path)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    "body",
    [
        '<path d="M0 0L1e300 1e300L-1e308 9Z"/>',
        '<path d="M0 0LNaN 3C1 inf nan 3 4 4Z"/>',
        '<g transform="scale(0)"><circle r="9"/></g>',
        '<g transform="scale(1 0)"><circle r="9"/></g>',
        '<g transform="rotate(">' + BAR + "</g>",
        '<rect width="-5" height="x"/>',
        '<path d="M0 0H9V9Z L q 5"/>',
        '<path d="M0 0A1e9 1e-9 77 1 1 9 0Z"/>',
        '<use href="#"/><use/>',
    ],
)
def test_damaged_numbers_harm_nothing_else(tmp_path: Path, body: str) -> None:
    assert size(read(tmp_path, BAR + body)) == pytest.approx((120, 30), abs=1e-6)


@pytest.mark.parametrize("view", ["a b c d", "0 0 0 0", "0 0 9", "0 0 1e-300 1e300", "0 0 nan 1"])
def test_a_damaged_view_box_is_one_clear_line(tmp_path: Path, view: str) -> None:
    with pytest.raises(ToolError) as refused:
        read(tmp_path, BAR, f'width="200mm" height="100mm" viewBox="{view}"')
    assert "\n" not in str(refused.value)
