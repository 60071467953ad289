"""`excerpts log` and `excerpts next`: what they ask, write, say and refuse."""

from __future__ import annotations

import io
import unicodedata
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from excerpts.cli import main
from excerpts.excerpt import Tempo
from excerpts.log import LogRow, log_path, read_log
from excerpts.week import load_week
from tests.log.weeks import HEAD, MONDAY, RUN, TONE, row
from tests.music import bars_of

TUE = date(2026, 12, 1)
REVIEW = '\n[[piece]]\nid = "old"\ntitle = "Old Air"\nstatus = "review"\n'
LOG = "ada-lind-log.csv"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "week.toml").write_text(HEAD + RUN + TONE + REVIEW, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def type_in(monkeypatch: pytest.MonkeyPatch, *answers: str) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{answer}\n" for answer in answers)))


def logged(folder: Path) -> tuple[LogRow, ...]:
    return read_log(folder / LOG, "Ada Lind").rows


PAPER = ["tue 54 3, wed 58 5", "4: left hand late", "n", "2", "", "y", "33-34: memory", "clean", "sat"]


def test_a_paper_is_entered_with_at_most_three_questions_a_box(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in(monkeypatch, *PAPER)
    assert main(["log", "week.toml", "--enter"]) == 0
    assert logged(folder) == (
        row(tempo=54, clean=3, day=1),
        row(tempo=58, clean=5, day=2, bars="4", note="left hand late"),
        row(kind="heard", clean=0),
        row("tone", clean=2),
        row("tone", kind="heard"),
        row("song", kind="run-through", bars="33-34", note="memory"),
        row("old", kind="run-through", note="clean"),
        row("", kind="day", day=5),
    )
    said = capsys.readouterr().out
    assert said.count("?") == len(PAPER)
    assert "Box 1, Song, bar 4 (goal crotchet = 80, 5 in a row)" in said
    assert f"8 rows written to {LOG}" in said


def test_a_paper_that_came_home_empty_writes_nothing(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in(monkeypatch, *[""] * len(PAPER))
    assert main(["log", "week.toml", "--enter"]) == 0
    assert "Nothing to write down" in capsys.readouterr().out
    assert not (folder / LOG).exists()


@pytest.mark.parametrize("count", range(len(PAPER) + 1))
def test_answers_that_end_half_way_are_kept(
    folder: Path, monkeypatch: pytest.MonkeyPatch, count: int
) -> None:
    type_in(monkeypatch, *PAPER[:count])
    assert main(["log", "week.toml", "--enter"]) == 0
    rows = logged(folder)
    assert (count > 0) == (row(tempo=54, clean=3, day=1) in rows)
    assert (count > 4) == (row("tone", clean=2) in rows) or count == 4
    assert len(rows) <= 8


def test_an_answer_that_cannot_be_read_is_asked_for_again(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in(monkeypatch, "moon 54", "mon 54 3", "", "maybe", "y")
    assert main(["log", "week.toml", "--enter"]) == 0
    assert [found.kind for found in logged(folder)] == ["box", "heard"]
    said = capsys.readouterr().out
    assert '"moon" is not a day' in said
    assert '"maybe" is not y or n' in said


def test_a_german_player_is_asked_in_german_and_may_say_ja(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = folder / "week.toml"
    file.write_text(file.read_text().replace("[player]", '[player]\nwords = "de"'))
    type_in(monkeypatch, "mon 54 3", "", "vielleicht", "ja", "", "", "n")
    assert main(["log", "week.toml", "--enter"]) == 0
    assert [(found.kind, found.clean) for found in logged(folder)] == [
        ("box", 3),
        ("heard", None),
        ("heard", 0),
    ]
    said = capsys.readouterr().out
    assert "In der Stunde gehört: jetzt sauber? (j, n" in said
    assert '"vielleicht" is not j or n' in said


def test_the_same_paper_twice_is_written_once(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for _ in range(2):
        type_in(monkeypatch, *PAPER)
        assert main(["log", "week.toml", "--enter"]) == 0
    assert len(logged(folder)) == 8
    assert "already in the log" in capsys.readouterr().out


def test_single_rows(folder: Path) -> None:
    calls = [
        ["--box", "run", "--tempo", "60", "--clean", "4", "--note", "-flat", "--day", "tue", "--bars", "4"],
        ["--box", "run", "--tempo", "quaver = 76"],
        ["--box", "tone", "--heard", "yes"],
        ["--box", "tone", "--heard", "no"],
        ["--run-through", "old", "--bars", "3-4", "--note", "memory"],
        ["--day", "2026-12-01", "--note", "ill"],
    ]
    for call in calls:
        assert main(["log", "week.toml", *call]) == 0
    assert logged(folder) == (
        LogRow(MONDAY, TUE, "box", "run", Tempo(Fraction(60)), 4, "4", "-flat"),
        LogRow(MONDAY, None, "box", "run", Tempo(Fraction(76), Fraction(1, 2))),
        LogRow(MONDAY, None, "heard", "tone"),
        LogRow(MONDAY, None, "heard", "tone", clean=0),
        LogRow(MONDAY, None, "run-through", "old", bars="3-4", note="memory"),
        LogRow(MONDAY, TUE, "day", note="ill"),
    )
    assert ",'-flat\n" in (folder / LOG).read_text()


def test_without_options_the_weeks_rows_are_shown(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["log", "week.toml", "--box", "run", "--tempo", "60", "--clean", "4"]) == 0
    assert "No day was given" in capsys.readouterr().out
    with (folder / LOG).open("a") as file:
        file.write("2026-11-23,,day,,,,,,before\nnonsense\n")
    assert main(["log", "week.toml"]) == 0
    said = capsys.readouterr()
    assert said.out.splitlines()[1:] == ["2026-11-30,,box,run,60,crotchet,4,,"]
    assert f"{LOG}, line 5: It has 1 columns" in said.err


REFUSED = [
    (["--box", "runn", "--tempo", "60"], 'no box "runn" in this week. Did you mean "run"?'),
    (["--box", "run", "--tempo", "fast"], '"fast" is not a number'),
    (["--box", "tone", "--tempo", "60"], "give the beat as well"),
    (["--box", "run", "--clean", "-1"], "--clean"),
    (["--box", "run", "--day", "8."], "not in this week"),
    (["--box", "run", "--heard", "perhaps"], "takes yes or no"),
    (["--box", "run", "--heard", "yes", "--clean", "0"], "do not go together"),
    (["--box", "run", "--note", "x" * 3000], "longer than 2000"),
    (["--run-through", "air"], 'no piece "air"'),
    (["--run-through", "old", "--box", "run"], "are separate rows"),
    (["--run-through", "old", "--tempo", "60"], "need the box"),
    (["--note", "x"], "Say what it is about"),
    (["--enter", "--box", "run"], "leave the other options out"),
]


@pytest.mark.parametrize(("options", "message"), REFUSED)
def test_what_makes_no_row_is_refused_and_nothing_is_written(
    folder: Path, capsys: pytest.CaptureFixture[str], options: list[str], message: str
) -> None:
    assert main(["log", "week.toml", *options]) == 2
    assert message in capsys.readouterr().err
    assert [path.name for path in folder.iterdir()] == ["week.toml"]


def test_the_log_of_another_player_is_refused_by_both_commands(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A log that is named outright."""
    other = (folder / "week.toml").read_text().replace("Ada Lind", "Áda Lind")
    (folder / "other.toml").write_text(other)
    assert main(["log", "other.toml", "--box", "run", "--tempo", "60"]) == 0
    before = {path: path.read_bytes() for path in folder.iterdir()}
    type_in(monkeypatch, *PAPER)
    for command in (
        ["log", "week.toml", "--enter", "--log", LOG],
        ["log", "week.toml", "--day", "tue", "--log", LOG],
        ["next", "week.toml", "--log", LOG],
    ):
        assert main(command) == 2
        assert "this is the log of Áda Lind, not of Ada Lind" in capsys.readouterr().err
    assert {path: path.read_bytes() for path in folder.iterdir()} == before


@pytest.mark.parametrize(
    ("one", "other"), [("Zoë", "Zoe"), ("Anna-Lena", "Anna Lena"), ("Mila 王", "Mila 李"), ("Áda", "Ada")]
)
def test_two_names_that_make_one_file_name_have_a_log_and_a_next_week_each(
    folder: Path, capsys: pytest.CaptureFixture[str], one: str, other: str
) -> None:
    text = (folder / "week.toml").read_text()
    for name, file in ((one, "one.toml"), (other, "other.toml")):
        (folder / file).write_text(text.replace("Ada Lind", name), encoding="utf-8")
        assert main(["log", file, "--box", "run", "--tempo", "60", "--note", name]) == 0
    told = capsys.readouterr().err
    assert f"is the log of {one}; that of {other} is" in told
    assert main(["next", "one.toml"]) == main(["next", "other.toml"]) == 0
    assert "is the log of" not in capsys.readouterr().err
    assert len(list(folder.glob("*-log.csv"))) == 2
    for name, file in ((one, "one.toml"), (other, "other.toml")):
        book = read_log(log_path(load_week(folder / file)), name)
        assert [row.note for row in book.rows] == [name]
    assert len(list(folder.glob("*-2026-12-07.toml"))) == 2


def test_a_name_as_long_as_a_week_file_takes_has_files(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    name = "Ö王" * 150
    (folder / "week.toml").write_text((folder / "week.toml").read_text().replace("Ada Lind", name))
    assert main(["log", "week.toml", "--day", "tue"]) == 0
    assert main(["next", "week.toml"]) == 0
    assert len(list(folder.glob("*-log.csv"))) == len(list(folder.glob("*-2026-12-07.toml"))) == 1


def test_a_file_name_that_the_system_does_not_take_is_named(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = "n" * 300 + ".toml"
    assert main(["next", "week.toml", "-o", target]) != 0
    assert f"{target} (File name too long)" in capsys.readouterr().err


def test_a_name_with_its_accents_stored_otherwise_is_the_same_player(folder: Path) -> None:
    """A Mac may store an accent as a sign of its own."""
    text = (folder / "week.toml").read_text()
    for form in ("NFC", "NFD"):
        (folder / f"{form}.toml").write_text(
            text.replace("Ada Lind", unicodedata.normalize(form, "Zoë")), encoding="utf-8"
        )
        assert main(["log", f"{form}.toml", "--day", "tue"]) == 0
    assert len(list(folder.glob("*-log.csv"))) == 1


def test_a_box_is_named_by_its_number_on_the_paper_and_an_id_wins(folder: Path) -> None:
    assert main(["log", "week.toml", "--box", "2", "--clean", "3"]) == 0
    assert [row.box for row in logged(folder)] == ["tone"]
    text = (folder / "week.toml").read_text().replace('id = "run"', 'id = "2"')
    (folder / "week.toml").write_text(text)
    assert main(["log", "week.toml", "--box", "2", "--clean", "3"]) == 0
    assert [row.box for row in logged(folder)] == ["tone", "2"]
    assert main(["log", "week.toml", "--box", "3", "--clean", "3"]) == 2


BARS = HEAD + 'score = "song.musicxml"\n' + RUN.replace('place = "bar 4"', 'bars = "4-6"')


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--tempo", "600"], "crotchet = 600? The goal is crotchet = 80."),
        (["--tempo", "60", "--bars", "14"], "Bar 14? The box has 4-6."),
        (["--tempo", "120", "--bars", "4-6"], ""),
    ],
)
def test_what_can_hardly_be_right_is_asked_about(
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    options: list[str],
    said: str,
) -> None:
    (folder / "song.musicxml").write_bytes(bars_of(*["C5:4"] * 20))
    (folder / "week.toml").write_text(BARS, encoding="utf-8")
    for answers, status in (([], 2), (["n"], 2), (["y"], 0)):
        type_in(monkeypatch, *answers)
        assert main(["log", "week.toml", "--box", "run", *options]) == (status if said else 0)
        told = capsys.readouterr()
        assert said in told.out
    assert len(logged(folder)) == (1 if said else 3)
    type_in(monkeypatch)
    assert main(["log", "week.toml", "--box", "run", *options, "--yes"]) == 0


def test_the_paper_is_asked_about_too(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "song.musicxml").write_bytes(bars_of(*["C5:4"] * 20))
    (folder / "week.toml").write_text(BARS, encoding="utf-8")
    type_in(monkeypatch, "tue 600 5", "n", "tue 60 5", "14", "y")
    assert main(["log", "week.toml", "--enter"]) == 0
    assert "crotchet = 600? The goal is crotchet = 80. Is that right?" in capsys.readouterr().out
    assert logged(folder) == (row(tempo=60, clean=5, day=1, bars="14"),)


def test_a_place_that_names_its_bars_is_asked_about(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (HEAD + RUN).replace('"bar 4"', '"p. 14, bars 12–16"')
    (folder / "week.toml").write_text(text, encoding="utf-8")
    type_in(monkeypatch, "n")
    assert main(["log", "week.toml", "--box", "1", "--bars", "17"]) == 2
    assert "Bar 17? The box has 12-16." in capsys.readouterr().out
    assert main(["log", "week.toml", "--box", "1", "--bars", "13"]) == 0


def test_a_box_by_its_number_and_one_step_back(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """To box 2, back over it, and to box 1 instead; the row that was written of box 2 is taken back by another."""
    answers = ["#9", "#2", "2", "", "", "<", "", "<", "<", "<", "#1", "tue 54 3", "4", "<", "<", "tue 58 4"]
    type_in(monkeypatch, *answers)
    assert main(["log", "week.toml", "--enter"]) == 0
    assert logged(folder) == (row(tempo=58, clean=4, day=1),)
    assert read_log(folder / LOG, "Ada Lind").undone == (row("tone", clean=2),)
    said = capsys.readouterr().out
    assert "There is no box 9: they are 1 to 2." in said
    assert "#2 goes to box 2" in said


def test_a_written_box_is_written_anew_after_a_step_back(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in(monkeypatch, "tue 54 3", "", "n", "<", "y", "", "", "")
    assert main(["log", "week.toml", "--enter"]) == 0
    assert logged(folder) == (row(tempo=54, clean=3, day=1), row(kind="heard"))
    assert ",undo," in (folder / LOG).read_text()
    assert f"2 rows written to {LOG}" in capsys.readouterr().out


def test_a_day_of_an_option_in_the_layout_that_a_teacher_writes(folder: Path) -> None:
    days = ["--start", "14.12.2026", "--until", "Dec 20, 2026"]
    assert main(["next", "week.toml", "-o", "b.toml", *days]) == 0
    assert load_week(folder / "b.toml").week.start == date(2026, 12, 14)
    assert load_week(folder / "b.toml").week.until == date(2026, 12, 20)


def test_the_number_of_a_box_goes_there_from_any_question_of_a_box(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And is no note, and no answer to whether it was clean."""
    type_in(monkeypatch, "", "#2", "", "", "#1", "", "", "y")
    assert main(["log", "week.toml", "--enter"]) == 0
    assert logged(folder) == (row(kind="heard"),)


@pytest.mark.parametrize("day", ["2026-11-29", "2026-12-01"])
def test_a_date_before_the_week_is_taken_for_what_it_is(folder: Path, day: str) -> None:
    assert main(["log", "week.toml", "--box", "run", "--day", day, "--tempo", "60"]) == 0
    assert main(["next", "week.toml"]) == 0
    assert logged(folder)[0].date == date.fromisoformat(day)


def test_next_decides_nothing_from_a_log_that_can_hardly_be_read(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["log", "week.toml", "--box", "run", "--tempo", "60"]) == 0
    with (folder / LOG).open("a") as file:
        file.write("soon,,box,run,60,crotchet,3,,\n" * 3)
    assert main(["next", "week.toml"]) == 2
    told = capsys.readouterr().err
    assert f"{LOG}: only 2 of its 5 lines can be read" in told
    assert '"soon" is not a date' in told
    assert not list(folder.glob("*-2026-12-07.toml"))


def test_the_last_row_is_taken_back_by_one_more(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Of two rows that are the same one stays; the file only grows; taken back rows can be written again."""
    once = [
        "log",
        "week.toml",
        "--box",
        "run",
        "--tempo",
        "60",
        "--clean",
        "5",
        "--day",
        "tue",
        "--note",
        "Zoë; =x",
    ]
    for _ in range(2):
        assert main(once) == 0
    before = (folder / LOG).read_bytes()
    assert main(["log", "week.toml", "--undo"]) == 0
    assert "Taken back: 2026-11-30,2026-12-01,box,run,60" in capsys.readouterr().out
    assert (folder / LOG).read_bytes().startswith(before)
    assert len(logged(folder)) == 1
    assert main(["log", "week.toml", "--undo"]) == 0
    assert logged(folder) == ()
    assert main(["log", "week.toml", "--undo"]) == 2
    assert "no row to take back" in capsys.readouterr().err
    assert main(once) == 0
    assert len(logged(folder)) == 1
    assert read_log(folder / LOG, "Ada Lind").faults == ()
    assert main(["log", "week.toml", "--undo", "--day", "tue"]) == 2


def test_a_row_that_takes_back_what_is_not_there_is_told(folder: Path) -> None:
    assert main(["log", "week.toml", "--day", "tue"]) == 0
    with (folder / LOG).open("a") as file:
        file.write("2026-11-30,,undo,,,,,,0123456789abcdef\n")
    book = read_log(folder / LOG, "Ada Lind")
    assert len(book.rows) == 1
    assert "takes back a row that is not above it" in str(book.faults[0])


FAULTY = [
    (HEAD + 'status = "performance"\ndate = 2026-11-01\n' + RUN, "before the week's start"),
    (HEAD.replace("mon = 30", "mon = -1") + RUN, "-1 is too small"),
    (HEAD.replace("mon = 30", "mon = 1441") + RUN, "1441 is too much"),
    (HEAD + RUN.replace('"song"', '"sung"'), 'no piece with the id "sung"'),
    (HEAD + RUN + RUN, 'Two boxes have the id "run"'),
]


@pytest.mark.parametrize("command", [["log", "week.toml", "--day", "tue"], ["next", "week.toml"]])
@pytest.mark.parametrize(("text", "message"), FAULTY)
def test_a_faulty_week_is_refused_and_nothing_is_written(
    folder: Path, capsys: pytest.CaptureFixture[str], command: list[str], text: str, message: str
) -> None:
    (folder / "week.toml").write_text(text)
    assert main(command) == 2
    assert message in capsys.readouterr().err
    assert [path.name for path in folder.iterdir()] == ["week.toml"]


def test_next_writes_a_file_and_says_what_it_changed(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / LOG).write_text("week,date,kind,box,tempo,unit,clean,bars,note\nnonsense\n")
    assert main(["log", "week.toml", "--box", "run", "--heard", "yes"]) == 0
    assert main(["next", "week.toml", "--focus", "Sing it"]) == 0
    said = capsys.readouterr()
    assert "heard clean in the lesson; retired" in said.out
    assert said.out.splitlines()[-1] == "ada-lind-2026-12-07.toml"
    assert "line 2: It has 1 columns" in said.err
    new = load_week(folder / "ada-lind-2026-12-07.toml")
    assert new.week.focus == "Sing it"
    assert [box.id for box in new.retired] == ["run"]


def test_next_writes_over_nothing(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["next", "week.toml", "-o", "next.toml"]) == 0
    (folder / "next.toml").write_text((folder / "next.toml").read_text() + "# my own words\n")
    before = (folder / "next.toml").read_bytes()
    assert main(["next", "week.toml", "-o", "next.toml"]) == 2
    assert "there is already a file" in capsys.readouterr().err
    assert (folder / "next.toml").read_bytes() == before
    assert main(["next", "week.toml", "-o", "week.toml", "--force"]) == 2
    assert "a file of its own" in capsys.readouterr().err
    assert main(["next", "week.toml", "-o", "next.toml", "--force"]) == 0
    assert main(["next", "week.toml", "-o", "next.csv"]) == 2
    assert main(["next", "week.toml", "-o", "none/next.toml"]) == 2
    assert sorted(path.name for path in folder.iterdir()) == ["next.toml", "week.toml"]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ("run", "is not ID=WAY"),
        ("run=shortn", 'Did you mean "shorten"?'),
        ("rum=park", 'no box "rum" to change'),
        ("run=shorten", "cannot be shortened by itself"),
    ],
)
def test_next_refuses_what_it_cannot_change(
    folder: Path, capsys: pytest.CaptureFixture[str], change: str, message: str
) -> None:
    assert main(["next", "week.toml", "--change", change]) == 2
    assert message in capsys.readouterr().err
    assert main(["next", "week.toml", "--change", "run=park", "--change", "run=simplify"]) == 2
    assert [path.name for path in folder.iterdir()] == ["week.toml"]


def test_next_takes_every_choice_of_a_lesson(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["log", "week.toml", "--box", "tone", "--heard", "yes"]) == 0
    choices = ["--begin", "run=66", "--keep", "tone", "--note", "Long bows", "--note", "Sing", "--lighter"]
    box = ["--box", "song 20-21; shift, thumb late; 72", "--box", "song 30;; one breath"]
    assert main(["next", "week.toml", "-o", "a.toml", *choices, *box]) == 2  # on paper no bar tells its beat
    assert "crotchet" in capsys.readouterr().err
    box[1] = box[1].replace("72", "crotchet = 72")
    assert main(["next", "week.toml", "-o", "a.toml", *choices, *box]) == 0
    new = load_week(folder / "a.toml")
    assert [box.id for box in new.boxes] == ["run", "tone", "song-20-21", "song-30"]
    start, target = new.boxes[0].start, new.boxes[2].target
    assert start == Tempo(Fraction(66))
    assert target == Tempo(Fraction(72))
    assert (new.boxes[2].why, new.boxes[2].note, new.boxes[3].goal) == (
        ("shift",),
        "thumb late",
        "one breath",
    )
    assert new.week.notes == ("Long bows", "Sing")
    assert main(["next", "week.toml", "-o", "b.toml", "--again"]) == 0
    assert load_week(folder / "b.toml").week.start == date(2026, 12, 7)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--begin", "run"], "For instance: --begin run=66"),
        (["--begin", "rum=66"], "is not a box of this week"),
        (["--begin", "tone=66"], "give the beat as well"),
        (["--begin", "run=quick"], "--begin run: "),
        (["--keep", "rum"], "There are: song, old, run, tone, notes, private."),
        (["--box", "song"], "is not a piece and its bars"),
        (["--again", "--note", "x"], "decides nothing"),
    ],
)
def test_next_refuses_choices_that_say_nothing(
    folder: Path, capsys: pytest.CaptureFixture[str], options: list[str], message: str
) -> None:
    assert main(["next", "week.toml", *options]) == 2
    assert message in capsys.readouterr().err
    assert [path.name for path in folder.iterdir()] == ["week.toml"]


def test_next_takes_changes(folder: Path) -> None:
    assert main(["next", "week.toml", "-o", "a.toml", "--change", "run=park"]) == 0
    assert main(["next", "a.toml", "-o", "b.toml", "--change", "run=resume", "--until", "2026-12-20"]) == 0
    new = load_week(folder / "b.toml")
    assert [box.id for box in new.boxes] == ["tone", "run"]
    assert new.week.until == date(2026, 12, 20)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (
            ["next", "week.toml", "--start", "7/12/2026"],
            '--start: "7/12/2026" can be 2026-07-12 or 2026-12-07',
        ),
        (["next", "week.toml", "--until", "2026-02-30"], '--until: "2026-02-30" is not a real date'),
        (["workbook", "week.toml", "--today", "Monday"], '--today: "Monday" is not a date'),
    ],
)
def test_a_day_that_is_none_is_told_with_its_option(
    folder: Path, options: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = sorted(folder.iterdir())
    assert main(options) == 2
    assert message in capsys.readouterr().err
    assert sorted(folder.iterdir()) == before
