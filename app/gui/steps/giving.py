"""What must give, in the layout step: asked for, shown, and made."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from app.document.advice_for import JobAdvice, advice_for, given_way
from app.document.advice_words import change_parts, outcome_words, rest_lines, size_words
from app.document.families import chosen_family
from app.document.flow import placed
from app.document.job import Job
from app.gui.panels.advice_page import AdviceRow, Lock
from app.gui.worker import Progress, Stop

if TYPE_CHECKING:
    from app.gui.steps.layout import LayoutStep
    from geometry.advice import Way

MADE = "The blank lies where it fits now. One step of undo takes the change back."
NO_BREAK = "\u00a0"
SIZE = "Size 100 → {size} %"
SIZE_OUTCOME = "It keeps the margin there; drilled holes keep their size."
FACTS = ("billet", "edits", "outline", "margin_mm", "mirror_allowed")


class Giving(QObject):
    """Joins the page of what must give to the job.

    Parameters
    ----------
    step : LayoutStep
        Works on the worker for it.
    """

    def __init__(self, step: LayoutStep) -> None:
        super().__init__(step)
        self._step = step
        self._of: Job | None = None  # the job that was asked for
        self._told: JobAdvice | None = None
        step.panel.advice_asked.connect(self.ask)
        step.panel.advice.made.connect(self._make)
        step.panel.advice.locked.connect(self._lock)
        step.panel.advice.left.connect(self._leave)

    def ask(self) -> None:
        """Work it out on the worker."""
        known = self._step.desk.derived.best(self._step.job)

        def work(job: Job, *, progress: Progress, stop: Stop) -> JobAdvice:
            return advice_for(job, known=known, progress=progress, stop=stop)

        self._step.search(work, self._take)

    def show(self) -> None:
        """Put it away where it is no longer about the job as it stands."""
        job, of = self._step.job, self._of
        if of is None:
            return
        if any(getattr(of, fact) != getattr(job, fact) for fact in FACTS):
            self._leave()
        elif of.unit != job.unit or of.locked != job.locked:
            self._of = job
            self._show_rows()

    def _take(self, job: Job, told: JobAdvice) -> None:
        self._of, self._told = job, told
        self._show_rows()
        panel = self._step.panel
        panel.show_advice(True)
        first = next(iter(panel.advice.buttons), panel.advice.back)
        first.setFocus()

    def _show_rows(self) -> None:
        job, told = self._of, self._told
        if job is None or told is None:
            return
        advice = told.of_family
        rows: list[AdviceRow] = []
        if advice is None:
            rest = [size_words(told)]
            if told.of_size is not None and told.of_size.pose.scale < 1.0:
                size = f"{100 * told.of_size.pose.scale:.1f}"
                rows, rest = (
                    [AdviceRow(changes=(SIZE.format(size=size),), outcome=SIZE_OUTCOME)],
                    [],
                )
        else:
            rows = [
                AdviceRow(
                    changes=tuple(_shown(part) for part in change_parts(way, job)),
                    outcome=_shown(outcome_words(way, job)),
                )
                for way in self._ways()
            ]
            rest = rest_lines(job, advice)
        self._step.panel.advice.show_rows(rows, rest, self._locks(job, told))

    def _ways(self) -> list[Way]:
        """Return the changes that leave what is kept: one that was locked since is passed over."""
        advice = None if self._told is None else self._told.of_family
        ways = () if advice is None else advice.ways
        kept = set(self._step.job.locked)
        return [way for way in ways if not kept & dict(way.values).keys()]

    def _locks(self, job: Job, told: JobAdvice) -> list[Lock]:
        """Return the measures that the changes are about, and those that are kept already."""
        advice = told.of_family
        if advice is None:
            return []
        keys = {key for way in advice.ways for key, _ in way.values}
        keys |= {short.key for short in advice.short} | set(job.locked)
        return [
            Lock(key=each.key, label=each.label, on=each.key in job.locked)
            for each in chosen_family(job.outline).parameters
            if each.key in keys
        ]

    def _make(self, number: int) -> None:
        told, job = self._told, self._step.job
        if told is None:
            return
        if told.of_family is not None:
            way = self._ways()[number]
            labels = {each.key: each.label for each in chosen_family(job.outline).parameters}
            names = " and ".join(labels[key].lower() for key, _ in way.values)
            self._step.desk.document.change(given_way(job, way), f"Change {names}")
        elif told.of_size is not None:
            smaller = replace(placed(job, told.of_size), size_locked=False)
            self._step.desk.document.change(smaller, "Change the size")
        self._leave()
        self._step.panel.say(MADE, good=True)
        self._step.panel.next_button.setFocus()

    def _lock(self, key: str, on: bool) -> None:
        job = self._step.job
        kept = set(job.locked) | {key} if on else set(job.locked) - {key}
        label = {each.key: each.label for each in chosen_family(job.outline).parameters}[key]
        text = f"Keep {label.lower()}" if on else f"Let {label.lower()} change"
        self._step.desk.document.change(replace(job, locked=tuple(sorted(kept))), text)
        self.ask()

    def _leave(self) -> None:
        self._of = self._told = None
        self._step.panel.show_advice(False)


def _shown(text: str) -> str:
    """Return words as the window shows them, what belongs together on one line."""
    text = text.removeprefix("fits, ").replace(" -> ", " → ")
    for sign in (" → ", " mm", " spare", " does not"):
        text = text.replace(sign, sign.replace(" ", NO_BREAK))
    return f"{text[:1].upper()}{text[1:]}"
