"""Lengths typed in any locale, and bad ones refused without losing the old."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QLocale, Qt
from pytestqt.qtbot import QtBot

from app.gui.length_field import AngleField, LengthField
from geometry.errors import InputError


@pytest.fixture(params=["de_DE", "en_US", "ar_EG"])
def locale(request: pytest.FixtureRequest):
    before = QLocale()
    QLocale.setDefault(QLocale(request.param))
    yield
    QLocale.setDefault(before)


def enter(qtbot: QtBot, field: LengthField | AngleField, text: str) -> None:
    field.selectAll()
    if text.isascii():
        qtbot.keyClicks(field, text)
    else:  # there is no key for it: as if pasted
        field.insert(text)
    qtbot.keyClick(field, Qt.Key.Key_Return)


@pytest.mark.usefixtures("locale")
@pytest.mark.parametrize(
    ("text", "expected_mm"),
    [("12,5", 12.5), ("12.5", 12.5), ("3 in", 76.2), ('3 1/4"', 82.55), ("7/16 in", 11.1125)],
)
def test_a_length_means_the_same_in_every_locale(
    qtbot: QtBot, text: str, expected_mm: float
) -> None:
    field = LengthField("Length")
    qtbot.addWidget(field)
    with qtbot.waitSignal(field.edited) as told:
        enter(qtbot, field, text)
    assert told.args == [pytest.approx(expected_mm)]


def test_a_bad_entry_stays_to_be_mended_and_the_old_value_is_kept(qtbot: QtBot) -> None:
    field = LengthField("Margin")
    qtbot.addWidget(field)
    field.show_value(10.0)
    with qtbot.waitSignal(field.refused) as told, qtbot.assertNotEmitted(field.edited):
        enter(qtbot, field, "1,2,3")
    assert "1,2,3" in told.args[0]
    assert field.text() == "1,2,3"
    assert field.value == 10.0
    assert field.property("wrong") is True
    qtbot.keyClick(field, Qt.Key.Key_Escape)
    assert field.text() == "10 mm"
    assert not field.property("wrong")


def test_a_check_refuses_what_is_out_of_range(qtbot: QtBot) -> None:
    field = LengthField("Margin")
    qtbot.addWidget(field)
    field.show_value(1.0)

    def check(value_mm: float) -> None:
        if value_mm < 0:
            raise InputError("too small.")

    field.set_check(check)
    with qtbot.waitSignal(field.refused), qtbot.assertNotEmitted(field.edited):
        enter(qtbot, field, "-3")
    assert field.value == 1.0


def test_the_unit_changes_what_is_shown_and_not_the_length(qtbot: QtBot) -> None:
    field = LengthField("Length")
    qtbot.addWidget(field)
    field.show_value(82.55)
    assert "3.25 in" in field.toolTip()
    assert '3 1/4"' in field.toolTip()
    field.set_unit("in")
    assert field.text() == "3.25 in"
    assert "82.55 mm" in field.toolTip()
    assert field.value == 82.55
    with qtbot.waitSignal(field.edited) as told:
        enter(qtbot, field, "2")
    assert told.args == [50.8]  # a bare number is in the unit shown; 1 in = 25.4 mm


def test_an_empty_optional_field_clears_its_value(qtbot: QtBot) -> None:
    field = LengthField("Thickness", optional=True)
    qtbot.addWidget(field)
    field.show_value(4.5)
    field.selectAll()
    with qtbot.waitSignal(field.cleared):
        qtbot.keyClick(field, Qt.Key.Key_Delete)
        qtbot.keyClick(field, Qt.Key.Key_Return)
    assert field.value is None


def test_an_angle_is_read_with_either_mark_and_sign(qtbot: QtBot) -> None:
    field = AngleField("Angle")
    qtbot.addWidget(field)
    for text, expected in (("3,4", 3.4), ("-12.25°", -12.25), ("−7", -7.0)):
        with qtbot.waitSignal(field.edited) as told:
            enter(qtbot, field, text)
        assert told.args == [expected]
