"""Family files with slips or malice in them: an outline, or one clear line, and soon."""

import re
import time
import warnings

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.errors import InputError
from geometry.family import family_from_text
from tests.geometry.family.test_features import JIMPING, TANG
from tests.geometry.family.test_reading import PLATE
from tests.geometry.family.test_sizes import SMALL

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


LONG = "9" * 5000  # more digits than Python makes a number of
DOTTED = "a." * 20_000


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (f"format = {LONG}", "a number in it is too long"),
        (PLATE.replace("default = 40", f"default = {LONG}"), "a number in it is too long"),
        (PLATE.replace("x = 0", f"x = {LONG}", 1), "a number in it is too long"),
        (f"format = {LONG[:4000]}", "“format”: it has to be a whole number"),
        (f"format = 0x{LONG}", "“format”: it has to be a whole number"),
        (PLATE.replace("x = 0", f"x = 0x{LONG}", 1), "it has to be a number of at most 1000000"),
        (PLATE.replace("x = 0", f"x = {LONG[:4000]}", 1), "a number of at most 1000000"),
        (f"{DOTTED}a = 1", "a name of more than 16 parts"),
        (f"[{DOTTED}a]", "a name of more than 16 parts"),
        (f"x = {{ {'a . ' * 20_000}a = 1 }}", "a name of more than 16 parts"),
        ("'=' = {" + '"a\\"b".' * 20_000 + "a = 1 }", "a name of more than 16 parts"),
        ("'a b'." * 20_000 + "a = 1", "a name of more than 16 parts"),
    ],
)
def test_a_number_or_a_name_without_end_is_refused_at_once(text: str, message: str) -> None:
    started = time.process_time()
    with pytest.raises(InputError, match=message) as caught:
        family_from_text(text, "plate")
    assert len(str(caught.value)) < 400
    assert time.process_time() - started < 2  # 20,000 parts took 9 s where they were parsed


@pytest.mark.parametrize("text", ["a" * 900_000, "'" * 900_000, '"a' * 400_000, "a " * 400_000])
def test_looking_for_long_names_takes_no_time_itself(text: str) -> None:
    started = time.process_time()
    with pytest.raises(InputError):
        family_from_text(text, "plate")
    assert time.process_time() - started < 2


def test_notes_may_have_many_dots() -> None:
    notes = "A leaf ................................ e.g. 1.5 mm; wait... so. on. and. on."
    text = PLATE.replace('name = "Plate"', f'name = "Plate"\nnotes = "{notes}"')
    assert family_from_text(text, "plate").notes == notes


def drawn_edge(places: list[tuple[float, float]], stretches: int) -> str:
    """A family of straight pieces through places, stretched along y by its width."""
    head = PLATE[: PLATE.index('[[parameter]]\nkey = "holes"')].replace("= 1", "= 2")
    pieces = "".join(
        f'[[piece]]\nkind = "line"\npoints = [[{a[0]}, {a[1]}], [{b[0]}, {b[1]}]]\n'
        for a, b in zip(places, [*places[1:], places[0]], strict=True)
    )
    stretch = '[[stretch]]\naxis = "y"\nfrom = 0\nto = 30\nby = "width - 41"\nabout = 0\n'
    fading = "".join(f"{stretch}gone_at = {i}\nfull_at = {900 + i}\n" for i in range(stretches))
    return head + pieces + fading


def test_a_drawn_edge_is_checked_before_anything_stretches_it() -> None:
    crossed = drawn_edge([(0, 0), (100, 30), (100, 0), (0, 30)], 1)
    with pytest.raises(InputError, match=r"crosses or touches itself near x 50\.0, y 15\.0"):
        family_from_text(crossed, "crossed")


def test_an_edge_as_long_as_no_knife_has_is_refused_at_once() -> None:
    # 1500 pieces to and fro, nearly 20 m each: 26 s and more than 1 GB where they were stretched.
    folded = [(9900.0 * (-1) ** i, 20.0 * i / 1500) for i in range(1500)]
    started = time.process_time()
    with pytest.raises(InputError, match="the edge is more than 10 m long"):
        family_from_text(drawn_edge(folded, 4), "folded")
    assert time.process_time() - started < 2


def test_the_longest_edge_that_is_read_is_stretched_soon() -> None:
    teeth = [(i * 0.2, 0.9 * (i % 2)) for i in range(4900)] + [(980.0, 30.0), (0.0, 30.0)]
    started = time.process_time()
    family = family_from_text(drawn_edge(teeth, 40), "saw")
    family.outline({"width": 41.1})
    assert time.process_time() - started < 8  # 0.4 s on a quiet machine


def many_points(count: int, marks: int, joint: str) -> str:
    places = ", ".join(["[20]"] * count)
    entry = f'[[mark]]\nkind = "line"\njoint = "{joint}"\npoints = [{places}]\n'
    return PLATE + entry * marks


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (many_points(201, 1, "smooth"), "a curve goes through at most 200 of them"),
        (many_points(2001, 1, "corner"), "it has to be a list of points"),
        (many_points(1000, 21, "corner"), "there are more than 20000 points in all"),
    ],
)
def test_marks_of_too_many_points_are_refused(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        family_from_text(text, "plate")


SHOWN = ("label", "help", "name", "kind", "message", "remedy")


@pytest.mark.parametrize("letter", ["\\u001b[2J", "\\u0007", "\\u202e", "\\u0000"])
@pytest.mark.parametrize("key", SHOWN)
def test_a_letter_that_steers_a_terminal_is_refused(key: str, letter: str) -> None:
    text = PLATE.replace(f'{key} = "', f'{key} = "{letter}', 1)
    assert text != PLATE
    with pytest.raises(InputError, match=f"“{key}”: it has a letter that cannot be shown") as told:
        family_from_text(text, "plate")
    assert str(told.value).isprintable()


@pytest.mark.parametrize(
    "text",
    [
        '"\\u001b[2J" = 1\n' + PLATE,
        PLATE.replace('x = "width"', 'x = "width\\u001b[2J"'),
        PLATE.replace("[values]", '[values]\n"\\u001b[2J" = "1 +"'),
        PLATE.replace("[values]", '[values]\n"\\u001b[2J" = "1"'),
    ],
)
def test_no_message_carries_such_a_letter(text: str) -> None:
    with pytest.raises(InputError) as told:
        family_from_text(text, "plate")
    assert str(told.value).isprintable()
