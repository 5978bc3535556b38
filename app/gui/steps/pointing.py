"""Pointing at the photo: the loupe, snapping to ink, and the marks that are set."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF

from app.gui.canvas.bench import Bench
from app.gui.canvas.photo_scene import PhotoScene

if TYPE_CHECKING:
    from calibration.ink import Ink
    from calibration.photo import Photo

Place = tuple[float, float]


class Pointing:
    """Lets the person point at one place of the photo, or at the two ends of a line.

    Attributes
    ----------
    marks : list of Place
        The ends set so far, photo pixels.
    """

    def __init__(self, bench: Bench, scene: PhotoScene) -> None:
        self._bench, self._scene = bench, scene
        self._photo: Photo | None = None
        self._ink: Ink | None = None
        self._done: Callable[[tuple[Place, Place]], None] | None = None
        self.marks: list[Place] = []
        self._is_on = False

    @property
    def is_on(self) -> bool:
        """Whether a click on the photo is waited for."""
        return self._is_on

    def begin_line(
        self, done: Callable[[tuple[Place, Place]], None], photo: Photo | None, ink: Ink | None
    ) -> None:
        """Ask for two ends; they snap to ink where it is known."""
        self._photo, self._ink, self._done = photo, ink, done
        self._begin(self._mark)

    def begin_place(self, done: Callable[[Place], None]) -> None:
        """Ask for one place, as it is pointed at."""

        def take(spot: QPointF) -> None:
            self.end()
            done((spot.x(), spot.y()))

        self._begin(take)

    def end(self) -> None:
        """Put the loupe and the marks away."""
        self.marks, self._done, self._is_on = [], None, False
        self._photo, self._ink = None, None
        self._bench.view.set_pick(None)
        self._bench.loupe.hide()
        self._scene.show_marks([])

    def _begin(self, pick: Callable[[QPointF], None]) -> None:
        self.marks, self._is_on = [], True
        self._scene.show_marks([])
        self._bench.view.set_pick(pick, self._hover)
        self._bench.view.setFocus()

    def _mark(self, spot: QPointF) -> None:
        self.marks.append(self._snapped(spot)[0])
        self._scene.show_marks(self.marks)
        if len(self.marks) == 2 and self._done is not None:
            done, ends = self._done, (self.marks[0], self.marks[1])
            self.end()
            done(ends)

    def _hover(self, at: QPointF | None) -> None:
        loupe, view = self._bench.loupe, self._bench.view
        if at is None:
            loupe.hide()
            return
        place, snapped = self._snapped(view.scene_at(at))
        loupe.look(at.toPoint(), QPointF(*place), view.px_a_unit, snapped=snapped)

    def _snapped(self, spot: QPointF) -> tuple[Place, bool]:
        """Return the place on the ink next to a spot, and whether there is one."""
        place = (spot.x(), spot.y())
        if self._photo is None or self._ink is None:
            return place, False
        from calibration.snap import snap_to_ink

        x, y = snap_to_ink(self._photo, self._ink, place)
        return (float(x), float(y)), (float(x), float(y)) != place
