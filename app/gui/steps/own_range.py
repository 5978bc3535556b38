"""Asking between what a measure of one of the maker's own shapes may be."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from app.document.lengths import Unit
from app.gui.asking import ask_name, ask_one
from app.gui.panels.measure_row import range_told, range_words
from geometry.family import Family

TITLE = "Range of a measure"


def ask_range(parent: QWidget, family: Family, unit: Unit) -> Family | None:
    """Ask for a measure and its range, and keep the family so; None where the person leaves it."""
    from app.files.changed_family import change_kept
    from geometry.family.changes import with_range

    named = [(parameter.key, parameter.label) for parameter in family.parameters]
    key = ask_one(parent, TITLE, "Which measure:", named)
    if key is None:
        return None
    parameter = next(each for each in family.parameters if each.key == key)

    def keep(text: str) -> Family:
        low, high = range_told(text, parameter, unit)
        return change_kept(family, lambda now: with_range(now, parameter.key, low, high))

    shown = range_words(parameter, unit)
    return ask_name(parent, TITLE, f"{parameter.label}, from and to:", keep, name=shown)
