"""The scales of a player's list in the log: asked for, written, ticked by the next week. Default tier."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from excerpts.cli import main
from excerpts.log import LogRow, read_log
from excerpts.week import Week, load_week
from excerpts.week.added_warmups import due_scales
from tests.log.weeks import HEAD, RUN, after, row, told, week

CSV = "key,pattern,octaves,heard\nD,scale,1,\nG minor,scale,1,\nG minor,arpeggio,1,\nD,scale,2,\nA,scale,1,2026-11-30\n"
LISTED = HEAD.replace("format = 1", 'format = 1\nscales = "scales.csv"') + RUN
NAMES = ["D scale 1", "G minor scale", "G minor arpeggio", "D scale 2", "A scale"]


@pytest.fixture
def listed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Week:
    (tmp_path / "scales.csv").write_text(CSV, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return week(tmp_path, LISTED)


def heard(name: str, clean: int | None = None, weeks: int = 0) -> LogRow:
    return row(name, kind="heard", clean=clean, weeks=weeks)


def test_what_was_heard_clean_is_ticked_and_the_rest_comes_again(listed: Week) -> None:
    assert set(due_scales(listed)) == set(NAMES[:4])
    new, made = after(listed, [heard("d SCALE 1"), heard("G minor arpeggio", 0)])
    assert new.player.scales_heard == ("D scale 1",)
    assert set(due_scales(new)) == set(NAMES[1:4])
    assert "D scale 1: heard clean, ticked in the list (1 of 5)." in told(made)
    assert "G minor arpeggio: not clean in the lesson; it comes again (1 of 5 are ticked)." in told(made)


def test_a_tick_stays_until_a_lesson_says_otherwise(listed: Week) -> None:
    new, _ = after(listed, [heard("D scale 1")])
    third, made = after(new, [heard("D scale 1")])
    assert third.player.scales_heard == ("D scale 1",)
    assert "ticked" not in told(made)
    fourth, made = after(third, [heard("D scale 1"), heard("D scale 1", 0, weeks=2)])
    assert fourth.player.scales_heard == ()
    assert "scales_heard" not in made.text
    assert "D scale 1: not clean" in told(made)


def test_when_all_have_been_heard_all_come_again(listed: Week) -> None:
    new, _ = after(listed, [heard(name) for name in NAMES[:4]])
    assert len(due_scales(new)) == 4
    assert len(new.warmups) == 4


def test_a_tick_of_a_scale_that_left_the_list_is_taken_out_and_told(listed: Week, tmp_path: Path) -> None:
    new, _ = after(listed, [heard("D scale 1"), heard("G minor scale")])
    (tmp_path / "scales.csv").write_text("key\nG minor\nF\n", encoding="utf-8")
    third, made = after(load_week(new.path), [])  # a week keeps the list that it was read with
    assert third.player.scales_heard == ("G minor scale",)
    assert "No longer in the list of scales, so their ticks are taken out: D scale 1." in told(made)


def test_the_paper_asks_once_for_each_scale_of_the_week(
    listed: Week, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = ["", "", "", "y", "n", "", "", "", ""]
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{answer}\n" for answer in answers)))
    assert main(["log", "ada.toml", "--enter"]) == 0
    assert capsys.readouterr().out.count("from the list: heard clean?") == 4
    found = read_log(Path("ada-lind-log.csv"), "Ada Lind").rows
    first, second = due_scales(listed)[:2]
    assert found == (heard(first), heard(second, 0))


@pytest.mark.parametrize(
    ("given", "name"),
    [("g minor arpeggio", NAMES[2]), ("G minor", NAMES[1]), ("D scale 2", NAMES[3]), ("a", NAMES[4])],
)
def test_one_scale_is_written_by_its_name_or_key(listed: Week, given: str, name: str) -> None:
    assert main(["log", "ada.toml", "--scale", given, "--heard", "yes"]) == 0
    assert read_log(Path("ada-lind-log.csv"), "Ada Lind").rows == (heard(name),)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--scale", "D", "--heard", "yes"], "D scale 1 or D scale 2"),
        (["--scale", "Q", "--heard", "yes"], 'there is no scale "Q" in the list. There are: D scale 1'),
        (["--scale", "G minor arpegio", "--heard", "no"], 'Did you mean "G minor arpeggio"?'),
        (["--scale", "A"], "--scale goes with --heard"),
        (["--scale", "A", "--heard", "yes", "--box", "run"], "with nothing else"),
        (["--scale", "A", "--heard", "perhaps"], "--heard takes yes or no"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_written(
    listed: Week, options: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["log", "ada.toml", *options]) == 2
    assert message in capsys.readouterr().err
    assert not Path("ada-lind-log.csv").exists()


def test_a_week_without_a_list_has_no_scales(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plain = week(tmp_path)
    assert due_scales(plain) == ()
    assert main(["log", str(plain.path), "--scale", "D", "--heard", "yes"]) == 2
    assert "the week has no list of scales" in capsys.readouterr().err
