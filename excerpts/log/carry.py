"""From one week to the next: what stays, retires, comes back; what the new file says, and the lines that tell it.

The rules are common practice without a source where no other is named: see `standing` and `offers`.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from excerpts.errors import WeekError
from excerpts.log.box_decisions import carry_boxes
from excerpts.log.carried_items import carry_drills, carry_pieces, carry_scales
from excerpts.log.checks import add_check, carry_parked, carry_retired, name_parked
from excerpts.log.choices import Choices
from excerpts.log.edits import Carried, Edit
from excerpts.log.first_days import ease_in, next_days
from excerpts.log.next_week_draft import MOST_BOXES, NextWeekDraft
from excerpts.log.proposals import propose
from excerpts.log.row import LogRow
from excerpts.week import Week
from excerpts.week.bars_in_words import bars_of
from excerpts.week.plan.run_throughs import began_with
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
    choices: Choices | None = None,
) -> Carried:
    """Work out the week after.

    Args:
        week: The week that is over.
        text: Its file.
        rows: The player's log; it may be empty.
        words: Words of the lines.
        start: First day of the new week; the next lesson where it is left out.
        until: Its last day; as long after as before where it is left out.
        choices: What the teacher decided.

    Raises:
        WeekError: The days are not in order, or a choice does not fit its box.
    """
    choices = choices or Choices()
    first, last = next_days(week.week, start, until)
    story = NextWeekDraft(week, tuple(rows), words, first, **own_tables(text), choices=choices)
    _refuse_unknown(week, choices)
    shown = last or first + timedelta(days=6)
    story.tell("days", first=first, last=shown)
    carry_boxes(story, choices.ways)
    carry_parked(story, choices.ways)
    carry_retired(story, Days(start=first, until=last, minutes={}).next_lesson)
    carry_drills(story)
    carry_pieces(story)
    carry_scales(story)
    name_parked(story)
    propose(story)
    _new_boxes(story)
    _cap(story)
    ease_in(story)
    _week(story, last)
    _something_left(story)
    return Carried(first, last, tuple(story.steps), tuple(story.lines), tuple(story.new))


def own_tables(text: str) -> dict[str, Any]:
    """What the week file has itself, and not from a shared set or from marks in a score."""
    file = WeekText(text)
    boxes, pieces = ({str(block.values().get("id")) for block in file.all(name)} for name in ("box", "piece"))
    return {"own": boxes, "own_pieces": pieces, "own_technique": len(file.all("technique"))}


def _refuse_unknown(week: Week, choices: Choices) -> None:
    known = [box.id for box in (*week.boxes, *week.parked)]
    for box_id in (*choices.ways, *choices.starts):
        if box_id not in known:
            raise WeekError(
                f'There is no box "{box_id}" to change.',
                where=week.path.name,
                hint=f"There are: {', '.join(known)}.",
            )


def _new_boxes(story: NextWeekDraft) -> None:
    """Add the boxes that were chosen in the lesson."""
    week = story.week
    taken = story.taken_ids
    pieces = {piece.id: piece for piece in week.pieces}
    for box in story.choices.boxes:
        name = box.name(taken)
        taken.add(name)
        piece = pieces.get(box.piece)
        scored = piece is not None and piece.score is not None
        where = bars_of(week, box.piece, box.bars, story.words)
        printed = "" if scored else bars_of(week, box.piece, box.bars, story.written)
        story.steps.append(Edit("add", "box", values=box.table(name, printed)))
        story.in_work.append(name)
        story.new.append(name)
        story.about = f"box {name}"
        story.tell("new_box", where=f"{piece.title}, {where}" if piece else where)


def _cap(story: NextWeekDraft) -> None:
    story.about = "cap"
    most = MOST_BOXES[story.week.player.level]
    if not story.in_work:
        story.tell("none_in_work")
    if len(story.in_work) > most:
        story.tell("too_many", n=len(story.in_work), most=most)


def _week(story: NextWeekDraft, last: date | None) -> None:
    """Days, minutes by date, focus and notes of the lesson that is over."""
    days, focus = story.week.week, story.choices.focus
    values = _notes(story)
    began = began_with(story.week, story.start)
    if began or days.began:
        values["began"] = began or None
    story.about = "focus"
    if focus is not None:
        values["focus"] = focus or None
        story.tell("focus_new" if focus else "focus_none", focus=focus)
    elif days.focus:
        story.tell("focus", focus=days.focus)
    if values:
        story.steps.append(Edit("set", "week", values=values))
    move_days(story, last)


def move_days(story: NextWeekDraft, last: date | None) -> None:
    """The new week's own days, and its minutes."""
    values: dict[str, Value | None] = {"start": story.start}
    if last is not None or story.week.week.until is not None:
        values["until"] = last
    story.steps.append(Edit("set", "week", values=values))
    end = (last or story.start + timedelta(days=6)).isoformat()
    _minutes(story, {day: number for day, number in story.light.items() if day <= end})


def _notes(story: NextWeekDraft) -> dict[str, Value | None]:
    """Notes of the old week go with it, unless the teacher keeps them; new ones come last."""
    days, values = story.week.week, dict[str, Value | None]()
    for key, new in (("notes", story.choices.notes), ("private", ())):
        old: tuple[str, ...] = getattr(days, key)
        kept = old if story.stays(key) else ()
        if (*kept, *new) != old:
            values[key] = (*kept, *new) or None
        if old:
            story.tell(f"{key}_kept" if kept else key, n=len(old))
    return values


def _minutes(story: NextWeekDraft, light: dict[str, int]) -> None:
    """Minutes of single dates go with their week; where there are no others, they become those of the weekday."""
    minutes = story.week.week.minutes
    dated = {day: number for day, number in minutes.items() if day[:1].isdecimal()}
    weekly = {WEEKDAYS[date.fromisoformat(day).weekday()]: number for day, number in dated.items()}
    values = (weekly if len(dated) == len(minutes) else {}) | light
    if dated or values:
        story.steps.append(Edit("minutes", "week", values=values))
    if not dated:
        return
    story.about = "minutes"
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
