"""From week to week: the rules of what stays, retires, comes back for a check, is offered a way out."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path

import pytest

from excerpts.errors import InputError, WeekError
from excerpts.excerpt import Tempo
from excerpts.log import LogRow
from tests.log.weeks import HEAD, MONDAY, RUN, TONE, after, row, told, week
from tests.music import bars_of

CLEAN = [row(tempo=80, clean=5, day=0), row(tempo=84, clean=6, day=2)]


def test_an_empty_log_carries_everything_over(tmp_path: Path) -> None:
    old = week(tmp_path, HEAD + RUN + TONE)
    new, made = after(old, [])
    assert made.path == tmp_path / "ada-lind-2026-12-07.toml"
    assert new.week.start == date(2026, 12, 7)
    assert [(box.id, box.start, box.since) for box in new.boxes] == [
        ("run", Tempo(Fraction(40)), MONDAY),
        ("tone", None, MONDAY),
    ]
    assert told(made).count("carried over unchanged") == 2
    assert new.week.minutes == old.week.minutes


def test_comments_and_order_are_kept(tmp_path: Path) -> None:
    _, made = after(week(tmp_path, HEAD + RUN + TONE), [row(tempo=60, clean=5, day=0)])
    for line in ("# Ada's week", "start = 2026-12-07   # lesson on Mondays", "# the hard one\n[[box]]"):
        assert line in made.text
    assert "start = 56   # slowly" in made.text


@pytest.mark.parametrize(
    ("rows", "start"),
    [
        ([row(tempo=60, clean=5, day=0)], 56),  # 60, 58, 56
        ([row(tempo=60, clean=5, day=0), row(tempo=69, clean=6, day=1)], 63),  # 69, 66, 63
        ([row(tempo=72, day=0)], 66),  # no count: a tempo is written down because it went
        ([row(tempo=72, clean=0, day=0), row(tempo=60, clean=5, day=0)], 56),  # 72 was not clean
        (
            [row(tempo=72, clean=0, day=0), row(tempo=66, clean=0, day=0)],
            60,
        ),  # nothing was: below the slowest
        ([row(tempo=100, clean=5, day=0)], 72),  # above the target: 80, 76, 72
        ([row(tempo=80, clean=5, day=0)], 72),  # at the target on one day only
    ],
)
def test_a_box_that_is_not_clean_starts_two_numbers_below_what_was_reached(
    tmp_path: Path, rows: list[LogRow], start: int
) -> None:
    """The traditional metronome numbers, as trade books list them."""
    new, made = after(week(tmp_path), rows)
    assert new.boxes[0].start == Tempo(Fraction(start))
    assert f"crotchet = {start}" in told(made)


def test_below_the_slowest_number_the_beat_gets_smaller(tmp_path: Path) -> None:
    new, _ = after(week(tmp_path), [row(tempo=42, clean=5, day=0)])
    start = new.boxes[0].start
    assert start is not None
    assert start == Tempo(Fraction(76), Fraction(1, 2))  # 42 is quaver = 84; 80, 76


def test_clean_on_two_days_at_the_target_retires(tmp_path: Path) -> None:
    new, made = after(week(tmp_path), CLEAN)
    assert new.boxes == ()
    (box,) = new.retired
    assert (box.id, box.retired, box.checks) == ("run", date(2026, 12, 7), 0)
    assert box.due == date(2026, 12, 14)
    assert "clean on 2 days; retired" in told(made)


@pytest.mark.parametrize(
    "rows",
    [
        [row(tempo=80, clean=5, day=0), row(tempo=80, clean=9, day=0)],  # one day
        [row(tempo=80, clean=5, day=0), row(tempo=80, clean=4, day=2)],  # too few in a row
        [row(tempo=80, clean=5, day=0), row(tempo=76, clean=5, day=2)],  # too slow
        [row(tempo=80, clean=5, day=0), row(tempo=80, day=2)],  # no count on paper
        [row(tempo=80, clean=5), row(tempo=80, clean=5)],  # no days on paper: one day
        [row("tone", tempo=80, clean=5, day=0), row(tempo=80, clean=5, day=2)],  # of another box
        [row(tempo=80, clean=5, day=0, weeks=-1), row(tempo=80, clean=5, day=2)],  # before it came into work
    ],
)
def test_what_is_not_clean_yet_stays(tmp_path: Path, rows: list[LogRow]) -> None:
    new, _ = after(week(tmp_path), rows)
    assert [box.id for box in new.boxes] == ["run"]


def test_the_two_days_may_be_in_two_weeks(tmp_path: Path) -> None:
    rows = [row(tempo=80, clean=5, day=5)]
    second, made = after(week(tmp_path), rows)
    assert "Its goal was reached on 1 of the 2 days that it takes." in told(made)
    rows.append(row(tempo=80, clean=5, day=0, weeks=1))
    third, _ = after(second, rows)
    assert third.boxes == ()


def test_a_goal_in_words_needs_the_runs_only(tmp_path: Path) -> None:
    rows = [row("tone", clean=3, day=0), row("tone", clean=4, day=1)]
    new, _ = after(week(tmp_path, HEAD + TONE), rows)
    assert [box.id for box in new.retired] == ["tone"]


def test_heard_clean_in_the_lesson_decides(tmp_path: Path) -> None:
    new, made = after(week(tmp_path), [row(kind="heard")])
    assert [box.id for box in new.retired] == ["run"]
    assert "heard clean in the lesson" in told(made)


def test_heard_not_clean_in_the_lesson_decides(tmp_path: Path) -> None:
    rows = [*CLEAN, row(kind="heard", clean=0)]
    second, made = after(week(tmp_path), rows)
    assert [box.id for box in second.boxes] == ["run"]
    assert "Heard in the lesson: not clean yet" in told(made)
    rows += [row(tempo=80, clean=5, day=n, weeks=1) for n in (0, 1)]  # two new days after that lesson
    third, _ = after(second, rows)
    assert third.boxes == ()


def test_the_last_word_of_a_lesson_holds(tmp_path: Path) -> None:
    new, _ = after(week(tmp_path), [row(kind="heard", clean=0), row(kind="heard")])
    assert new.boxes == ()


def test_a_piece_joins_the_rotation_when_its_last_box_retires(tmp_path: Path) -> None:
    second, _ = after(week(tmp_path, HEAD + RUN + TONE), CLEAN)
    assert second.pieces[0].status == "learning"
    third, made = after(second, [*CLEAN, row("tone", kind="heard", weeks=1)])
    assert third.pieces[0].status == "review"
    assert "Song: its last box has retired; it joins the review pieces, which take turns." in told(made)


def test_a_parked_box_keeps_its_piece_out_of_the_rotation(tmp_path: Path) -> None:
    new, _ = after(week(tmp_path, HEAD + RUN + TONE), CLEAN, ways={"tone": "park"})
    assert new.pieces[0].status == "learning"


def test_checks_after_one_two_and_four_weeks_then_done(tmp_path: Path) -> None:
    rows, checks = [*CLEAN], []
    now, _ = after(week(tmp_path), rows)
    for n in range(1, 7):
        on = [item.check for item in now.technique]
        checks.append(bool(on))
        if on:
            assert on == ["run"]
            assert "Check Song, bar 4: crotchet = 80, right 3 times in a row?" == now.technique[0].text
            rows.append(row(tempo=80, clean=3, day=1, weeks=n))
        now, _ = after(now, rows)
    # Retired on 7 December: the weeks from then on are numbered from 0; 14 and 21 December, and 4 January.
    assert checks == [False, True, True, False, True, False]
    assert now.retired[0].checks == 3
    assert now.retired[0].due is None


def test_a_check_that_was_not_played_comes_again(tmp_path: Path) -> None:
    now, _ = after(week(tmp_path), CLEAN)
    now, _ = after(now, CLEAN)
    assert [item.check for item in now.technique] == ["run"]
    now, made = after(now, CLEAN)
    assert [item.check for item in now.technique] == ["run"]
    assert now.retired[0].checks == 0
    assert "its check was not played, so it comes again" in told(made)


@pytest.mark.parametrize(
    "failed", [row(tempo=60, clean=3, day=1, weeks=2), row(tempo=80, clean=2, day=1, weeks=2)]
)
def test_a_box_that_does_not_stand_its_check_is_back_in_work(tmp_path: Path, failed: LogRow) -> None:
    now, _ = after(week(tmp_path), CLEAN)
    now, _ = after(now, CLEAN)
    now, made = after(now, [*CLEAN, failed])
    (box,) = now.boxes
    assert (box.id, box.since) == ("run", now.week.start)
    assert now.retired == ()
    assert now.technique == ()
    assert "not settled yet: back in work" in told(made)
    assert box.start is not None
    assert box.start.number < 80
    # What made it clean once does not retire it again.
    now, _ = after(now, [*CLEAN, failed])
    assert [box.id for box in now.boxes] == ["run"]


def test_heard_in_the_lesson_decides_over_a_check(tmp_path: Path) -> None:
    now, _ = after(week(tmp_path), CLEAN)
    now, _ = after(now, CLEAN)
    good = row(tempo=80, clean=3, day=1, weeks=2)
    failed, _ = after(now, [*CLEAN, good, row(kind="heard", clean=0, weeks=2)])
    assert [box.id for box in failed.boxes] == ["run"]


def test_the_number_of_boxes_is_capped_by_level(tmp_path: Path) -> None:
    """A first-year player has two boxes: one that fails its check waits, parked, and comes back when asked."""
    head = HEAD.replace('"middle"', '"first"')
    boxes = "".join(TONE.replace('"tone"', f'"tone{n}"') for n in range(2))
    retired = RUN.replace("[[box]]", "[[retired]]") + "retired = 2026-11-23\n"
    now, made = after(week(tmp_path, head + boxes + retired), [row(tempo=40, clean=1, day=0)])
    assert [box.id for box in now.parked] == ["run"]
    assert "but 2 boxes are plenty: parked" in told(made)
    rows = [row("tone0", kind="heard", weeks=1)]
    now, made = after(now, rows)
    assert "Room for one more: Box “run”, Song, bar 4 is parked." in told(made)
    now, _ = after(now, rows, ways={"run": "resume"})
    assert [box.id for box in now.boxes] == ["tone1", "run"]
    assert now.boxes[1].since == now.week.start


@pytest.mark.parametrize(
    ("concert", "early"), [("2026-12-10", True), ("2026-12-14", True), ("2026-12-20", False)]
)
def test_no_first_check_is_laid_after_the_concert(tmp_path: Path, concert: str, early: bool) -> None:
    text = HEAD + f'status = "performance"\ndate = {concert}\n' + RUN
    new, made = after(week(tmp_path, text), CLEAN)
    assert ("run" in {item.check for item in new.technique}) is early
    assert ("Its first check is in the new week" in told(made)) is early
    if early:
        third, said = after(new, [*CLEAN, row(tempo=80, clean=3, day=1, weeks=1)])
        assert third.retired[0].checks == 1
        assert "passed check 1 of 3" in told(said)


def test_more_boxes_than_plenty_are_kept_and_told(tmp_path: Path) -> None:
    boxes = "".join(TONE.replace('"tone"', f'"tone{n}"') for n in range(5))
    new, made = after(week(tmp_path, HEAD + boxes), [])
    assert len(new.boxes) == 5
    assert "5 boxes are in work; 4 are plenty" in told(made)


STUCK = (
    HEAD
    + """
[[box]]
id = "run"
piece = "song"
place = "bar 4"
target = "crotchet = 80"
since = 2026-11-16
"""
)


def _worked(weeks: int) -> list[LogRow]:
    """A row a week, the last in the week that is over; five in a row are never reached."""
    return [row(tempo=60, clean=2, day=0, weeks=-back) for back in reversed(range(weeks))]


def _days(weeks: int) -> list[LogRow]:
    """A day of practice a week, of which nothing more was written down."""
    return [row("", kind="day", day=0, weeks=-back) for back in range(weeks)]


def test_three_weeks_without_getting_clean_are_told_with_ways_out(tmp_path: Path) -> None:
    second, made = after(week(tmp_path, STUCK), _worked(3))
    assert "In work for 3 weeks and not clean yet" in told(made)
    for way in ("variant", "simplify", "park"):
        assert f"--change run={way}" in told(made)
    assert "--change run=shorten" not in told(made)  # a place in a printed book has no numbers to halve
    _, fresh = after(week(tmp_path, STUCK.replace("11-16", "11-23")), _worked(3))
    assert "In work for" not in told(fresh)
    _, idle = after(second, _worked(3))
    assert "In work for 3 weeks, and nothing was written down this week" in told(idle)


@pytest.mark.parametrize("long", [False, True])
def test_a_holiday_makes_no_box_stuck_and_is_eased_out_of(tmp_path: Path, long: bool) -> None:
    """One week of work, then three weeks off: as one long week, or as weeks with nothing written down."""
    work = HEAD.replace("minutes =", "until = 2026-12-27\nminutes =") if long else HEAD
    text, rows = work + RUN + "since = 2026-11-30\n", [row(tempo=60, clean=5, day=day) for day in (0, 2)]
    old, made = week(tmp_path, text), None
    for _ in range(1 if long else 4):
        old, made = after(old, rows)
    assert made is not None
    assert "In work for" not in told(made)
    assert "Nothing was written down for 25 days" in told(made)
    minutes = '"2026-12-28" = 15, "2026-12-30" = 15, "2027-01-04" = 15'
    assert f"half the minutes on the first 3 days ({minutes})" in told(made)
    assert "    A lower start would help, too:\n    Box 1, Song, bar 4: start at crotchet = 52" in told(made)
    assert old.week.minutes == {"mon": 30, "wed": 30}  # proposed, not changed


def test_no_lower_start_is_proposed_where_no_box_has_one(tmp_path: Path) -> None:
    old = week(tmp_path, HEAD.replace("minutes =", "until = 2026-12-27\nminutes =") + TONE)
    _, made = after(old, [row("tone", clean=2, day=0)])
    assert "half the minutes on the first 3 days" in told(made)
    assert "lower start" not in told(made)


def test_nothing_is_eased_where_no_log_is_kept_or_a_week_was_missed(tmp_path: Path) -> None:
    _, made = after(week(tmp_path), [])
    assert "Nothing was written down" not in told(made)
    _, missed = after(week(tmp_path), [row(tempo=60, clean=5, day=6, weeks=-1)])
    assert "Nothing was written down for" not in told(missed)


def test_one_lucky_run_moves_no_start(tmp_path: Path) -> None:
    rows = [row(tempo=54, clean=5, day=0), row(tempo=78, clean=1, day=2)]
    new, made = after(week(tmp_path), rows)
    assert new.boxes[0].start == Tempo(Fraction(50))
    assert "It last went 5 times in a row at crotchet = 54" in told(made)
    lucky, said = after(week(tmp_path), rows[1:])
    assert lucky.boxes[0].start == Tempo(Fraction(40))
    assert "1 in a row at crotchet = 78, and 5 are needed; stays." in told(said)
    assert "It starts as before." in told(said)


def test_the_last_tempo_that_held_counts_and_not_the_best(tmp_path: Path) -> None:
    """What went on Monday and no more on Wednesday is not where next week starts; another week's may be."""
    new, _ = after(week(tmp_path), [row(tempo=72, clean=5, day=0), row(tempo=60, clean=5, day=2)])
    assert new.boxes[0].start == Tempo(Fraction(56))
    old = week(tmp_path, HEAD + RUN + "since = 2026-11-23\n")
    from_before, _ = after(old, [row(tempo=60, clean=5, weeks=-1), row(tempo=66, clean=2, day=1)])
    assert from_before.boxes[0].start == Tempo(Fraction(56))


def test_ways_out_are_done_when_they_are_chosen(tmp_path: Path) -> None:
    text = STUCK.replace('place = "bar 4"', 'place = "bar 4"\nvariants = ["separate"]')
    old, rows = week(tmp_path, text), [row(tempo=60, clean=10, day=0)]
    varied, _ = after(old, rows, ways={"run": "variant"})
    assert varied.boxes[0].variants is not None
    assert "separate" not in varied.boxes[0].variants
    simpler, made = after(old, rows, ways={"run": "simplify"})
    assert simpler.boxes[0].target == Tempo(Fraction(60))
    assert simpler.boxes[0].start == Tempo(Fraction(56))
    assert 'target = "crotchet = 60" # was crotchet = 80' in made.text
    parked, _ = after(old, rows, ways={"run": "park"})
    assert [box.id for box in parked.parked] == ["run"]
    assert parked.boxes == ()
    assert {varied.boxes[0].since, simpler.boxes[0].since} == {old.week.start + timedelta(weeks=1)}


def test_shortening_keeps_the_half_that_broke_down_and_parks_the_rest(tmp_path: Path) -> None:
    from tests.music import bars_of

    (tmp_path / "song.musicxml").write_bytes(bars_of(*["C5:4"] * 20))
    text = STUCK.replace('title = "Song"', 'title = "Song"\nscore = "song.musicxml"')
    old = week(tmp_path, text.replace('place = "bar 4"', 'bars = "12-16"'))
    rows = [row(tempo=60, clean=2, day=0, bars="15"), row(tempo=60, clean=1, day=1, bars="12, 16")]
    new, made = after(old, rows, ways={"run": "shorten"})
    assert [(box.id, box.bars) for box in new.boxes] == [("run", "15-16")]
    assert [(box.id, box.bars) for box in new.parked] == [("run-2", "12-14")]
    assert "shortened to bars 15–16, as you chose; the rest (bars 12–14) is parked as box “run-2”" in told(
        made
    )


@pytest.mark.parametrize(
    ("box", "way", "message"),
    [
        ("runn", "park", 'There is no box "runn"'),
        ("run", "shorten", "cannot be shortened by itself"),
        ("run", "resume", "is already in work"),
        ("tone", "simplify", "no target tempo"),
        ("put", "park", 'The box "put" is parked'),
        ("lost", "resume", 'The piece "gone"'),
    ],
)
def test_a_choice_that_does_not_fit_is_refused(tmp_path: Path, box: str, way: str, message: str) -> None:
    parked = "[[parked]]\nid = 'put'\npiece = 'song'\nplace = 'bar 7'\n"
    parked += "[[parked]]\nid = 'lost'\npiece = 'gone'\nplace = 'bar 7'\n"
    old = week(tmp_path, STUCK + TONE + parked)
    with pytest.raises(WeekError, match=message):
        after(old, [], ways={box: way})


def test_what_broke_down_in_run_throughs_is_proposed_and_not_added(tmp_path: Path) -> None:
    song = row("song", kind="run-through", day=1, bars="33-34", note="Memory slip")
    new, made = after(week(tmp_path), [song, song, row("song", kind="run-through", bars="40")])
    assert [box.id for box in new.boxes] == ["run"]
    assert "Proposed, not added: Song, bars 33–34 broke down in a run-through (twice)" in told(made)
    assert '    why = ["memory"]' in made.carried.lines
    assert "Song, bar 40" in told(made)


def test_proposals_end_where_the_level_has_enough_and_where_a_box_is_at_work(tmp_path: Path) -> None:
    from tests.music import bars_of

    (tmp_path / "song.musicxml").write_bytes(bars_of(*["C5:4"] * 20))
    head = HEAD.replace('title = "Song"', 'title = "Song"\nscore = "song.musicxml"').replace(
        "middle", "first"
    )
    boxes = RUN.replace('place = "bar 4"', 'bars = "4-6"') + TONE.replace('place = "bar 9"', 'bars = "9"')
    rows = [row("song", kind="run-through", bars="5-7"), row("song", kind="run-through", bars="17")]
    _, made = after(week(tmp_path, head + boxes), rows)
    assert (
        "bars 5–7 broke down in a run-through (once). It is in work already: Box 1, Song, bars 4–6."
        in told(made)
    )
    assert "For later: Song, bar 17" in told(made)
    assert "[[box]]" not in told(made)


def test_a_performance_that_is_over_goes_to_the_review_pieces(tmp_path: Path) -> None:
    text = HEAD + 'status = "performance"\ndate = 2026-12-05\n' + RUN
    text = text.replace("[[piece]]", "[plan]\nprogramme = ['song']\n\n[[piece]]")
    new, made = after(week(tmp_path, text), [])
    assert (new.pieces[0].status, new.pieces[0].date) == ("review", None)
    assert new.plan.programme == ()
    assert "Song: the performance was on 2026-12-05" in told(made)


def test_a_drill_goes_with_its_box_and_its_comments_stay(tmp_path: Path) -> None:
    text = HEAD + RUN + '\n[[technique]]\ndrill = "run"\n\n# Vibrato next term\n\n[[warmup]]\nkey = "D"\n'
    new, made = after(week(tmp_path, text), CLEAN)
    assert new.technique == ()
    assert "# Vibrato next term\n\n[[warmup]]" in made.text


def test_when_everything_retires_its_check_comes_at_once(tmp_path: Path) -> None:
    text = HEAD[: HEAD.index("[[piece]]")] + '[[box]]\nid = "run"\nabc = "K:D\\nd2 e2"\nclean = 5\n'
    new, made = after(week(tmp_path, text), [row(kind="heard")])
    assert [item.check for item in new.technique] == ["run"]
    assert "Nothing else is left to play" in told(made)
    with pytest.raises(WeekError, match="Nothing would be left to play"):
        after(week(tmp_path, text), [], ways={"run": "park"})


def test_notes_of_the_lesson_are_left_out_and_the_focus_is_kept_or_new(tmp_path: Path) -> None:
    text = HEAD.replace('focus = "Loose thumb"', 'focus = "Loose thumb"\nnotes = ["Bring rosin."]') + RUN
    new, made = after(week(tmp_path, text), [])
    assert (new.week.notes, new.week.focus) == ((), "Loose thumb")
    assert "Notes from the last lesson left out: 1" in told(made)
    new, _ = after(week(tmp_path, text), [], focus='Hear it "first"')
    assert new.week.focus == 'Hear it "first"'


@pytest.mark.parametrize(
    ("old", "start", "until"),
    [
        ("", "2026-12-07", None),
        ("until = 2026-12-06", "2026-12-07", "2026-12-13"),  # the day before the lesson
        ("until = 2026-12-07", "2026-12-07", "2026-12-14"),  # the day of the lesson
        ("until = 2026-12-14", "2026-12-14", "2026-12-28"),  # a lesson every second week
        ("until = 2026-12-13", "2026-12-14", "2026-12-27"),
        ("until = 2026-12-03", "2026-12-03", None),  # a lesson brought forward
        ("until = 2026-12-21", "2026-12-21", None),  # three weeks: it was a holiday
        ("until = 2026-11-30", "2026-12-01", None),
    ],
)
def test_the_new_week_goes_from_lesson_to_lesson(
    tmp_path: Path, old: str, start: str, until: str | None
) -> None:
    text = HEAD.replace("minutes =", f"{old}\nminutes =") + RUN
    new, _ = after(week(tmp_path, text), [])
    assert new.week.start == date.fromisoformat(start)
    assert new.week.until == (date.fromisoformat(until) if until else None)


def test_days_that_the_teacher_says(tmp_path: Path) -> None:
    new, _ = after(week(tmp_path), [], start=date(2026, 12, 14), until=date(2026, 12, 20))
    assert (new.week.start, new.week.until) == (date(2026, 12, 14), date(2026, 12, 20))
    with pytest.raises(WeekError, match="but the old one starts on"):
        after(week(tmp_path), [], start=MONDAY)
    with pytest.raises(WeekError, match="before it starts"):
        after(week(tmp_path), [], until=date(2026, 12, 1))


@pytest.mark.parametrize(
    ("minutes", "expected"),
    [
        ("{mon = 30, 2026-12-02 = 5}", {"mon": 30}),
        ("{2026-12-01 = 20, 2026-12-02 = 5}", {"tue": 20, "wed": 5}),
        ("25", {"every": 25}),
    ],
)
def test_minutes_of_single_dates_go_with_their_week(
    tmp_path: Path, minutes: str, expected: dict[str, int]
) -> None:
    inline = HEAD.replace("{mon = 30, wed = 30}", minutes) + RUN
    assert after(week(tmp_path, inline), [])[0].week.minutes == expected
    if minutes.startswith("{"):
        rows = minutes.strip("{}").replace(", ", "\n")
        apart = HEAD.replace("minutes = {mon = 30, wed = 30}\n", "").replace(
            "[[piece]]", f"[week.minutes]   # see the diary\n{rows}\n\n[[piece]]"
        )
        new, made = after(week(tmp_path, apart + RUN), [])
        assert new.week.minutes == expected
        assert "# see the diary" in made.text


def test_a_file_in_another_layout_is_carried_over_too(tmp_path: Path) -> None:
    text = """# kept
format = 1
player = {name = "Ada Lind", instrument = "violin", level = "middle"}
piece = [{id = "song", title = "Song"}]
box = [{id = "run", piece = "song", place = "bar 4", target = "crotchet = 80", clean = 5}]
week.start = 2026-11-30
week.minutes.mon = 20
"""
    new, made = after(week(tmp_path, text), CLEAN)
    assert [box.id for box in new.retired] == ["run"]
    assert made.text.startswith("# kept\n")
    assert new.week.start == date(2026, 12, 7)


def test_boxes_of_a_shared_set_become_the_players_own_when_they_change(tmp_path: Path) -> None:
    shared = HEAD[HEAD.index("[[piece]]") :] + RUN + TONE + '[[technique]]\ndrill = "run"\n'
    (tmp_path / "set.toml").write_text(shared)
    text = HEAD[: HEAD.index("[[piece]]")].replace("format = 1", 'format = 1\ninclude = "set.toml"')
    second, made = after(week(tmp_path, text), [row(tempo=60, clean=5, day=0)])
    assert [(box.id, box.start) for box in second.boxes] == [("run", Tempo(Fraction(56))), ("tone", None)]
    assert 'id = "tone"' not in made.text
    rows = [row(kind="heard", weeks=1), row("tone", kind="heard", weeks=1)]
    third, _ = after(second, rows)
    assert (third.boxes, {box.id for box in third.retired}) == ((), {"run", "tone"})
    assert third.pieces[0].status == "review"
    assert (tmp_path / "set.toml").read_text() == shared


def test_a_new_week_elsewhere_must_find_its_scores(tmp_path: Path) -> None:
    from tests.music import bars_of

    (tmp_path / "song.musicxml").write_bytes(bars_of("C5:4"))
    (tmp_path / "other").mkdir()
    old = week(tmp_path, HEAD + 'score = "song.musicxml"\n' + RUN)
    with pytest.raises(InputError, match=r"song\.musicxml"):
        after(old, [], target=tmp_path / "other" / "next.toml")


def test_tempos_in_files_are_read_again_in_any_language(tmp_path: Path) -> None:
    """The pages may be in another language; a week file and a log say tempos in English."""
    from excerpts.log.row import read_row, row_line
    from excerpts.words import Words

    found = row(tempo=60, clean=3, day=0)
    assert read_row(row_line(found, Words("de")).rstrip("\n")) == found


def test_what_run_throughs_began_with_goes_along_until_the_performance(tmp_path: Path) -> None:
    concert = HEAD.replace('title = "Song"', 'title = "Song"\ndate = 2026-12-10')
    other = '\n[[piece]]\nid = "air"\ntitle = "Air"\ndate = 2026-12-10\n'
    text = (concert + other + RUN).replace("{mon = 30, wed = 30}", "{every = 30}")
    new, made = after(week(tmp_path, text), [])
    assert len(new.week.began) == 4  # Thursday to Sunday
    assert all(one != two for one, two in zip(new.week.began, new.week.began[1:], strict=False))
    last, _ = after(new, [])
    assert last.week.began == ()
    assert "began" in made.text


def test_what_breaks_down_in_a_retired_box_is_no_new_box(tmp_path: Path) -> None:
    bars = RUN.replace('place = "bar 4"', 'bars = "4-5"')
    rows = [*CLEAN, row("song", kind="run-through", bars="5")]
    (tmp_path / "song.musicxml").write_bytes(bars_of(*["C4:1 D4:1 E4:1 F4:1"] * 9))
    scored = HEAD.replace('title = "Song"', 'title = "Song"\nscore = "song.musicxml"')
    new, made = after(week(tmp_path, scored + bars + TONE), rows)
    assert [box.id for box in new.retired] == ["run"]
    assert "has retired: Box 1, Song, bars 4–5. Hear it in the lesson; log --box run --heard no" in told(made)
    assert "Proposed" not in told(made)
    back, _ = after(new, [*rows, row(kind="heard", clean=0, weeks=1)])
    assert [box.id for box in back.boxes] == ["tone", "run"]


@pytest.mark.parametrize(("boxes", "said"), [(RUN, True), (RUN + TONE, False)])
def test_a_week_without_a_box_in_work_is_told(tmp_path: Path, boxes: str, said: bool) -> None:
    _, made = after(week(tmp_path, HEAD + boxes), CLEAN)
    assert ("No box is in work: choose one" in told(made)) is said


@pytest.mark.parametrize(
    ("earlier", "now", "offered"),
    [
        (60, 66, False),  # on its way
        (60, 60, True),
        (66, 60, True),
        (None, 60, True),  # nothing to compare with
    ],
)
def test_a_box_that_went_further_this_week_is_not_stuck(
    tmp_path: Path, earlier: int | None, now: int, offered: bool
) -> None:
    rows = [row(tempo=now, clean=2, day=0), *_days(3)]
    rows += [row(tempo=earlier, clean=2, weeks=-1)] if earlier else []
    _, made = after(week(tmp_path, STUCK), rows)
    assert ("not clean yet. You could" in told(made)) is offered


def test_more_clean_runs_are_further_where_there_is_no_tempo(tmp_path: Path) -> None:
    text = HEAD + TONE.replace('goal = "one long line"', 'goal = "one long line"\nsince = 2026-11-16')
    before = row("tone", clean=1, weeks=-1)
    for clean, offered in ((1, True), (2, False)):
        _, made = after(week(tmp_path, text), [before, row("tone", clean=clean, day=0), *_days(3)])
        assert ("not clean yet. You could" in told(made)) is offered
