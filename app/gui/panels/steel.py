"""The panel of the steel step: the piece at true scale, and what calipers say."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLabel

from app.document.job import Job
from app.document.lengths import MM_PER, Unit, format_length
from app.document.wording import LEAST_BIAS_MM
from app.gui.canvas.sheet_scene import sides_mm
from app.gui.length_field import LengthField
from app.gui.panels.budget import BudgetTable
from app.gui.panels.panel import Panel, button, words
from geometry.billet import NOTHING_KNOWN, Billet
from geometry.errors import InputError

HAVE = "This is your piece at true scale. Measure its thickness with calipers."
NONE = "No piece yet. Measure a photo, or open a piece that was saved."
THICKEST_MM = 100.0


class SteelPanel(Panel):
    """Controls of the steel step."""

    thickness_told = Signal(object)
    open_asked = Signal()
    as_measured_asked = Signal()

    def __init__(self) -> None:
        super().__init__("Steel", NONE, "Next: outline", way_on_is_main=True)
        self.thickness = LengthField("Thickness", optional=True)
        self.thickness.setPlaceholderText("not told")
        self.thickness.set_check(require_thickness)
        self.thickness.edited.connect(lambda mm: self.thickness_told.emit(mm))
        self.thickness.cleared.connect(lambda: self.thickness_told.emit(None))
        self.add_row("thickness", self.thickness)
        self.add_group("Size")
        self._values: dict[str, QLabel] = {}
        for name in ("length", "width", "area", "drilled holes", "flaws"):
            self._values[name] = QLabel()
            self.add_row(name, self._values[name])
        self.add_group("How far to trust the edge")
        self.trust = words("")
        self.column.addWidget(self.trust)
        self.budget = BudgetTable()
        self.column.addWidget(self.budget)
        self.changed = words("", "message")
        self.changed.hide()
        self.column.addWidget(self.changed)
        self.as_measured = button("Back to the piece as measured")
        self.as_measured.clicked.connect(self.as_measured_asked)
        self.as_measured.hide()
        self.column.addWidget(self.as_measured)
        self.column.addStretch(1)
        self.open_button = button("Open a saved piece…")
        self.open_button.clicked.connect(self.open_asked)
        self.foot.addWidget(self.open_button)

    def show_job(
        self, job: Job, billet: Billet | None, *, changed: str = "", stale: bool = False
    ) -> None:
        """Show the piece's numbers.

        Parameters
        ----------
        job : Job
        billet : Billet, optional
            The piece, as changed by hand.
        changed : str
            What is to be said of those changes.
        stale : bool
            Whether the photo's facts changed since it was measured.
        """
        self.thickness.set_unit(job.unit)
        self.thickness.show_value(job.thickness_mm)
        self.sentence.setText(NONE if job.billet is None else HAVE)
        self.next_button.setEnabled(billet is not None)
        self.changed.setText(changed)
        self.changed.setVisible(bool(changed))
        self.as_measured.setVisible(bool(job.edits) and job.billet is not None)
        if billet is None:
            for label in self._values.values():
                label.setText("–")
            self.trust.setText("Nothing was measured yet." if job.billet is None else "")
            self.budget.show_budget(NOTHING_KNOWN, job.unit)
            return
        places = 1 if job.unit == "mm" else 2
        length, width = sides_mm(billet)
        self._values["length"].setText(format_length(length, job.unit, decimals=places))
        self._values["width"].setText(format_length(width, job.unit, decimals=places))
        self._values["area"].setText(area_words(billet.shape.area, job.unit))
        self._values["drilled holes"].setText(str(len(billet.shape.interiors)))
        self._values["flaws"].setText(str(len(billet.flaws)))
        self.trust.setText(trust_words(billet, job.unit, stale=stale))
        self.budget.show_budget(billet.budget, job.unit)


def trust_words(billet: Billet, unit: Unit, *, stale: bool) -> str:
    """Return how far the edge can be trusted, and whether it is still what the photo says."""
    sigmas = sorted(billet.vertex_sigma_mm)
    if not sigmas:
        return "Taken as exact: the file tells no doubt."
    places = 2 if unit == "mm" else 3
    usual, worst = (
        format_length(2 * sigma, unit, decimals=places)
        for sigma in (sigmas[len(sigmas) // 2], sigmas[-1])
    )
    band = "The band along the edge shows it at true scale; zoom in to see it."
    text = f"Give or take {usual} at most places and {worst} at the worst. {band}"
    bias_mm = billet.budget.bias_mm
    if abs(bias_mm) >= LEAST_BIAS_MM:
        off, doubt = (
            format_length(each, unit, decimals=places)
            for each in (abs(bias_mm), 2 * billet.budget.bias_sigma_mm)
        )
        way = "large" if bias_mm > 0 else "small"
        gone = "; the layout takes that off" if bias_mm > 0 else ""
        text = (
            f"Likely {off} too {way} all round, give or take {doubt}{gone}. Apart from that the "
            f"edge is sure to {usual} at most places and {worst} at the worst. {band}"
        )
    if stale:
        text += " What you told about the photo has changed since: measure again."
    return text


def area_words(area_mm2: float, unit: Unit) -> str:
    """Return an area in the square of the unit that people use for it.

    Examples
    --------
    >>> area_words(12345.0, "mm"), area_words(645.16, "in")
    ('123 cm²', '1.00 in²')
    """
    if unit == "mm":
        return f"{area_mm2 / 100:.0f} cm²"
    return f"{area_mm2 / MM_PER['in'] ** 2:.2f} in²"


def require_thickness(value_mm: float) -> None:
    """Raise InputError for a thickness that no blade has."""
    if not 0 < value_mm <= THICKEST_MM:
        raise InputError(
            "that is no thickness of a blade.",
            where="Thickness",
            remedy="Give it like 4.5 or 3/16 in.",
        )
