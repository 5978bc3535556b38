"""Colours, light and dark, and the few rules of shape that every control shares."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QApplication

Appearance = Literal["system", "light", "dark"]

CONTROL_PX = 32  # height of a control
GAP_PX = 8  # the grid that everything stands on
PANEL_PX = 336
QUESTION_PX = 400  # least width of what a small dialog asks


@dataclass(frozen=True, slots=True, kw_only=True)
class Tones:
    """The colours of one appearance, as ``#rrggbb``; each is named for its use.

    ``ramp`` goes from tight to roomy; its lightness rises evenly, so that it reads without hue.
    """

    window: str
    panel: str
    paper: str
    text: str
    quiet: str
    hairline: str
    frame: str
    steel: str
    steel_edge: str
    blank: str
    accent: str
    on_accent: str
    doubt: str
    chosen: str
    ramp: tuple[str, ...] = ("#123A5A", "#1F6C7E", "#3F9C8C", "#93C285", "#DDCB7B")


LIGHT = Tones(
    window="#F4F1EA",
    panel="#FBF9F5",
    paper="#FFFDF8",
    text="#26292E",
    quiet="#6B6A64",
    hairline="#D8D2C6",
    frame="#8C867A",
    steel="#C9D1D6",
    steel_edge="#4E5B63",
    blank="#7A2E1D",
    accent="#1F5F74",
    on_accent="#FFFFFF",
    doubt="#9A5B00",
    chosen="#ECE7DC",
)
DARK = Tones(
    window="#1E2124",
    panel="#25292D",
    paper="#2B2F33",
    text="#E9E6DF",
    quiet="#A3A198",
    hairline="#3A4046",
    frame="#7C848C",
    steel="#56626A",
    steel_edge="#B9C6CE",
    blank="#EDAB95",
    accent="#7CC0D4",
    on_accent="#14181B",
    doubt="#E2A94B",
    chosen="#1A1D20",
    ramp=("#2F5F8F", "#3C869B", "#58AE9E", "#9FCB8F", "#E6D68C"),
)


class Theme(QObject):
    """The appearance in use; follows the platform unless the person chose one."""

    changed = Signal()

    def __init__(self, app: QApplication) -> None:
        super().__init__(app)
        self._app = app
        self._tones = LIGHT
        self._appearance: Appearance = "system"
        app.setStyle("Fusion")
        app.styleHints().colorSchemeChanged.connect(self._follow)
        self._follow()

    @property
    def appearance(self) -> Appearance:
        """What was chosen."""
        return self._appearance

    @property
    def tones(self) -> Tones:
        """The colours in use."""
        return self._tones

    def choose(self, appearance: Appearance) -> None:
        """Use the platform's appearance, or one of our own."""
        self._appearance = appearance
        self._follow()

    def _follow(self) -> None:
        platform = self._app.styleHints().colorScheme() == Qt.ColorScheme.Dark
        dark = platform if self._appearance == "system" else self._appearance == "dark"
        self._tones = DARK if dark else LIGHT
        self._app.setPalette(palette(self._tones))
        self._app.setStyleSheet(style_sheet(self._tones))
        self.changed.emit()


def palette(tones: Tones) -> QPalette:
    """Return the tones as a palette, for everything that the style draws by itself."""
    made = QPalette()
    role = QPalette.ColorRole
    for which, colour in {
        role.Window: tones.panel,
        role.WindowText: tones.text,
        role.Base: tones.paper,
        role.AlternateBase: tones.window,
        role.Text: tones.text,
        role.Button: tones.panel,
        role.ButtonText: tones.text,
        role.BrightText: tones.blank,
        role.Link: tones.accent,
        role.Highlight: tones.accent,
        role.HighlightedText: tones.on_accent,
        role.Accent: tones.accent,
        role.ToolTipBase: tones.panel,
        role.ToolTipText: tones.text,
        role.PlaceholderText: tones.quiet,
        role.Mid: tones.hairline,
        role.Dark: tones.frame,
    }.items():
        made.setColor(which, QColor(colour))
    disabled = QPalette.ColorGroup.Disabled
    for which in (role.WindowText, role.Text, role.ButtonText):
        made.setColor(disabled, which, QColor(tones.quiet))
    return made


def style_sheet(tones: Tones) -> str:
    """Return the rules of shape: fields, buttons, headings."""
    return f"""
    QMainWindow, #bench {{ background: {tones.window}; }}
    QMenuBar {{ background: {tones.panel}; padding: 2px 8px; }}
    QMenuBar::item {{ padding: 4px 10px; background: transparent; }}
    QMenuBar::item:selected, QMenu::item:selected {{
        background: {tones.accent}; color: {tones.on_accent}; }}
    #panel, #rail, #verdict {{ background: {tones.panel}; }}
    #measures {{ background: {tones.panel}; }}
    #start {{ background: {tones.paper}; }}
    QLabel[kind="heading"] {{ font-size: 15pt; font-weight: 600; }}
    QLabel[kind="group"] {{ font-weight: 600; }}
    QLabel[kind="quiet"] {{ color: {tones.quiet}; }}
    QLabel[kind="message"] {{
        border-left: 3px solid {tones.doubt}; padding: 4px 8px; background: {tones.window}; }}
    QLabel[kind="news"] {{
        border-left: 3px solid {tones.accent}; padding: 4px 8px; background: {tones.window}; }}
    QListWidget {{ border: 1px solid {tones.hairline}; border-radius: 5px;
        background: {tones.paper}; outline: none; }}
    QListWidget:focus {{ border: 2px solid {tones.accent}; }}
    QListWidget::item {{ padding: 1px 4px; border-left: 4px solid transparent; }}
    QListWidget::item:selected {{ background: {tones.chosen}; color: {tones.text};
        border-left: 4px solid {tones.accent}; }}
    QLineEdit, QPushButton, QComboBox {{
        border: 1px solid {tones.hairline}; border-radius: 5px; padding: 0 10px;
        min-height: {CONTROL_PX - 2}px; background: {tones.paper}; color: {tones.text}; }}
    QInputDialog QLineEdit, QInputDialog QComboBox, QInputDialog QPlainTextEdit {{
        min-width: {QUESTION_PX}px; }}
    QLineEdit {{ padding: 0 6px; border-color: {tones.frame}; }}
    QLineEdit[wrong="true"] {{ border: 2px dashed {tones.doubt}; }}
    QPushButton, QComboBox {{ outline: none; }}
    QPushButton:hover, QComboBox:hover {{ border-color: {tones.frame}; }}
    QPushButton:pressed {{ background: {tones.chosen}; }}
    QPushButton:checked {{
        background: {tones.chosen}; border-color: {tones.accent}; font-weight: 600; }}
    QPushButton:disabled, QLineEdit:disabled, QComboBox:disabled {{
        color: {tones.quiet}; background: {tones.panel}; border-color: {tones.hairline}; }}
    QPushButton[head="true"] {{ padding: 0 2px; font-weight: 400; }}
    QPushButton[primary="true"] {{
        background: {tones.accent}; color: {tones.on_accent}; border-color: {tones.accent}; }}
    QPushButton[primary="true"]:disabled {{
        background: {tones.chosen}; color: {tones.quiet}; border-color: {tones.hairline}; }}
    QLineEdit:focus, QPushButton:focus, QComboBox:focus {{ border: 2px solid {tones.accent}; }}
    QPushButton[primary="true"]:focus {{ border: 2px solid {tones.text}; }}
    QLineEdit[wrong="true"]:focus {{ border: 3px dashed {tones.doubt}; }}
    QComboBox::drop-down {{ border: none; width: 26px; }}
    QComboBox::down-arrow {{ image: none; width: 0; height: 0; margin-right: 10px;
        border-left: 5px solid {tones.paper}; border-right: 5px solid {tones.paper};
        border-top: 6px solid {tones.quiet}; }}
    QComboBox QAbstractItemView {{ background: {tones.panel}; border: 1px solid {tones.frame}; }}
    QSlider {{ min-height: 26px; }}
    QSlider::groove:horizontal {{ height: 4px; border-radius: 2px; background: {tones.hairline}; }}
    QSlider::sub-page:horizontal {{ border-radius: 2px; background: {tones.accent}; }}
    QSlider::handle:horizontal {{ width: 12px; margin: -6px 0; border-radius: 7px;
        border: 1px solid {tones.frame}; background: {tones.paper}; }}
    QSlider::handle:horizontal:focus {{ border: 2px solid {tones.accent}; }}
    QProgressBar {{ border: 1px solid {tones.hairline}; border-radius: 5px; height: 8px;
        background: {tones.paper}; }}
    QProgressBar::chunk {{ background: {tones.accent}; border-radius: 4px; }}
    QScrollBar:vertical {{ width: 8px; margin: 0; background: transparent; }}
    QScrollBar::handle:vertical {{ background: {tones.frame}; border-radius: 3px;
        min-height: 32px; margin: 0 0 0 2px; }}
    QScrollBar::add-line:vertical, QScrollBar::sub-line:vertical {{ height: 0; }}
    QScrollBar::add-page:vertical, QScrollBar::sub-page:vertical {{ background: transparent; }}
    QToolTip {{ background: {tones.panel}; color: {tones.text};
        border: 1px solid {tones.frame}; padding: 4px; }}
    """


def theme() -> Theme:
    """Return the application's theme, made at the first call."""
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    found = app.findChild(Theme)
    return found if isinstance(found, Theme) else Theme(app)


def colour(name: str, alpha: int = 255) -> QColor:
    """Return one tone in use as a colour."""
    made = QColor(getattr(theme().tones, name))
    made.setAlpha(alpha)
    return made


def contrast(first: str, second: str) -> float:
    """Return the contrast ratio of two colours (WCAG 2.1, relative luminance)."""
    light, dark = sorted((_luminance(first), _luminance(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(name: str) -> float:
    shade = QColor(name)
    parts = [shade.redF(), shade.greenF(), shade.blueF()]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
