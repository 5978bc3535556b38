"""The pens that were measured, in the window: listed, and kept from what sizes tell."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QInputDialog

from app.document.wording import pen_words
from app.gui.panels.photo import PhotoPanel
from app.gui.steps.step import Desk
from calibration.pens import Pen
from geometry.errors import ToolError
from geometry.stand_off import Offset


class Pens:
    """Joins the page with calipers and pen to the person's list of pens."""

    def __init__(
        self, desk: Desk, panel: PhotoPanel, complain: Callable[[Exception], None]
    ) -> None:
        self._desk, self._panel, self._complain = desk, panel, complain
        panel.folds.turned.connect(self.show)
        panel.calipers.keep_asked.connect(self._keep)

    @property
    def measured(self) -> Offset | None:
        """What the sizes tell of a pen that was not told; None if nothing does."""
        job = self._desk.document.job
        capture = self._desk.derived.capture(job)
        if capture is None or job.photo is None or job.photo.pen is not None:
            return None
        return capture.pen_offset

    def show(self) -> None:
        """List the pens while their page is open."""
        if self._panel.folds.page is not self._panel.calipers:
            return
        from app.files.pens_file import kept_pens

        try:
            self._panel.calipers.show_pens(tuple(pen.name for pen in kept_pens()))
        except ToolError as error:
            self._complain(error)
        self._panel.calipers.show_facts(
            self._desk.document.job, pen_can_be_kept=self.measured is not None
        )

    def _keep(self) -> None:
        """Keep the pen under a name that the person gives."""
        from app.files.pens_file import checked_name, keep_pen

        job, offset = self._desk.document.job, self.measured
        if offset is None or job.photo is None:
            return
        name, taken = QInputDialog.getText(self._desk.window, "Keep this pen", "What you call it:")
        if not taken:
            return
        try:
            pen = Pen(
                name=checked_name(name),
                offset_mm=offset.value_mm,
                sigma_mm=offset.sigma_mm,
                thickness_mm=job.thickness_mm,
                edge=job.photo.edge,
            )
            keep_pen(pen)
        except ToolError as error:
            self._complain(error)
            return
        self.show()
        self._panel.say(f"Kept. {pen_words(pen, job.unit)}.", good=True)
