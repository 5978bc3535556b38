"""What the hand said of a shape's parts, one step after the other, to take back and bring back."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from app.document.measured_outline import NOTHING_POINTED
from geometry.curves import Point
from geometry.ends import Side
from geometry.knife_parts import Pointed


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What is said of the parts by now, and what the last step to it was.

    Parameters
    ----------
    text : str
        What was done last: ``Mark the tip``; empty before the first step.
    pointed : Pointed
        Where the parts are.
    heels : dict
        The heel as pointed at for a spine on either side, mm.
    """

    text: str = ""
    pointed: Pointed = NOTHING_POINTED
    heels: dict[Side, Point | None] = field(default_factory=dict)


class Marks:
    """The marks of one shape and their history.

    Examples
    --------
    >>> marks = Marks()
    >>> marks.take("tip", (80.0, 0.0))
    >>> marks.take_back()
    >>> (marks.are_set, marks.undo_text, marks.redo_text)
    (False, '', 'Mark the tip')
    """

    def __init__(self) -> None:
        self._steps = [Said()]
        self._at = 0

    @property
    def pointed(self) -> Pointed:
        """Where the parts are, as far as the hand said."""
        return self._steps[self._at].pointed

    @property
    def are_set(self) -> bool:
        """Whether anything is said."""
        return self.pointed != NOTHING_POINTED

    @property
    def undo_text(self) -> str:
        """What was done last; empty for nothing."""
        return self._steps[self._at].text

    @property
    def redo_text(self) -> str:
        """What was taken back last; empty for nothing."""
        ahead = self._steps[self._at + 1 :]
        return ahead[0].text if ahead else ""

    def with_place(self, name: str, place: Point) -> Pointed:
        """Return what is said with another place of a part, mm."""
        if name == "tip":
            return replace(self.pointed, tip_mm=place)
        if name == "butt":
            return replace(self.pointed, butt_mm=place)
        return replace(self.pointed, heel_mm=place, spine=None)  # the heel tells the side, too

    def take(self, name: str, place: Point) -> None:
        """Take a place for a part, mm; the heels pointed at before are of other ends."""
        self._add(Said(text=f"Mark the {name}", pointed=self.with_place(name, place)))

    def turn_over(self, spine: Side) -> None:
        """Put the spine on the other side than this one, with the heel pointed at there, if any."""
        other: Side = "right" if spine == "left" else "left"
        heels = {**self._steps[self._at].heels, spine: self.pointed.heel_mm}
        pointed = replace(self.pointed, spine=other, heel_mm=heels.get(other))
        self._add(Said(text="Turn the spine", pointed=pointed, heels=heels))

    def take_back(self) -> None:
        """Go a step back, where there is one."""
        self._at = max(self._at - 1, 0)

    def bring_back(self) -> None:
        """Go a step ahead again, where there is one."""
        self._at = min(self._at + 1, len(self._steps) - 1)

    def _add(self, said: Said) -> None:
        del self._steps[self._at + 1 :]
        self._steps.append(said)
        self._at += 1
