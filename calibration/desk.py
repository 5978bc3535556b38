"""What a calibration has on the table: the photo, what was asked for, what was seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from calibration.ink import Ink
from calibration.mat_marks import MatSeen
from calibration.matched import Matched
from calibration.photo import Photo
from calibration.references import (
    CrossReference,
    LineReference,
    MatReference,
    RectangleReference,
    Reference,
    SheetReference,
)
from calibration.seen import Seen, SheetSeen
from calibration.sheet_edges import SheetEdges
from calibration.strokes import Candidate
from geometry.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The references by kind."""

    all: tuple[Reference, ...]
    lines: tuple[LineReference, ...]
    crosses: tuple[CrossReference, ...]
    rectangles: tuple[RectangleReference, ...]
    sheet: SheetReference | None
    mat: MatReference | None

    @classmethod
    def sorted_out(cls, references: Sequence[Reference]) -> Asked:
        """Return the references by kind, refusing what cannot be used."""
        sheets = [r for r in references if isinstance(r, SheetReference)]
        mats = [r for r in references if isinstance(r, MatReference)]
        if not references or len(sheets) > 1 or len(mats) > 1:
            raise InputError(
                "no reference is given."
                if not references
                else "only one sheet and only one mat is possible.",
                where="Reference",
                remedy="Give the length of a line, the sheet's size, or a rectangle's sides.",
            )
        return cls(
            all=tuple(references),
            lines=tuple(r for r in references if isinstance(r, LineReference)),
            crosses=tuple(r for r in references if isinstance(r, CrossReference)),
            rectangles=tuple(r for r in references if isinstance(r, RectangleReference)),
            sheet=sheets[0] if sheets else None,
            mat=mats[0] if mats else None,
        )

    def wants_edges(self, recognise_sheet: bool) -> bool:
        """Whether the sheet's edges are of use: it was given, or may be recognised."""
        return self.sheet is not None or (recognise_sheet and self.mat is None)

    @property
    def needs_strokes(self) -> bool:
        """Whether any reference has to be found by itself."""
        pointed = [r.corners_px for r in self.rectangles]
        pointed += [r.ends_px for r in self.crosses]
        return None in [*pointed, *(r.ends_px for r in self.lines)]

    @property
    def one_line(self) -> bool:
        """Whether one line is all that is asked for."""
        return len(self.all) == len(self.lines) == 1

    @property
    def only_closed(self) -> bool:
        """Whether of all that is drawn only rectangles are asked for."""
        return bool(self.rectangles) and not self.lines and not self.crosses


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Desk:
    """What is on the table: the photo, what was asked, what was seen."""

    photo: Photo
    ink: Ink
    asked: Asked
    edges: SheetEdges | None
    candidates: tuple[Candidate, ...]
    mat: MatSeen | None = None

    def seen(self, matched: Sequence[Matched] = (), sheet: SheetSeen | None = None) -> Seen:
        """Return what the adjustment works on."""
        return Seen(
            middle_px=(0.5 * (self.photo.width_px - 1), 0.5 * (self.photo.height_px - 1)),
            focal_px=self.photo.focal_px,
            lines=tuple(line for one in matched for line in one.lines),
            squares=tuple(square for one in matched for square in one.squares),
            figures=tuple(figure for one in matched for figure in one.figures),
            sheet=sheet,
        )
