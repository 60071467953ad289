"""What a teacher decides about the next week, beside what follows from the log."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, get_args

from excerpts.errors import WeekError
from excerpts.excerpt import Tempo
from excerpts.log.offers import Way
from excerpts.system.studio_files import slug
from excerpts.weekfile.edit_text import Value
from excerpts.weekfile.item_values import FaultName, fault_name
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.tempo_text import parse_number, parse_tempo

_LONGEST_ID: Final = 36
_FAULTS: Final = get_args(FaultName)
_NUMBER: Final = re.compile(r"[\d.,]+")


def read_start(text: str, box: BoxItem) -> Tempo:
    """The tempo at which a box is to start; a number alone is in the beat of its target.

    Raises:
        ValueError: It is no tempo, or a number alone for a box without a beat.
    """
    if "=" in text:
        return parse_tempo(text)
    mark = box.target or box.start
    if mark is None:
        raise ValueError(f'The box has no target; give the beat as well: "crotchet = {text}".')
    return Tempo(parse_number(text), mark.unit)


class ChoiceError(WeekError):
    """A choice that does not fit.

    Attributes:
        choice: The choice: "way run" (what is done with the box "run"), "start run", "start", "until".
    """

    def __init__(self, what: str, *, choice: str, where: str = "", hint: str = "") -> None:
        self.choice = choice
        super().__init__(what, where=where, hint=hint)


@dataclass(frozen=True, slots=True)
class NewBox:
    """A box that was chosen in the lesson.

    Attributes:
        piece: Id of its piece.
        bars: Its bars, or its place in a printed part.
        why: What goes wrong there.
        note: The teacher's word about it.
        target: The tempo to reach, as a week file has it; empty for none.
        goal: The goal in words; empty for none.
    """

    piece: str
    bars: str
    why: tuple[str, ...] = ()
    note: str = ""
    target: str = ""
    goal: str = ""

    @classmethod
    def typed(cls, piece: str, bars: str, why: str = "", goal: str = "") -> NewBox:
        """A box as a teacher types it: names of faults are why it is boxed, other words a note.

        Args:
            piece: Id of its piece.
            bars: Its bars.
            why: Faults and words, apart by commas or semicolons: "shift, thumb late".
            goal: A tempo ("72", "crotchet = 72"), or the goal in words.
        """
        parts = [part.strip() for part in re.split(r"[,;]", why)]
        named = [fault_name(part) for part in parts]
        faults = tuple(dict.fromkeys(name for name in named if name in _FAULTS))
        words = [part for part, name in zip(parts, named, strict=True) if part and name not in _FAULTS]
        tempo = "=" in goal or bool(_NUMBER.fullmatch(goal))
        return cls(piece, bars, faults, ", ".join(words), **{"target" if tempo else "goal": goal})

    def name(self, taken: set[str]) -> str:
        """An id that is free."""
        first = slug(f"{self.piece} {self.bars}")[:_LONGEST_ID].strip("-") or "box"
        names = [first, *(f"{first}-{n}" for n in range(2, len(taken) + 3))]
        return next(name for name in names if name not in taken)

    def table(self, name: str, place: str) -> dict[str, Value | None]:
        """The keys and values of its table.

        Args:
            name: Its id.
            place: Its bars in words, for a piece without a score; empty for one that has a score.
        """
        table: dict[str, Value | None] = {"id": name, "piece": self.piece}
        table["place" if place else "bars"] = place or self.bars
        said = {"why": self.why, "note": self.note, "target": self.target, "goal": self.goal}
        table |= {key: value for key, value in said.items() if value}
        return table


@dataclass(frozen=True, slots=True)
class Choices:
    """What a teacher decides.

    Attributes:
        focus: The new focus, empty for none; the old one stays where it is None.
        ways: What is done with single boxes, by their ids.
        starts: The tempos at which single boxes start, by their ids.
        kept: What stays as it is although something is proposed: "box run", "piece song", "notes", "private".
        taken: What is only proposed, and is done: "rest", fewer minutes after two weeks without practice.
        notes: New notes.
        boxes: New boxes.
    """

    focus: str | None = None
    ways: Mapping[str, Way] = field(default_factory=dict)
    starts: Mapping[str, Tempo] = field(default_factory=dict)
    kept: frozenset[str] = frozenset()
    taken: frozenset[str] = frozenset()
    notes: tuple[str, ...] = ()
    boxes: tuple[NewBox, ...] = ()
