"""What a plan needs to know of the music: how long pieces and boxes take, and where rehearsal marks stand."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class BoxMusic:
    """The music of a box.

    Attributes:
        quarters: Its length in quarter notes.
        bars: How many bars it has.
        tempo: Tempo of the score there, in quarter notes a minute, where the score says one.
        first: Number of its first bar, where it is a plain number.
    """

    quarters: Fraction
    bars: int
    tempo: Fraction | None = None
    first: int | None = None


@dataclass(frozen=True, slots=True)
class WeekMusic:
    """The music of a week, as far as it is known.

    Attributes:
        seconds: How long each piece takes at the tempo of its score, by its id.
        marks: Rehearsal marks of each piece, by its id.
        boxes: The music of each box, by its id.
        few: The few most useful bars of a study, by its place (from 0) in technique, where it is longer.
    """

    seconds: dict[str, Fraction] = field(default_factory=dict)
    marks: dict[str, tuple[str, ...]] = field(default_factory=dict)
    boxes: dict[str, BoxMusic] = field(default_factory=dict)
    few: dict[int, str] = field(default_factory=dict)
