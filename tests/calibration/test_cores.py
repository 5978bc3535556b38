import os
import subprocess
import sys
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


AT_THE_END = """
import threading, time
from calibration.cores import beside, each

def late():
    threading.main_thread().join()
    time.sleep(0.2)  # the program has told its threads to end by then
    done = []
    each(done.append, range(20))
    print(sorted(done) == list(range(20)), beside(max, 1, 2).result())

beside(min, 1, 2).result()
threading.Thread(target=late).start()
"""
IN_A_COPY = """
import os
from calibration.cores import beside

beside(min, 1, 2).result()
child = os.fork()
if child == 0:
    os._exit(beside(max, 1, 2).result(timeout=20))
print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
"""


def said(program):
    command = [sys.executable, "-W", "ignore", "-c", program]
    return subprocess.run(command, capture_output=True, text=True, timeout=60, check=True).stdout


def test_work_is_done_though_the_program_is_ending():
    assert said(AT_THE_END) == "True 2\n"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no copies of a program here")
def test_work_is_done_in_a_copy_of_the_program():
    assert said(IN_A_COPY) == "2\n"
