import re
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.errors import InputError, WeekError
from excerpts.excerpt import Tempo
from excerpts.week import load_week, week_faults
from excerpts.week.plan import plan_week
from excerpts.weekfile.whose import LARGEST
from tests.week.weeks import FULL, HEAD, write


def test_a_full_week_file_is_read(tmp_path: Path) -> None:
    week = load_week(write(tmp_path, FULL))
    assert week.player.name == "Ada Lindqvist"
    assert week.player.instrument == "cello"
    assert [week.week.minutes_on(day) for day in week.week.dates] == [30, 30, 20, 45, 0, 60, 15]
    run, middle, turn = week.boxes
    assert (run.bars, run.why, run.clean) == ("12-16", ("uneven", "shift"), 5)
    assert run.target == Tempo(Fraction(60), Fraction(3, 2))
    assert run.start == Tempo(Fraction(40), Fraction(3, 2))
    assert (middle.why, middle.target, middle.place) == (("tone",), None, "p. 14, bars 12–16")
    assert turn.abc is not None
    assert turn.abc.splitlines()[-1] == "d2 ^cd ed | c4 z2 |]"
    assert week.warmups[0].from_ == "D2"
    assert week.pieces[0].date == date(2026, 12, 12)
    assert week.score_paths == {
        "gavotte": tmp_path / "gavotte.musicxml",
        "study": tmp_path / "study.musicxml",
    }
    assert week_faults(tmp_path / "ada.toml") == []


@pytest.mark.parametrize(
    ("age", "level", "runs"),
    [
        (5, "first", 3),
        (7, "first", 3),
        (8, "lower", 5),
        (11, "middle", 5),
        (12, "lower", 10),
        (70, "first", 10),
    ],
)
def test_clean_runs_by_age(tmp_path: Path, age: int, level: str, runs: int) -> None:
    """Ten for older players, 5 up to age 11, 3 at 5 to 7: common practice, no source."""
    text = HEAD.replace('level = "middle"', f'level = "{level}"\nage = {age}')
    week = load_week(write(tmp_path, text + '[[box]]\nid = 1\nabc = "CDEF|"\n'))
    assert week.clean_runs(week.boxes[0]) == runs
    assert week.boxes[0].id == "1"


def test_one_number_is_every_day_and_a_week_is_seven_days(tmp_path: Path) -> None:
    week = load_week(write(tmp_path, HEAD + '[[warmup]]\nkey = "G"\n'))
    assert [week.week.minutes_on(day) for day in week.week.dates] == [30] * 7
    assert week.week.last == date(2026, 12, 6)


def test_words_of_the_players_language_are_read(tmp_path: Path) -> None:
    text = HEAD.replace("minutes = 30", "minutes = {Montag = 20, di = 30, mi = 10}").replace(
        "[player]", '[player]\nlesson = "do 16:30"'
    )
    text += '[[piece]]\nid = "p"\ntitle = "P"\n[[box]]\nid = "a"\npiece = "p"\nplace = "S. 3"\n'
    text += (
        'why = ["Lagenwechsel", "string crossings", "Auswendigspielen"]\ntarget = "punktierte Viertel = 60"\n'
    )
    week = load_week(write(tmp_path, text + '[[warmup]]\nkey = "H-Dur"\n'))
    assert [week.week.minutes_on(day) for day in week.week.dates] == [20, 30, 10, 0, 0, 0, 0]
    assert week.player.lesson == "thu 16:30"
    assert week.boxes[0].why == ("shift", "crossing", "memory")
    assert week.boxes[0].target == Tempo(Fraction(60), Fraction(3, 2))


def test_a_week_file_in_utf_16_is_read(tmp_path: Path) -> None:
    path = write(tmp_path, HEAD + '[[warmup]]\nkey = "G"\n')
    path.write_bytes(path.read_text().encode("utf-16"))
    assert load_week(path).warmups[0].key == "G"


def test_a_date_goes_before_its_weekday_and_a_weekday_before_every(tmp_path: Path) -> None:
    minutes = "minutes = {every = 20, monday = 0, Tue = 40, 2026-12-01 = 5}"
    week = load_week(write(tmp_path, HEAD.replace("minutes = 30", minutes) + '[[warmup]]\nkey = "G"\n'))
    assert [week.week.minutes_on(day) for day in week.week.dates] == [0, 5, 20, 20, 20, 20, 20]


# What follows the head starts on line 9.
_BAD = [
    # a table or key that is not known
    (
        "[[piece]]\nid = 1\ntitle = 'x'\nstatu = 'x'",
        12,
        'piece "1", statu',
        'There is no key "statu" here. Did you mean "status"?',
    ),
    ("[[bx]]\nid = 1", 9, "bx", 'There is no key "bx" here. Did you mean "box"?'),
    ("[box]\nid = 1", 9, "box", "Write [[box]] with two brackets on each side: there can be several."),
    ("[[piece]]\nid = 1", 9, 'piece "1", title', 'The key "title" is missing.'),
    # values
    ("[[piece]]\nid = 'a b'\ntitle = 'x'", 10, 'piece "a b", id', '"a b" cannot be an id.'),
    ("[[piece]]\nid = 'a'\ntitle = 3", 11, 'piece "a", title', "A text in quotes was expected, not 3."),
    ("[[piece]]\nid = 'a'\ntitle = ' '", 11, 'piece "a", title', "This is empty."),
    (
        "[[piece]]\nid = 'a'\ntitle = \"a\\u0007\"",
        11,
        'piece "a", title',
        "There is a character in this text that cannot be printed (U+0007).",
    ),
    (
        "[[piece]]\nid = 'a'\ntitle = \"a\\u202e\"",
        11,
        'piece "a", title',
        "There is a character in this text that cannot be printed (U+202E).",
    ),
    (
        "[[piece]]\nid = 'a'\ntitle = 'x'\nstatus = 'learnt'",
        12,
        'piece "a", status',
        '"learnt" is not known here. Did you mean "learning"? The choice is learning, review and performance.',
    ),
    (
        "[[piece]]\nid = 'a'\ntitle = 'x'\nmarked = true",
        12,
        'piece "a", marked',
        "Marks are taken from a score; this piece has none (score).",
    ),
    (
        "[[piece]]\nid = 'a'\ntitle = 'x'\ndate = 2026-11-29",
        12,
        'piece "a", date',
        "The performance on 2026-11-29 is before the week's start on 2026-11-30.",
    ),
    ("[[piece]]\nid = 'a'\ntitle = 'x'\ndate = 20261201", 12, 'piece "a", date', "This is not a date."),
    (
        "[[piece]]\nid = 'a'\ntitle = 'x'\nminutes = 0",
        12,
        'piece "a", minutes',
        "0 is too small: the least is 1.",
    ),
    # boxes
    ("[[box]]\nid = 1", 9, 'box "1"', "A box needs its music:"),
    ("[[box]]\nid = 1\nbars = 12", 9, 'box "1"', "A box needs its piece: the id of a [[piece]]."),
    (
        "[[box]]\nid = 1\nbars = 12\npiece = 'gavot'\n[[piece]]\nid = 'gavotte'\ntitle = 'G'",
        12,
        'box "1", piece',
        'There is no piece with the id "gavot". Did you mean "gavotte"?',
    ),
    (
        "[[box]]\nid = 1\nbars = 12\npiece = 'x'\n",
        12,
        'box "1", piece',
        'There is no piece with the id "x". The file has no [[piece]].',
    ),
    (
        "[[box]]\nid = 1\nbars = 12\npiece = 'g'\n[[piece]]\nid = 'g'\ntitle = 'G'",
        11,
        'box "1", bars',
        'The piece "g" has no score to take bars from. Give it a score, or say where they are in words',
    ),
    (
        "[[box]]\nid = 1\nabc = 'C'\n[[box]]\nid = '1'\nabc = 'D'",
        13,
        'box "1", id',
        'Two boxes have the id "1".',
    ),
    (
        "[[box]]\nid = 1\nabc = 'C'\nwhy = ['shfit']",
        12,
        'box "1", why',
        '"shfit" is not known here. Did you mean "shift"?',
    ),
    (
        "[[box]]\nid = 1\nabc = 'C'\ntarget = 'crotchett = 92'\nstart = 40",
        12,
        'box "1", target',
        '"crotchett" is not the name of a note length. Did you mean "crotchet"?',
    ),
    (
        "[[box]]\nid = 1\nabc = 'C'\ntarget = 'crotchet = 60'\nstart = 'minim = 40'",
        9,
        'box "1"',
        "The start is faster than the target.",
    ),
    ("[[box]]\nid = 1\nabc = '" + "C" * 4001 + "'", 11, 'box "1", abc', "This text is longer than 4000"),
    (
        "[[box]]\nid = 1\nabc = 'C'\nclean = 2.5",
        12,
        'box "1", clean',
        "A whole number was expected, not 2.5.",
    ),
    (
        "[[box]]\nid = 1\nabc = 'C'\nclean = true",
        12,
        'box "1", clean',
        "A whole number was expected, not true.",
    ),
    # warm-ups and technique
    ("[[warmup]]\noctaves = 2", 9, "warmup 1", 'A warm-up is either a key (key = "D") or words'),
    ("[[warmup]]\nkey = 'D'\npattern = 'scal'", 11, "warmup 1, pattern", "There is no pattern 'scal'."),
    ("[[warmup]]\nkey = 'G#'", 10, "warmup 1, key", "G-sharp major would need 8 sharps."),
    ("[[warmup]]\nkey = 'D'\ntempo = 60", 11, "warmup 1, tempo", "Say which note has the beat"),
    ("[[technique]]\ntext = 'x'\nshort = '2'", 9, "technique 1", "The bars for a short day (short) belong"),
    ("[[technique]]\ntext = 'x'\noctaves = 2", 9, "technique 1", "pattern, octaves, slur and the like need"),
    ("[[technique]]\nkey = 'D'\ntext = 'x'", 9, "technique 1", "Technique is one of four"),
    ("[[technique]]\nkey = 'H'", 10, "technique 1, key", "There is no H in English"),
    ("[[warmup]]\nkey = 'H'", 10, "warmup 1, key", "There is no H in English"),
    ("[[warmup]]\ntext = 'x'\noctaves = 2", 9, "warmup 1", "A warm-up in words takes minutes only"),
    ("[[technique]]\nminutes = 2", 9, "technique 1", "Technique is one of four:"),
    (
        "[[technique]]\nbars = '1-2'",
        9,
        "technique 1",
        "Bars of a study need a piece and bars; piece is missing.",
    ),
    (
        "[[technique]]\ndrill = 'rn'\n[[box]]\nid = 'run'\nabc = 'C'",
        10,
        "technique 1, drill",
        'There is no box with the id "rn". Did you mean "run"?',
    ),
    # scores
    (
        "[[piece]]\nid = 'a'\ntitle = 'x'\nscore = 'gavot.musicxml'",
        12,
        'piece "a", score',
        'There is no score "gavot.musicxml" in',
    ),
    (
        "[[piece]]\nid = 'a'\ntitle = 'x'\nscore = '../../etc/passwd'",
        12,
        'piece "a", score',
        'The score "../../etc/passwd" lies outside the folder',
    ),
    (
        "[[piece]]\nid = 'a'\ntitle = 'x'\nscore = '/etc/passwd'",
        12,
        'piece "a", score',
        'The score "/etc/passwd" lies outside the folder',
    ),
]


@pytest.mark.parametrize(("text", "line", "key", "message"), _BAD)
def test_a_fault_is_told_with_its_line_and_key(
    tmp_path: Path, text: str, line: int, key: str, message: str
) -> None:
    filling = '\n[[warmup]]\nkey = "D"\n'
    faults = week_faults(write(tmp_path, HEAD + text + filling))
    assert [(fault.line, fault.key) for fault in faults] == [(line, key)]
    assert faults[0].message.startswith(message)
    with pytest.raises(WeekError, match=re.escape(f"ada.toml, line {line}, {key}: {message}")) as caught:
        load_week(tmp_path / "ada.toml")
    assert caught.value.exit_status == 2


_BAD_HEADS = [
    (
        "format = 1\n",
        "",
        "ada.toml: The first line has to say which format the file is written in: format = 1",
    ),
    ("format = 1", "format = 2", "ada.toml, line 1, format: The file is written in format 2; this version"),
    ("format = 1", "format = '1'", "ada.toml, line 1, format: The format is a number without quotes"),
    ("format = 1", "format = 0", "ada.toml, line 1, format: There is no format 0."),
    ("[player]", "[[player]]", "ada.toml, line 2, player: Write [player] with one bracket on each side"),
    (
        '"violin"',
        '"violn"',
        "ada.toml, line 4, player, instrument: There is no instrument 'violn'. Did you mean",
    ),
    (
        '"middle"',
        '"midle"',
        'ada.toml, line 5, player, level: "midle" is not known here. Did you mean "middle"?',
    ),
    (
        "minutes = 30",
        "minutes = -5",
        "ada.toml, line 8, week, minutes, every: -5 is too small: the least is 0.",
    ),
    (
        "minutes = 30",
        "minutes = 1441",
        "ada.toml, line 8, week, minutes, every: 1441 is too much: the most is",
    ),
    ("minutes = 30", "minutes = '30'", 'A whole number was expected, not "30".'),
    (
        "minutes = 30",
        "minutes = {mno = 5}",
        'ada.toml, line 8, week, minutes, mno: "mno" is not a day. Did you',
    ),
    (
        "minutes = 30",
        "minutes = {2026-12-24 = 5}",
        "ada.toml, line 8, week, minutes, 2026-12-24: 2026-12-24 is not in this week (2026-11-30 to 2026-12-06).",
    ),
    ("minutes = 30", "minutes = 30\nuntil = 2026-11-29", "The week ends on 2026-11-29, before it starts on"),
    ("minutes = 30", "minutes = 30\nuntil = 2027-11-29", "is more than 120 days."),
    (
        "2026-11-30",
        '"30 November"',
        "ada.toml, line 7, week, start: This is not a date. Write it as year-month-day",
    ),
    ("2026-11-30", "2026-11-31", "ada.toml, line 7: This line is not written as TOML asks"),
    (
        'name = "Ada"',
        "name = Ada",
        "ada.toml, line 3: This line is not written as TOML asks (invalid value). Put",
    ),
    ('name = "Ada"', "name = “Ada”", 'Use straight quotes: " and not “ ”.'),
    (
        'name = "Ada"',
        'name = "Ada"\nname = "Eve"',
        "ada.toml, line 4: name is in the file already, higher up.",
    ),
    ("[player]", "[player", "ada.toml, line 2: This line is not written as TOML asks"),
    ("format = 1", "format = 1\n" + "a." * 30 + "a = 1", "ada.toml, line 2: This key has too many parts."),
    ("format = 1", "format = 1\na = " + "[" * 9000, "ada.toml: The brackets in it are nested too deeply."),
]


@pytest.mark.parametrize(("old", "new", "message"), _BAD_HEADS)
def test_a_fault_of_the_head_is_told(tmp_path: Path, old: str, new: str, message: str) -> None:
    path = write(tmp_path, HEAD.replace(old, new) + '[[warmup]]\nkey = "D"\n')
    with pytest.raises(WeekError, match=re.escape(message)):
        load_week(path)


def test_every_fault_is_told_at_once(tmp_path: Path) -> None:
    text = HEAD.replace('"violin"', '"tuba"') + "[[piece]]\nid = 1\n[[box]]\nid = 2\npiece = 3\nbars = 4\n"
    path = write(tmp_path, text)
    assert [fault.line for fault in week_faults(path)] == [4, 9, 13]
    with pytest.raises(WeekError) as caught:
        load_week(path)
    assert str(caught.value).startswith("ada.toml: 3 things are wrong in it.\n  line 4, player, instrument: ")


def test_a_week_needs_something_to_play(tmp_path: Path) -> None:
    faults = week_faults(write(tmp_path, HEAD))
    assert [fault.message.split(":")[0] for fault in faults] == ["The week has nothing to play"]


@pytest.mark.parametrize(
    ("name", "data", "message"),
    [
        ("adda.toml", None, 'There is no such file. Did you mean "ada.toml"?'),
        ("folder.toml", "folder", "This is a folder, not a file."),
        ("big.toml", b"#" * (LARGEST + 1), "It is larger than 1000 kB: this is not a week file."),
        (
            "latin.toml",
            b"format = 1\n# caf\xe9\n",
            "latin.toml, line 2: The file is not saved as UTF-8 text.",
        ),
        ("nul.toml", b"format = 1\nx = '\0'\n", "nul.toml, line 2: This line is not written as TOML asks"),
    ],
)
def test_what_is_no_week_file_is_refused(tmp_path: Path, name: str, data: object, message: str) -> None:
    write(tmp_path, FULL)
    if data == "folder":
        (tmp_path / name).mkdir()
    elif isinstance(data, bytes):
        (tmp_path / name).write_bytes(data)
    with pytest.raises(InputError, match=re.escape(message)):
        load_week(tmp_path / name)


def test_a_file_saved_on_windows_is_read(tmp_path: Path) -> None:
    path = write(tmp_path, FULL)
    path.write_bytes(b"\xef\xbb\xbf" + FULL.replace("\n", "\r\n").encode())
    assert load_week(path).boxes[2].abc == "X:1\nL:1/8\nM:3/4\nK:D\nd2 ^cd ed | c4 z2 |]"


_VALUES = [
    "1", "-1", "1.5", "nan", "inf", "true", '"x"', '""', "[]", "[1]", "[[]]", "{}", "{a = 1}", "2026-11-30",
    "2026-11-30T10:00:00", "10:00", '"\\u0000"', "9" * 400, '["a", 1]', "{mon = {}}", "[{id = 1}]", '"2026-11-31"',
]  # fmt: skip
_LINES = FULL.splitlines()


@st.composite
def _spoilt(draw: st.DrawFn) -> str:
    """The full file with some values of another kind, some lines lost, doubled or cut."""
    lines = list(_LINES)
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, len(lines) - 1))
        key, sign, _value = lines[place].partition("=")
        how = draw(st.sampled_from(["value", "value", "value", "lost", "twice", "cut", "sign"]))
        if how == "value" and sign:
            lines[place] = f"{key}= {draw(st.sampled_from(_VALUES))}"
        elif how == "lost":
            lines[place] = ""
        elif how == "twice":
            lines.insert(place, lines[place])
        elif how == "cut":
            lines[place] = lines[place][: draw(st.integers(0, max(len(lines[place]), 1)))]
        else:
            lines[place] += draw(st.characters(codec="utf-8"))
    return "\n".join(lines)


@settings(max_examples=60, deadline=None)
@given(_spoilt())
def test_a_spoilt_file_is_told_never_a_crash(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    """Whatever is wrong, every fault is an error with a message; what is read can be planned."""
    folder = tmp_path_factory.getbasetemp()
    path = folder / "spoilt.toml"
    write(folder, FULL)
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    faults = week_faults(path)
    if faults:
        assert all(fault.message for fault in faults)
        with pytest.raises(WeekError, match=r"spoilt\.toml"):
            load_week(path)
        return
    week = load_week(path)
    assert len(plan_week(week).days) == len(week.week.dates)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("minutes = 30", "minutes = " + "9" * 5000, "ada.toml: A number in it is too long."),
        ("minutes = 30", "minutes = 0x" + "f" * 5000, "minutes, every: a very large number is too much"),
        ('name = "Ada"', "name = 0x" + "f" * 5000, "player, name: A text in quotes was expected"),
        ("2026-11-30", "9999-12-31", "week, start: The year 9999 cannot be right."),
        ("2026-11-30", "0001-01-01", "week, start: The year 1 cannot be right."),
        ("2026-11-30", '"0000-01-01"', "week, start: 0000-01-01 is not a real date."),
    ],
)
def test_numbers_out_of_all_measure_are_told(tmp_path: Path, old: str, new: str, message: str) -> None:
    path = write(tmp_path, HEAD.replace(old, new) + "[[box]]\nid = 1\nabc = 'C'\n")
    with pytest.raises(WeekError, match=re.escape(message)):
        load_week(path)


def test_an_id_out_of_all_measure_is_told(tmp_path: Path) -> None:
    path = write(tmp_path, HEAD + "[[box]]\nabc = 'C'\nid = 0x" + "f" * 5000)
    assert [(fault.line, fault.message) for fault in week_faults(path)] == [
        (11, "A text in quotes was expected, not a very large number.")
    ]


def test_a_warm_up_takes_its_manner(tmp_path: Path) -> None:
    text = (
        '[[warmup]]\nkey = "G#"\npattern = "chromatic"\nslur = 6\nfingerings = "open"\n'
        'tempo = "crotchet = 50"\nnote = "Slide with a light finger."\n'
    )
    item = load_week(write(tmp_path, HEAD + text)).warmups[0]
    assert (item.manner.slur, item.manner.fingerings, item.key) == (6, "open", "G#")
    assert item.manner.tempo == Tempo(Fraction(50))
