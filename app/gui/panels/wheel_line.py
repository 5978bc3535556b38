"""What is said of the grinder's wheels below the measures."""

from __future__ import annotations

from PySide6.QtWidgets import QLabel

from app.document.wheels import WheelNote
from app.gui.panels.panel import words

LINES = 2  # room that is kept, so that what is said moves nothing above it


def wheel_line() -> QLabel:
    """Return a quiet line for a note on the wheels."""
    line = words("", "quiet")
    line.setAccessibleName("Wheels")
    line.setMinimumHeight(LINES * line.fontMetrics().lineSpacing() + 2)
    return line


def show_note(line: QLabel, note: WheelNote) -> None:
    """Say which wheel will do; it stands out where none will."""
    line.setText(note.text)
    kind = "message" if note.warns else "quiet"
    if line.property("kind") != kind:
        line.setProperty("kind", kind)
        line.style().unpolish(line)
        line.style().polish(line)
