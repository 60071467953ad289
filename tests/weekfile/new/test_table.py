"""Week files from a table with one row per box: made, brought up to date, or refused with every fault told."""

import re
from pathlib import Path

import pytest

from excerpts.errors import WeekError
from excerpts.week import load_week
from excerpts.week.orders.check import check_reading
from excerpts.weekfile.new import NewFile, from_table
from tests.music import bars_of

HEAD = "player,instrument,level,start,minutes,piece,score,bars,place,why,target,clean,warm-up\n"
ADA = "Ada,cello,middle,2026-11-30,30,Slow Air,air.musicxml,2-3,,uneven; shift,crotchet = 60,,G\n"
MORE = ',,,,,Slow Air,,4,,,,7,\n,,,,,Old Song,,,"p. 14, bars 12-16",tone,,,\n'
BO = 'Bo,violin,first,,"mon-fri 10, sat 15",Snail,,,bar 1,,,,\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "air.musicxml").write_bytes(bars_of(*["C4:1 D4:1 E4:1 F4:1"] * 4))
    return tmp_path


def _read(table: Path, folder: Path) -> list[NewFile]:
    return from_table(table, folder, lambda reading: check_reading(reading).faults)


def _make(folder: Path, text: str) -> dict[str, tuple[str, ...]]:
    table = folder / "boxes.csv"
    table.write_bytes(text.encode("utf-8-sig"))
    files = _read(table, folder)
    for file in files:
        file.path.write_text(file.text, encoding="utf-8")
    return {file.path.name: file.changes for file in files}


def test_a_row_is_a_box(folder: Path) -> None:
    """A row without player or first day has those of the row above; score and part are said once a piece."""
    made = _make(folder, HEAD + ADA + MORE + BO)
    assert list(made) == ["ada-2026-11-30.toml", "bo-2026-11-30.toml"]
    ada, bo = (load_week(folder / name) for name in made)
    assert [(box.id, box.piece, box.bars, box.place) for box in ada.boxes] == [
        ("slow-2-3", "slow", "2-3", None),
        ("slow-4", "slow", "4", None),
        ("old-p-14-bars-12-16", "old", None, "p. 14, bars 12-16"),
    ]
    assert (ada.boxes[0].why, ada.boxes[1].clean) == (("uneven", "shift"), 7)
    assert [(piece.id, piece.title, piece.score) for piece in ada.pieces] == [
        ("slow", "Slow Air", "air.musicxml"),
        ("old", "Old Song", None),
    ]
    assert [item.key for item in ada.warmups] == ["G"]
    assert [bo.week.minutes_on(day) for day in bo.week.dates] == [10, 10, 10, 10, 10, 15, 0]


def test_the_columns_of_a_german_table(folder: Path) -> None:
    head = "Spielerin;Instrument;Stufe;Alter;Beginn;Bis;Minuten;Schwerpunkt;"
    head += "Stück;Noten;Takte;Warum;Zieltempo;Einspielen\n"
    row = "Ada;Bratsche;middle;13;30.11.2026;09.12.2026;mo-fr 30;Ruhig;Air;air.musicxml;2-3;Tempo;Viertel = 60;G-Dur\n"
    (name,) = _make(folder, head + row)
    week = load_week(folder / name)
    assert (week.player.instrument, week.player.age, week.week.focus) == ("viola", 13, "Ruhig")
    assert (week.boxes[0].bars, week.boxes[0].why, week.warmups[0].key) == ("2-3", ("speed",), "G-Dur")
    assert week.week.minutes_on(week.week.start) == 30


def test_a_box_without_a_piece_has_the_piece_above_it(folder: Path) -> None:
    (name,) = _make(folder, HEAD + ADA + ",,,,,,,4,,,,7,\n,,,,,,,,,,,,D\n")
    week = load_week(folder / name)
    assert [(box.piece, box.bars) for box in week.boxes] == [("slow", "2-3"), ("slow", "4")]
    assert [item.key for item in week.warmups] == ["G", "D"]


def test_no_piece_is_taken_from_another_player(folder: Path) -> None:
    with pytest.raises(WeekError, match=r"line 3, box.*A box needs its piece"):
        _make(folder, HEAD + ADA + BO.replace("Snail", ""))


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_a_spreadsheet_may_save_other_delimiters(folder: Path, delimiter: str) -> None:
    head = "Player;Instrument;Level;Start;Minutes;Title;Measures;Score\r\n"
    row = "Ada;cello;middle;2026-11-30;30;Slow Air;2-3;air.musicxml\r\n"
    made = _make(folder, (head + row).replace(";", delimiter))
    assert load_week(folder / next(iter(made))).boxes[0].bars == "2-3"


def test_a_second_time_nothing_changes(folder: Path) -> None:
    _make(folder, HEAD + ADA + MORE)
    before = (folder / "ada-2026-11-30.toml").read_bytes()
    assert _make(folder, HEAD + ADA + MORE) == {"ada-2026-11-30.toml": ()}
    assert (folder / "ada-2026-11-30.toml").read_bytes() == before


def test_a_file_is_brought_up_to_date_and_keeps_its_comments(folder: Path) -> None:
    _make(folder, HEAD + ADA)
    path = folder / "ada-2026-11-30.toml"
    own = path.read_text().replace('title = "Slow Air"', 'title = "Slow Air"   # from the blue book')
    own += '\n[[box]]\nid = "mine"\npiece = "slow"\nbars = "1"\n'
    path.write_text(own)
    changed = ADA.replace("crotchet = 60", "crotchet = 72").replace(",30,", ',"mon 20, tue 25",')
    made = _make(folder, HEAD + changed + MORE)
    assert made == {
        "ada-2026-11-30.toml": (
            "week: minutes 30 is now mon 20, tue 25",
            'piece "old" is new',
            'box "slow-2-3": target crotchet = 60 is now crotchet = 72',
            'box "slow-4" is new',
            'box "old-p-14-bars-12-16" is new',
        )
    }
    assert "# from the blue book" in path.read_text()
    week = load_week(path)
    assert [box.id for box in week.boxes] == ["slow-2-3", "mine", "slow-4", "old-p-14-bars-12-16"]
    assert week.week.minutes == {"mon": 20, "tue": 25}


def test_the_next_week_takes_over_what_stays(folder: Path) -> None:
    _make(folder, HEAD + ADA)
    table = "player,start,piece,score,bars\nAda,2026-12-07,Slow Air,air.musicxml,1\n"
    assert list(_make(folder, table)) == ["ada-2026-12-07.toml"]
    week = load_week(folder / "ada-2026-12-07.toml")
    assert (week.player.instrument, week.player.level, week.week.minutes) == (
        "cello",
        "middle",
        {"every": 30},
    )


BAD = [
    (HEAD + ADA.replace("2-3", "2-30"), "line 2, box", "there is no bar 30"),
    (HEAD + ADA.replace("crotchet = 60", "fast"), "line 2, box", "is not a tempo"),
    (HEAD + ADA.replace("uneven; shift", "unevn"), "line 2, box", 'Did you mean "uneven"?'),
    (HEAD + ADA.replace("cello", "celo"), "line 2, player", "cello"),
    (HEAD + ADA.replace("2026-11-30", "tomorrow"), "line 2, start", '"tomorrow" is not a date'),
    (HEAD + ADA.replace("2026-11-30", "12/1/2026"), "line 2, start", "can be 2026-01-12 or 2026-12-01"),
    (HEAD + ADA.replace(",30,", ",-5,"), "line 2, minutes", "is not a day with its minutes"),
    (HEAD + ADA.replace(",30,", ",1500,"), "line 2, week, minutes", "the most is 1440"),
    (HEAD + ADA.replace("air.musicxml", "gone.musicxml"), "line 2, piece", "There is no score"),
    (HEAD + ADA + ADA.replace("middle", "upper"), "line 3, level", 'This is "upper" here and "middle" in line 2'),
    (HEAD + ADA + ADA, "line 3, box", "The same box is in line 2 already"),
    (HEAD.replace("bars", "barss") + ADA, "line 1", 'There is no column "barss". Did you mean "bars"?'),
    (HEAD.replace("player", "", 1) + ADA, "line 1", '"player" is missing'),
    (HEAD + ADA.replace("Ada", "", 1), "line 2, player", "This row names no player"),
    (HEAD + ADA.replace("2026-11-30", ""), "line 2, start", "Say the first day"),
    (HEAD + 'Ada,"cello\n', "line 2", "is not CSV"),
    (HEAD + ADA.strip() + ",extra\n", "line 2", "more cells"),
    (HEAD, "boxes.csv", "no rows"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "where", "message"), BAD)
def test_bad_rows_are_told_by_line_and_nothing_is_made(
    folder: Path, text: str, where: str, message: str
) -> None:
    before = sorted(folder.iterdir())
    with pytest.raises(WeekError) as caught:
        _make(folder, text)
    assert message in str(caught.value)
    assert where in str(caught.value)
    assert sorted(folder.iterdir()) == sorted([*before, folder / "boxes.csv"])


def test_every_fault_is_told_at_once(folder: Path) -> None:
    """Two players with a fault each: both are told."""
    text = HEAD + ADA.replace("2-3", "9") + BO.replace("first", "fist")
    with pytest.raises(WeekError, match=r"(?s)line 2, box.*no bar 9.*line 3, player") as caught:
        _make(folder, text)
    assert "2 things are wrong" in str(caught.value)


def test_what_is_wrong_in_a_row_a_column_and_the_music_is_told_in_one_round(folder: Path) -> None:
    """Nothing is told that only follows from another fault: a first day that cannot be read, a misspelt column."""
    rows = ADA.replace("2026-11-30", "soon").replace("2-3", "2-9") + MORE.replace(",4,", ",8,") + BO
    text = HEAD.replace("why", "whyy") + rows.replace("mon-fri 10, sat 15", "ten")
    with pytest.raises(WeekError) as caught:
        _make(folder, text)
    told = str(caught.value).splitlines()[1:]
    wanted = [
        "line 1: There is no column",
        "line 2, start:",
        "line 2, box",
        "line 3, box",
        "line 5, minutes:",
    ]
    assert [found for found in told if not any(place in found for place in wanted)] == []
    assert len(told) == len(wanted)


@pytest.mark.parametrize("first", ["30.11.2026", "2026-11-30T00:00:00", "46356", "30 Nov 2026", "30/11/26"])
@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
def test_a_table_is_read_as_a_spreadsheet_saves_it(folder: Path, first: str, encoding: str) -> None:
    rows = (
        (HEAD + ADA.replace("2026-11-30", first).replace("; shift", ""))
        .replace(",", ";")
        .replace("\n", "\r\n")
    )
    table = folder / "boxes.csv"
    table.write_bytes(("sep=;\r\n" + rows).encode(encoding))
    (file,) = _read(table, folder)
    assert file.path.name == "ada-2026-11-30.toml"


def test_the_other_rows_tell_which_number_is_the_day(folder: Path) -> None:
    rows = ADA.replace("2026-11-30", "12/7/2026") + BO.replace('"mon-fri 10, sat 15"', "10")
    made = _make(
        folder,
        HEAD.replace("start", "first day") + rows.replace("Bo,violin,first,,", "Bo,violin,first,11/30/2026,"),
    )
    assert list(made) == ["ada-2026-12-07.toml", "bo-2026-11-30.toml"]


SIX_EIGHT = (b"<beats>4</beats><beat-type>4", b"<beats>6</beats><beat-type>8")

LONG = [("3-4", "03. Apr"), ("3-4", "Apr-03"), ("3-4", "2026-04-03"), ("3-4", "46115"), ("3-4", "03/04/2026"),
        ("10-40", "Oct-40"), ("10-40", "Okt 40"), ("10-40", "1940-10-01"), ("1-26", "2026-01-01"),
        ("10-12", "2026-12-10")]  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize(("bars", "cell"), LONG)
def test_bars_that_a_spreadsheet_made_a_date_of(folder: Path, bars: str, cell: str) -> None:
    (folder / "air.musicxml").write_bytes(bars_of(*["C4:1 D4:1 E4:1 F4:1"] * 40))
    (folder / "boxes.csv").write_text(HEAD + ADA.replace("2-3", cell))
    if bars == "1-26":
        with pytest.raises(
            WeekError, match=r'line 2, bars: A spreadsheet made "2026-01-01" of bars 1 or 1-26\.'
        ):
            _read(folder / "boxes.csv", folder)
        return
    (file,) = _read(folder / "boxes.csv", folder)
    assert f'bars = "{bars}"' in file.text
    assert file.notes == (f'line 2: "{cell}" is what a spreadsheet made of bars {bars}; read so.',)


def test_the_score_tells_which_bars_a_date_was(folder: Path) -> None:
    """October 2026 is 1-10 or 10-26: of a score of twelve bars only the one."""
    (folder / "air.musicxml").write_bytes(bars_of(*["C4:1 D4:1 E4:1 F4:1"] * 12))
    (folder / "boxes.csv").write_text(HEAD + ADA.replace("2-3", "2026-10-01"))
    assert 'bars = "1-10"' in _read(folder / "boxes.csv", folder)[0].text


def test_a_target_without_a_note_is_in_the_beat_of_its_bar_and_said_once(folder: Path) -> None:
    (folder / "jig.musicxml").write_bytes(bars_of("C4:1.5 D4:1.5", "C4:1.5 D4:1.5").replace(*SIX_EIGHT))
    text = HEAD + ADA.replace("crotchet = 60", "60") + ",,,,,Jig,jig.musicxml,1,,,92,,\n"
    (folder / "boxes.csv").write_text(text)
    (file,) = _read(folder / "boxes.csv", folder)
    assert 'target = "crotchet = 60"' in file.text
    assert 'target = "dotted crotchet = 92"' in file.text
    assert file.notes == ("line 2: a tempo without a note is in the beat of its bar: crotchet = 60.",)


def test_two_names_that_make_one_file_name(folder: Path) -> None:
    text = HEAD + ADA.replace("Ada", "Émile") + ADA.replace("Ada", "Emile")
    assert len(_make(folder, text)) == 2
    files = {load_week(path).player.name: path.name for path in folder.glob("*.toml")}
    assert files["Émile"] == "emile-2026-11-30.toml"
    assert re.fullmatch(r"emile-[0-9a-f]{6}-2026-11-30\.toml", files["Emile"])
    assert sorted(_make(folder, text)) == sorted(files.values())


def test_what_is_no_text(folder: Path) -> None:
    (folder / "b.csv").write_bytes(HEAD.encode() + b"J\xfcrg,\n")
    with pytest.raises(WeekError, match=r"line 2: The file is not saved as UTF-8.*CSV UTF-8"):
        _read(folder / "b.csv", folder)
    with pytest.raises(WeekError, match="There is no such file"):
        _read(folder / "none.csv", folder)
    (folder / "b.csv").write_bytes(b"a\0b")
    with pytest.raises(WeekError, match="save the table as CSV"):
        _read(folder / "b.csv", folder)
