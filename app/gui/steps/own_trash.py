"""Asking which of the shapes in the trash is to come back."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtWidgets import QWidget

from app.gui.asking import ask_one

TITLE = "Take back from the trash"


def ask_trashed(parent: QWidget, names: Mapping[str, str]) -> str | None:
    """Ask for a shape in the trash by its name and return its key; None where it is left."""
    return ask_one(parent, TITLE, "Which shape:", list(names.items()))
