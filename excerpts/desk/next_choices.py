"""What a teacher decides about the next week, as the lesson's page sends it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from excerpts.desk.typed_record import Short, as_sent
from excerpts.excerpt import Tempo
from excerpts.log.choices import Choices, NewBox, read_start
from excerpts.log.offers import Way
from excerpts.week import Week

_Few = Field(max_length=200)
Prose = Annotated[str, StringConstraints(strip_whitespace=True)]
"""A text whose length the check of the new week judges, in its own words; a request as a whole is bounded."""


class TypedBox(BaseModel):
    """A new box as it was typed, all in one line."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    piece: Short
    bars: Prose
    why: Prose = ""
    goal: Prose = ""


class TypedChoices(BaseModel):
    """What was chosen; all of it may be left out."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    start: date | None = None
    until: date | None = None
    focus: Prose | None = None
    ways: Annotated[dict[Short, Way | Literal["keep"]], _Few] = {}
    starts: Annotated[dict[Short, Short], _Few] = {}
    kept: Annotated[frozenset[Short], _Few] = frozenset()
    taken: Annotated[frozenset[Short], _Few] = frozenset()
    notes: Annotated[tuple[Prose, ...], _Few] = ()
    boxes: Annotated[tuple[TypedBox, ...], Field(max_length=20)] = ()


@dataclass(frozen=True, slots=True)
class ReadChoices:
    """What was read.

    Attributes:
        choices: The choices.
        start: First day of the new week; None for the day of the next lesson.
        until: Its last day; None for as long as before.
        faults: What cannot be read, by its field ("start run", "new 0 bars").
        places: The lines of the page in which its new boxes stand, from 0.
    """

    choices: Choices
    start: date | None
    until: date | None
    faults: dict[str, str]
    places: tuple[int, ...]


def typed_choices(said: Any) -> TypedChoices:
    """The choices as the page sent them."""
    return as_sent(TypedChoices, said, "choices")


def read_choices(typed: TypedChoices, week: Week) -> ReadChoices:
    """What was chosen for the week after `week`."""
    faults: dict[str, str] = {}
    starts: dict[str, Tempo] = {}
    boxes = {box.id: box for box in week.boxes}
    for name, text in typed.starts.items():
        if text and name in boxes:
            try:
                starts[name] = read_start(text, boxes[name])
            except ValueError as error:
                faults[f"start {name}"] = str(error)
    new: list[NewBox] = []
    places: list[int] = []
    for place, box in enumerate(typed.boxes):
        if box.bars:
            new.append(NewBox.typed(box.piece, box.bars, box.why, box.goal))
            places.append(place)
        elif box.why or box.goal:
            faults[f"new {place} bars"] = "Which bars? 12-16, or 12:3-16:1 from beat to beat."
    notes = tuple(note for note in typed.notes if note)
    ways = {name: way for name, way in typed.ways.items() if way != "keep"}
    starts = {name: tempo for name, tempo in starts.items() if name not in typed.ways}
    kept = typed.kept | {f"box {name}" for name, way in typed.ways.items() if way == "keep"}
    choices = Choices(typed.focus, ways, starts, kept, typed.taken, notes, tuple(new))
    return ReadChoices(choices, typed.start, typed.until, faults, tuple(places))
