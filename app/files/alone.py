"""One window or command at a time changes what a person keeps."""

from __future__ import annotations

import errno
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from app.files.errors import FileError

PATIENCE_SECONDS = 5.0  # a change is written in milliseconds
BETWEEN_TRIES_SECONDS = 0.02
HELD = (errno.EACCES, errno.EAGAIN, errno.EDEADLK)

if sys.platform == "win32":
    import msvcrt

    def _take(file: BinaryIO) -> None:
        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _take(file: BinaryIO) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)


@contextmanager
def alone(path: Path) -> Iterator[None]:
    """Hold a file's lock, so that what is looked at stays so until it is changed.

    Parameters
    ----------
    path : Path
        An empty file that stands for what is changed; it is made, and stays. The system itself
        lets go of it, however the program ends. Where it knows no locks there is none.

    Raises
    ------
    FileError
        If the folder cannot be written, or another program holds on to it for seconds.
    """
    try:
        file = path.open("ab")
    except OSError as error:
        raise FileError(
            f"the folder cannot be written ({error.strerror}).",
            where=str(path.parent),
            remedy="Make it a folder that you may write to.",
        ) from error
    with file:
        _wait_for(file, path)
        yield


def _wait_for(file: BinaryIO, path: Path) -> None:
    give_up = time.monotonic() + PATIENCE_SECONDS
    while True:
        try:
            _take(file)
            return
        except OSError as error:
            if error.errno not in HELD:
                return  # a network's folder may have no locks
            if time.monotonic() > give_up:
                raise FileError(
                    "another window or command is changing what is kept there.",
                    where=str(path.parent),
                    remedy="Wait for it, and try again.",
                ) from error
        time.sleep(BETWEEN_TRIES_SECONDS)
