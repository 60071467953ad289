"""Boxes from marks in the score, the pupil's bar numbers, and the teacher's own marks in a week file."""

from __future__ import annotations

from pathlib import Path

import pytest

from excerpts.errors import WeekError
from excerpts.week import load_week, week_faults
from excerpts.week.orders.check import check_week_music
from tests.music import bars_of
from tests.score.cutting import direction
from tests.week.weeks import HEAD

PIECE = '[[piece]]\nid = "air"\ntitle = "Air"\nscore = "air.musicxml"\n'
"""A piece that begins on line 9; what follows it stands on line 13."""


def rectangle(text: str) -> str:
    return direction(f"<words enclosure='rectangle'>{text}</words>")


MARKED = bars_of(
    "C5:1 D5:1 E5:2",
    f"{rectangle('2-3')} C5:1 D5:1 E5:2",
    "C5:1 D5:1 E5:2",
    "C5:4",
    f"{rectangle('box: hard')} C5:4",
)


def week(folder: Path, text: str, score: bytes = MARKED) -> Path:
    (folder / "air.musicxml").write_bytes(score)
    path = folder / "week.toml"
    path.write_text(HEAD + PIECE + text)
    return path


def test_a_box_for_each_marked_passage(tmp_path: Path) -> None:
    loaded = load_week(week(tmp_path, "marked = true\n"))
    assert [(box.id, box.piece, box.bars) for box in loaded.boxes] == [
        ("air-2-3", "air", "2-3"),
        ("air-5", "air", "5"),
    ]


def test_a_passage_that_the_file_boxes_itself_is_left_to_it(tmp_path: Path) -> None:
    own = "marked = true\n[[box]]\nid = 'mine'\npiece = 'air'\nbars = '@2-@3'\nwhy = 'shift'\n"
    assert [box.id for box in load_week(week(tmp_path, own)).boxes] == ["mine", "air-5"]
    taken = own.replace("'@2-@3'", "'1'").replace("mine", "air-5")
    assert [box.id for box in load_week(week(tmp_path, taken)).boxes] == ["air-5", "air-2-3", "air-5-2"]


def test_a_score_without_marks_and_one_that_is_broken(tmp_path: Path) -> None:
    plain = bars_of("C5:4", "C5:4")
    (fault,) = week_faults(week(tmp_path, "marked = true\n", plain))
    assert (fault.line, fault.key) == (13, 'piece "air", marked')
    assert fault.message.startswith("No passage is marked in the player's part of the score.")
    with pytest.raises(WeekError, match="line 13.*cut off"):
        load_week(week(tmp_path, "marked = true\n", plain[:80]))


def test_words_in_the_score_are_the_why_and_the_note_of_its_box(tmp_path: Path) -> None:
    score = bars_of("C5:4", f"{rectangle('bars 2–3: shift: land softly')} C5:4", "C5:4", "C5:4")
    (box,) = load_week(week(tmp_path, "marked = true\n", score)).boxes
    assert (box.bars, box.why, box.note) == ("2-3", ("shift",), "land softly")
    long = f"{'a' * 5000}\u202e"
    (box,) = load_week(week(tmp_path, "marked = true\n", bars_of(f"{rectangle(f'box: {long}')} C5:4"))).boxes
    assert box.note == "a" * 300


def test_what_is_not_understood_is_told_and_does_not_stop_the_week(tmp_path: Path) -> None:
    score = bars_of(f"{rectangle('pizz.')} C5:4", f"{rectangle('box')} C5:4", f"{rectangle('pizz.')} C5:4")
    loaded = load_week(week(tmp_path, "marked = true\n", score))
    assert [box.bars for box in loaded.boxes] == ["2"]
    (told,) = loaded.remarks
    assert told.startswith('air.musicxml, bars 1, 3: "pizz." in a rectangle names no passage;')
    assert load_week(week(tmp_path, "", score)).remarks == ()
    (fault,) = week_faults(week(tmp_path, "marked = true\n", bars_of(f"{rectangle('pizz.')} C5:4")))
    assert 'Bar 1: "pizz." in a rectangle names no passage;' in fault.message


def test_bars_in_the_numbers_of_the_pupils_edition(tmp_path: Path) -> None:
    text = "pupil_bars = +10\nmarked = true\n[[box]]\nid = 'a'\npiece = 'air'\nbars = '{}'\n"
    good = load_week(week(tmp_path, text.format("11-12")))
    assert check_week_music(good).faults == ()
    assert [box.bars for box in good.boxes] == ["11-12", "12-13", "15"]
    (fault,) = check_week_music(load_week(week(tmp_path, text.format("3")))).faults
    assert fault.key == 'box "a", bars'
    assert "there is no bar 3 (-7 in the file)" in fault.message


def test_marks_of_the_teacher_are_tried_against_the_score(tmp_path: Path) -> None:
    box = "[[box]]\nid = 'a'\npiece = 'air'\nbars = '2-3'\nmarks = ['2:1 finger 3', '{}']\n"
    assert check_week_music(load_week(week(tmp_path, box.format("3 slur 1-2")))).faults == ()
    (fault,) = check_week_music(load_week(week(tmp_path, box.format("3:4 up")))).faults
    assert fault.line == 17
    assert "no note begins on 3:4. In bar 3 notes begin on 1, 2, 3." in fault.message
    (fault,) = week_faults(week(tmp_path, box.format("3:4 upwards")))
    assert "'3:4 upwards' is not a mark. Write marks as" in fault.message


def test_marks_of_a_piece(tmp_path: Path) -> None:
    text = "marks = ['2:1 finger 3', '{}']\n[[box]]\nid = 'a'\npiece = 'air'\nbars = '2'\n"
    assert check_week_music(load_week(week(tmp_path, text.format("5:1 up")))).faults == ()
    (fault,) = check_week_music(load_week(week(tmp_path, text.format("99:1 up")))).faults
    assert (fault.line, fault.key) == (13, 'piece "air", marks')


def test_marks_on_typed_bars(tmp_path: Path) -> None:
    text = "[[box]]\nid = 'a'\nabc = 'M:4/4 | D2 F2 A2 d2 |'\nmarks = '1:2 up'\n".replace("M:4/4 | ", "")
    assert check_week_music(load_week(week(tmp_path, text))).faults == ()
    (fault,) = check_week_music(load_week(week(tmp_path, text.replace("1:2", "1:9")))).faults
    assert fault.line == 16


def test_a_marked_passage_that_was_retired_or_parked_does_not_come_again(tmp_path: Path) -> None:
    kept = "marked = true\n[[retired]]\nid = 'air-2-3'\npiece = 'air'\nbars = '2-3'\nretired = 2026-11-23\n"
    assert [box.id for box in load_week(week(tmp_path, kept)).boxes] == ["air-5"]
    both = kept + "[[parked]]\nid = 'air-5'\npiece = 'air'\nbars = 5\n"
    assert load_week(week(tmp_path, both)).boxes == ()
