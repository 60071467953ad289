"""The door to the files: what a save keeps, what it refuses, and the way back."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path

import pytest

from excerpts.desk.saves import ChangedOutside, Saves
from excerpts.errors import InputError, OutputError
from excerpts.log import LogRow, read_log
from excerpts.words import Words

ROW = LogRow(date(2026, 11, 30), None, "heard", "a")


@pytest.fixture
def saves(folder: Path, tmp_path: Path) -> Saves:
    own = tmp_path / "own"
    own.mkdir()
    return Saves(folder, own)


def test_a_save_is_on_the_disk_and_can_be_undone(saves: Saves, folder: Path) -> None:
    path = folder / "mila-11-30.toml"
    before = path.read_bytes()
    shown = saves.show(path)
    digest = saves.save(path, shown.digest, before + b"# more\n", what="Mila: week")
    assert path.read_bytes() == before + b"# more\n"
    assert saves.show(path).digest == digest
    assert [(step.what, step.path) for step in saves.steps()] == [("Mila: week", "mila-11-30.toml")]
    undone = saves.undo_last()
    assert undone is not None
    assert undone.what == "Mila: week"
    assert path.read_bytes() == before
    assert saves.undo_last() is None


def test_the_list_survives_a_restart(saves: Saves, folder: Path, tmp_path: Path) -> None:
    path = folder / "mila-11-30.toml"
    before = path.read_bytes()
    saves.save(path, saves.show(path).digest, b"one", what="one")
    saves.save(path, saves.show(path).digest, b"two", what="two")
    again = Saves(folder, tmp_path / "own")
    assert [step.what for step in again.steps()] == ["one", "two"]
    assert (again.undo_last(), path.read_bytes())[1] == b"one"
    assert (saves.undo_last(), path.read_bytes())[1] == before


def test_a_file_that_was_edited_elsewhere_is_not_written_over(saves: Saves, folder: Path) -> None:
    path = folder / "mila-11-30.toml"
    shown = saves.show(path)
    path.write_bytes(b"theirs")
    with pytest.raises(ChangedOutside) as refused:
        saves.save(path, shown.digest, b"ours", what="week")
    assert (refused.value.ours, refused.value.theirs) == (b"ours", b"theirs")
    assert path.read_bytes() == b"theirs"
    assert saves.steps() == []
    saves.save(path, refused.value.digest, b"ours", what="week")
    assert path.read_bytes() == b"ours"


def test_a_file_that_appeared_meanwhile_is_not_written_over(saves: Saves, folder: Path) -> None:
    path = folder / "new.toml"
    shown = saves.show(path)
    path.write_bytes(b"")
    with pytest.raises(ChangedOutside):
        saves.save(path, shown.digest, b"ours", what="week")


def test_a_new_file_is_taken_away_by_undo(saves: Saves, folder: Path) -> None:
    path = folder / "new.toml"
    saves.save(path, "", b"new", what="new week")
    saves.undo_last()
    assert not path.exists()


def test_undo_after_an_edit_from_outside_is_refused_with_both(saves: Saves, folder: Path) -> None:
    path = folder / "mila-11-30.toml"
    before = path.read_bytes()
    saves.save(path, saves.show(path).digest, b"ours", what="week")
    path.write_bytes(b"theirs")
    with pytest.raises(ChangedOutside) as refused:
        saves.undo_last()
    assert (refused.value.ours, refused.value.theirs) == (before, b"theirs")
    assert path.read_bytes() == b"theirs"
    assert [step.state for step in saves.steps()] == ["done"]


def test_links_stay_links_and_modes_are_kept(saves: Saves, folder: Path) -> None:
    real = folder / "elsewhere" / "mila.toml"
    real.parent.mkdir()
    real.write_bytes(b"old")
    real.chmod(0o640)
    link = folder / "link.toml"
    link.symlink_to(real)
    saves.save(link, saves.show(link).digest, b"new", what="week")
    assert link.is_symlink()
    assert real.read_bytes() == b"new"
    assert real.stat().st_mode & 0o777 == 0o640
    saves.undo_last()
    assert (link.is_symlink(), real.read_bytes(), real.stat().st_mode & 0o777) == (True, b"old", 0o640)


def test_nothing_outside_the_studio_is_read_or_written(saves: Saves, folder: Path, tmp_path: Path) -> None:
    outside = tmp_path / "outside.toml"
    outside.write_bytes(b"mine")
    link = folder / "link.toml"
    link.symlink_to(outside)
    for path in (link, outside, folder / ".." / "outside.toml"):
        with pytest.raises(OutputError, match="outside"):
            saves.show(path)
        with pytest.raises(OutputError, match="outside"):
            saves.save(path, "", b"x", what="week")
    assert outside.read_bytes() == b"mine"


def test_what_cannot_be_written_leaves_no_step(saves: Saves, folder: Path) -> None:
    with pytest.raises(OutputError):
        saves.save(folder / "gone" / "new.toml", "", b"x", what="week")
    assert saves.steps() == []


def test_rows_of_a_log_are_taken_back_by_rows(saves: Saves, folder: Path) -> None:
    log = folder / "mila-log.csv"
    saves.add_rows(log, [ROW], "Mila", Words(), what="Mila: heard")
    saves.add_rows(log, [ROW], "Mila", Words(), what="Mila: heard again")
    before = log.read_bytes()
    saves.undo_last()
    assert log.read_bytes().startswith(before)
    assert read_log(log, "Mila").rows == (ROW,)
    saves.undo_last()
    assert read_log(log, "Mila").rows == ()
    assert saves.undo_last() is None


def test_rows_that_were_taken_back_elsewhere_are_told(saves: Saves, folder: Path) -> None:
    from excerpts.log import append_rows
    from excerpts.log.row import undo_row

    log = folder / "mila-log.csv"
    saves.add_rows(log, [ROW], "Mila", Words(), what="Mila: heard")
    append_rows(log, [undo_row(ROW)], "Mila", Words())
    with pytest.raises(InputError, match="taken back elsewhere"):
        saves.undo_last()


def test_a_step_that_a_crash_left_half_done_is_told_by_its_file(saves: Saves, folder: Path) -> None:
    from excerpts.desk.undo import Step, digest_of

    path = folder / "mila-11-30.toml"
    now = path.read_bytes()
    before = saves.undo_list.keep(now)
    saves.undo_list.begin(Step(0, "", "never written", path.name, before, digest_of(b"next")))
    assert saves.steps() == []
    path.write_bytes(b"next")
    assert [step.what for step in saves.steps()] == ["never written"]
    saves.undo_last()
    assert path.read_bytes() == now


def test_a_line_that_a_crash_cut_short_harms_no_other(saves: Saves, folder: Path, tmp_path: Path) -> None:
    path = folder / "mila-11-30.toml"
    saves.save(path, saves.show(path).digest, b"one", what="one")
    list_file = tmp_path / "own" / "undo.jsonl"
    with list_file.open("ab") as file:
        file.write(b'{"number": 2, "wh')
    saves.save(path, saves.show(path).digest, b"two", what="two")
    assert [step.what for step in saves.steps()] == ["one", "two"]


def test_a_file_is_kept_as_it_was_each_time_it_was_opened(saves: Saves, folder: Path) -> None:
    path = folder / "mila-11-30.toml"
    was = path.read_bytes()
    for _ in range(2):
        saves.show(path, opened=True)
    path.write_bytes(b"later")
    saves.show(path, opened=True)
    kept = saves.as_opened.all_kept()
    assert [saves.as_opened.data_of(one.key) for one in kept] == [b"later", was]
    assert {one.name for one in kept} == {path.name}
    assert saves.as_opened.data_of("../../etc-passwd") is None
    (oldest,) = [file for file in saves.as_opened._folder.glob("*/*.was") if file.read_bytes() == was]
    os.rename(oldest, oldest.with_name("20200101T000000000000Z.was"))
    saves.as_opened.drop_old()
    assert [saves.as_opened.data_of(one.key) for one in saves.as_opened.all_kept()] == [b"later"]
