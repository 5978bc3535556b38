"""All steps of the window; each is imported and made when it is first entered."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

from app.gui.rail import Step
from app.gui.steps.step import Desk, StepAtHand

if TYPE_CHECKING:
    from app.gui.steps.layout import LayoutStep
    from app.gui.steps.outline import OutlineStep
    from app.gui.steps.pattern import PatternStep
    from app.gui.steps.photo import PhotoStep
    from app.gui.steps.steel import SteelStep

AnyStep = TypeVar("AnyStep", bound=StepAtHand)


class Steps:
    """The steps at one desk.

    Parameters
    ----------
    desk : Desk
        What they share.
    take : callable
        Is given each step when it was made.

    Attributes
    ----------
    made : list of StepAtHand
        The steps that were entered so far.
    """

    def __init__(self, desk: Desk, take: Callable[[StepAtHand], None]) -> None:
        self._desk, self._take = desk, take
        self.made: list[StepAtHand] = []

    def at(self, step: Step) -> StepAtHand:
        """Return a step by its name."""
        found = getattr(self, step.name.lower())
        assert isinstance(found, StepAtHand)
        return found

    @cached_property
    def photo(self) -> PhotoStep:
        """The photo step."""
        from app.gui.steps.photo import PhotoStep

        return self._made(PhotoStep(self._desk))

    @cached_property
    def steel(self) -> SteelStep:
        """The steel step."""
        from app.gui.steps.steel import SteelStep

        return self._made(SteelStep(self._desk))

    @cached_property
    def outline(self) -> OutlineStep:
        """The outline step."""
        from app.gui.steps.outline import OutlineStep

        return self._made(OutlineStep(self._desk))

    @cached_property
    def layout(self) -> LayoutStep:
        """The layout step."""
        from app.gui.steps.layout import LayoutStep

        return self._made(LayoutStep(self._desk))

    @cached_property
    def pattern(self) -> PatternStep:
        """The pattern step."""
        from app.gui.steps.pattern import PatternStep

        return self._made(PatternStep(self._desk))

    def _made(self, step: AnyStep) -> AnyStep:
        self.made.append(step)
        self._take(step)
        return step
