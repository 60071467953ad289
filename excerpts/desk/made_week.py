"""The next week as it would be, and what is wrong with the choices that it is made of, by the field of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from excerpts.desk.lesson_parts import fragment
from excerpts.desk.lesson_week import Lesson
from excerpts.desk.next_choices import ReadChoices, TypedChoices, read_choices
from excerpts.desk.proposal_lines import proposals
from excerpts.errors import InputError
from excerpts.log import LogRow, NextWeek, next_week
from excerpts.log.choices import ChoiceError
from excerpts.log.edits import Told
from excerpts.log.following_week import NextWeekFaultsError
from excerpts.weekfile.faults import Fault
from excerpts.weekfile.tempo_text import number_text

_NEW: Final[Mapping[str, str]] = {
    "piece": "piece",
    "why": "why",
    "note": "why",
    "target": "goal",
    "goal": "goal",
}
"""The fields of a new box by the keys of its table; whatever else is wrong with it is wrong with its bars."""

_OF_WEEK: Final = ("start", "until", "focus", "notes")


@dataclass
class MadeWeek:
    """The next week as it would be, or why there is none.

    Attributes:
        lesson: The lesson.
        typed: What was chosen, as it was typed.
        faults: What is wrong, by its field ("new 0 goal", "way run", "start run", "until").
        error: What is wrong and stands at no field; empty for nothing.
        week: The week; None where anything is wrong.
        told: The lines that tell it, as far as there are any.
    """

    lesson: Lesson
    typed: TypedChoices
    faults: dict[str, str] = field(default_factory=dict)
    error: str = ""
    week: NextWeek | None = None
    told: Sequence[Told] = ()

    @classmethod
    def of(cls, now: Lesson, rows: tuple[LogRow, ...], typed: TypedChoices) -> MadeWeek:
        """The week that follows from rows and choices. A choice that does not fit is told, and the rest goes on."""
        read = read_choices(typed, now.week)
        made = cls(now, typed, dict(read.faults))
        while True:
            try:
                week = _next(now, rows, read)
            except ChoiceError as error:
                made.faults.setdefault(error.choice, made._short(str(error)))
                read = _without(read, error.choice)
                continue
            except NextWeekFaultsError as error:
                made._find(error, read)
            except InputError as error:
                made.error = made._short(str(error))
            else:
                made.told = week.carried.told
                made.week = None if made.faults else week
            return made

    def _find(self, error: NextWeekFaultsError, read: ReadChoices) -> None:
        """Tell the faults of the new week at the fields that they come from."""
        self.told = error.carried.told
        others: list[str] = []
        for fault, table, item in error.faults:
            name = _field(fault, table, item, error.carried.new, read.places)
            if name:
                self.faults.setdefault(name, self._short(fault.message))
            else:
                others.append(str(fault))
        self.error = self._short("\n".join(others))

    def _short(self, text: str) -> str:
        """A message with files named from the studio's folder."""
        return text.replace(f"{self.lesson.state.root}/", "")

    def html(self) -> str:
        """The proposals as they stand on the page, in the teacher's words."""
        week, words = self.lesson.week, self.lesson.state.words
        return fragment(
            words,
            "lesson_next.html",
            proposals=proposals(self.told, week, words),
            chosen=self.typed,
            error=self.error,
            faults=self.faults,
            starts={box.id: number_text(box.start.number) for box in week.boxes if box.start},
        )


def _next(now: Lesson, rows: tuple[LogRow, ...], read: ReadChoices) -> NextWeek:
    return next_week(
        now.week,
        rows,
        start=read.start,
        until=read.until,
        choices=read.choices,
        scores=now.state.scores,
        words=now.state.words,
    )


def _without(read: ReadChoices, choice: str) -> ReadChoices:
    """The choices without one that does not fit."""
    kind, _, box = choice.partition(" ")
    if kind == "way":
        ways = {name: way for name, way in read.choices.ways.items() if name != box}
        return replace(read, choices=replace(read.choices, ways=ways))
    return replace(read, start=None, until=None)


def _field(fault: Fault, table: str, item: str, new: Sequence[str], places: Sequence[int]) -> str:
    """The field of the page that a fault of the new week comes from; empty for none."""
    key = str((*fault.path, "")[2 if item else 1]) if len(fault.path) > 1 else ""
    if table == "box" and item in new:
        return f"new {places[new.index(item)]} {_NEW.get(key, 'bars')}"
    if table == "box" and item:
        return f"{'start' if key in ('start', 'target') else 'way'} {item}"
    if table == "week":
        return key if key in _OF_WEEK else "" if key else "until"
    return ""
