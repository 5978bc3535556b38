"""Drawings from elsewhere: read beside the window, the unit asked for, what was left out told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFileDialog, QInputDialog

from app.document.job import OutlineChoice
from app.document.lengths import format_length
from app.gui.errors import sentence_of
from app.gui.steps.step import Desk
from app.gui.worker import Progress, Stop

if TYPE_CHECKING:
    from app.files.drawing_units import UnitQuestion
    from app.files.strokes import Imported

LANE = "drawing"
FILES = "Drawings (*.dxf *.svg *.json)"
MOST_TOLD = 3  # kinds of things left out; more are counted


class Drawings:
    """Opens drawings.

    Parameters
    ----------
    desk : Desk
    take : callable
        Takes the choice of what was read, and what there is to say of it.
    say : callable
        Says what went wrong.
    """

    def __init__(
        self,
        desk: Desk,
        *,
        take: Callable[[OutlineChoice, str], None],
        say: Callable[[str], None],
    ) -> None:
        self._desk, self._take, self._say = desk, take, say

    def ask(self) -> None:
        """Ask for a file and open it."""
        name, _ = QFileDialog.getOpenFileName(self._desk.window, "Open a drawing", "", FILES)
        if name:
            self.open(Path(name))

    def open(self, path: Path, unit: str = "") -> None:
        """Take the outline in a file; asks for the unit when the file names none."""

        def task(progress: Progress, stop: Stop) -> Imported:
            from app.files.outline_choice import read_drawing

            return read_drawing(path, unit)

        self._say("")
        self._desk.worker.start(
            task, done=self._read, failed=lambda error: self._not_read(path, error), lane=LANE
        )

    def _read(self, read: Imported) -> None:
        self._take(OutlineChoice(drawing=read.outline), told_words(read))

    def _not_read(self, path: Path, error: Exception) -> None:
        from app.files.drawing_units import UnitQuestion

        if isinstance(error, UnitQuestion):
            unit = self.ask_unit(error)
            if unit:
                self.open(path, unit)
            return
        self._say(f"{path.name}: {sentence_of(error)}")

    def ask_unit(self, question: UnitQuestion) -> str:
        """Ask for a drawing's unit by the size that each gives it, the likeliest first."""
        units = [*question.likely, *(u for u in question.sizes if u not in question.likely)]
        lines = [_size_line(unit, question.sizes[unit]) for unit in units]
        line, taken = QInputDialog.getItem(
            self._desk.window,
            "Which unit?",
            "The drawing does not say its unit for sure. How large is the knife?",
            lines,
            0,
            False,
        )
        return units[lines.index(line)] if taken else ""


def told_words(read: Imported) -> str:
    """Return what was mended in a drawing and what of it was left out, in a few sentences."""
    left = read.told()
    told = [line.partition(":")[0].replace(" x ", " ") for line in left[:MOST_TOLD]]
    if len(left) > MOST_TOLD:
        told.append("more")
    out = f"Left out: {', '.join(told)}." if told else ""
    return " ".join([*read.notes, *([out] if out else [])])


def _size_line(unit: str, size_mm: tuple[float, float]) -> str:
    from app.files.drawing_units import WORDS

    places = 0 if max(size_mm) >= 100 else 1
    width, height = (format_length(side, "mm", decimals=places) for side in size_mm)
    return f"{width} by {height}: it is drawn in {WORDS[unit]}"
