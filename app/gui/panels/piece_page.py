"""What the photo shows of the piece: a trace or the steel, how thick, which side of the ink."""

from __future__ import annotations

from PySide6.QtCore import Signal

from app.document.job import Job
from app.gui.choice import Choice
from app.gui.length_field import LengthField
from app.gui.panels.folds import WIDE_PX, Page
from app.gui.panels.panel import button
from app.gui.panels.steel import require_thickness

EDGES = {"inner": "inner side of the ink", "middle": "middle of the ink", "outer": "outer side"}
SUBJECTS = {"trace": "a traced line", "steel": "the steel itself"}


class PiecePage(Page):
    """Rows for what the photo shows.

    Attributes
    ----------
    edge_told, subject_told : Signal
        The chosen key.
    thickness_told : Signal
        In mm, or None.
    inside_asked : Signal
        Whether a place inside the piece is to be pointed at.
    """

    edge_told = Signal(str)
    subject_told = Signal(str)
    thickness_told = Signal(object)
    inside_asked = Signal(bool)

    def __init__(self) -> None:
        super().__init__()
        self.subject, self.edge = Choice(), Choice()
        for box, names, told in (
            (self.subject, SUBJECTS, self.subject_told),
            (self.edge, EDGES, self.edge_told),
        ):
            for key, label in names.items():
                box.addItem(label, key)
            box.activated.connect(lambda _, box=box, told=told: told.emit(box.currentData()))
        self.thickness = LengthField("Thickness of the steel", optional=True)
        self.thickness.setPlaceholderText("not told")
        self.thickness.set_check(require_thickness)
        self.thickness.edited.connect(lambda mm: self.thickness_told.emit(mm))
        self.thickness.cleared.connect(lambda: self.thickness_told.emit(None))
        self.inside = button("Point at it", tip="If the piece is not found by itself")
        self.inside.setCheckable(True)
        self.inside.clicked.connect(self.inside_asked)
        self.add_row("photo shows", self.subject, width=WIDE_PX)
        self.add_row("steel's thickness", self.thickness)
        self.add_row("steel is at the", self.edge, width=WIDE_PX)
        self.add_row("inside of the piece", self.inside)

    def show_facts(self, job: Job) -> None:
        """Show what was told."""
        self.thickness.set_unit(job.unit)
        self.thickness.show_value(job.thickness_mm)
        photo = job.photo
        if photo is not None:
            self.subject.setCurrentIndex(self.subject.findData(photo.subject))
            self.edge.setCurrentIndex(self.edge.findData(photo.edge))
            self.inside.setText("Point again" if photo.inside_px else "Point at it")
        self.edge.setEnabled(photo is not None and photo.subject == "trace")
