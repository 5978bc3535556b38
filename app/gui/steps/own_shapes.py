"""The maker's own shapes in the window: kept, sized, renamed, copied, passed on, thrown away."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFileDialog, QInputDialog, QMessageBox

from app.document.job import OutlineChoice
from app.gui.asking import CALLED, Made, ask_name, ask_other_name, ask_place, may_write_over
from app.gui.panels import own_menu
from app.gui.panels.outline import OutlinePanel
from app.gui.steps.listing import Listing, Take, stays
from app.gui.steps.own_keep import keep_drawing
from app.gui.steps.own_range import ask_range
from app.gui.steps.own_trash import ask_trashed
from app.gui.steps.step import Desk
from geometry.errors import ToolError

if TYPE_CHECKING:
    from geometry.family import Family

SHAPES, ENDING = "Shapes", ".toml"
FILES = f"{SHAPES} (*{ENDING})"


class OwnShapes:
    """Joins the menu to the folder of the maker's own families.

    Parameters
    ----------
    desk : Desk
    panel : OutlinePanel
    listing : Listing
        Takes a kept shape at the measures at hand.
    take : Take
    listed : callable
        Lists the shapes anew.
    late : callable
        Says words wherever the person is by now, and whether they are good news.
    """

    def __init__(
        self,
        desk: Desk,
        panel: OutlinePanel,
        *,
        listing: Listing,
        take: Take,
        listed: Callable[[], None],
        late: Callable[[str, bool], None],
        complain: Callable[[Exception], None],
    ) -> None:
        self._desk, self._panel = desk, panel
        self._listing, self._take, self._listed = listing, take, listed
        self._late, self._complain = late, complain
        self._doings: dict[str, Callable[[], None]] = {
            own_menu.KEEP: self._keep,
            own_menu.SIZE: self._keep_size,
            own_menu.USUAL: self._make_usual,
            own_menu.RANGE: self._change_range,
            own_menu.NOTES: self._write_notes,
            own_menu.RENAME: self._rename,
            own_menu.COPY: self._copy,
            own_menu.WRITE: self._write,
            own_menu.BRING: self._bring,
            own_menu.TRASH: self._throw_away,
            own_menu.BACK: self._take_back,
        }
        panel.own.asked.connect(self._do)

    def show(self) -> None:
        """Offer what can be done with the shape at hand."""
        from app.files.changed_family import is_kept

        family = self._family()
        own = family is not None and bool(self._choice.family_text) and is_kept(family)
        self._panel.own.show_own(own=own, family=family is not None)

    @property
    def _choice(self) -> OutlineChoice:
        return self._desk.document.job.outline

    def _family(self) -> Family | None:
        from app.document.families import chosen_family

        try:
            return chosen_family(self._choice)
        except ToolError:
            return None

    def _do(self, word: str) -> None:
        from app.files.changed_family import as_kept

        self._panel.say("")
        family = self._family()
        try:
            if word in own_menu.OF_OWN and family is not None:
                as_kept(family)  # before anything is asked: the folder may have another by now
            self._doings[word]()
        except ToolError as error:
            self._complain(error)

    def _keep(self) -> None:
        """Keep the shape as it is at hand: a drawing, or a family at these measures."""
        from app.document.families import saved_as
        from app.files.own_families import free_name, save_family
        from geometry.family.changes import checked_name

        choice = self._choice
        if choice.drawing is not None:
            name = self._ask("Keep this shape", free_name, name=choice.drawing.name)
            if name is not None:
                self._keep_drawing(name)
            return
        kept = self._ask(
            "Keep this shape", lambda name: save_family(saved_as(choice, name=checked_name(name)))
        )
        if kept is not None:
            self._show_kept(kept, "Keep the shape", f"Kept among your shapes: {kept.name}.")

    def _keep_drawing(self, name: str) -> None:
        keep_drawing(
            self._desk,
            name,
            kept=lambda kept, said: self._show_kept(kept, "Keep the drawing as a shape", said),
            late=self._late,
            listed=self._listed,
        )

    def _keep_size(self) -> None:
        from app.document.families import has_size, sized
        from app.files.changed_family import as_kept, change_kept

        family, values = self._family(), dict(self._choice.values)
        if family is None:
            return

        def keep(name: str) -> Family:
            has = has_size(as_kept(family), name)
            over = has and may_write_over(self._desk.window, f"a size “{name.strip()}”")
            return change_kept(family, lambda now: sized(now, name, values, over=over))

        kept = self._ask("Keep these measures as a size", keep)
        if kept is not None:
            self._show_changed(kept, "Keep a size", f"Kept as a size of {kept.name}.")

    def _make_usual(self) -> None:
        """Make the measures at hand the usual ones of the shape."""
        from app.document.families import with_usual
        from app.files.changed_family import change_kept

        family, values = self._family(), dict(self._choice.values)
        if family is not None:
            kept = change_kept(family, lambda now: with_usual(now, values))
            said = f"These are the usual measures of {kept.name} now."
            self._show_kept(kept, "Make the measures the usual ones", said)

    def _change_range(self) -> None:
        family = self._family()
        if family is None:
            return
        kept = ask_range(self._desk.window, family, self._desk.document.job.unit)
        if kept is not None:
            self._show_changed(kept, "Change a range", f"Kept with {kept.name}.")

    def _write_notes(self) -> None:
        from app.files.changed_family import change_kept
        from geometry.family.changes import with_notes

        family = self._family()
        if family is None:
            return
        notes, taken = QInputDialog.getMultiLineText(
            self._desk.window, "Notes", f"What there is to know of {family.name}:", family.notes
        )
        if taken:
            kept = change_kept(family, lambda now: with_notes(now, notes))
            self._show_changed(kept, "Write notes", f"Written with {kept.name}.")

    def _rename(self) -> None:
        from app.files.changed_family import rename_kept

        family = self._family()
        if family is not None:
            kept = self._ask(
                "Rename this shape", lambda name: rename_kept(family, name), name=family.name
            )
            if kept is not None:
                self._show_changed(kept, "Rename the shape", f"It is {kept.name} now.")

    def _copy(self) -> None:
        from app.files.own_families import save_family

        family = self._family()
        if family is not None:
            kept = self._ask(
                "Copy this shape",
                lambda name: save_family(replace(family, name=name)),
                name=f"{family.name}, copy",
            )
            if kept is not None:
                self._show_kept(kept, "Copy the shape", f"Kept among your shapes: {kept.name}.")

    def _write(self) -> None:
        from app.files.atomic import write_atomically
        from app.files.family_file import family_bytes

        family = self._family()
        if family is None:
            return
        proposed = Path.home() / f"{family.key}{ENDING}"
        path = ask_place(self._desk.window, "Write this shape to a file", proposed, SHAPES)
        if path is not None:
            write_atomically(path, family_bytes(family))
            self._panel.say(f"Written: {path.name}. Another maker can bring it in.", good=True)

    def _bring(self) -> None:
        name, _ = QFileDialog.getOpenFileName(self._desk.window, "Bring in a shape", "", FILES)
        if name:
            self.bring(Path(name))

    def bring(self, path: Path) -> None:
        """Keep the shape in a file; another name is asked for where its own is taken."""
        from app.files.own_families import family_in_file, save_family

        family = family_in_file(path)
        kept = ask_other_name(
            self._desk.window,
            "Bring in a shape under another name",
            lambda name: save_family(replace(family, name=name or family.name)),
            name=family.name,
            complain=self._complain,
        )
        if kept is not None:
            self._show_kept(kept, "Bring in a shape", f"Brought in among your shapes: {kept.name}.")

    def _throw_away(self) -> None:
        from app.files.changed_family import delete_kept

        family = self._family()
        if family is None:
            return
        buttons = QMessageBox.StandardButton
        answer = QMessageBox.question(
            self._desk.window,
            "Move it to the trash?",
            f"Move “{family.name}” to the trash? It can be taken back, and this job keeps it.",
            buttons.Yes | buttons.Cancel,
        )
        if answer == buttons.Yes:
            delete_kept(family)
            self._listed()
            self._panel.say(f"In the trash: {family.name}. This job keeps it.", good=True)

    def _take_back(self) -> None:
        from app.files.family_folder import in_trash, names_in_trash
        from app.files.own_families import family_in_file, restore_family

        names = names_in_trash()
        if not names:
            self._panel.say("There is nothing in the trash.", good=True)
            return
        key = ask_trashed(self._desk.window, names)
        if key is None:
            return
        name = family_in_file(in_trash(key)).name  # one that cannot be read no name can mend
        kept = ask_other_name(
            self._desk.window,
            "Take a shape back under another name",
            lambda name: restore_family(key, name=name),
            name=name,
            complain=self._complain,
        )
        if kept is not None:
            self._show_kept(kept, "Take a shape back", f"Back among your shapes: {kept.name}.")

    def _show_changed(self, kept: Family, text: str, said: str) -> None:
        """Take the job's shape as it was changed, at the job's measures, and say so."""
        self._listing.take_anew(kept, text, said, stay=stays(kept))

    def _show_kept(self, kept: Family, text: str, said: str) -> None:
        """Choose a kept family at its usual measures, and say so."""
        from app.document.families import choice_of

        choice = choice_of(kept)
        self._take(choice, text, stays=stays(kept))
        self._listed()
        if self._choice == choice:  # else why it was not taken is said already
            self._panel.say(said, good=True)

    def _ask(self, title: str, make: Callable[[str], Made], *, name: str = "") -> Made | None:
        return ask_name(self._desk.window, title, CALLED, make, name=name)
