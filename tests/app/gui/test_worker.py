"""One worker: progress, cancel, errors, and only the latest answer."""

from __future__ import annotations

import threading
import time

from pytestqt.qtbot import QtBot

from app.gui.worker import Worker
from geometry.errors import Cancelled, InputError


def test_an_answer_comes_back_on_the_windows_thread(qtbot: QtBot) -> None:
    worker, threads, shares = Worker(), {}, []

    def task(progress, stop):
        threads["task"] = threading.get_ident()
        for step in range(5):
            progress(step / 5)
            time.sleep(0.05)
        return 42

    def done(value):
        threads["done"], threads["value"] = threading.get_ident(), value

    worker.start(task, done=done, failed=lambda error: None, progressed=shares.append)
    qtbot.waitUntil(lambda: "done" in threads)
    assert threads["value"] == 42
    assert threads["task"] != threads["done"] == threading.get_ident()
    assert shares == sorted(shares)
    assert len(shares) >= 3
    worker.close()


def test_only_the_latest_answer_of_a_lane_is_shown(qtbot: QtBot) -> None:
    worker, answers = Worker(), []
    for number in range(3):
        worker.start(
            lambda progress, stop, number=number: time.sleep(0.05) or number,
            done=answers.append,
            failed=lambda error: None,
        )
    qtbot.waitUntil(lambda: not worker.is_busy())
    qtbot.wait(150)
    assert answers == [2]
    worker.close()


def test_a_stopped_task_hears_of_it_and_its_answer_is_dropped(qtbot: QtBot) -> None:
    worker, heard, answers = Worker(), threading.Event(), []

    def task(progress, stop):
        end = time.monotonic() + 5
        while time.monotonic() < end:
            if stop():
                heard.set()
                raise Cancelled
            time.sleep(0.01)

    worker.start(task, done=answers.append, failed=answers.append)
    qtbot.wait(50)
    worker.cancel()
    assert not worker.is_busy()
    assert heard.wait(2)
    qtbot.wait(50)
    assert answers == []
    worker.close()


def test_an_error_comes_back_as_an_error(qtbot: QtBot) -> None:
    worker, errors = Worker(), []

    def task(progress, stop):
        raise InputError("no line found.")

    worker.start(task, done=lambda value: None, failed=errors.append)
    qtbot.waitUntil(lambda: bool(errors))
    assert isinstance(errors[0], InputError)
    worker.close()
