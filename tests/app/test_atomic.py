"""A file is the old one or the new one, never half of either."""

import os
import stat
from pathlib import Path

import pytest

from app.files.atomic import read_bytes, write_atomically
from app.files.errors import FileError


def test_a_file_is_written_and_written_over(tmp_path: Path) -> None:
    path = tmp_path / "job.bin"
    write_atomically(path, b"first")
    write_atomically(str(path), b"second")
    assert path.read_bytes() == b"second"
    assert list(tmp_path.iterdir()) == [path]


def test_a_failed_write_keeps_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "job.bin"
    write_atomically(path, b"old")

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileError, match="no space left"):
        write_atomically(path, b"new")
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_missing_folder_is_one_clear_line(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"could not be written \(no such file") as caught:
        write_atomically(tmp_path / "nowhere" / "a.pdf", b"x")
    assert "\n" not in str(caught.value)


def test_a_folder_in_the_way_is_said(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="it is a folder"):
        write_atomically(tmp_path, b"x")


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_locked_folder_is_said(tmp_path: Path) -> None:
    tmp_path.chmod(stat.S_IRUSR | stat.S_IXUSR)
    with pytest.raises(FileError, match="permission denied"):
        write_atomically(tmp_path / "a.pdf", b"x")


@pytest.mark.skipif(os.name == "nt", reason="modes are POSIX")
def test_others_may_read_a_new_file_as_the_umask_says(tmp_path: Path) -> None:
    old = os.umask(0o022)
    try:
        write_atomically(tmp_path / "a.pdf", b"x")
    finally:
        os.umask(old)
    assert stat.S_IMODE((tmp_path / "a.pdf").stat().st_mode) == 0o644


@pytest.mark.skipif(os.name == "nt", reason="no such pipes there")
def test_a_pipe_is_written_to_and_stays_a_pipe(tmp_path: Path) -> None:
    """As a device is: root that writes to the null device must not replace it by a file."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        write_atomically(pipe, b"through")
        assert os.read(reader, 100) == b"through"
    finally:
        os.close(reader)
    assert stat.S_ISFIFO(pipe.stat().st_mode)
    assert list(tmp_path.iterdir()) == [pipe]


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no device without end here")
def test_a_file_without_end_is_read_no_further_than_the_limit() -> None:
    with pytest.raises(FileError, match="larger than"):
        read_bytes("/dev/zero", limit_bytes=1000)


def test_reading_says_what_is_wrong(tmp_path: Path) -> None:
    (tmp_path / "big").write_bytes(b"x" * 11)
    with pytest.raises(FileError, match="could not be read"):
        read_bytes(tmp_path / "none", limit_bytes=10)
    with pytest.raises(FileError, match="larger than"):
        read_bytes(tmp_path / "big", limit_bytes=10)
    assert read_bytes(tmp_path / "big", limit_bytes=11) == b"x" * 11
