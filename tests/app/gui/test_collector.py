"""Cycles with widgets in them are collected on the window's thread only."""

from __future__ import annotations

import gc
import threading
from collections.abc import Iterator

import pytest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.gui.collector import Collector
from app.gui.window import MainWindow
from app.gui.worker import Worker


class Tracer:
    """Half of a cycle; tells on which thread it was collected."""

    def __init__(self, heard: list[int]) -> None:
        self.widget = QWidget()
        self.widget.tracer = self  # type: ignore[attr-defined]
        self._heard = heard

    def __del__(self) -> None:
        self._heard.append(threading.get_ident())


@pytest.fixture
def collector(qapp: QApplication) -> Iterator[Collector]:
    made = Collector()
    yield made
    made.close()


def allocate_much() -> None:
    """Make far more cycles than the collector's threshold lets stand."""
    for _ in range(20 * gc.get_threshold()[0]):
        cycle: list[object] = []
        cycle.append(cycle)


def test_a_task_that_allocates_collects_no_widget(qtbot: QtBot, collector: Collector) -> None:
    heard: list[int] = []
    answers: list[object] = []
    worker = Worker()
    Tracer(heard)
    worker.start(lambda progress, stop: allocate_much(), done=answers.append, failed=answers.append)
    qtbot.waitUntil(lambda: not worker.is_busy())
    assert answers == [None]
    assert heard == []  # left alone on the other thread
    while collector.collect():
        pass
    gc.collect()
    assert heard == [threading.get_ident()]
    worker.close()


def test_the_timer_keeps_memory_in_bounds(qtbot: QtBot, collector: Collector) -> None:
    gc.collect()
    allocate_much()
    assert gc.get_count()[0] > gc.get_threshold()[0]
    qtbot.waitUntil(lambda: gc.get_count()[0] <= gc.get_threshold()[0], timeout=3000)


def test_a_worker_keeps_the_collector_and_gives_it_back(qtbot: QtBot, qapp: QApplication) -> None:
    assert gc.isenabled()
    worker = Worker()
    assert not gc.isenabled()
    window = MainWindow()
    worker.close()
    assert not gc.isenabled()  # the window's own worker is still there
    assert window.close()
    assert gc.isenabled()
    worker.close()
    assert gc.isenabled()
    window.deleteLater()
