"""Papers by name and by size."""

import pytest

from app.document.paper import NAMED, paper_named
from geometry.errors import InputError


@pytest.mark.parametrize("name", NAMED)
def test_names_are_read_in_any_case(name: str) -> None:
    assert paper_named(f" {name.upper()} ") == NAMED[name]


def test_a_size_is_read_in_mm_or_inches() -> None:
    assert (paper_named("250x353").width_mm, paper_named("250x353").height_mm) == (250.0, 353.0)
    assert paper_named("9x12in").height_mm == pytest.approx(304.8)  # 12 x 25.4


def test_lying_and_upright_swap_the_sides() -> None:
    lying = paper_named("a4").lying()
    assert (lying.width_mm, lying.height_mm) == (297.0, 210.0)
    assert lying.upright() == paper_named("a4")


@pytest.mark.parametrize("text", ["foolscap", "", "100x200", "210x9000", "a4x", "0x0"])
def test_a_paper_that_cannot_be_used_is_said(text: str) -> None:
    with pytest.raises(InputError, match="Paper"):
        paper_named(text)
