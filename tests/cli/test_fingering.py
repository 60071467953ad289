"""`excerpts fingering`: the table, JSON, marks to copy, and fingers in the music."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from lxml import etree

from excerpts.cli import main
from excerpts.score import open_score
from excerpts.score.marking_syntax import parse_mark
from excerpts.system.resources import scores
from tests.heads import head
from tests.music import bars_of
from tests.schema import musicxml_schema

GALE = str(scores() / "gale-concerto-1.musicxml")
FERRY = str(scores() / "evening-ferry.musicxml")
LIGHT = "#666666"


def printed(capsys: pytest.CaptureFixture[str], *line: str) -> str:
    assert main(["fingering", *line]) == 0
    return capsys.readouterr().out


def test_the_table_has_a_line_for_each_note(capsys: pytest.CaptureFixture[str]) -> None:
    head, *lines = printed(capsys, FERRY, "1-4", "--part", "Violin").splitlines()
    assert head.split() == ["bar", "beat", "note", "string", "position", "finger", "sure"]
    part = open_score(Path(FERRY)).part("Violin")
    notes = [
        note
        for note in etree.fromstring(part.passage("1-4").cut(0).xml).iter("note")
        if note.find("pitch") is not None and note.find("tie[@type='stop']") is None
    ]
    assert len(lines) == len(notes)
    assert all(line.split()[3] in {"I", "II", "III", "IV"} for line in lines)


def test_json_is_as_the_contract_says(capsys: pytest.CaptureFixture[str]) -> None:
    found = json.loads(printed(capsys, GALE, "7-8", "--json"))
    assert (found["format"], found["part"]) == (1, "Viola")
    first = found["notes"][0]
    assert {key: first[key] for key in ("bar", "place", "onset", "pitch")} == {
        "bar": "7", "place": 8, "onset": "0", "pitch": "G4",
    }  # fmt: skip
    assert found["notes"][1]["onset"] == "0"  # the upper note of the double stop
    assert all(0 <= note["sure"] <= 1 and 1 <= note["string"] <= 4 for note in found["notes"])


def test_a_bass_is_told_what_lies_under_the_first_finger(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "b.musicxml").write_bytes(bars_of("F2:1 G2:1 A2:1 Bb2:1").replace(b"Violin", b"Bass"))
    assert "half on F" in printed(capsys, str(tmp_path / "b.musicxml"))


def test_a_bass_is_fingered_as_it_is_taught(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """As the option says, or as the week file does; and a warm-up with it."""
    (tmp_path / "run.musicxml").write_bytes(
        bars_of("G3:1 Ab3:1 A3:1 Bb3:1", "A3:2 G3:2").replace(b"Violin", b"Bass")
    )
    week = tmp_path / "week.toml"
    text = WEEK.replace("violin", "bass").replace('marks = ["11:1 finger 4"]\ntone = "dark"\n', "")
    week.write_text(text.replace("positions = [1]", 'bass_fingers = "1-3-4"'), encoding="utf-8")
    for line in ([str(week), "high"], [str(tmp_path / "run.musicxml"), "--bass-fingers", "1-3-4"]):
        rows = json.loads(printed(capsys, *line, "--json"))["notes"]
        assert 2 not in {row["finger"] for row in rows}
        assert 3 in {row["finger"] for row in rows}
    scale = tmp_path / "scale.musicxml"
    asked = ["warmup", "F", "--instrument", "bass", "--fingerings", "open", "--bass-fingers", "1-3-4"]
    assert main([*asked, "-o", str(scale)]) == 0
    assert {one.text for one in etree.fromstring(scale.read_bytes()).iter("fingering")} == {
        "0",
        "1",
        "3",
        "4",
    }
    week.write_text(WEEK.replace("positions = [1]", 'bass_fingers = "1-3-4"'), encoding="utf-8")
    assert main(["check", str(week)]) == 2
    assert "bass_fingers is for the bass" in capsys.readouterr().err


def test_marks_can_be_copied_into_a_week_file(capsys: pytest.CaptureFixture[str]) -> None:
    """What is proposed is accepted by copying it: read as marks, it gives the same fingers again."""
    listed = printed(capsys, FERRY, "5-12", "--part", "Violin", "--marks").splitlines()
    assert (listed[0], listed[-1]) == ("marks = [", "]")
    marks = [json.loads(line.strip().rstrip(",")) for line in listed[1:-1]]
    assert marks
    assert all(parse_mark(mark).kind in {"finger", "string"} for mark in marks)
    cut = open_score(Path(FERRY)).part("Violin").passage("5-12").cut(0, marks)
    assert len(list(cut.tree().iter("fingering"))) == sum(" finger " in mark for mark in marks)


def without(root: etree._Element) -> bytes:
    """The music without what is light in it, and without what held nothing else."""
    for element in list(root.iter()):
        if element.get("color") == LIGHT:
            holder = element.getparent()
            assert holder is not None
            holder.remove(element)
    for tag in ("technical", "direction-type", "notations"):
        for element in [one for one in root.iter(tag) if not len(one)]:
            holder = element.getparent()
            assert holder is not None
            holder.remove(element)
    for direction in [one for one in root.iter("direction") if one.find("direction-type") is None]:
        holder = direction.getparent()
        assert holder is not None
        holder.remove(direction)
    return etree.tostring(root, method="c14n2", strip_text=True)


@pytest.mark.parametrize("every", [(), ("--all",)])
def test_fingers_are_added_and_nothing_else_is_touched(every: tuple[str, ...], tmp_path: Path) -> None:
    out = tmp_path / "out.musicxml"
    assert main(["fingering", GALE, "15-20", *every, "-o", str(out)]) == 0
    root = etree.fromstring(out.read_bytes())
    assert musicxml_schema().validate(root), musicxml_schema().error_log
    light = [element.tag for element in root.iter("fingering", "string") if element.get("color") == LIGHT]
    assert light
    said = [words for words in root.iter("words") if words.text == "in grey: proposed by rule"]
    assert len(said) == 1
    cut = open_score(Path(GALE)).part().passage("15-20").cut(1)
    assert without(root) == without(cut.tree())


def test_more_is_written_with_all_than_a_player_needs(tmp_path: Path) -> None:
    counts = []
    for every in ([], ["--all"]):
        out = tmp_path / f"{len(every)}.musicxml"
        assert main(["fingering", FERRY, "--part", "#1", *every, "-o", str(out)]) == 0
        counts.append(out.read_bytes().count(LIGHT.encode()))
    assert 0 < counts[0] < counts[1] / 3


def test_what_is_proposed_is_drawn_lighter_than_what_is_printed(tmp_path: Path) -> None:
    out = tmp_path / "out.svg"
    assert main(["fingering", GALE, "1-2", "-o", str(out)]) == 0
    assert 'fill="#666666"' in out.read_text(encoding="utf-8")


def test_wishes_are_followed(capsys: pytest.CaptureFixture[str]) -> None:
    def fingers(*wishes: str) -> list[tuple[int, int, int]]:
        found = json.loads(printed(capsys, FERRY, "--part", "#1", "--json", *wishes))
        return [(note["string"], note["position"], note["finger"]) for note in found["notes"]]

    assert {position for _, position, finger in fingers("--positions", "1") if finger} == {1}
    dark, bright = (sum(string for string, *_ in fingers("--tone", tone)) for tone in ("dark", "bright"))
    assert dark > bright
    assert sum(finger == 0 for *_, finger in fingers("--open", "never")) < sum(
        finger == 0 for *_, finger in fingers("--open", "always")
    )


def test_what_is_wrong_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "flute.musicxml").write_bytes(bars_of("D4:4").replace(b"Violin", b"Flute"))
    (tmp_path / "violin.musicxml").write_bytes(bars_of("D4:4", "C3:2 D4:2"))
    flute, violin = str(tmp_path / "flute.musicxml"), str(tmp_path / "violin.musicxml")
    assert main(["fingering", flute]) == 2
    assert "'Flute' is not known as a part for strings" in capsys.readouterr().err
    assert main(["fingering", flute, "--instrument", "viola"]) == 0
    assert main(["fingering", violin, "--positions", "first"]) == 2
    assert "'first' are no positions" in capsys.readouterr().err
    assert main(["fingering", violin]) == 0
    told = capsys.readouterr().err
    assert "violin.musicxml says no tempo: crotchet = 80 is assumed." in told
    assert "bar 2 beat 1: C3 cannot be played on the violin" in told


WEEK = f"""{head("lower", name="Mia", positions="[1]", minutes="{mon = 30}")}\
[[piece]]
id = "run"
title = "Run"
score = "run.musicxml"
pupil_bars = 10
marks = ["11:1 finger 4"]
tone = "dark"
[[box]]
id = "high"
piece = "run"
bars = "11-12"
target = "crotchet = 80"
"""


def test_a_box_of_a_week_file_has_its_marks_and_its_players_wishes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "run.musicxml").write_bytes(bars_of("A4:1 B4:1 C#5:1 D5:1", "E5:1 A5:1 E6:2"))
    week = tmp_path / "week.toml"
    week.write_text(WEEK, encoding="utf-8")
    assert main(["fingering", str(week), "high", "--json"]) == 0
    said = capsys.readouterr()
    rows = json.loads(said.out)["notes"]
    assert (rows[0]["bar"], rows[0]["string"], rows[0]["finger"]) == ("11", 3, 4)
    assert {row["position"] for row in rows[:6]} == {1}
    assert "bar 12 beat 3: E6 lies in none of the positions 1" in said.err
    out = tmp_path / "out.musicxml"
    assert main(["fingering", str(week), "high", "--all", "-o", str(out)]) == 0
    first = next(etree.fromstring(out.read_bytes()).iter("fingering"))
    assert (first.text, first.get("color")) == ("4", None)  # the teacher's own
    assert main(["fingering", str(week), "low"]) == 2
    assert "There are: high." in capsys.readouterr().err


def test_double_stops_beyond_the_hand_are_told_by_all_that_look_at_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run = tmp_path / "run.musicxml"
    run.write_bytes(bars_of("A4:1 B4:1 A3+C5:2", "E5:1 G3+A3:1 A3+A4:2"))
    (tmp_path / "week.toml").write_text(
        WEEK.replace('bars = "11-12"', 'bars = "1-2"').replace("pupil_bars = 10\n", "").replace("11:1", "1:1")
    )
    tenth = "ar 1 beat 3: A3 and C5 can only be had with a stretch on the violin"
    none = "ar 2 beat 2: G3 and A3 cannot be played together on the violin"
    for line in (["fingering", str(run)], ["hard", str(run)], ["check", str(tmp_path / "week.toml")]):
        assert main(line) == 0
        told = capsys.readouterr().err
        assert tenth in told
        assert none in told


def test_a_first_year_player_stays_in_first_position(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "run.musicxml").write_bytes(bars_of("A4:2 F5:2", "G5:2 E5:2"))
    text = WEEK.replace("positions = [1]\n", "").replace('marks = ["11:1 finger 4"]\ntone = "dark"\n', "")
    positions = {}
    for level in ("first", "upper"):
        (tmp_path / "week.toml").write_text(text.replace('"lower"', f'"{level}"'), encoding="utf-8")
        found = json.loads(printed(capsys, str(tmp_path / "week.toml"), "high", "--json"))
        positions[level] = {note["position"] for note in found["notes"] if note["finger"]}
    assert positions["first"] == {1}
    assert max(positions["upper"]) > 1


@pytest.mark.parametrize(
    ("key", "message"),
    [
        ("positions = [1]", "positions = [16]"),
        ('tone = "dark"', 'tone = "loud"'),
    ],
)
def test_wishes_of_a_week_file_are_checked(key: str, message: str, tmp_path: Path) -> None:
    (tmp_path / "run.musicxml").write_bytes(bars_of("A4:1 B4:1 C#5:1 D5:1", "E5:1 A5:1 E6:2"))
    (tmp_path / "week.toml").write_text(WEEK, encoding="utf-8")
    assert main(["check", str(tmp_path / "week.toml")]) == 0
    (tmp_path / "week.toml").write_text(WEEK.replace(key, message), encoding="utf-8")
    assert main(["check", str(tmp_path / "week.toml")]) == 2
