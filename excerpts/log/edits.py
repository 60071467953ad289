"""What the way from one week to the next consists of: changes to the week file, and the lines that tell them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from excerpts.weekfile.edit_text import Value, WeekText


@dataclass(frozen=True, slots=True)
class Edit:
    """One change to the week file.

    Attributes:
        do: Set keys of a table, move it, make a copy of it elsewhere, add one, or remove it;
            or take the minutes of single dates out of the week, with those that stand in for them.
        table: Name of the table.
        item: Id of the box or piece; for technique its place, from 0.
        to: Where a table is moved or copied.
        values: Keys that are set; None takes a key out.
        comment: A comment.
        beside: The key that it stands beside.
    """

    do: Literal["set", "move", "copy", "add", "remove", "minutes"]
    table: str
    item: str | int = ""
    to: str = ""
    values: Mapping[str, Value | None] = field(default_factory=dict)
    comment: str = ""
    beside: str = ""


@dataclass(frozen=True, slots=True)
class Told:
    """A line that tells a change, and why it is made.

    Attributes:
        message: Its message under `log.next`; empty for text to copy.
        text: The line.
        about: What it tells of: "box run", "piece song", "notes"; lines that belong together have the same.
        parameters: What was filled in.
    """

    message: str
    text: str
    about: str = ""
    parameters: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Carried:
    """The way from one week to the next.

    Attributes:
        start: First day of the new week.
        until: Its last day, where it is written down.
        steps: The changes to the file.
        told: What was changed and why, a line each.
        new: Ids of the boxes that were chosen in the lesson, in their order.
    """

    start: date
    until: date | None
    steps: tuple[Edit, ...]
    told: tuple[Told, ...]
    new: tuple[str, ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        """The lines as text."""
        return tuple(line.text for line in self.told)


def rewritten(text: str, steps: tuple[Edit, ...]) -> str:
    """The week file with the changes made; comments are kept."""
    week = WeekText(text)
    technique = week.all("technique")
    for step in steps:
        comments = {step.beside: step.comment} if step.beside else {}
        if step.do == "minutes":
            week.drop_dated_minutes(step.values)
            continue
        if step.do == "add":
            week.add(step.table, step.values, comments)
            continue
        if step.table == "technique":
            block = technique[int(step.item)]
        elif step.item:
            block = week.one(step.table, str(step.item))
        else:
            (block,) = week.all(step.table)
        if step.do == "remove":
            week.remove(block)
            continue
        if step.do == "copy":
            block = week.copy(block, step.to)
        elif step.do == "move":
            week.move(block, step.to)
        block.set(step.values, comments)
    return week.text()
