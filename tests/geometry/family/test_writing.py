"""A family written as text and read again is the same family."""

import tomllib
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.family import Family, built_in_families, family_from_text
from geometry.family.writing import family_text

FAMILIES = built_in_families()

EVERYTHING = """
format = 2
name = "Every “kind” of entry"
notes = "One \\"quoted\\" line."

[[parameter]]
key = "length"
label = "Length"
unit = "mm"
default = 90.5
low = 50
high = 120
help = "How long."

[[parameter]]
key = "holes"
label = "Holes"
unit = "none"
default = 2
low = 0
high = 4
whole = true
help = "How many."

[values]
half = "length / 2"
quarter = "half / 2"

[[node]]
x = 0
y = 0.0
joint = "corner"
arrive = "180"
leave = "half / 10"
next = "arc"
sweep = "20.0"
station = "heel"

[[node]]
x = "length"
y = 1e-05
direction = 90
tension = 1.2
curl = "1 / 2"

[[node]]
x = "half"
y = 25
joint = "corner"
next = "line"
round = 2

[[hole]]
kind = "pin"
x = "10 + i * 5"
diameter = 4
count = "holes"
web = 2

[[lightening]]
from = 50
to = "length - 20"
diameter = 3
web = "1.5"

[[jimping]]
start = 30
pitch = 1.5
count = 6
side = "edge"

[[mark]]
kind = "bevel line"
points = [["10"], [20, "half / 9"], [30.5, 4]]
joint = "smooth"

[[mark]]
kind = "plunge line"
across = 12

[[station]]
name = "tip"
x = "length"

[[constraint]]
value = "length"
least = 40
message = "{length} is short."
remedy = "Make it longer."

[[size]]
name = "Small"
values = { length = 60.25, holes = 1 }

[[size]]
name = "As it comes"
"""


@pytest.mark.parametrize("family", FAMILIES, ids=[family.key for family in FAMILIES])
def test_a_built_in_family_comes_back_the_same(family: Family) -> None:
    assert family_from_text(family_text(family), family.key) == family


def test_every_kind_of_entry_comes_back_the_same() -> None:
    family = family_from_text(EVERYTHING, "everything")
    text = family_text(family)
    assert family_from_text(text, "everything") == family
    assert family_text(family_from_text(text, "everything")) == text
    assert set(tomllib.loads(text)) == set(tomllib.loads(EVERYTHING))


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=1500))
def test_notes_of_any_letters_that_show_come_back_as_they_read(notes: str) -> None:
    tidy = " ".join("".join(c for c in notes if c.isprintable() or c.isspace()).split())
    family = family_from_text(EVERYTHING, "everything")
    noted = replace(family, notes=tidy)
    assert family_from_text(family_text(noted), "everything").notes == tidy
