"""What the person tells about a photo, each as one step that can be undone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import cast

from app.document.job import Edge, PhotoFacts, Subject
from app.document.thickness import with_thickness
from app.gui.panels.drawn_page import bars_told
from app.gui.panels.photo import MAT, PhotoPanel
from app.gui.steps.step import Desk
from app.gui.steps.told import (
    between_of,
    lines_of,
    with_between,
    with_reference,
    with_size,
    without,
)
from calibration.pens import Pen
from calibration.references import (
    CrossReference,
    LineReference,
    MatReference,
    RectangleReference,
    Reference,
    SheetReference,
    paper_reference,
)
from calibration.sizes import Kind, Place
from geometry.errors import ToolError

Two = tuple[float, float] | None


class PhotoTelling:
    """Changes the photo's facts as the panel tells them.

    Parameters
    ----------
    desk : Desk
    panel : PhotoPanel
    before : callable
        Called before a change: what is being measured no longer holds.
    complain : callable
        Is given what cannot be.
    """

    def __init__(
        self,
        desk: Desk,
        panel: PhotoPanel,
        *,
        before: Callable[[], None],
        complain: Callable[[Exception], None],
    ) -> None:
        self._desk, self._panel = desk, panel
        self._before, self._complain = before, complain
        panel.line_told.connect(lambda mm: self.line(0, mm))
        panel.sheet_told.connect(self._sheet)
        drawn, piece, calipers = panel.drawn, panel.piece, panel.calipers
        drawn.line_told.connect(self.line)
        drawn.rectangle_told.connect(self._rectangle)
        drawn.cross_told.connect(self._cross)
        drawn.sheet_told.connect(self._own_sheet)
        panel.bars_told.connect(self._bars)
        piece.edge_told.connect(self._edge)
        piece.subject_told.connect(self._subject)
        piece.thickness_told.connect(self._thickness)
        calipers.size_told.connect(self._size)
        calipers.correct_told.connect(self._correct)
        calipers.pen_told.connect(self._pen)
        calipers.offset_told.connect(self._offset)

    @property
    def _photo(self) -> PhotoFacts | None:
        return self._desk.document.job.photo

    def take(self, text: str, made: Callable[[PhotoFacts], PhotoFacts]) -> None:
        """Change the photo's facts as one step; say why, where they cannot be."""
        if self._photo is None:
            return
        self._before()
        self._panel.say("")
        try:
            photo = made(self._photo)
        except ToolError as error:
            self._complain(error)
            return
        self._desk.document.change(replace(self._desk.document.job, photo=photo), text)

    def line(self, index: int, length_mm: float | None) -> None:
        """Take the length of a line; its ends stay where they were marked."""
        told = lines_of(self._photo)
        ends = told[index].ends_px if index < len(told) else None
        new = None if length_mm is None else LineReference(length_mm=length_mm, ends_px=ends)
        self._reference("Tell the line's length", LineReference, new, index)

    def line_ends(self, index: int, ends: tuple[Place, Place]) -> None:
        """Take the two ends of a line that were marked."""
        told = lines_of(self._photo)
        if index < len(told):
            self.take(
                "Mark the line",
                lambda photo: replace(
                    photo,
                    references=with_reference(
                        photo, LineReference, replace(told[index], ends_px=ends), index
                    ),
                ),
            )

    def between(
        self, index: int, true_mm: float | None, ends: tuple[Place, Place] | None = None
    ) -> None:
        """Take a width between two places; without places it keeps its own."""
        if true_mm is None and index >= len(between_of(self._photo)):
            return
        self.take(
            "Tell a width of the steel",
            lambda photo: with_between(photo, index, true_mm, ends),
        )

    def inside(self, spot: Place) -> None:
        """Take a place inside the piece."""
        self.take("Point into the piece", lambda photo: replace(photo, inside_px=spot))

    def _reference(
        self, text: str, kind: type[Reference], new: Reference | None, index: int = 0
    ) -> None:
        self.take(
            text,
            lambda photo: replace(photo, references=with_reference(photo, kind, new, index)),
        )

    def _sheet(self, key: str) -> None:
        new: Reference | None = paper_reference(key) if key and key != MAT else None
        self._whole_sheet(MatReference() if key == MAT else new)

    def _own_sheet(self, size_mm: Two) -> None:
        self._whole_sheet(size_mm and SheetReference(width_mm=size_mm[0], height_mm=size_mm[1]))

    def _whole_sheet(self, new: Reference | None) -> None:
        kept = without(self._photo, (SheetReference, MatReference))
        told = kept if new is None else (*kept, new)
        self.take("Tell what the sheet is", lambda photo: replace(photo, references=told))

    def _rectangle(self, size_mm: Two) -> None:
        new = size_mm and RectangleReference(width_mm=size_mm[0], height_mm=size_mm[1])
        self._reference("Tell the rectangle's sides", RectangleReference, new)

    def _cross(self, size_mm: Two) -> None:
        new = size_mm and CrossReference(first_mm=size_mm[0], second_mm=size_mm[1])
        self._reference("Tell the crossed lines", CrossReference, new)

    def _bars(self, read_mm: Two) -> None:
        self.take(
            "Tell the mat's bars",
            lambda photo: replace(
                photo, references=with_reference(photo, MatReference, bars_told(read_mm))
            ),
        )

    def _edge(self, edge: str) -> None:
        self.take("Tell the side of the ink", lambda photo: replace(photo, edge=cast("Edge", edge)))

    def _subject(self, subject: str) -> None:
        """Take what the photo shows; the steel itself has no trace to correct."""

        def made(photo: PhotoFacts) -> PhotoFacts:
            if subject == "steel":
                photo = replace(photo, pen=None, correct_offset=False)
            return replace(photo, subject=cast("Subject", subject))

        self.take("Tell what the photo shows", made)

    def _thickness(self, thickness_mm: float | None) -> None:
        self._panel.say("")
        job = with_thickness(self._desk.document.job, thickness_mm)
        self._desk.document.change(job, "Tell the thickness")

    def _size(self, kind: str, true_mm: float | None) -> None:
        self.take(
            "Tell a size of the steel",
            lambda photo: with_size(photo, cast("Kind", kind), true_mm),
        )

    def _correct(self, on: bool) -> None:
        self.take(
            "Correct the trace by its sizes" if on else "Leave the trace as it is",
            lambda photo: replace(photo, correct_offset=on),
        )

    def _pen(self, name: str) -> None:
        from app.files.pens_file import pen_named

        self.take(
            "Tell the pen",
            lambda photo: replace(photo, pen=pen_named(name) if name else None),
        )

    def _offset(self, offset_mm: float | None) -> None:
        def made(photo: PhotoFacts) -> PhotoFacts:
            if offset_mm is None:
                return replace(photo, pen=None)
            return replace(photo, pen=Pen(name="", offset_mm=offset_mm, edge=photo.edge))

        self.take("Tell what the pen stands off", made)
