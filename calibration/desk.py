"""What a calibration has on the table: the photo, what was asked for, what was seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from calibration.ink import Ink
from calibration.photo import Photo
from calibration.references import (
    LineReference,
    RectangleReference,
    Reference,
    SheetReference,
)
from calibration.seen import FrameSeen, LineSeen, Seen, SheetSeen
from calibration.sheet_edges import SheetEdges
from calibration.strokes import Candidate
from geometry.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The references by kind."""

    all: tuple[Reference, ...]
    lines: tuple[LineReference, ...]
    sheet: SheetReference | None
    rectangle: RectangleReference | None

    @classmethod
    def sorted_out(cls, references: Sequence[Reference]) -> Asked:
        """Return the references by kind, refusing what cannot be used."""
        sheets = [r for r in references if isinstance(r, SheetReference)]
        rectangles = [r for r in references if isinstance(r, RectangleReference)]
        if not references or len(sheets) > 1 or len(rectangles) > 1:
            raise InputError(
                "no reference is given." if not references else "only one of a kind is possible.",
                where="Reference",
                remedy="Give the length of a line, the sheet's size, or a rectangle's sides.",
            )
        return cls(
            all=tuple(references),
            lines=tuple(r for r in references if isinstance(r, LineReference)),
            sheet=sheets[0] if sheets else None,
            rectangle=rectangles[0] if rectangles else None,
        )

    @property
    def needs_strokes(self) -> bool:
        """Whether any reference has to be found by itself."""
        if self.rectangle is not None and self.rectangle.corners_px is None:
            return True
        return any(line.ends_px is None for line in self.lines)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Desk:
    """What is on the table: the photo, what was asked, what was seen."""

    photo: Photo
    ink: Ink
    asked: Asked
    edges: SheetEdges | None
    candidates: tuple[Candidate, ...]

    def seen(
        self,
        *,
        lines: tuple[LineSeen, ...] = (),
        rectangle: FrameSeen | None = None,
        sheet: SheetSeen | None = None,
    ) -> Seen:
        """Return what the adjustment works on."""
        return Seen(
            middle_px=(0.5 * (self.photo.width_px - 1), 0.5 * (self.photo.height_px - 1)),
            focal_px=self.photo.focal_px,
            lines=lines,
            rectangle=rectangle,
            sheet=sheet,
        )
