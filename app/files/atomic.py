"""Files read and written whole or not at all."""

from __future__ import annotations

import os
import tempfile
import time
from pathlib import Path

from app.files.errors import FileError

LARGEST_BYTES = 256 * 1024 * 1024  # a job with a 48 megapixel photo is 20 MB
RETRY_SECONDS = 2.0  # a virus scanner or a syncing client may hold the old file for a moment
SHOWN_OF_NAME = 40  # letters in the name of what is being written: a name may have 255 bytes
PLAIN_MODE = 0o666  # what a new file may be, before the person's umask


def write_atomically(path: Path | str, data: bytes) -> None:
    """Write a file so that at any moment the old or the new one is there, whole.

    Parameters
    ----------
    path : Path or str
        Where to write; a link is followed, and the file it points to is replaced.
    data : bytes
        The whole content.

    Raises
    ------
    FileError
        If the folder is missing or cannot be written, or the disk is full. An older file at the
        path is left as it was.
    """
    target = Path(path).resolve()
    try:
        if target.is_dir():
            raise IsADirectoryError(21, "it is a folder")
        if target.exists() and not target.is_file():
            target.write_bytes(data)  # a device or a pipe is written to, never replaced
            return
        temporary = _written_beside(target, data)
        try:
            _replace(temporary, target)
        except OSError:
            temporary.unlink(missing_ok=True)
            raise
        _sync_folder(target.parent)
    except OSError as error:
        raise FileError(
            f"the file could not be written ({_reason(error)}).",
            where=str(path),
            remedy="Choose a folder that exists and that you may write to.",
        ) from error


def make_folder(folder: Path, *, remedy: str = "Choose another folder.") -> None:
    """Make a folder with those above it; FileError when that is not allowed."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(
            f"the folder cannot be made ({error.strerror}).", where=str(folder), remedy=remedy
        ) from error


def read_bytes(path: Path | str, *, limit_bytes: int = LARGEST_BYTES) -> bytes:
    """Return a file's content.

    Raises
    ------
    FileError
        If it is missing, cannot be read, or is larger than the limit.
    """
    try:
        with Path(path).open("rb") as file:
            data = file.read(limit_bytes + 1)  # pipes and devices do not tell their size before
    except OSError as error:
        raise FileError(
            f"the file could not be read ({_reason(error)}).",
            where=str(path),
            remedy="Check the name and the folder.",
        ) from error
    if len(data) > limit_bytes:
        raise FileError(
            f"the file is larger than the {limit_bytes / 1e6:.0f} MB that are read.",
            where=str(path),
            remedy="Save what is needed of it to a smaller file.",
        )
    return data


def _written_beside(target: Path, data: bytes) -> Path:
    prefix = f".{target.name[:SHOWN_OF_NAME]}."
    handle, name = tempfile.mkstemp(prefix=prefix, suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, _mode(target))
    except OSError:
        Path(name).unlink(missing_ok=True)
        raise
    return Path(name)


def _mode(target: Path) -> int:
    """Return the old file's mode, or that of a new one: a temporary file's is too narrow."""
    if target.exists():
        return target.stat().st_mode & 0o777
    umask = os.umask(0)
    os.umask(umask)
    return PLAIN_MODE & ~umask


def _replace(temporary: Path, target: Path) -> None:
    give_up = time.monotonic() + RETRY_SECONDS
    while True:
        try:
            os.replace(temporary, target)
            return
        except PermissionError:
            if os.name != "nt" or time.monotonic() > give_up:
                raise
            time.sleep(0.05)


def _sync_folder(folder: Path) -> None:
    """Have the new name itself reach the disk, where the system can do that."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _reason(error: OSError) -> str:
    return (error.strerror or type(error).__name__).lower()
