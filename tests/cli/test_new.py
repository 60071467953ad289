"""`excerpts new`: the questions, the table, and what is refused."""

from __future__ import annotations

import io
from datetime import date, timedelta
from pathlib import Path

import pytest

from excerpts.cli import main
from excerpts.week import load_week
from tests.music import bars_of

ANSWERS = """\

Ada Lindgren
chelo
cello
middle
four
13

tomorrow
2026-11-30
2026-11-29
2026-12-06
30 min
mon-fri 30, sat 45
Left thumb loose
Slow Air
gone.musicxml
AIR
performance
2026-12-19
2-30
2-3
uneven, shfit
uneven, shift
fast
crotchet = 60
Hear it first

Old Song

review
p. 14, bars 12-16





D, H major
D, F# minor
Vibrato on D
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "air.musicxml").write_bytes(bars_of(*["C4:1 D4:1 E4:1 F4:1"] * 4))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def _answer(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(text))


def test_bars_with_much_work_are_offered_and_never_set(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A question mark lists them; the question comes again, and what is not typed is not in the file."""
    hard = "D5:1/2 E5:1/2 D6:1/2 C5:1/2 D5:1/2 E6:1/2 A4:1/2 B5:1/2"
    (folder / "air.musicxml").write_bytes(bars_of("D5:4", hard, "D5:4", "E5:4"))
    answers = "Ada\nviolin\nmiddle\n\n\n2026-11-30\n\n30\n\nAir\n1\n\n{bars}\n\n\n\n\n"
    for bars in ("?\n3\n\n\n", "?\n"):
        _answer(monkeypatch, answers.format(bars=bars))
        assert main(["new", ".", "--force"]) == 0
        said = capsys.readouterr().out
        assert "First bars to box (12-16; ?: bars with much left-hand work) (Enter: no more): " in said
        assert "  bar 2: " in said
        boxes = load_week(next(folder.glob("*.toml"))).boxes
        assert [box.bars for box in boxes] == (["3"] if "3" in bars else [])


def test_photos_that_have_come_in_are_offered_as_pages(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "inbox").mkdir()
    for name in ("IMG 2.jpg", "IMG 10.jpg", "notes.txt"):
        (folder / "inbox" / name).write_bytes(b"")
    answers = "Ada\nviolin\nmiddle\n\n\n2026-11-30\n\n30\n\nOld Song\n\nIMG\n2\n\np. 3\n\n\n\n\n\n\n\n"
    _answer(monkeypatch, answers)
    assert main(["new", "."]) == 0
    said = capsys.readouterr().out
    assert "Write one of" in said  # two are called so
    assert "Copying or rearranging a printed edition" in said
    week = load_week(next(folder.glob("*.toml")))
    assert week.pieces[0].pages == "inbox/IMG 10.jpg"
    assert (week.boxes[0].place, week.boxes[0].page) == ("p. 3", None)


def test_a_first_week_from_answers(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Wrong answers on the way are told in a sentence and asked again."""
    _answer(monkeypatch, ANSWERS)
    assert main(["new", "."]) == 0
    said = capsys.readouterr().out
    for message in (
        "This needs an answer.", "Write one of", "A whole number was expected", '"tomorrow" is not a date',
        "before it starts",
        "is not a day with its minutes", 'no score "gone.musicxml"', "there is no bar 30", "is not a tempo",
    ):  # fmt: skip
        assert message in said
    week = load_week(folder / "ada-lindgren-2026-11-30.toml")
    assert (week.player.instrument, week.player.age, week.week.focus) == ("cello", 13, "Left thumb loose")
    assert [week.week.minutes_on(day) for day in week.week.dates] == [30, 30, 30, 30, 30, 45, 0]
    assert [(box.id, box.bars, box.place) for box in week.boxes] == [
        ("slow-2-3", "2-3", None),
        ("old-p-14-bars-12-16", None, "p. 14, bars 12-16"),
    ]
    assert week.boxes[0].why == ("uneven", "shift")
    assert week.boxes[0].note == "Hear it first"
    assert [item.key for item in week.warmups] == ["D", "F# minor"]
    assert week.technique[0].text == "Vibrato on D"
    assert main(["check", "ada-lindgren-2026-11-30.toml"]) == 0


def test_one_step_back(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """An answer that is taken back is asked again, wrong ones between do not count; what follows is the same."""
    first = [
        "<",
        "Ida",
        "viola",
        "<",
        "<",
        "Ada",
        "cello",
        "middle",
        "",
        "",
        "30.11.2026",
        "",
        "30",
        "",
        "Slow Air",
    ]
    box = ["air", "", "2", "shift", "66", "<", "72", "", "<", "<", "84", "", "", "", "D", ""]
    _answer(monkeypatch, "".join(f"{line}\n" for line in first + box))
    assert main(["new", "."]) == 0
    week = load_week(folder / "ada-2026-11-30.toml")
    assert [(one.bars, one.target and int(one.target.number)) for one in week.boxes] == [("2", 84)]
    assert "In the beat of its bar: crotchet = 84." in capsys.readouterr().out


@pytest.mark.parametrize(
    ("lesson", "last"), [("9.12.2026", "2026-12-09"), ("2026-12-14", "2026-12-13"), ("", "2026-12-06")]
)
def test_a_german_teachers_words_and_the_day_of_the_next_lesson(
    folder: Path, monkeypatch: pytest.MonkeyPatch, lesson: str, last: str
) -> None:
    answers = ["Ada", "Bratsche", "middle", "", "de", "30.11.2026", lesson, "mo-fr 30", ""]
    answers += ["Air", "air", "", "2", "Lagenwechsel, Tempo", "", "", "", "", "D", ""]
    _answer(monkeypatch, "".join(f"{line}\n" for line in answers))
    assert main(["new", "."]) == 0
    week = load_week(folder / "ada-2026-11-30.toml")
    assert (week.player.instrument, week.boxes[0].why) == ("viola", ("shift", "speed"))
    assert week.week.last == date.fromisoformat(last)
    assert week.week.next_lesson == (
        date.fromisoformat("2026-12-09") if lesson.startswith("9") else week.week.last + timedelta(days=1)
    )


def test_answers_that_end_too_soon_write_nothing(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for count in range(len(ANSWERS.splitlines())):
        _answer(monkeypatch, "".join(f"{line}\n" for line in ANSWERS.splitlines()[:count]))
        assert main(["new", "there"]) == 2
        assert "Nothing was written" in capsys.readouterr().err
    assert not (folder / "there").exists()


def test_a_file_of_the_users_is_left_alone(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "ada-lindgren-2026-11-30.toml").write_text("mine")
    _answer(monkeypatch, ANSWERS)
    assert main(["new", "."]) == 2
    assert "that this program did not make" in capsys.readouterr().err
    assert (folder / "ada-lindgren-2026-11-30.toml").read_text() == "mine"
    assert main(["new", "air.musicxml"]) == 2


@pytest.mark.slow
def test_a_studio_from_a_table(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    head = "player,instrument,level,start,minutes,piece,score,bars\n"
    rows = "".join(
        f"Player {n},viola,lower,2026-11-30,20,Slow Air,air.musicxml,{n % 4 + 1}\n" for n in range(30)
    )
    (folder / "boxes.csv").write_text(head + rows)
    assert main(["new", ".", "--from", "boxes.csv"]) == 0
    assert capsys.readouterr().out.count("(written, 1 box)") == 30
    assert len(list(folder.glob("*.toml"))) == 30
    (folder / "boxes.csv").write_text(head + rows.replace(",20,", ",25,", 1))
    assert main(["new", ".", "--from", "boxes.csv"]) == 0
    said = capsys.readouterr().out
    assert said.count("as it was") == 29
    assert "week: minutes 20 is now 25" in said


def test_a_bad_table_writes_nothing(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "boxes.csv").write_text("player,instrument\nAda,drum\n")
    assert main(["new", "there", "--from", "boxes.csv"]) == 2
    assert "boxes.csv: 5 things are wrong in it" in (told := capsys.readouterr().err)
    assert told.count("line 2") == 4
    assert not (folder / "there").exists()
