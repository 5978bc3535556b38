"""Text and lines stand out in both appearances (WCAG 2.1: 4.5:1 for text, 3:1 for lines)."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QColor

from app.gui.theme import DARK, LIGHT, Tones, contrast

BOTH = pytest.mark.parametrize("tones", [LIGHT, DARK], ids=["light", "dark"])


def test_contrast_of_black_and_white_is_21() -> None:
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)  # WCAG 2.1, contrast ratio
    assert contrast("#FFFFFF", "#777777") == pytest.approx(4.48, abs=0.01)  # a published pair


@BOTH
@pytest.mark.parametrize("ink", ["text", "quiet", "blank", "accent", "doubt"])
@pytest.mark.parametrize("ground", ["window", "panel", "paper"])
def test_words_can_be_read(tones: Tones, ink: str, ground: str) -> None:
    assert contrast(getattr(tones, ink), getattr(tones, ground)) >= 4.5


@BOTH
def test_words_on_the_main_button_can_be_read(tones: Tones) -> None:
    assert contrast(tones.on_accent, tones.accent) >= 4.5


@BOTH
def test_lines_can_be_seen_on_paper_and_steel(tones: Tones) -> None:
    assert contrast(tones.steel_edge, tones.paper) >= 3.0
    assert contrast(tones.frame, tones.panel) >= 3.0
    assert contrast(tones.blank, tones.steel) >= 3.0


@BOTH
def test_the_ramp_grows_lighter_step_by_step(tones: Tones) -> None:
    from app.gui.theme import _luminance

    shades = [_luminance(name) for name in tones.ramp]
    assert shades == sorted(shades)
    greys = [QColor(name).lightness() for name in tones.ramp]
    assert len(set(greys)) == len(greys)  # told apart without hue
