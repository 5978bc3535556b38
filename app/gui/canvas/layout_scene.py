"""The layout: steel, margin line, blank with its ribbon and handles, the tightest place."""

from __future__ import annotations

import math

import numpy as np
import shapely
from PySide6.QtCore import QPointF, QRectF, Signal
from PySide6.QtGui import QPainterPath
from PySide6.QtWidgets import QGraphicsPathItem

from app.document.flow import Layout
from app.document.job import Job
from app.document.lengths import Unit
from app.document.wording import covered_sentence, rough, tightest_place
from app.gui.canvas.axes import (
    pose_transform,
    scene_path,
    scene_point,
    scene_rect,
    scene_shape,
)
from app.gui.canvas.handles import BlankItem, SizeHandle, TurnHandle
from app.gui.canvas.ribbon import RibbonItem
from app.gui.canvas.sheet_scene import (
    NO_CHANGE,
    NO_STEEL,
    SheetScene,
    draw_billet,
    draw_hint,
    outline_path,
)
from app.gui.canvas.tag import Tag, cosmetic
from app.gui.verdict_bar import VERDICT_TONE
from geometry.billet import Billet
from geometry.outline import Outline
from geometry.pose import Pose

HANDLE_OUT_PX = 34.0  # from the blank's end to its handle
RIBBON_POINTS = 400
EDGE_PX = 8.0  # from the callout to the rim of the view


class LayoutScene(SheetScene):
    """The scene of the layout step.

    Attributes
    ----------
    grabbed, released : Signal
        A drag begins and ends.
    dragged : Signal
        The pose under the hand, and what is being done in words.
    """

    grabbed = Signal()
    dragged = Signal(object, str)
    released = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._ground: tuple[object, ...] = ()
        self._pose: Pose | None = None
        self._layout: Layout | None = None
        self._handle_ends_mm: tuple[tuple[float, float], ...] = ()
        self._px_a_mm = 1.0
        self._visible = QRectF()

    def show_layout(
        self, job: Job, billet: Billet | None, layout: Layout | None, *, afresh: bool = False
    ) -> bool:
        """Draw where things stand; return whether there is another thing to fit in the view.

        The billet is the piece as changed by hand, None where there is none to use. What
        does not change while the hand moves is drawn once.
        """
        outline = None if layout is None else layout.outline
        ground = (billet, outline, job.margin_mm, job.unit)
        fresh = afresh or any(a is not b for a, b in zip(ground, self._ground, strict=False))
        fresh = fresh or len(ground) != len(self._ground)
        other_steel = not self._ground or billet is not self._ground[0]
        if fresh or layout is None:
            self._ground = ground
            self._draw_ground(job, billet, outline)
        self._pose = None if layout is None else layout.pose
        self._layout = layout
        if layout is not None:
            self._draw_blank(job, layout)
            if other_steel:
                self.set_content(self.content.united(scene_rect(layout.blank.bounds)))
        return other_steel

    def set_view(self, px_a_mm: float, visible: QRectF) -> None:
        """Keep handles and callout at their distance on the screen, the callout in view."""
        self._px_a_mm, self._visible = px_a_mm, visible
        if self._layout is not None:
            self._place_handles(self._layout)
            self._place_callout(self._layout)

    def _draw_ground(self, job: Job, billet: Billet | None, outline: Outline | None) -> None:
        self.clear_drawing()
        self._layout = None
        if billet is None:
            draw_hint(self, NO_STEEL if job.billet is None else NO_CHANGE)
            return
        draw_billet(self, billet, job.unit, dimensions=False)
        self._draw_margin(billet, job.margin_mm)
        if outline is not None:
            self._add_blank(outline)

    def _draw_margin(self, billet: Billet, margin_mm: float) -> None:
        inside = shapely.buffer(billet.usable(), -margin_mm)
        if margin_mm > 0 and not inside.is_empty:
            line = self.addPath(scene_shape(inside), cosmetic("steel_edge", 1.0, (5, 5)))
            line.setZValue(2)

    def _add_blank(self, outline: Outline) -> None:
        self._blank = BlankItem()
        self._drawn_scale = 0.0  # nothing yet
        self._marks = QGraphicsPathItem(self._blank)
        marks = QPainterPath()
        for mark in outline.marks:
            marks.addPath(scene_path(mark.points_mm))
        self._marks.setPath(marks)
        self._marks.setPen(cosmetic("blank", 1.2, (5, 4)))
        self._ribbon = RibbonItem()
        self._gap = QGraphicsPathItem()
        self._gap.setZValue(6)
        self._leads = QGraphicsPathItem()
        self._leads.setPen(cosmetic("accent", 1.2))
        self._leads.setZValue(5)
        self._callout = Tag(("",))
        self._turn = TurnHandle("Drag to turn the blank; with Shift ten times finer")
        self._size = SizeHandle("Drag to change the size; with Shift ten times finer")
        for held in (self._blank, self._turn, self._size):
            held.set_up(self._grip, self.dragged.emit, self.released.emit)
        drawn = (self._blank, self._ribbon, self._gap, self._leads)
        for item in (*drawn, self._turn, self._size, self._callout):
            self.addItem(item)
        self._handle_ends_mm = _far_ends_mm(outline)

    def _grip(self) -> Pose | None:
        self.grabbed.emit()
        return self._pose

    def _draw_blank(self, job: Job, layout: Layout) -> None:
        if layout.pose.scale != self._drawn_scale:
            self._drawn_scale = layout.pose.scale
            self._blank.setPath(outline_path(layout.outline, self._drawn_scale))
        self._blank.setTransform(pose_transform(layout.pose))
        profile = layout.region.clearance_profile(layout.blank, RIBBON_POINTS)
        self._ribbon.show_profile(profile, job.margin_mm, job.unit)
        self._size.setVisible(not job.size_locked)
        centre = layout.blank.centroid
        self._turn.centre_mm = self._size.centre_mm = (centre.x, centre.y)
        self._place_handles(layout)
        tone = VERDICT_TONE[layout.verdict]
        clearance, over = layout.clearance, layout.covered
        gap = scene_path([clearance.blank_point_mm, clearance.edge_point_mm])
        self._gap.setPath(gap)
        self._gap.setVisible(over is None or not over.alone)
        self._gap.setPen(cosmetic(tone, 4.0))
        self._callout_words = (_callout_words(layout, job.unit), tone)
        self._place_callout(layout)

    def _place_handles(self, layout: Layout) -> None:
        centre = scene_point(self._turn.centre_mm)
        leads = QPainterPath()
        butt, tip = (
            scene_point((float(x), float(y)))
            for x, y in layout.pose.points(self._handle_ends_mm).tolist()
        )
        for handle, end in ((self._turn, butt), (self._size, tip)):
            out = end - centre
            length = math.hypot(out.x(), out.y()) or 1.0
            spot = end + out * (HANDLE_OUT_PX / self._px_a_mm / length)
            handle.setPos(spot)
            if handle.isVisible():
                leads.moveTo(end)
                leads.lineTo(spot)
        self._leads.setPath(leads)

    def _place_callout(self, layout: Layout) -> None:
        words, tone = self._callout_words
        over = layout.covered
        spot = scene_point(layout.clearance.edge_point_mm if over is None else over.point_mm)
        steel = scene_rect(layout.region.shape.bounds)
        up, before = spot.y() < steel.center().y(), spot.x() < steel.center().x()
        if steel.width() >= steel.height():
            beyond = spot.y() - steel.top() if up else steel.bottom() - spot.y()
            down_px = min(beyond * self._px_a_mm + 48.0, 260.0)
            offset = (70.0 if before else -70.0, -down_px if up else down_px)
        else:
            beyond = spot.x() - steel.left() if before else steel.right() - spot.x()
            aside_px = min(beyond * self._px_a_mm + 110.0, 360.0)
            offset = (-aside_px if before else aside_px, 40.0 if up else -40.0)
        self._callout.say(words, tone, offset)
        self._callout.setPos(spot)
        self._keep_in_view(spot, words, tone, offset)

    def _keep_in_view(
        self, spot: QPointF, words: tuple[str, ...], tone: str, offset: tuple[float, float]
    ) -> None:
        """Shift the callout's frame into what is shown; its leader points at a place beyond it."""
        box, px = self._callout.frame(), self._px_a_mm
        left, top = (self._visible.left() - spot.x()) * px, (self._visible.top() - spot.y()) * px
        right = (self._visible.right() - spot.x()) * px
        foot = (self._visible.bottom() - spot.y()) * px
        dx = max(left + EDGE_PX - box.left(), 0.0) - max(box.right() - right + EDGE_PX, 0.0)
        dy = max(top + EDGE_PX - box.top(), 0.0) - max(box.bottom() - foot + EDGE_PX, 0.0)
        if (dx or dy) and not self._visible.isEmpty():
            self._callout.say(words, tone, (offset[0] + dx, offset[1] + dy))

    def blank_rect_point(self) -> QPointF:
        """Return a place of the scene on the blank, where it can be gripped."""
        assert self._layout is not None
        inside = self._layout.blank.representative_point()
        return scene_point((inside.x, inside.y))

    def turn_handle_point(self) -> QPointF:
        """Return where the turning handle stands in the scene."""
        return self._turn.pos()


def _callout_words(layout: Layout, unit: Unit) -> tuple[str, ...]:
    """Return what the callout says: what lies in the blank, else how tight it is, and where."""
    if layout.covered is not None:
        return (covered_sentence(layout),)
    value = layout.clearance.value_mm
    head = f"Tightest: {rough(value, unit)}" if value >= 0 else f"Sticks out {rough(-value, unit)}"
    doubt = f"± {rough(2 * layout.sigma_mm, unit)}" if layout.sigma_mm else ""
    where = ", ".join(word for word in (tightest_place(layout), doubt) if word)
    return (head, where) if where else (head,)


def _far_ends_mm(outline: Outline) -> tuple[tuple[float, float], ...]:
    """Return the outline's points of least and greatest x: butt and tip."""
    ring = outline.ring(0.1)
    first, last = ring[np.argmin(ring[:, 0])], ring[np.argmax(ring[:, 0])]
    return (float(first[0]), float(first[1])), (float(last[0]), float(last[1]))
