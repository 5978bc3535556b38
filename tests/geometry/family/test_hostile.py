"""Family files with slips or malice in them: an outline, or one clear line, and soon."""

import re
import warnings

from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.errors import InputError
from geometry.family import family_from_text
from tests.geometry.family.test_features import JIMPING, TANG
from tests.geometry.family.test_reading import PLATE, SMALL

TEXTS = (TANG + JIMPING, PLATE + SMALL)
NUMBERS = (0, 1, -1, 3.7, 64, 180, 359, 1000, 1e6, -1e6, 1e300, -1e300, 1e-300, "nan", "inf")
RULES = (
    "1/0",
    "bow",
    "-width",
    "i",
    "sqrt(-1)",
    "1e308 * 10",
    "10 ** 4 ** 4",
    "tan(90)",
    "exec(1)",
)
VALUES = (*(str(number) for number in NUMBERS), *(f'"{rule}"' for rule in RULES), "true", "[]")


def changed(data: st.DataObject, lines: list[str]) -> None:
    """Change a value, leave out, repeat or swap lines."""
    here = data.draw(st.integers(0, len(lines) - 1))
    there = data.draw(st.integers(0, len(lines) - 1))
    way = data.draw(st.sampled_from(["value", "value", "value", "out", "twice", "swap"]))
    key = re.match(r"(\w+) = ", lines[here])
    if way == "value" and key:
        lines[here] = f"{key[1]} = {data.draw(st.sampled_from(VALUES))}"
    elif way == "out":
        del lines[here]
    elif way == "twice":
        lines.insert(here, lines[there])
    else:
        lines[here], lines[there] = lines[there], lines[here]


@settings(max_examples=400, deadline=2000)
@given(data=st.data())
def test_whatever_stands_in_a_file_it_gets_an_outline_or_one_clear_line(
    data: st.DataObject,
) -> None:
    lines = data.draw(st.sampled_from(TEXTS)).splitlines()
    for _ in range(data.draw(st.integers(1, 3))):
        changed(data, lines)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            assert family_from_text("\n".join(lines), "changed").outline().polygon().is_valid
            return
        except InputError as error:
            said = str(error)
    assert len(said.splitlines()) == 1
    assert len(said) < 500
