"""The folder of the maker's families: nothing is lost, whoever else writes there."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from app.files import alone as alone_module
from app.files.alone import alone
from app.files.atomic import write_atomically
from app.files.errors import FileError
from app.files.family_folder import names_in_trash
from app.files.own_families import (
    change_family,
    delete_family,
    duplicate_family,
    families_known,
    family_known,
    import_family,
    own_families,
    rename_family,
    restore_family,
    save_family,
    trashed_families,
)
from geometry.errors import InputError, ToolError
from geometry.family import Family, family_named
from geometry.family.changes import with_notes, with_size
from geometry.family.saving import family_text

NECK = family_named("neck_knife")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))
    return tmp_path / "data" / "families"


def own(name: str, notes: str = "") -> Family:
    return replace(NECK, name=name, notes=notes)


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def sent(tmp_path: Path, name: str, notes: str) -> Path:
    file = tmp_path / "sent.toml"
    file.write_text(family_text(own(name, notes)), encoding="utf-8")
    return file


WRITING_OVER: dict[str, Callable[[Path], object]] = {
    "save": lambda _path: save_family(own("One", "later"), over=True),
    "rename": lambda _path: rename_family("two", "One", over=True),
    "duplicate": lambda _path: duplicate_family("two", "One", over=True),
    "import": lambda path: import_family(sent(path, "One", "later"), over=True),
    "restore": lambda _path: restore_family("three", name="One", over=True),
}


@pytest.mark.parametrize("deed", WRITING_OVER)
def test_what_is_written_over_lies_in_the_trash(folder: Path, tmp_path: Path, deed: str) -> None:
    for name in ("One", "Two", "Three"):
        save_family(own(name, "later" if name != "One" else "the first"))
    delete_family("three")
    before = (folder / "one.toml").read_bytes()
    WRITING_OVER[deed](tmp_path)
    assert family_known("one").notes == "later"
    assert (folder / "trash" / "one.toml").read_bytes() == before
    assert restore_family("one", name="As it was").notes == "the first"


def test_a_file_that_is_no_family_is_not_lost_either(folder: Path) -> None:
    folder.mkdir(parents=True)
    (folder / "one.toml").write_text("half a family")
    with pytest.raises(InputError, match="which is no family"):
        save_family(own("One"))
    save_family(own("One"), over=True)
    assert (folder / "trash" / "one.toml").read_text() == "half a family"


def test_the_same_again_puts_nothing_in_the_trash() -> None:
    save_family(own("One"))
    save_family(own("One"), over=True)
    assert trashed_families() == ()


@pytest.mark.parametrize(
    "names",
    [
        ("Нож охотника", "Скіннер", "ナイフ"),  # no letter from a to z in them
        ("Elk, small", "Elk (small)", "Elk; small"),
        ("Full tang: drop point", "Full tang; drop point"),  # as the program's key, with a colon
        ("a" * 59 + "!", "a" * 59 + "?"),
    ],
)
def test_names_that_leave_one_file_name_get_files_of_their_own(
    folder: Path, names: tuple[str, ...]
) -> None:
    for name in names:
        save_family(own(name, notes=name))
    assert sorted(each.name for each in own_families().families) == sorted(names)
    assert all(family_known(each.key).notes == each.name for each in own_families().families)
    for name in names:  # each is found by its name, and none is kept twice
        with pytest.raises(InputError, match="already"):
            save_family(own(name))
        save_family(own(name, notes="anew"), over=True)
    assert len(own_families().families) == len(names)
    renamed = rename_family(own_families().families[0].key, f"{names[0][:50]} 2")
    assert family_known(renamed.key).name.endswith(" 2")


@pytest.mark.parametrize("name", ["con", "NUL", "Com1", "lpt9", "aux", "COM¹", "con.toml", "prn."])
def test_no_file_has_a_name_that_a_system_keeps_for_devices(folder: Path, name: str) -> None:
    kept = save_family(own(name))
    assert kept.key.split(".")[0] not in {"con", "nul", "com1", "lpt9", "aux", "prn"}
    assert family_known(name) == kept


def test_one_name_however_its_letters_are_put_together() -> None:
    save_family(own("Ré"))
    with pytest.raises(InputError, match="already"):
        save_family(own("Re\N{COMBINING ACUTE ACCENT}"))


def test_files_that_differ_in_capitals_alone_are_both_reached(folder: Path) -> None:
    kept = save_family(own("Elk"))
    other = folder / "ELK.toml"
    if other.exists():
        pytest.skip("this system knows no capitals in the names of files")
    other.write_text(family_text(own("Moose")), encoding="utf-8")
    assert family_known("elk") == kept
    assert family_known("ELK").name == "Moose"
    delete_family("ELK")
    assert [each.name for each in own_families().families] == ["Elk"]


def test_a_file_with_the_programs_name_in_capitals_is_told(folder: Path) -> None:
    folder.mkdir(parents=True)
    (folder / "Neck_Knife.toml").write_text(family_text(own("Mine")), encoding="utf-8")
    found = own_families()
    assert found.families == ()
    assert "comes with the program" in str(found.problems[0])


def test_a_file_with_a_name_as_long_as_names_may_be_is_written(tmp_path: Path) -> None:
    path = tmp_path / ("ж" * 120 + ".toml")  # 245 bytes of 255
    write_atomically(path, b"whole")
    write_atomically(path, b"again")
    assert files(tmp_path) == {path.name: b"again"}


def test_of_two_windows_the_later_one_is_told(folder: Path) -> None:
    kept = save_family(own("Probe"))
    start, said = threading.Barrier(8), []

    def change(number: int) -> None:
        start.wait()
        try:
            change_family(kept, with_notes(kept, f"by window {number}"))
        except InputError as error:
            said.append(error.message)

    windows = [threading.Thread(target=change, args=(n,)) for n in range(8)]
    for window in windows:
        window.start()
    for window in windows:
        window.join()
    assert len(said) == 7
    assert all("changed in the folder" in message for message in said)
    assert family_known("probe").notes.startswith("by window")
    assert [path.name for path in folder.iterdir()] == ["probe.toml"]


ADD = """
import sys
from app.files.own_families import change_family, own_family
from geometry.errors import ToolError
from geometry.family.changes import with_size
left = [f"size {sys.argv[1]} {n}" for n in range(10)]
while left:
    old = own_family("probe")
    try:
        change_family(old, with_size(old, left[0], {}))
    except ToolError as error:
        assert "changed in the folder" in error.message, error
    else:
        left.pop(0)
"""


def test_commands_at_the_same_time_lose_nothing_of_each_other() -> None:
    save_family(replace(own("Probe"), sizes=()))
    both = [subprocess.Popen([sys.executable, "-c", ADD, who]) for who in ("a", "b")]
    assert [each.wait(timeout=120) for each in both] == [0, 0]
    told = {size.name for size in family_known("probe").sizes}
    assert told == {f"size {who} {n}" for who in ("a", "b") for n in range(10)}


def test_who_waits_too_long_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(alone_module, "PATIENCE_SECONDS", 0.05)
    with (
        alone(tmp_path / "lock"),
        pytest.raises(FileError, match="another window or command"),
        alone(tmp_path / "lock"),
    ):
        pass
    with alone(tmp_path / "lock"):  # let go of again
        pass


FULL_DISK = """
import resource, signal, sys
from app.files import own_families
from geometry.errors import ToolError
from geometry.family.changes import with_notes
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
old = own_families.family_known("one")
resource.setrlimit(resource.RLIMIT_FSIZE, (200, 200))  # no file grows beyond 200 bytes
deeds = (
    lambda: own_families.change_family(old, with_notes(old, "changed")),
    lambda: own_families.rename_family("one", "Three"),
    lambda: own_families.rename_family("one", "Two", over=True),
    lambda: own_families.duplicate_family("one", "Two", over=True),
    lambda: own_families.save_family(old, over=True),
    lambda: own_families.restore_family("gone"),
)
for deed in deeds[: int(sys.argv[1])]:
    try:
        deed()
    except ToolError as error:
        print(error.message)
"""


@pytest.mark.skipif(os.name == "nt", reason="limits of a file's size are a matter of POSIX")
def test_a_full_disk_changes_nothing(folder: Path) -> None:
    for name in ("One", "Two", "Gone"):
        save_family(own(name, notes=name))
    delete_family("gone")
    before = files(folder)
    done = subprocess.run(
        [sys.executable, "-c", FULL_DISK, "6"], capture_output=True, text=True, check=True
    )
    assert done.stdout.count("could not be written") == 5  # the same again needs no room
    assert files(folder) == before


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_cannot_be_written_is_told(folder: Path) -> None:
    kept = save_family(own("One"))
    folder.chmod(0o500)
    try:
        for deed in (
            lambda: change_family(kept, with_size(kept, "small", {})),
            lambda: rename_family("one", "Two"),
            lambda: delete_family("one"),
            lambda: save_family(own("Two")),
        ):
            with pytest.raises(FileError):
                deed()
    finally:
        folder.chmod(0o700)
    assert own_families().families == (kept,)


def test_a_data_folder_that_is_a_file_is_told(folder: Path) -> None:
    folder.parent.write_text("not a folder")
    with pytest.raises(ToolError, match="folder"):
        save_family(own("One"))
    assert families_known()  # those of the program


def test_names_in_other_letters_come_back_from_the_trash_by_name() -> None:
    names = ("Нож", "Скіннер")
    for name in names:
        save_family(own(name, notes=name))
    for name in names:
        delete_family(name)
    assert names_in_trash() == {"нож": "Нож", "скіннер": "Скіннер"}
    assert restore_family("скіннер").notes == "Скіннер"
    with pytest.raises(InputError, match="the trash has no family “Другий”"):
        restore_family("Другий")
    assert restore_family("Нож").notes == "Нож"
