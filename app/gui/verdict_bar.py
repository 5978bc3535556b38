"""The foot of the window: where the job stands, in one sentence and on a gauge."""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from app.document.lengths import MM_PER, Unit, format_length
from app.gui.round_steps import round_step
from app.gui.theme import GAP_PX, colour, theme
from geometry.verdict import Verdict

VERDICT_TONE = {
    Verdict.FITS: "accent",
    Verdict.DOUBTFUL: "doubt",
    Verdict.DOES_NOT_FIT: "blank",
}
VERDICT_MARK = {Verdict.FITS: "✓", Verdict.DOUBTFUL: "△", Verdict.DOES_NOT_FIT: "✕"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What the gauge shows, mm: the spare steel, its doubt, the margin, the best that was found."""

    spare_mm: float
    doubt_mm: float
    margin_mm: float
    verdict: Verdict
    best_mm: float | None = None
    best_is_proven: bool = False


class Gauge(QWidget):
    """A line of spare steel with the reading, its band of doubt, what is asked and the best."""

    def __init__(self) -> None:
        super().__init__()
        self._reading: Reading | None = None
        self._unit: Unit = "mm"
        self.setAccessibleName("Gauge of spare steel")
        theme().changed.connect(self.update)

    def sizeHint(self) -> QSize:
        """Return the room it likes."""
        return QSize(400, 56)

    def show_reading(self, reading: Reading | None, unit: Unit) -> None:
        """Show a reading, or nothing."""
        self._reading, self._unit = reading, unit
        self.setAccessibleDescription("" if reading is None else _spoken(reading, unit))
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the gauge."""
        if self._reading is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        font = QFont(self.font())
        font.setPointSizeF(font.pointSizeF() * 0.85)
        painter.setFont(font)
        scale = _Scale(self._reading, self._unit, left=22.0, right=self.width() - 34.0)
        self._draw_line(painter, scale)
        self._draw_reading(painter, scale, self._reading)

    def _draw_line(self, painter: QPainter, scale: _Scale) -> None:
        y = 28.0
        painter.setPen(QPen(colour("frame"), 1.5))
        painter.drawLine(QPointF(scale.left, y), QPointF(scale.right, y))
        painter.setPen(colour("quiet"))
        for tick in scale.ticks:
            x = scale.x(tick * MM_PER[self._unit])
            painter.drawLine(QPointF(x, y - 4), QPointF(x, y + 4))
            last = f" {self._unit}" if tick == scale.ticks[-1] else ""
            box = QRectF(x - 40, y + 9, 80, 16)
            painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), f"{tick:g}{last}")

    def _draw_reading(self, painter: QPainter, scale: _Scale, reading: Reading) -> None:
        y, tone = 28.0, VERDICT_TONE[reading.verdict]
        low = scale.x(reading.spare_mm - reading.doubt_mm)
        high = scale.x(reading.spare_mm + reading.doubt_mm)
        painter.fillRect(QRectF(low, y - 7, max(high - low, 1.0), 14), colour(tone, 90))
        asked = scale.x(reading.margin_mm)
        painter.setPen(QPen(colour("text"), 2))
        painter.drawLine(QPointF(asked, y - 16), QPointF(asked, y + 8))
        painter.setPen(QPen(colour(tone), 4))
        spare = scale.x(reading.spare_mm)
        painter.drawLine(QPointF(spare, y - 10), QPointF(spare, y + 10))
        painter.setPen(colour("quiet"))
        best = None if reading.best_mm is None else scale.x(reading.best_mm)
        best_after = best is None or best > asked
        self._word(painter, asked, y - 20, "asked", before=best_after and asked > 80)
        if best is not None:
            painter.setPen(QPen(colour("accent"), 2, Qt.PenStyle.DotLine))
            painter.drawLine(QPointF(best, y - 12), QPointF(best, y + 8))
            painter.setPen(colour("accent"))
            word = "best proven" if reading.best_is_proven else "best found"
            self._word(painter, best, y - 20, word, before=not best_after and best > 80)

    @staticmethod
    def _word(painter: QPainter, x: float, y: float, word: str, *, before: bool) -> None:
        if before:
            box = QRectF(x - 84, y - 6, 80, 14)
            painter.drawText(box, int(Qt.AlignmentFlag.AlignRight), word)
        else:
            painter.drawText(QRectF(x + 4, y - 6, 100, 14), int(Qt.AlignmentFlag.AlignLeft), word)


class _Scale:
    """The gauge's range: round numbers of the unit in use, zero and all marks within."""

    def __init__(self, reading: Reading, unit: Unit, *, left: float, right: float) -> None:
        self.left, self.right = left, right
        shown = [0.0, reading.spare_mm, reading.margin_mm, reading.best_mm or 0.0]
        low = min(0.0, *shown) / MM_PER[unit]
        high = max(0.0, *shown) / MM_PER[unit]
        step = round_step((high - low) / 4 or 1.0)
        first, last = math.floor(low / step), math.ceil(high / step + 0.25)
        self.ticks = [index * step for index in range(first, last + 1)]
        self._first_mm = self.ticks[0] * MM_PER[unit]
        self._span_mm = (self.ticks[-1] - self.ticks[0]) * MM_PER[unit]

    def x(self, value_mm: float) -> float:
        """Return where a value stands, kept on the gauge."""
        share = (value_mm - self._first_mm) / self._span_mm
        return self.left + (self.right - self.left) * min(max(share, -0.02), 1.02)


class VerdictBar(QWidget):
    """Words and gauge at the foot."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("verdict")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setFixedHeight(56)
        self.words = QLabel()
        self.words.setTextFormat(Qt.TextFormat.RichText)
        self.words.setWordWrap(True)
        self.gauge = Gauge()
        self._head, self._rest, self._tone = "", "", "text"
        row = QHBoxLayout(self)
        row.setContentsMargins(20, 0, 0, 0)
        row.setSpacing(2 * GAP_PX)
        row.addWidget(self.words, 1)
        row.addWidget(self.gauge)
        theme().changed.connect(self._write)

    def show_sentence(self, sentence: str) -> None:
        """Say where things stand while there is nothing to judge."""
        self._head, self._rest, self._tone = "", sentence, "text"
        self.gauge.show_reading(None, "mm")
        self.gauge.hide()
        self._write()

    def show_verdict(self, sentence: str, reading: Reading, unit: Unit) -> None:
        """Show a verdict: ``Fits: 3.2 mm spare...``; its head stands out."""
        head, _, rest = sentence.partition(":")
        self._head = f"{VERDICT_MARK[reading.verdict]} {head}:"
        self._rest, self._tone = rest, VERDICT_TONE[reading.verdict]
        self.gauge.show_reading(reading, unit)
        self.gauge.show()
        self._write()

    def _write(self) -> None:
        tone = colour(self._tone).name()
        head = f'<span style="font-size:14pt; font-weight:600; color:{tone}">{self._head}</span> '
        rest = self._rest.replace("&", "&amp;").replace("<", "&lt;")
        self.words.setText(f"{head if self._head else ''}{rest}")
        self.words.setAccessibleName(f"{self._head} {self._rest}".strip())


def _spoken(reading: Reading, unit: Unit) -> str:
    return (
        f"{format_length(reading.spare_mm, unit)} spare, give or take "
        f"{format_length(reading.doubt_mm, unit)}, {format_length(reading.margin_mm, unit)} asked"
    )
