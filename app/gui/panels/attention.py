"""Which measure the hand or the keyboard is at."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QTimer, Signal
from PySide6.QtWidgets import QSlider, QWidget

SETTLE_MS = 90  # on the way from a measure's slider to its field the hand is at neither


class Attention(QObject):
    """Tells which of some widgets is pointed at, else which has the keyboard.

    Attributes
    ----------
    told : Signal
        The key of the widget; empty for none, and while a slider is pulled.
    """

    told = Signal(str)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._keys: dict[QObject, str] = {}
        self._under, self._focused, self._pulled = "", "", False
        self._told = ""
        self._settle = QTimer(self)
        self._settle.setSingleShot(True)
        self._settle.setInterval(SETTLE_MS)
        self._settle.timeout.connect(self._tell)

    def watch(self, widget: QWidget, key: str) -> None:
        """Watch a widget that belongs to a measure."""
        self._keys[widget] = key
        widget.installEventFilter(self)

    def forget(self) -> None:
        """Watch none of them any longer."""
        for widget in self._keys:
            widget.removeEventFilter(self)
        self._keys.clear()
        self._under, self._focused, self._pulled = "", "", False
        self._tell()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Note what happens to a widget; it takes its course."""
        key, kind = self._keys.get(watched, ""), event.type()
        if kind == QEvent.Type.Enter:
            self._under = key
        elif kind == QEvent.Type.Leave:
            self._under = ""
        elif kind == QEvent.Type.FocusIn:
            self._focused = key
        elif kind in (QEvent.Type.FocusOut, QEvent.Type.Hide) and self._focused == key:
            self._focused = ""
        elif isinstance(watched, QSlider) and kind == QEvent.Type.MouseButtonPress:
            self._pulled = True
            self._tell()
        elif kind == QEvent.Type.MouseButtonRelease:
            self._pulled = False
        else:
            return False
        self._settle.start()
        return False

    def _tell(self) -> None:
        key = "" if self._pulled else self._under or self._focused
        if key != self._told:
            self._told = key
            self.told.emit(key)
