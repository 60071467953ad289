"""`excerpts check`, `plan`, `workbook` and `demo`: what they write, what they say, what they refuse."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from excerpts.cli import main
from tests.heads import head
from tests.music import bars_of

GOOD = f"""{head("middle", name="Ébène Ö'Test", minutes="{mon = 30, tue = 20}", focus='"One bow, one breath"')}\
[[piece]]
id = "air"
title = "Slow Air"
score = "air.musicxml"
[[box]]
id = "a"
piece = "air"
bars = "2-3"
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "air.musicxml").write_bytes(bars_of(*["C#5:1 D5:1 E5:1 F#5:1"] * 4))
    (tmp_path / "week.toml").write_text(GOOD, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_week_without_faults(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "week.toml"]) == 0
    assert "nothing wrong" in capsys.readouterr().out


def test_the_plan_adds_up(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", "week.toml", "--json"]) == 0
    plan = json.loads(capsys.readouterr().out)
    assert plan["format"] == 1
    days = {day["date"]: day for day in plan["days"]}
    assert days["2026-11-30"]["minutes"] == 30
    for day in days.values():
        assert sum(item["minutes"] for item in day["items"]) + day["break_minutes"] == day["minutes"]
    assert main(["plan", "week.toml"]) == 0
    assert "Slow Air" in capsys.readouterr().out


def test_a_workbook_stands_beside_its_week_named_by_player_and_week(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["workbook", "week.toml"]) == 0
    target = folder / "ebene-o-test-2026-11-30.pdf"
    assert target.read_bytes().startswith(b"%PDF")
    assert "pages)" in capsys.readouterr().out
    first = target.read_bytes()
    assert main(["workbook", "week.toml"]) == 0
    assert target.read_bytes() == first


BAD = [
    (GOOD + "[[box", "week.toml, line 18"),
    (GOOD.replace("bars =", "barrs ="), "bars"),
    (GOOD.replace('bars = "2-3"', 'bars = "7"'), "there is no bar 7"),
    (GOOD.replace("air.musicxml", "gone.musicxml"), "gone.musicxml"),
    (GOOD.replace("format = 1", "format = 9"), "format"),
    (GOOD.replace('level = "middle"', 'level = "midle"'), "middle"),
]


@pytest.mark.parametrize("command", ["check", "workbook"])
@pytest.mark.parametrize(("text", "message"), BAD, ids=["syntax", "key", "bar", "score", "format", "value"])
def test_a_faulty_week_gets_a_sentence_status_2_and_no_file(
    folder: Path, capsys: pytest.CaptureFixture[str], command: str, text: str, message: str
) -> None:
    (folder / "week.toml").write_text(text, encoding="utf-8")
    assert main([command, "week.toml"]) == 2
    said = capsys.readouterr().err
    assert message in said
    assert "Traceback" not in said
    assert list(folder.glob("*.pdf")) == []


LEFT_OUT = GOOD + 'variants = ["long-short", "separate"]\n[[technique]]\ndrill = "a"\n'


def test_what_a_workbook_leaves_out_is_told_by_it_as_check_tells_it(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "air.musicxml").write_bytes(bars_of(*["C5:4"] * 4))
    (folder / "week.toml").write_text(LEFT_OUT, encoding="utf-8")
    assert main(["check", "week.toml"]) == 0
    told = capsys.readouterr()
    assert "nothing wrong" not in told.out
    said = told.err.splitlines()
    assert [line.partition(": ")[0] for line in said] == [
        'week.toml, line 18, box "a", variants',
        "week.toml, line 20, technique 1, drill",
    ]
    assert all(line.endswith("It is left out.") for line in said)
    assert main(["workbook", "week.toml"]) == 0
    assert capsys.readouterr().err.splitlines()[: len(said)] == [f"excerpts: {line}" for line in said]


def test_a_workbook_that_is_refused_tells_all_that_check_tells(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    faults = (
        'marks = ["9:1 up"]\n[[box]]\nid = "b"\npiece = "air"\nbars = "7"\n[[warmup]]\nkey = "D"\nslur = 17\n'
    )
    (folder / "week.toml").write_text(GOOD + faults, encoding="utf-8")
    assert main(["check", "week.toml"]) == 2
    said = [line.partition(", ")[2] for line in capsys.readouterr().err.splitlines()]
    assert len(said) == 3
    assert main(["workbook", "week.toml"]) == 2
    refused = capsys.readouterr().err
    assert all(line in refused for line in said)


def test_a_file_of_the_users_is_left_alone(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "mine.pdf").write_bytes(b"%PDF-1.4 mine")
    assert main(["workbook", "week.toml", "-o", "mine.pdf"]) == 2
    assert "that this program did not make" in capsys.readouterr().err
    assert (folder / "mine.pdf").read_bytes() == b"%PDF-1.4 mine"


def test_a_folder_that_cannot_be_written_to(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    # Root may write anywhere, so the machine's answer is put on.
    (folder / "shut").mkdir()
    monkeypatch.setattr("os.access", lambda _, mode: mode != os.W_OK)
    for command in (["workbook", "week.toml", "-o", "shut/o.pdf"], ["demo", "--out", "shut"]):
        assert main(command) == 2
        assert "the folder shut cannot be written to" in capsys.readouterr().err
    assert list((folder / "shut").iterdir()) == []


def test_a_disk_that_is_full(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("excerpts.system.output.os.fsync", full)
    before = sorted(folder.iterdir())
    assert main(["workbook", "week.toml", "-o", "o.pdf"]) == 2
    assert "No space left on device" in capsys.readouterr().err
    assert sorted(folder.iterdir()) == before


def test_a_folder_that_is_not_there(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["workbook", "week.toml", "-o", "none/o.pdf"]) == 2
    assert "there is no folder none" in capsys.readouterr().err
    assert main(["demo", "--out", "none/demo"]) == 2
    (folder / "file").write_text("x")
    assert main(["demo", "--out", "file"]) == 2


def test_a_paper_that_is_not_one(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["workbook", "week.toml", "--paper", "a3"]) == 2
    assert "a4, letter, booklet, phone" in capsys.readouterr().err
