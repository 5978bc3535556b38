"""A drawing kept among the maker's own shapes: worked out beside the window, and to its end."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from app.gui.errors import sentence_of
from app.gui.steps.step import Desk
from app.gui.worker import Progress, Stop

if TYPE_CHECKING:
    from geometry.family import Family

LANE = "own"


def keep_drawing(
    desk: Desk,
    name: str,
    *,
    kept: Callable[[Family, str], None],
    late: Callable[[str, bool], None],
    listed: Callable[[], None],
) -> None:
    """Make a family of the job's drawing, and keep it whatever is opened meanwhile.

    Parameters
    ----------
    desk : Desk
    name : str
        What to call it.
    kept : callable
        Chooses the kept shape, and says the words; where the job has its drawing still.
    late : callable
        Says words wherever the person is by now, and whether they are good news.
    listed : callable
        Lists the shapes anew.
    """
    job, choice = desk.document.opened, desk.document.job.outline

    def task(progress: Progress, stop: Stop) -> Family:
        from app.document.families import saved_as
        from app.files.own_families import save_family

        return save_family(saved_as(choice, name=name))

    def done(family: Family) -> None:
        said = f"Kept among your shapes: {family.name}."
        if desk.document.opened == job and desk.document.job.outline == choice:
            kept(family, f"{said} Its lengths and widths can be changed.")
            return
        listed()
        late(said, True)

    desk.worker.start(
        task,
        done=done,
        failed=lambda error: late(f"{name} was not kept. {sentence_of(error)}", False),
        lane=LANE,
        lasting=True,
    )
