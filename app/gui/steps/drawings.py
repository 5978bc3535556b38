"""Drawings from elsewhere: read beside the window, the unit asked for, what was left out told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFileDialog, QInputDialog

from app.document.counted import counted
from app.document.job import OutlineChoice
from app.document.lengths import MM_PER, Unit, format_length
from app.gui.asking import ask_one
from app.gui.errors import sentence_of
from app.gui.steps.step import Desk
from app.gui.worker import Progress, Stop

if TYPE_CHECKING:
    from app.files.drawing_units import UnitQuestion
    from app.files.strokes import Imported

LANE = "drawing"
LOOP = "Which closed line is the edge?"
FILES = "Drawings (*.dxf *.svg *.json)"
MOST_TOLD, MOST_PLACES = 3, 2  # kinds of things left out, and places of each


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

    def open(self, path: Path, unit: str = "", loop: int = 0) -> None:
        """Take the outline in a file; asks for what the file leaves open.

        That is the unit when it names none, and which closed line is the edge where the one
        round the others may be a plate or a frame.
        """

        def task(progress: Progress, stop: Stop) -> Imported:
            from app.files.outline_choice import read_drawing

            return read_drawing(path, unit, loop)

        self._say("")
        self._desk.worker.start(
            task,
            done=lambda read: self._read(path, unit, read),
            failed=lambda error: self._not_read(path, error, loop),
            lane=LANE,
        )

    def _read(self, path: Path, unit: str, read: Imported) -> None:
        loop = self.ask_loop(read) if read.others else 0
        if loop is None:
            return
        if loop:
            self.open(path, unit, loop)
            return
        said = told_words(read, self._desk.document.job.unit)
        self._take(OutlineChoice(drawing=read.outline), said)

    def _not_read(self, path: Path, error: Exception, loop: int) -> None:
        from app.files.drawing_units import UnitQuestion

        if isinstance(error, UnitQuestion):
            unit = self.ask_unit(error)
            if unit:
                self.open(path, unit, loop)
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

    def ask_loop(self, read: Imported) -> int | None:
        """Ask which closed line is the edge; 0 for the one that was read, None for none."""
        shown = self._desk.document.job.unit
        x0, y0, x1, y1 = read.outline.bounds_mm
        lines = [("0", f"{_sides(x1 - x0, y1 - y0, shown)}, as proposed")]
        lines += [(str(o.number), _sides(o.width_mm, o.height_mm, shown)) for o in read.others]
        told = " ".join(read.notes)
        chosen = ask_one(self._desk.window, LOOP, f"{told}\nHow large is the piece?", lines)
        return None if chosen is None else int(chosen)


def told_words(read: Imported, unit: Unit) -> str:
    """Return what was mended in a drawing and what of it was left out, with its first places.

    Examples
    --------
    >>> from app.files.strokes import Imported, LeftOut
    >>> left = (LeftOut(what="words", at_mm=(3.0, 4.0)), LeftOut(what="hole"), LeftOut(what="hole"))
    >>> told_words(Imported(outline=None, left_out=left), "mm")  # type: ignore[arg-type]
    'Left out: words (x 3.0, y 4.0 mm); 2 holes.'
    """
    kinds = dict.fromkeys(thing.what for thing in read.left_out)
    told = [_kind_words(read, what, unit) for what in list(kinds)[:MOST_TOLD]]
    if len(kinds) > MOST_TOLD:
        told.append("and more")
    out = f"Left out: {'; '.join(told)}." if told else ""
    return " ".join([*read.notes, *([out] if out else [])])


def _kind_words(read: Imported, what: str, unit: Unit) -> str:
    """Return how many things of one kind were left out, and where the first of them lie."""
    things = [thing for thing in read.left_out if thing.what == what]
    places = [thing.at_mm for thing in things if thing.at_mm is not None]
    decimals = 1 if unit == "mm" else 2
    shown = "; ".join(
        f"x {x / MM_PER[unit]:.{decimals}f}, y {y / MM_PER[unit]:.{decimals}f}"
        for x, y in places[:MOST_PLACES]
    )
    more = "; …" if len(places) > MOST_PLACES else ""
    many = counted(what, len(things))
    return f"{many} ({shown} {unit}{more})" if shown else many


def _sides(width_mm: float, height_mm: float, unit: Unit) -> str:
    return f"{format_length(width_mm, unit)} by {format_length(height_mm, unit)}"


def _size_line(unit: str, size_mm: tuple[float, float]) -> str:
    from app.files.drawing_units import WORDS

    places = 0 if max(size_mm) >= 100 else 1
    width, height = (format_length(side, "mm", decimals=places) for side in size_mm)
    return f"{width} by {height}: it is drawn in {WORDS[unit]}"
