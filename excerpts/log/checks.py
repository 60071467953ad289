"""Boxes that are not in work: checks of retired ones after 1, 2 and 4 weeks, and parked ones that come back."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from excerpts.log.choices import ChoiceError
from excerpts.log.edits import Edit
from excerpts.log.next_week_draft import MOST_BOXES, NextWeekDraft, below, standing_of
from excerpts.log.offers import Way
from excerpts.log.standing import CHECK_RUNS, check_passed
from excerpts.week.bars_in_words import box_name
from excerpts.weekfile.edit_text import Value
from excerpts.weekfile.items import CHECK_WEEKS, BoxItem, RetiredBox
from excerpts.weekfile.tempo_text import tempo_text

CHECK_MINUTES = 2


def carry_retired(story: NextWeekDraft, end: date) -> None:
    """Take every retired box through its check, and print the checks of the new week.

    Args:
        story: The way to the next week; steps and lines are added to it.
        end: First day of the week after the new one.
    """
    for place, item in enumerate(story.week.technique):
        if item.check is not None and place < story.own_technique:
            story.steps.append(Edit("remove", "technique", place))
    for box in story.week.retired:
        if story.stays(f"box {box.id}"):
            story.tell("kept_retired", box=story.box(box))
            continue
        wanted = story.week.clean_runs(box)
        passed = check_passed(box, story.rows, wanted=wanted, week=story.week.week.start)
        if passed is False:
            _come_back(story, box)
            continue
        checks = box.checks + (1 if passed and _counts(story, box) else 0)
        checked = box.model_copy(update={"checks": checks})
        if checks != box.checks:
            story.steps.append(Edit("set", "retired", box.id, values={"checks": checks}))
            message = "check_last" if checked.due is None else "check_passed"
            story.tell(message, box=story.box(box), n=checks, of=len(CHECK_WEEKS), due=checked.due)
        if checked.due is not None and checked.due < end:
            add_check(story, checked)
            if checks == box.checks and box.due is not None and box.due < story.start:
                story.tell("check_again", box=story.box(box))
            else:
                story.tell("check_due", box=story.box(box), n=checks + 1, of=len(CHECK_WEEKS))


def _counts(story: NextWeekDraft, box: RetiredBox) -> bool:
    """Whether a check that was stood is the one that was due: also one laid before a concert, ahead of its time."""
    if box.due is None:
        return False
    concert = story.concert(box)
    asked = any(item.check == box.id for item in story.week.technique)
    return box.due < story.start or (asked and concert is not None and concert <= box.due)


def add_check(story: NextWeekDraft, box: BoxItem) -> None:
    """Put a check of a retired box among the technique of the new week, in words."""
    words = story.written
    goal = tempo_text(box.target, words) if box.target else box.goal or ""
    runs = min(story.week.clean_runs(box), CHECK_RUNS)
    message = "check_text_goal" if goal else "check_text"
    where = box_name(story.week, box, words) or box.id
    text = words(f"log.{message}", where=where, goal=goal, runs=runs)
    values: dict[str, Value | None] = {"text": text, "minutes": CHECK_MINUTES, "check": box.id}
    story.steps.append(Edit("add", "technique", values=values))


def _come_back(story: NextWeekDraft, box: RetiredBox) -> None:
    """A box that did not stand its check: into work again, or parked where the level has enough in work."""
    now = standing_of(story, box.model_copy(update={"since": story.week.week.start}))
    if box.piece is not None and box.piece not in {piece.id for piece in story.week.pieces}:
        story.tell("back_without_piece", box=story.box(box), piece=box.piece)
        return
    values: dict[str, Value | None] = {"retired": None, "checks": None}
    if box.target is not None and (tempo := now.held or now.tried) is not None:
        values["start"] = story.start_value(box, below(tempo, box.target))
    if len(story.in_work) >= MOST_BOXES[story.week.player.level]:
        story.steps.append(Edit("move", "retired", box.id, to="parked", values=values))
        story.moved["parked"].add(box.id)
        story.tell("back_parked", box=story.box(box), most=MOST_BOXES[story.week.player.level], id=box.id)
        return
    values["since"] = story.start
    story.steps.append(Edit("move", "retired", box.id, to="box", values=values))
    story.moved["box"].add(box.id)
    story.in_work.append(box.id)
    story.tell("back", box=story.box(box))


def carry_parked(story: NextWeekDraft, ways: Mapping[str, Way]) -> None:
    """Bring back the parked boxes that the teacher asks for, and name the others where there is room.

    Raises:
        ChoiceError: A box is asked back that is not parked, or whose piece is not listed.
    """
    pieces = {piece.id for piece in story.week.pieces}
    for box in story.week.parked:
        story.about, way = f"box {box.id}", ways.get(box.id)
        if way is None:
            continue
        if way != "resume":
            raise ChoiceError(
                f'The box "{box.id}" is parked.',
                choice=f"way {box.id}",
                hint=f"It can only come back: {box.id}=resume",
            )
        if box.piece is not None and box.piece not in pieces:
            raise ChoiceError(
                f'The piece "{box.piece}" of the box "{box.id}" is not in the week file.',
                choice=f"way {box.id}",
            )
        story.steps.append(Edit("move", "parked", box.id, to="box", values={"since": story.start}))
        story.moved["box"].add(box.id)
        story.in_work.append(box.id)
        story.tell("resumed", box=story.box(box))


def name_parked(story: NextWeekDraft) -> None:
    """Say which parked boxes could come back, where the level has room."""
    waiting = [box for box in story.week.parked if box.id not in story.in_work]
    room = MOST_BOXES[story.week.player.level] - len(story.in_work)
    for box in waiting[: max(room, 0)]:
        story.about = f"box {box.id}"
        story.tell("room_for_parked", box=story.box(box), id=box.id)
