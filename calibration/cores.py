"""Work on several of the processor's cores at once: pictures are large, and their parts apart.

OpenCV and numpy let go of the interpreter while they work on pictures, so threads do.
"""

from __future__ import annotations

import functools
import os
from collections import deque
from collections.abc import Callable, Iterable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from typing import ParamSpec, TypeVar

Given = ParamSpec("Given")
Result = TypeVar("Result")
Part = TypeVar("Part")

MOST_CORES = 4  # more than that wait for each other


def beside(
    work: Callable[Given, Result], *args: Given.args, **kwargs: Given.kwargs
) -> Future[Result]:
    """Return the result to come of work that is done beside what the caller does next.

    `result()` of it waits, and raises what the work raised.  Where the program is ending and no
    other thread may begin any more, the caller does the work at once.
    """
    try:
        return _helpers().submit(work, *args, **kwargs)
    except RuntimeError:
        return _done(work, *args, **kwargs)


def _done(
    work: Callable[Given, Result], *args: Given.args, **kwargs: Given.kwargs
) -> Future[Result]:
    future = Future[Result]()
    try:
        future.set_result(work(*args, **kwargs))
    except Exception as error:  # noqa: BLE001  (whoever asks for the result hears of it)
        future.set_exception(error)
    return future


def each(work: Callable[[Part], object], parts: Iterable[Part]) -> None:
    """Do work on parts that do not touch each other, on whatever cores are free.

    The caller takes its share, so that this ends though all cores are busy.

    Raises
    ------
    Exception
        The first that the work raised; what was not begun is then left out.
    """
    left = deque(parts)

    def some() -> None:
        while True:
            try:
                part = left.popleft()
            except IndexError:
                return
            try:
                work(part)
            except BaseException:
                left.clear()
                raise

    others = [beside(some) for _ in range(min(len(left), _cores()) - 1)]
    try:
        some()
    finally:
        begun = [other for other in others if not other.cancel()]
        wait(begun)
    for other in begun:
        other.result()


def _cores() -> int:
    return max(1, min(MOST_CORES, os.cpu_count() or 1))


@functools.cache
def _helpers() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(max_workers=max(1, _cores() - 1), thread_name_prefix="core")


if hasattr(os, "register_at_fork"):  # a copy of the program has none of its threads
    os.register_at_fork(after_in_child=_helpers.cache_clear)
