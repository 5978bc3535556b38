"""The list of shapes, and the job's own shape where the list has none or another of its name."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from app.gui.asking import ask_other_name
from app.gui.errors import sentence_of
from app.gui.panels.outline import OutlinePanel
from app.gui.steps.step import Desk
from geometry.errors import ToolError

if TYPE_CHECKING:
    from app.document.job import OutlineChoice
    from geometry.family import Family

KEPT, YOURS, READY = "Kept in this job", "Your shapes", "Shapes to begin with"
TAKE_NOW = "Take the shape as it is now"
MOST_TOLD = 3  # files that are no shapes; of more their number is said


class Take(Protocol):
    """Makes a choice the job's, with what is written into the history, and said when undone."""

    def __call__(self, choice: OutlineChoice, text: str, *, stays: str = "") -> None:
        """Take it."""


class Listing:
    """Joins the list of shapes to the program's families, the maker's folder and the job.

    Parameters
    ----------
    desk : Desk
    panel : OutlinePanel
    take : Take
    complain : callable
    """

    def __init__(
        self,
        desk: Desk,
        panel: OutlinePanel,
        *,
        take: Take,
        complain: Callable[[Exception], None],
    ) -> None:
        self._desk, self._panel = desk, panel
        self._take, self._complain = take, complain
        self._shown: object = None  # what is listed; None before the first time
        self._alone: dict[str, Family] = {}  # those that this job had, and that lie nowhere else
        panel.kept.take_asked.connect(self._take_there)
        panel.kept.put_asked.connect(self._put)
        panel.list.again.connect(self._chosen_again)
        desk.document.begun.connect(self._forget)
        desk.document.stays.connect(lambda said: panel.say(said, good=True))

    @property
    def _choice(self) -> OutlineChoice:
        return self._desk.document.job.outline

    def show(self) -> None:
        """List the shapes where they are not listed so: another window may change the folder."""
        from app.files.own_families import own_families
        from geometry.family import built_in_families

        own = own_families()
        known = {family.key for family in (*built_in_families(), *own.families)}
        self._alone = {
            row: one
            for row, one in self._alone.items()
            if row not in known and not (row != one.key and _is_among(one, own.families))
        }
        alone = tuple(replace(one, key=row) for row, one in self._alone.items())
        groups = ((KEPT, alone), (YOURS, own.families), (READY, built_in_families()))
        told = tuple(str(problem) for problem in own.problems)
        if (groups, told) == self._shown:
            return
        self._shown = (groups, told)
        self._panel.list.show_families(groups)
        self._show_current()
        if own.problems:
            self._panel.say(_told(own.problems))

    def _show_current(self) -> None:
        """Show the row of the job's shape: its key, but where the list has another of that key."""
        family, there = self._kept()
        if family is None or there is not None:
            self._panel.list.show_current(self._choice.family)
        else:
            self._panel.list.show_current(_row_of(family))

    def anew(self) -> None:
        """List the shapes again where they are listed."""
        if self._shown is not None:
            self._shown = ()
            self.show()

    def family(self, key: str) -> Family:
        """Return the family of a row of the list; ToolError where it is gone."""
        from app.files.own_families import family_known

        return self._alone[key] if key in self._alone else family_known(key)

    def _forget(self) -> None:
        """Take away what the last job kept: another one is open."""
        if self._alone:
            self._alone = {}
            self.anew()

    def refresh(self) -> None:
        """Say what the job keeps of its shape that the list does not have."""
        family, there = self._kept()
        if family is not None and there is None and self._alone.get(_row_of(family)) != family:
            others = {row: one for row, one in self._alone.items() if one != family}
            self._alone = {**others, _row_of(family): family}
            self.anew()
        self._show_current()
        self._say(family, there)

    def _kept(self) -> tuple[Family | None, Family | None]:
        """Return the family that the job keeps where no list has it so, and the listed one."""
        from app.document.families import chosen_family
        from app.files.own_families import kept_of

        try:
            if not self._choice.family_text:
                return None, None
            family, there = chosen_family(self._choice), kept_of(self._choice.family)
        except ToolError:
            return None, None
        if there is not None and _is_other(family, there):
            there = None
        return (None, None) if family == there else (family, there)

    def _say(self, family: Family | None, there: Family | None) -> None:
        from geometry.family import built_in_families

        row = self._panel.kept
        if family is None:
            row.say("")
        elif there is None:
            row.say(f"“{family.name}” is kept in this job alone.", put="Put it among your shapes")
        elif there in built_in_families():
            row.say(f"This job keeps an earlier “{family.name}”.", take="Take the newer one")
        else:
            row.say(
                f"Your shapes have another “{there.name}” than this job.",
                take="Take that one",
                put="Put this one there",
            )

    def take_anew(self, family: Family, text: str, said: str = "", *, stay: str = "") -> None:
        """Take the job's shape as it is elsewhere, with the job's measures where it takes them.

        Where it was changed in the folder just now, what stays on undo is told by `stay`.
        """
        from app.document.families import newer

        choice, left = newer(self._choice, family)
        self._take(choice, text, stays=stay)
        if stay:
            self.anew()
            self.refresh()
        if self._choice == choice:  # else why it was not taken is said already
            self._panel.say(f"{said} {left_words(left)}".strip(), good=not left)

    def _take_there(self) -> None:
        _, there = self._kept()
        if there is not None:
            self.take_anew(there, TAKE_NOW)

    def _chosen_again(self, key: str) -> None:
        """Take the shape of the row that is chosen as it is now, where the job has it otherwise."""
        if key == self._choice.family and self._kept()[1] is not None:
            self._take_there()

    def _put(self) -> None:
        from app.document.families import choice_of

        family, there = self._kept()
        if family is None:
            return
        try:
            kept = self._put_there(family)
        except ToolError as error:
            self._complain(error)
            return
        if kept is None:
            return
        choice = replace(choice_of(kept), values=self._choice.values)
        if choice != self._choice:
            self._take(choice, "Keep the shape", stays=stays(kept))
        self.anew()
        self._say(*self._kept())
        other = " The other one is in the trash." if there is not None else ""
        self._panel.say(f"Kept among your shapes: {kept.name}.{other}", good=True)

    def _put_there(self, family: Family) -> Family | None:
        """Put a family among the maker's own, under another name where its own is in use."""
        from app.files.own_families import put_family

        return ask_other_name(
            self._desk.window,
            "Put the shape among yours under another name",
            lambda name: put_family(replace(family, name=name or family.name)),
            name=family.name,
            complain=self._complain,
        )


def _is_other(family: Family, there: Family) -> bool:
    """Return whether one of the maker's own has the key of a job's shape, and no more of it.

    Two makers' files may be called alike.
    """
    from geometry.family import built_in_families
    from geometry.family.library import same_words

    return there not in built_in_families() and not same_words(family.name, there.name)


def _row_of(family: Family) -> str:
    """Return what stands in the list for a shape that the job alone has."""
    from app.files.own_families import kept_of

    there = kept_of(family.key)
    return family.key if there is None else f"{family.key}/{family.name}"


def _is_among(family: Family, others: tuple[Family, ...]) -> bool:
    return any(replace(each, key=family.key) == family for each in others)


def left_words(labels: tuple[str, ...]) -> str:
    """Return what is said of the job's measures that a shape does not take; empty for none."""
    measures = ", ".join(label.lower() for label in labels)
    return f"It does not take what the job had for {measures}: usual now." if labels else ""


def stays(family: Family) -> str:
    """Return what is said when a step that changed the maker's folder is undone."""
    return f"“{family.name}” stays among your shapes as it is."


def _told(problems: tuple[ToolError, ...]) -> str:
    """Return what is wrong with the files that are no shapes, each by its name."""
    told = [f"{Path(each.where).name}: {sentence_of(each)}" for each in problems[:MOST_TOLD]]
    names = ", ".join(Path(each.where).name for each in problems[MOST_TOLD:])
    return "\n".join([*told, f"Nor are these shapes: {names}."] if names else told)
