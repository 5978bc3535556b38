"""What the doubt of a measured edge is made of, a row each."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from app.document.lengths import Unit, format_length
from app.document.wording import LEAST_SHOWN_MM
from app.gui.panels.panel import words
from app.gui.theme import GAP_PX
from geometry.error_budget import Budget

TOGETHER = "together"
HEAD = "Cause by cause at most places; ± give or take"


class BudgetTable(QWidget):
    """Causes of error with what they do to the edge, twice the standard deviation."""

    def __init__(self) -> None:
        super().__init__()
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(GAP_PX)
        self._grid.setVerticalSpacing(2)
        self._grid.setColumnStretch(0, 1)
        self.rows: dict[str, str] = {}
        self.hide()

    def show_budget(self, budget: Budget, unit: Unit) -> None:
        """Show a budget; nothing where nothing is known."""
        while (item := self._grid.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        self.rows = budget_rows(budget, unit)
        self.setVisible(bool(self.rows))
        if not self.rows:
            return
        self._grid.addWidget(words(HEAD, "quiet"), 0, 0, 1, 2)
        for place, (name, value) in enumerate(self.rows.items(), start=1):
            kind = "" if name == TOGETHER else "quiet"
            said = QLabel(value)
            said.setProperty("kind", kind)
            top_right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop
            said.setAlignment(top_right)
            self._grid.addWidget(words(name, kind), place, 0, Qt.AlignmentFlag.AlignTop)
            self._grid.addWidget(said, place, 1, top_right)


def budget_rows(budget: Budget, unit: Unit) -> dict[str, str]:
    """Return each cause with what it does, and all of them together; the doubt doubled.

    Examples
    --------
    >>> from geometry.error_budget import Part
    >>> parts = (Part(name="pen", bias_mm=0.5, sigma_mm=0.3), Part(name="hand", sigma_mm=0.4))
    >>> for name, value in budget_rows(Budget(parts=parts), "mm").items():
    ...     print(name, value.splitlines())
    pen ['0.50 mm too large', '± 0.60 mm']
    hand ['± 0.80 mm']
    together ['0.50 mm too large', '± 1.00 mm']
    """
    if not budget.parts:
        return {}
    rows = {part.name: _off(part.bias_mm, part.sigma_mm, unit) for part in budget.parts}
    return {**rows, TOGETHER: _off(budget.bias_mm, budget.sigma_mm, unit)}


def _off(bias_mm: float, sigma_mm: float, unit: Unit) -> str:
    places = 2 if unit == "mm" else 3
    doubt = f"± {format_length(2.0 * sigma_mm, unit, decimals=places)}"
    if abs(bias_mm) < LEAST_SHOWN_MM:
        return doubt
    way = "large" if bias_mm > 0 else "small"
    return f"{format_length(abs(bias_mm), unit, decimals=places)} too {way}\n{doubt}"
