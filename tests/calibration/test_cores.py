import threading

import pytest

from calibration.cores import beside, each


def test_every_part_is_worked_on_once():
    done = []
    each(done.append, range(200))
    assert sorted(done) == list(range(200))


def test_parts_of_parts_are_worked_on_though_every_core_is_busy():
    done = []
    each(lambda k: each(lambda j: done.append((k, j)), range(5)), range(5))
    beside(each, done.append, range(3)).result()
    assert len(done) == 28


def test_what_the_work_raises_comes_to_the_caller_and_no_part_is_begun_after():
    begun = []

    def work(part):
        begun.append(part)
        raise IndexError(part)

    with pytest.raises(IndexError):
        each(work, range(1000))
    assert len(begun) <= 4


def test_work_beside_is_not_done_by_the_caller():
    assert beside(threading.current_thread).result() is not threading.current_thread()
    with pytest.raises(KeyError):
        beside({}.__getitem__, "none").result()
