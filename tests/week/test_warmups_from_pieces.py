"""Warm-ups in the keys of boxes and pieces. Default tier."""

from __future__ import annotations

from pathlib import Path

import pytest

from excerpts.errors import WeekError
from excerpts.week import load_week, week_faults
from excerpts.week.added_warmups import MOST_FROM_PIECES
from excerpts.week.plan import plan_week
from tests.week.weeks import HEAD, write

FROM = HEAD.replace("format = 1", 'format = 1\nwarmups = "from pieces"')
IN_D = '[[box]]\nid = "d"\nabc = """\nM:4/4\nL:1/4\nK:D\nD F A d | c B A G | F G A F | E D C D | d4 |\n"""\n'
AWAY = (
    '[[box]]\nid = "away"\nabc = """\nM:4/4\nL:1/4\nK:C\n'
    'A ^c e a | ^g ^f e d | ^c d e ^c | B A ^G A | e ^f ^g a | a4 |\n"""\n'
)


def test_each_key_of_a_box_gives_a_scale_that_says_why(tmp_path: Path) -> None:
    week = load_week(write(tmp_path, FROM + IN_D + AWAY))
    assert [item.key for item in week.warmups] == ["D major", "A major"]
    assert week.warmups[0].note == "Box 1 is in D major (sure: key signature and notes agree)."
    assert (week.warmups[1].note or "").startswith("Box 2 goes into A major (")
    plan = plan_week(week)
    assert {item.warmup for day in plan.days for item in day.section("warm-up")} >= {0, 1}


def test_a_key_that_is_there_already_is_not_added(tmp_path: Path) -> None:
    week = load_week(write(tmp_path, FROM + IN_D + IN_D.replace('"d"', '"e"') + '[[warmup]]\nkey = "D"\n'))
    assert [item.key for item in week.warmups] == ["D"]


def test_there_are_not_more_than_a_few(tmp_path: Path) -> None:
    boxes = [IN_D.replace('"d"', f'"b{n}"').replace("K:D", f"K:{key}") for n, key in enumerate("CGDAEF")]
    week = load_week(write(tmp_path, FROM + "".join(boxes)))
    assert len(week.warmups) == MOST_FROM_PIECES


def test_without_music_there_are_no_keys(tmp_path: Path) -> None:
    text = FROM + '[[piece]]\nid = "a"\ntitle = "A"\n[[box]]\nid = 1\npiece = "a"\nplace = "p. 3"\n'
    (fault,) = week_faults(write(tmp_path, text))
    assert (fault.line, fault.key) == (2, "warmups")
    assert fault.message.startswith("There are no notes to take keys from")


def test_another_word_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path, FROM.replace("from pieces", "from the pieces") + IN_D)
    with pytest.raises(WeekError, match="line 2, warmups"):
        load_week(path)


def test_a_week_that_does_not_ask_is_left_alone(tmp_path: Path) -> None:
    assert load_week(write(tmp_path, HEAD + IN_D)).warmups == ()
