"""The maker's own families: kept as single files, and in the jobs that use them."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from app.document.families import chosen_family
from app.document.flow import chosen_outline, outline_of
from app.document.job import Job, OutlineChoice
from app.files.errors import FileError
from app.files.job_file import job_bytes, job_from_bytes, read_job, write_job
from app.files.outline_choice import choice_and_notes
from app.files.own_families import (
    change_family,
    delete_family,
    duplicate_family,
    export_family,
    families_folder,
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
from geometry.family import Family, built_in_families, family_named
from geometry.family.changes import with_notes, with_size
from geometry.family.model import Size
from geometry.family.saving import family_of, family_text


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))
    return tmp_path / "data" / "families"


def own(name: str = "Elk skinner") -> Family:
    return family_of(family_named("drop point").outline(), name=name)


def names() -> list[str]:
    return [family.name for family in own_families().families]


def test_without_a_folder_there_are_the_programs_families_alone(folder: Path) -> None:
    assert families_known() == built_in_families()
    assert not folder.exists()


def test_a_saved_family_is_one_file_and_known_by_name_key_and_path(folder: Path) -> None:
    kept = save_family(own())
    assert [path.name for path in folder.iterdir()] == ["elk_skinner.toml"]
    assert families_folder() == folder
    for text in ("Elk skinner", "elk_skinner", "skinner elk", str(folder / "elk_skinner.toml")):
        assert family_known(text) == kept
    assert families_known() == (*built_in_families(), kept)


@pytest.mark.parametrize("name", ["Elk Skinner", "elk-skinner", "Full-tang drop point"])
def test_a_name_that_is_taken_is_refused(name: str) -> None:
    save_family(own())
    with pytest.raises(InputError, match="already"):
        save_family(own(name))


def test_a_family_is_written_over_only_when_told() -> None:
    save_family(own())
    changed = replace(own(), notes="Made wider.")
    with pytest.raises(InputError, match="--replace"):
        save_family(changed)
    assert save_family(changed, over=True) == family_known("elk skinner")
    assert family_known("elk skinner").notes == "Made wider."


@pytest.mark.parametrize("name", ["", " ", "a" * 61, "two\x07bells", "\ud800"])
def test_a_name_that_cannot_be_used_is_refused(name: str) -> None:
    with pytest.raises(InputError, match="no name for a family"):
        save_family(replace(own(), name=name))


@pytest.mark.parametrize(
    ("name", "file"), [("CON", "family_con"), ("../up", "up"), ("…", "family")]
)
def test_a_files_name_is_safe_whatever_the_family_is_called(
    folder: Path, name: str, file: str
) -> None:
    save_family(own(name))
    assert [path.name for path in folder.iterdir()] == [f"{file}.toml"]
    assert names() == [name]


def test_rename_duplicate_delete_and_restore(folder: Path) -> None:
    first = save_family(own())
    copy = duplicate_family("elk skinner", "Second")
    assert (copy.profile, copy.parameters) == (first.profile, first.parameters)
    rename_family("second", "Third one")
    assert names() == ["Elk skinner", "Third one"]
    assert sorted(path.name for path in folder.glob("*.toml")) == [
        "elk_skinner.toml", "third_one.toml",
    ]  # fmt: skip
    place = delete_family("third one")
    assert place == folder / "trash" / "third_one.toml"
    assert names() == ["Elk skinner"]
    save_family(own("Third one"))
    assert delete_family("third one").name == "third_one_2.toml"
    assert trashed_families() == ("third_one", "third_one_2")
    assert restore_family("Third one").name == "Third one"
    assert names() == ["Elk skinner", "Third one"]
    with pytest.raises(InputError, match="already"):
        restore_family("third_one_2")
    assert trashed_families() == ("third_one_2",)
    with pytest.raises(InputError, match="the trash has no family “fourth”"):
        restore_family("fourth")


def test_a_name_may_change_in_its_capitals_alone(folder: Path) -> None:
    save_family(own())
    assert rename_family("elk_skinner", "ELK skinner").key == "elk_skinner"
    assert names() == ["ELK skinner"]


def test_renaming_to_a_taken_name_changes_nothing() -> None:
    save_family(own())
    save_family(own("Second"))
    with pytest.raises(InputError, match="there is a family “Second” already"):
        rename_family("elk skinner", "second")
    assert names() == ["Elk skinner", "Second"]


@pytest.mark.parametrize("change", [delete_family, lambda text: rename_family(text, "Other")])
def test_what_comes_with_the_program_stays(change: Callable[[str], object]) -> None:
    with pytest.raises(InputError, match="comes with the program, and stays as it is"):
        change("full_tang_drop_point")


@pytest.mark.parametrize("change", [delete_family, lambda text: rename_family(text, "Other")])
@pytest.mark.parametrize("text", ["kitchen_chef", "Kitchen chef's knife", "kitchen chef"])
def test_a_file_with_the_name_of_a_programs_family_is_not_reached_by_it(
    folder: Path, text: str, change: Callable[[str], object]
) -> None:
    built_in = family_named("kitchen_chef")
    save_family(own())
    file = (folder / "elk_skinner.toml").rename(folder / "kitchen_chef.toml")
    with pytest.raises(ToolError, match="comes with the program"):
        change(built_in.name if text.startswith("Kitchen") else text)
    assert file.is_file()
    change(str(file))  # told as a file it is the maker's
    assert not file.exists()


@pytest.mark.parametrize("change", [delete_family, lambda text: rename_family(text, "Other")])
def test_a_file_elsewhere_does_not_reach_the_own_family_of_its_name(
    folder: Path, tmp_path: Path, change: Callable[[str], object]
) -> None:
    kept = save_family(own())
    export_family("elk skinner", tmp_path / "elk_skinner.toml")
    with pytest.raises(InputError, match="is none of your own families"):
        change(str(tmp_path / "elk_skinner.toml"))
    assert own_families().families == (kept,)


@pytest.mark.parametrize(
    "spoilt",
    [
        lambda family: replace(family, notes="\x1b[2J"),
        lambda family: replace(family, notes="a" * 2001),
        lambda family: replace(family, sizes=(Size(name="a", values=()),) * 2),
        lambda family: replace(
            family, parameters=(replace(family.parameters[0], high=2e6), *family.parameters[1:])
        ),
    ],
)
def test_what_could_not_be_read_again_is_not_written(
    folder: Path, tmp_path: Path, spoilt: Callable[[Family], Family]
) -> None:
    kept = save_family(own())
    before = (folder / "elk_skinner.toml").read_bytes()
    with pytest.raises(InputError):
        change_family(kept, spoilt(kept))
    with pytest.raises(InputError):
        save_family(spoilt(kept), over=True)
    assert (folder / "elk_skinner.toml").read_bytes() == before
    assert own_families().families == (kept,)


def test_a_family_goes_to_another_maker_and_comes_in_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = save_family(with_size(own(), "Small", {"blade_length": 80}))
    file = tmp_path / "sent.toml"
    export_family("elk skinner", file)
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "other"))
    assert import_family(file) == kept
    assert family_known("elk_skinner").size_named("small").values == (("blade_length", 80.0),)
    with pytest.raises(InputError, match="already"):
        import_family(file)
    assert import_family(file, name="Sent").key == "sent"


def test_an_older_format_is_brought_up_to_date_and_a_newer_one_refused(tmp_path: Path) -> None:
    old = tmp_path / "old.toml"
    text = family_text(family_named("neck_knife"))
    plain = replace(family_named("neck_knife"), jimping=(), marks=(), sizes=(), name="Old one")
    old.write_text(family_text(plain).replace("format = 2", "format = 1"), encoding="utf-8")
    kept = import_family(old)
    assert "format = 2" in (families_folder() / "old_one.toml").read_text(encoding="utf-8")
    assert kept.outline().area_mm2 == pytest.approx(plain.outline().area_mm2)
    new = tmp_path / "new.toml"
    new.write_text(text.replace("format = 2", "format = 3"), encoding="utf-8")
    with pytest.raises(FileError, match=r"format 3, .* up to 2. Use a newer version"):
        import_family(new)


BROKEN = {
    "binary.toml": b"\xff\xfe\x00\x00",
    "empty.toml": b"",
    "half.toml": b'format = 2\nname = "Half',
    "later.toml": b'format = 9\nname = "Later"',
    "hostile.toml": b"a = " + b"[" * 9000,
    "digits.toml": b"format = " + b"9" * 5000,
    "dotted.toml": b"a." * 20_000 + b"a = 1",
    "a\x1b[31mred.toml": b"",
    "code.toml": b'format = 2\nname = "C"\n[values]\na = "__import__(1)"',
    "full_tang_drop_point.toml": b'format = 2\nname = "Mine"',
}


def test_a_damaged_file_is_named_and_stops_no_other(folder: Path) -> None:
    kept = save_family(own())
    for name, data in BROKEN.items():
        (folder / name).write_bytes(data)
    (folder / "folder.toml").mkdir()
    (folder / "notes.txt").write_text("no family")
    (folder / ".elk_skinner.toml.part").write_text("half written")
    found = own_families()
    assert found.families == (kept,)
    assert sorted(Path(problem.where).name for problem in found.problems) == sorted(
        ["folder.toml", *(name.replace("\x1b", "?") for name in BROKEN)]
    )
    assert all(str(problem).isprintable() for problem in found.problems)
    assert all(len(str(problem).splitlines()) == 1 for problem in found.problems)
    assert family_known("elk skinner") == kept
    with pytest.raises(FileError, match="is not TOML"):
        family_known("half")


def test_a_file_changed_by_another_program_is_read_anew(folder: Path) -> None:
    save_family(own())
    file = folder / "elk_skinner.toml"
    text = file.read_text(encoding="utf-8").replace('"Elk skinner"', '"Moose skinner"')
    file.write_text(text.replace("\n", "\r\n"), encoding="utf-8", newline="")
    assert names() == ["Moose skinner"]


def test_a_job_keeps_its_family_and_opens_without_the_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    save_family(own())
    choice = choice_and_notes("elk skinner")[0].with_value("blade_length", 110.0)
    job = Job(outline=choice)
    before = outline_of(job)
    write_job(tmp_path / "a.blankwright", job)
    delete_family("elk skinner")
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "elsewhere"))
    again = read_job(tmp_path / "a.blankwright")
    assert again == job
    assert outline_of(again) == before
    assert chosen_family(again.outline).name == "Elk skinner"


def test_a_choice_of_a_family_that_the_program_has_needs_no_text() -> None:
    choice = choice_and_notes("drop point")[0]
    assert choice == OutlineChoice(family="full_tang_drop_point")
    assert job_from_bytes(job_bytes(Job(outline=choice)), "job").outline == choice


def test_a_job_keeps_a_family_with_as_long_a_name_as_files_have(folder: Path) -> None:
    folder.mkdir(parents=True)
    file = folder / f"{'a' * 250}.toml"  # 255 bytes with its ending
    file.write_text(family_text(own()), encoding="utf-8")
    job = Job(outline=choice_and_notes("Elk skinner")[0])
    assert job_from_bytes(job_bytes(job), "job") == job


def test_a_job_whose_family_is_damaged_is_refused_when_it_is_opened(tmp_path: Path) -> None:
    file = tmp_path / "a.blankwright"
    write_job(file, Job(outline=OutlineChoice(family="mine", family_text="format = 2\nname = 3")))
    with pytest.raises(FileError, match=r"a\.blankwright: “name”: it has to be a text"):
        read_job(file)


def test_a_family_by_its_file_needs_no_folder(tmp_path: Path) -> None:
    file = tmp_path / "sent.toml"
    file.write_text(family_text(own()), encoding="utf-8")
    assert chosen_outline(choice_and_notes(str(file))[0]) == own().outline()


def test_a_change_since_it_was_taken_is_never_written_over() -> None:
    kept = save_family(own("Probe"))
    newer = change_family(kept, with_notes(kept, "made elsewhere"))
    with pytest.raises(InputError, match="changed in the folder"):
        change_family(kept, with_notes(kept, "mine"))
    assert family_known("probe") == newer


def test_a_bad_file_takes_no_family_of_the_programs_away(folder: Path) -> None:
    folder.mkdir(parents=True)
    (folder / "neck_knife.toml").write_text("not a family")
    assert family_known("neck_knife") == family_named("neck_knife")
