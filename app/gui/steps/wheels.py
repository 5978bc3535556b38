"""The grinder's wheels in the outline step: told once, and compared with the shape at rest."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer

from app.document.wheels import WheelNote, wheel_note
from app.gui.asking import ask_name
from app.gui.panels.outline import OutlinePanel
from app.gui.panels.wheel_line import show_note
from app.gui.steps.step import Desk
from geometry.errors import ToolError

REST_MS = 150  # after the last change: what runs at each step of a slider has no time for it
ASKED = "Diameters of the wheels of your belt grinder, with commas between them:"


class Wheels(QObject):
    """Joins the wheel's line to the job and the file of wheels."""

    def __init__(
        self, desk: Desk, panel: OutlinePanel, complain: Callable[[Exception], None]
    ) -> None:
        super().__init__(desk.window)
        self._desk, self._panel, self._complain = desk, panel, complain
        self._wheels_mm: tuple[float, ...] | None = None
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(REST_MS)
        self._rest.timeout.connect(self.show)
        panel.wheels_button.clicked.connect(self._ask)

    def later(self) -> None:
        """Say it anew once the shape rests."""
        self._rest.start()

    def show(self) -> None:
        """Say which wheel will do for the shape as it is."""
        job = self._desk.document.job
        try:
            outline = self._desk.derived.outline(job)
            note = wheel_note(outline, self._known(), job.unit)
        except ToolError:
            note = WheelNote()  # the step says what is wrong with the shape
        show_note(self._panel.wheels, note)

    def _known(self) -> tuple[float, ...]:
        from app.files.wheels_file import kept_wheels_mm

        if self._wheels_mm is None:
            self._wheels_mm = ()
            try:
                self._wheels_mm = kept_wheels_mm()
            except ToolError as error:
                self._complain(error)
        return self._wheels_mm

    def _ask(self) -> None:
        """Ask for the wheels and keep them."""
        from app.files.wheels_file import keep_wheels, wheels_told, wheels_words

        unit = self._desk.document.job.unit

        def keep(text: str) -> tuple[float, ...]:
            told = wheels_told(text, unit)
            keep_wheels(told)
            return told

        before = wheels_words(self._known(), unit)
        told = ask_name(self._desk.window, "Your wheels", ASKED, keep, name=before)
        if told is not None:
            self._wheels_mm = told
            self.show()
