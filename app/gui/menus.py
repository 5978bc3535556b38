"""The menus: every action with its standard shortcut."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMenu, QMessageBox

from app import __version__
from app.gui.remembered import remember_appearance
from app.gui.theme import Appearance, theme

if TYPE_CHECKING:
    from app.gui.window import MainWindow

Keys = QKeySequence.StandardKey
ZOOM = 1.25
CAUTIONS = (
    "A pattern is only as good as its print: measure the two bars on the paper before you cut.\n\n"
    "Follow the manuals of your tools and the data sheets of your materials. "
    "Knives are regulated differently from place to place: ask locally before you carry, "
    "sell or post one."
)


def build_menus(window: MainWindow) -> None:
    """Fill the window's menu bar."""
    _file_menu(window)
    _edit_menu(window)
    _view_menu(window)
    _help_menu(window)


def _file_menu(window: MainWindow) -> None:
    menu, files = window.menuBar().addMenu("&File"), window.files
    _add(menu, "&New job", files.new_job, Keys.New)
    _add(menu, "&Open…", files.ask_any, Keys.Open)
    _add(menu, "Open the &sample", files.open_sample)
    menu.addSeparator()
    _add(menu, "&Save", files.save, Keys.Save)
    _add(menu, "Save &as…", files.save_as, Keys.SaveAs)
    menu.addSeparator()
    _add(menu, "Save a &mat to print…", files.ask_mat)
    menu.addSeparator()
    _add(menu, "&Quit", window.close, Keys.Quit)


def _edit_menu(window: MainWindow) -> None:
    menu = window.menuBar().addMenu("&Edit")
    menu.addActions([window.undoing.undo, window.undoing.redo])


def _view_menu(window: MainWindow) -> None:
    menu, view = window.menuBar().addMenu("&View"), window.bench.view
    _add(menu, "Zoom &in", lambda: view.zoom(ZOOM), Keys.ZoomIn)
    _add(menu, "Zoom &out", lambda: view.zoom(1 / ZOOM), Keys.ZoomOut)
    _add(menu, "&Fit", lambda: view.fit(window.content_rect()), "Ctrl+0")
    menu.addSeparator()
    units = QActionGroup(window)
    millimetres = _add(menu, "&Millimetres", lambda: window.use_unit("mm"))
    inches = _add(menu, "In&ches", lambda: window.use_unit("in"))
    for action in (millimetres, inches):
        action.setCheckable(True)
        units.addAction(action)

    def show_unit() -> None:
        (inches if window.document.job.unit == "in" else millimetres).setChecked(True)

    window.document.changed.connect(show_unit)
    show_unit()
    menu.addSeparator()
    _add_appearance(window, menu)


def _add_appearance(window: MainWindow, menu: QMenu) -> None:
    group = QActionGroup(window)
    names: dict[Appearance, str] = {
        "system": "As the &desktop",
        "light": "&Light",
        "dark": "Da&rk",
    }
    for appearance, name in names.items():
        action = _add(menu, name, partial(_choose_appearance, appearance))
        action.setCheckable(True)
        action.setChecked(appearance == theme().appearance)
        group.addAction(action)


def _choose_appearance(appearance: Appearance) -> None:
    theme().choose(appearance)
    remember_appearance(appearance)


def _help_menu(window: MainWindow) -> None:
    menu = window.menuBar().addMenu("&Help")
    _add(
        menu,
        "&About Blankwright",
        lambda: QMessageBox.about(
            window, "About Blankwright", f"Blankwright {__version__}\n\n{CAUTIONS}"
        ),
    )


def _add(
    menu: QMenu, text: str, act: Callable[[], object], keys: Keys | str | None = None
) -> QAction:
    action = QAction(text, menu)  # made here: one that the menu makes may go under our hand
    menu.addAction(action)
    action.triggered.connect(lambda _checked=False: act())
    if keys is not None:
        action.setShortcut(QKeySequence(keys))
    return action
