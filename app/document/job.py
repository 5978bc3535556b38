"""The job: everything that one job knows, as plain values; what follows from them is in flow."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from typing import Literal

from app.document.lengths import Unit
from calibration.pens import Pen
from calibration.references import Reference
from calibration.sizes import SteelSize
from geometry.billet import Billet
from geometry.editing import Edit
from geometry.outline import Outline
from geometry.pose import Pose

Edge = Literal["inner", "middle", "outer"]
Subject = Literal["trace", "steel"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoFacts:
    """The photo as the camera wrote it, and what the maker told about it.

    Parameters
    ----------
    name : str
        The file's name, for people.
    data : bytes
        The file's bytes, unchanged.
    references : tuple of Reference
        Things of known size on the sheet.
    inside_px : tuple of float, optional
        A pixel inside the piece; found by itself when None.
    edge : {"inner", "middle", "outer"}
        Which side of the ink is the steel.
    subject : {"trace", "steel"}
        Whether the photo shows a trace or the steel itself.
    sizes : tuple of SteelSize
        Measured on the steel; they check the trace.
    correct_offset : bool
        Whether they correct it too.
    pen : Pen, optional
        What the pen stands off, as it was when it was chosen.
    """

    name: str
    data: bytes = field(repr=False)
    references: tuple[Reference, ...] = ()
    inside_px: tuple[float, float] | None = None
    edge: Edge = "inner"
    subject: Subject = "trace"
    sizes: tuple[SteelSize, ...] = ()
    correct_offset: bool = False
    pen: Pen | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlineChoice:
    """Which outline: a family with its values, or a drawing that was read in.

    Parameters
    ----------
    family : str
        Key of the family; empty when `drawing` is given.
    family_text : str
        The family as the text of its file, so that the job needs no other; empty for one that is
        just as the program has it.
    values : tuple of (str, float)
        The values that differ from the family's defaults, sorted by key.
    drawing : Outline, optional
        An outline that was read in.
    """

    family: str = ""
    values: tuple[tuple[str, float], ...] = ()
    drawing: Outline | None = None
    family_text: str = field(default="", repr=False)

    def with_value(self, key: str, value: float) -> OutlineChoice:
        """Return this choice with one value changed."""
        return replace(self, values=sorted_values({**dict(self.values), key: value}))


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternFacts:
    """How the pattern is printed.

    Parameters
    ----------
    paper : str
        A named sheet, or ``WxH`` in mm.
    show_margin : bool
        Whether the margin line is drawn.
    correct_x, correct_y : float
        Printed over asked length of the two bars, 1 for a true printer.
    """

    paper: str = "letter"
    show_margin: bool = False
    correct_x: float = 1.0
    correct_y: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Everything one job knows. Lengths in mm.

    Parameters
    ----------
    name : str
        What the maker calls it.
    unit : {"mm", "in"}
        The unit on the screen; storage stays mm.
    photo : PhotoFacts, optional
        The photo and what was told about it.
    billet : Billet, optional
        The piece as accepted.
    edits : tuple of Edit
        What was changed on it by hand, in order; `flow.billet_of` gives the changed piece.
    measured_from : str
        Fingerprint of the photo facts that `billet` was measured from; empty if it was not.
    thickness_mm : float, optional
        Thickness of the piece, measured with calipers.
    outline : OutlineChoice
        The outline.
    pose : Pose, optional
        Where the blank lies; None until it was placed.
    margin_mm : float
        Clearance that the maker demands.
    mirror_allowed, size_locked : bool
        Whether the other face may be up, and whether the scale stays 1.
    locked : tuple of str
        Keys of measures that stay as they are when the outline has to give, sorted.
    pattern : PatternFacts
        How the pattern is printed.
    """

    name: str = "New job"
    unit: Unit = "mm"
    photo: PhotoFacts | None = None
    billet: Billet | None = None
    edits: tuple[Edit, ...] = ()
    measured_from: str = ""
    thickness_mm: float | None = None
    outline: OutlineChoice = OutlineChoice(family="full_tang_drop_point")
    pose: Pose | None = None
    margin_mm: float = 1.0  # trade default
    mirror_allowed: bool = True
    size_locked: bool = True
    locked: tuple[str, ...] = ()
    pattern: PatternFacts = PatternFacts()

    def measure_fingerprint(self) -> str:
        """Return a short text that changes whenever the measure could; empty without a photo."""
        if self.photo is None:
            return ""
        photo = self.photo
        offset: tuple[object, ...] = ()
        if photo.sizes or photo.pen is not None:  # they tell how much too large the trace is
            offset = (photo.correct_offset, photo.sizes, photo.pen)
        thickness = self.thickness_mm if photo.subject == "steel" or offset else None
        facts = (photo.references, photo.inside_px, photo.edge, photo.subject, thickness)
        told = repr(_plain((*facts, *offset)))
        return hashlib.sha256(photo.data + told.encode()).hexdigest()[:16]

    @property
    def measure_is_current(self) -> bool:
        """Whether the billet follows from the photo facts as they stand."""
        return self.billet is not None and self.measured_from == self.measure_fingerprint()


def sorted_values(values: Mapping[str, float]) -> tuple[tuple[str, float], ...]:
    """Return values as the sorted pairs that a frozen choice holds."""
    return tuple(sorted((key, float(value)) for key, value in values.items()))


def _plain(value: object) -> object:
    """Return nested facts with every number as a float: 1 and 1.0 are the same fact."""
    if is_dataclass(value):
        names = (item.name for item in fields(value))
        return (type(value).__name__, *(_plain(getattr(value, name)) for name in names))
    if isinstance(value, tuple | list):
        return tuple(_plain(item) for item in value)
    return float(value) if isinstance(value, int | float) else value
