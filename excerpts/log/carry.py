"""From one week to the next: what stays, retires, comes back; what the new file says, and the lines that tell it.

The rules are common practice without a source where no other is named: see `standing` and `offers`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from excerpts.errors import WeekError
from excerpts.log.box_decisions import carry_boxes
from excerpts.log.checks import add_check, carry_parked, carry_retired, name_parked
from excerpts.log.ease_in import ease_in
from excerpts.log.edits import Carried, Edit
from excerpts.log.next_days import next_days
from excerpts.log.next_week_draft import MOST_BOXES, NextWeekDraft
from excerpts.log.offers import Way
from excerpts.log.pieces import carry_drills, carry_pieces
from excerpts.log.proposals import propose
from excerpts.log.row import LogRow
from excerpts.log.scales import carry_scales
from excerpts.week import Week
from excerpts.week.plan.performance import began_with
from excerpts.weekfile.days import WEEKDAYS
from excerpts.weekfile.edit_text import Value, WeekText
from excerpts.weekfile.model import Days
from excerpts.words import Words


def carry(
    week: Week,
    text: str,
    rows: Sequence[LogRow],
    words: Words,
    *,
    start: date | None = None,
    until: date | None = None,
    focus: str | None = None,
    ways: Mapping[str, Way] | None = None,
) -> Carried:
    """Work out the week after.

    Args:
        week: The week that is over.
        text: Its file.
        rows: The player's log; it may be empty.
        words: The player's words, for the lines.
        start: First day of the new week; the next lesson where it is left out.
        until: Its last day; as long after as before where it is left out.
        focus: The new focus; the old one stays where it is left out.
        ways: What the teacher chose for single boxes.

    Raises:
        WeekError: The days are not in order, or a choice does not fit its box.
    """
    ways = ways or {}
    first, last = next_days(week.week, start, until)
    story = NextWeekDraft(week, tuple(rows), words, first, **_own(text))
    _refuse_unknown(week, ways)
    shown = last or first + timedelta(days=6)
    story.tell("days", first=first, last=shown)
    carry_boxes(story, ways)
    carry_parked(story, ways)
    carry_retired(story, Days(start=first, until=last, minutes={}).next_lesson)
    carry_drills(story)
    carry_pieces(story)
    carry_scales(story)
    name_parked(story)
    propose(story)
    _cap(story)
    ease_in(story)
    _week(story, last, focus)
    _something_left(story)
    return Carried(first, last, tuple(story.steps), tuple(story.lines))


def _own(text: str) -> dict[str, Any]:
    """What the week file has itself, and not from a shared set or from marks in a score."""
    file = WeekText(text)
    boxes, pieces = ({str(block.values().get("id")) for block in file.all(name)} for name in ("box", "piece"))
    return {"own": boxes, "own_pieces": pieces, "own_technique": len(file.all("technique"))}


def _refuse_unknown(week: Week, ways: Mapping[str, Way]) -> None:
    known = [box.id for box in (*week.boxes, *week.parked)]
    for box_id in ways:
        if box_id not in known:
            raise WeekError(
                f'There is no box "{box_id}" to change.',
                where=week.path.name,
                hint=f"There are: {', '.join(known)}.",
            )


def _cap(story: NextWeekDraft) -> None:
    most = MOST_BOXES[story.week.player.level]
    if not story.in_work:
        story.tell("none_in_work")
    if len(story.in_work) > most:
        story.tell("too_many", n=len(story.in_work), most=most)


def _week(story: NextWeekDraft, last: date | None, focus: str | None) -> None:
    """Days, minutes by date, focus and notes of the lesson that is over."""
    days = story.week.week
    values: dict[str, Value | None] = {"start": story.start}
    if last is not None or days.until is not None:
        values["until"] = last
    if days.notes:
        values["notes"] = None
        story.tell("notes", n=len(days.notes))
    if days.private:
        values["private"] = None
        story.tell("private", n=len(days.private))
    began = began_with(story.week, story.start)
    if began or days.began:
        values["began"] = began or None
    if focus is not None:
        values["focus"] = focus
        story.tell("focus_new", focus=focus)
    elif days.focus:
        story.tell("focus", focus=days.focus)
    story.steps.append(Edit("set", "week", values=values))
    _minutes(story)


def _minutes(story: NextWeekDraft) -> None:
    """Minutes of single dates go with their week; where there are no others, they become those of the weekday."""
    minutes = story.week.week.minutes
    dated = {day: number for day, number in minutes.items() if day[:1].isdecimal()}
    if not dated:
        return
    weekly = {WEEKDAYS[date.fromisoformat(day).weekday()]: number for day, number in dated.items()}
    story.steps.append(Edit("minutes", "week", values=weekly if len(dated) == len(minutes) else {}))
    story.tell("minutes", days=", ".join(dated))


def _something_left(story: NextWeekDraft) -> None:
    """A week has something to play: where all has retired, the checks come at once.

    Raises:
        WeekError: Nothing is left but what was parked by choice.
    """
    week = story.week
    gone = {step.item for step in story.steps if step.do == "remove" and step.table == "technique"}
    added = any(step.do == "add" and step.table == "technique" for step in story.steps)
    left = [place for place in range(len(week.technique)) if place not in gone]
    if week.pieces or week.warmups or story.in_work or added or left:
        return
    boxes = {box.id: box for box in (*week.boxes, *week.retired)}
    for box in [boxes[name] for name in sorted(story.moved["retired"])] or list(week.retired):
        add_check(story, box)
    if not any(step.do == "add" and step.table == "technique" for step in story.steps):
        raise WeekError(
            "Nothing would be left to play in the new week.",
            where=week.path.name,
            hint="Bring a box back (--change ID=resume), or add a piece first.",
        )
    story.tell("nothing_else")
