"""What a teacher decides about the next week: it is done, told, and nothing beside it changes."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from excerpts.errors import WeekError
from excerpts.excerpt import Tempo
from excerpts.log import NewBox, next_week
from excerpts.log.choices import Choices
from excerpts.log.following_week import same_again, without_lesson
from excerpts.week import load_week
from tests.log.weeks import HEAD, RUN, TONE, after, row, told, week

CLEAN = [row(tempo=80, clean=5, day=0), row(tempo=80, clean=5, day=2)]
NOTES = HEAD.replace(
    'focus = "Loose thumb"', 'focus = "Loose thumb"\nnotes = ["Sing it"]\nprivate = ["tired"]'
)


def test_a_box_that_was_clean_stays_in_work_when_the_teacher_says_so(tmp_path: Path) -> None:
    new, made = after(week(tmp_path), CLEAN, kept=frozenset({"box run"}))
    (box,) = new.boxes
    assert (box.id, box.start, box.target) == ("run", Tempo(Fraction(40)), Tempo(Fraction(80)))
    assert box.since == date(2026, 11, 30)  # its weeks go on being counted
    assert not new.retired
    assert new.pieces[0].status == "learning"
    assert "stays as it is, as you chose" in told(made)


def test_a_piece_is_learnt_on_when_the_teacher_says_so(tmp_path: Path) -> None:
    new, made = after(week(tmp_path, HEAD + RUN), CLEAN, kept=frozenset({"piece song"}))
    assert [box.id for box in new.retired] == ["run"]
    assert new.pieces[0].status == "learning"
    assert "learnt on" in told(made)


def test_a_start_that_was_chosen(tmp_path: Path) -> None:
    new, made = after(week(tmp_path), [row(tempo=60, clean=5, day=0)], starts={"run": Tempo(Fraction(66))})
    assert new.boxes[0].start == Tempo(Fraction(66))
    assert "start = 66" in made.text
    assert "starts at crotchet = 66, as you chose" in told(made)


def test_a_start_above_the_target_is_refused_with_its_key(tmp_path: Path) -> None:
    with pytest.raises(WeekError, match=r"box.*The start is faster than the target"):
        after(week(tmp_path), [], starts={"run": Tempo(Fraction(96))})


def test_new_boxes_and_notes(tmp_path: Path) -> None:
    boxes = (
        NewBox("song", "20-21", ("shift",), target="crotchet = 72"),
        NewBox("song", "20-21", goal="one breath"),
    )
    new, made = after(week(tmp_path, NOTES + RUN), [], boxes=boxes, notes=("Slow bow", "Ümlaut “x” \\ end"))
    assert [(box.id, box.place, box.why, box.goal) for box in new.boxes[1:]] == [
        ("song-20-21", "bars 20–21", ("shift",), None),
        ("song-20-21-2", "bars 20–21", (), "one breath"),
    ]
    assert new.boxes[1].target == Tempo(Fraction(72))
    assert new.week.notes == ("Slow bow", "Ümlaut “x” \\ end")
    assert not new.week.private
    assert "New box: Song, bars 20–21." in told(made)


def test_notes_that_are_kept_come_before_new_ones(tmp_path: Path) -> None:
    kept = frozenset({"notes", "private"})
    new, made = after(week(tmp_path, NOTES + RUN), [], notes=("Slow bow",), kept=kept)
    assert new.week.notes == ("Sing it", "Slow bow")
    assert new.week.private == ("tired",)
    assert "Notes from the last lesson kept: 1." in told(made)


def test_a_focus_can_be_taken_away(tmp_path: Path) -> None:
    new, made = after(week(tmp_path), [], focus="")
    assert new.week.focus is None
    assert "The week has no focus." in told(made)


def test_a_lighter_beginning_is_written_only_where_it_is_taken(tmp_path: Path) -> None:
    rows = [row(tempo=60, clean=5, day=0, weeks=-4)]
    old = week(tmp_path)
    plain, _ = after(old, rows)
    assert plain.week.minutes == {"mon": 30, "wed": 30}
    lighter, _ = after(old, rows, taken=frozenset({"rest"}))
    assert lighter.week.minutes == {
        "mon": 30,
        "wed": 30,
        "2026-12-07": 15,
        "2026-12-09": 15,
    }
    assert lighter.boxes[0].start is not None
    assert lighter.boxes[0].start.quarters_per_minute < 40


def test_a_choice_for_a_box_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(WeekError, match='no box "nobody"'):
        next_week(week(tmp_path), [], choices=Choices(starts={"nobody": Tempo(Fraction(60))}))


def test_the_same_week_again_changes_its_days_only(tmp_path: Path) -> None:
    old = week(tmp_path, NOTES + RUN + TONE)
    made = same_again(old)
    new = load_week(_written(made.path, made.text))
    assert new.week.start == date(2026, 12, 7)
    assert made.text == old.path.read_text(encoding="utf-8").replace("2026-11-30", "2026-12-07")
    assert new.boxes == old.boxes


@pytest.mark.parametrize(
    ("until", "last", "lesson"),
    [
        ("", date(2026, 12, 13), date(2026, 12, 14)),
        ("until = 2026-12-13\n", date(2026, 12, 20), date(2026, 12, 21)),
        ("until = 2026-12-08\n", date(2026, 12, 15), date(2026, 12, 15)),
    ],
)
def test_a_week_goes_on_to_the_lesson_after_the_next(
    tmp_path: Path, until: str, last: date, lesson: date
) -> None:
    old = week(tmp_path, HEAD.replace("[week]\n", f"[week]\n{until}") + RUN)
    made = without_lesson(old)
    assert made.path == old.path
    new = load_week(_written(made.path, made.text))
    assert (new.week.last, new.week.next_lesson) == (last, lesson)
    assert "# lesson on Mondays" in made.text


def test_a_week_without_lessons_ends_somewhere(tmp_path: Path) -> None:
    old = week(tmp_path, HEAD.replace("[week]\n", "[week]\nuntil = 2027-03-28\n") + RUN)
    with pytest.raises(WeekError, match="more than 120 days"):
        without_lesson(old)


def _written(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path
