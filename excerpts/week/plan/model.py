"""The plan: what is played on which day, for how many minutes, and which rule had to yield.

Where two rules cannot both be kept, the later in their order of priority yields. Nothing yields in silence: the plan
names every rule that did (`Relaxed`), and the words file says it in a sentence. All rules are common practice of string
teachers without a source, and defaults: the `[plan]` table of a week changes them.

Three rules never yield. A day's items and breaks add up to its minutes. A session goes warm-up, technique, passages,
repertoire (or as the week orders it), with tuning before everything and a last tune after it. No stretch of playing is
longer than the time after which a break comes.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields
from datetime import date
from typing import Any, Final, Literal, get_args

from excerpts.weekfile.settings import Section

RuleName = Literal[
    "light-last-day",
    "box-in-depth",
    "run-through-short",
    "item-minutes-shortened",
    "item-minutes-stretched",
    "box-without-day",
    "piece-after-box",
    "piece-of-box",
    "review-largest",
    "every-section",
    "technique-in-turns",
    "daily-piece",
    "tuning",
    "last-tune",
    "piece-without-day",
    "warm-up-without-day",
    "technique-without-day",
]
"""The rules that may have to yield, the most important first; each is named by what is told when it does.

- light-last-day: a day has the minutes that the week file says. The last day before a performance has a warm-up, the
  openings of the programme and a last tune, the day itself a warm-up only; the other minutes stay empty.
- box-in-depth: every practice day, the shortest too, has a box in depth.
- run-through-short: a run-through has time for every piece of the programme, once.
- item-minutes-shortened, item-minutes-stretched: an item has the minutes that the teacher gave it, and no more than it
  asks for: a box those of its week's work, a piece or study those of five times through, anything ten; a
  piece of unknown length those between two breaks.
- box-without-day: every box is worked on in depth on one day at least, and the boxes go round evenly.
- piece-after-box: a piece is not played before its box.
- piece-of-box: the piece of a box in depth is played on the same day.
- review-largest: for a player in the first year the pieces in review are the largest share of every day.
- every-section: every section has its share every day. Under 20 minutes technique drops out before the day
  splits into scraps, under 30 it takes the few most useful bars of a study; under 8 there are one box and its piece.
- technique-in-turns: the days on which technique has its turn, where short days of the week have none.
- daily-piece: a piece of weight 7 or more comes every day; but from the level upper on a piece that is played has five
  minutes, and what has no room for that waits for another day.
- tuning, last-tune: both have their minutes in the day.
- piece-without-day, warm-up-without-day, technique-without-day: everything has a day; pieces take turns by
  weight, and those of equal weight that nothing calls out of turn differ by one day at most.
"""

RULES: Final[tuple[RuleName, ...]] = get_args(RuleName)


FORMAT = 1

Kind = Literal["tuning", "run-through", "memory", "opening", "last-tune"]
"""Items that are not of the week file: tuning, a piece run through cold, starts from memory, the opening of a
piece on the light day, a last tune for pleasure."""

RunKind = Literal["drawn", "programme", "light", "day"]


@dataclass(frozen=True, slots=True)
class PlanItem:
    """One thing to play on one day.

    Attributes:
        section: Where in the session it comes.
        minutes: For how long, one at least.
        box: Id of the box, for passages.
        piece: Id of the piece: of the repertoire, of the box or of the study.
        text: What to do, for items in words.
        warmup: Its place in the week file's warm-ups, from 0.
        technique: Its place in the week file's technique, from 0.
        bars: The few bars of a study that a short day takes, where they are not all of them.
        kind: What it is, for an item that is not in the week file or is a piece of a run-through; else None.
        times: How often it is played, for the young, who count instead of watching the clock.
        turns: Number of short turns that its minutes are spread over; 1 for a block.
        in_depth: The box is worked on step by step that day, not only played.
    """

    section: Section
    minutes: int
    box: str | None = None
    piece: str | None = None
    text: str | None = None
    warmup: int | None = None
    technique: int | None = None
    bars: str | None = None
    kind: Kind | None = None
    times: int | None = None
    turns: int = 1
    in_depth: bool = False


@dataclass(frozen=True, slots=True)
class Start:
    """A place to start from by heart: a rehearsal mark of a piece."""

    piece: str
    mark: str


@dataclass(frozen=True, slots=True)
class RunThrough:
    """The run-through of a day before a performance.

    Attributes:
        kind: In drawn order, in the order of the programme, only the openings on the light last day, or nothing
            of it on the day itself.
        pieces: Ids of the pieces in the order they are played.
        performance: Day of the performance.
        starts: Places to start from by heart, drawn.
        mock: It is played as the performance will be: dressed, with a bow, to someone, without stopping.
    """

    kind: RunKind
    pieces: tuple[str, ...]
    performance: date
    starts: tuple[Start, ...] = ()
    mock: bool = False

    @property
    def light(self) -> bool:
        """Whether its day is a light one: the last before the performance, and the day itself."""
        return self.kind in {"light", "day"}


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of a day: an item, or one turn of a box.

    Attributes:
        item: What is played.
        minutes: For how long.
        rests: Minutes of it after which a break comes; all its minutes for a break at its end.
    """

    item: PlanItem
    minutes: int
    rests: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class PlanDay:
    """One day of the week, a day off too.

    Attributes:
        date: The day.
        minutes: All minutes of the day, breaks in them; 0 for a day off.
        break_minutes: Minutes of those that are breaks.
        items: What is played, in order.
        breaks_after: Minutes of playing after which each break comes; all breaks have the same length.
        turns: Box and minutes of every short turn in order, where boxes take turns.
        run_through: The run-through that it begins with, before a performance.
    """

    date: date
    minutes: int
    break_minutes: int = 0
    items: tuple[PlanItem, ...] = ()
    breaks_after: tuple[int, ...] = ()
    turns: tuple[tuple[str, int], ...] = ()
    run_through: RunThrough | None = None

    def section(self, section: Section) -> tuple[PlanItem, ...]:
        """The day's items of one section."""
        return tuple(item for item in self.items if item.section == section)

    @property
    def in_depth(self) -> tuple[PlanItem, ...]:
        """The boxes in depth of the day."""
        return tuple(item for item in self.items if item.in_depth)

    @property
    def one_break(self) -> int:
        """Minutes of each break."""
        return self.break_minutes // max(len(self.breaks_after), 1)

    def timeline(self) -> tuple[Stretch, ...]:
        """What is played in order, every turn of a box by itself, with the breaks where they come."""
        deep = self.in_depth if self.turns else ()
        boxes = {item.box: item for item in deep}
        played = [(item, item.minutes) for item in self.items if item not in deep]
        place = self.items.index(deep[0]) if deep else 0
        played[place:place] = [(boxes[box], minutes) for box, minutes in self.turns]
        stretches: list[Stretch] = []
        start = 0
        for item, minutes in played:
            end = start + minutes
            rests = tuple(after - start for after in self.breaks_after if start < after <= end)
            stretches.append(Stretch(item, minutes, rests))
            start = end
        return tuple(stretches)


@dataclass(frozen=True, slots=True)
class Relaxed:
    """A rule that could not be kept.

    Attributes:
        rule: Name of the rule, and of its text in the words file (`plan.relaxed.<rule>`).
        items: What it concerns: ids of boxes or pieces, places (from 1) of warm-ups or technique, or dates.
    """

    rule: RuleName
    items: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """The plan of a week.

    Attributes:
        days: Every day from the first to the last.
        relaxed: The rules that had to yield, the most important first.
        seed: What the draws started from, where there are any.
        counts: The player counts instead of watching the clock.
    """

    days: tuple[PlanDay, ...]
    relaxed: tuple[Relaxed, ...] = ()
    seed: str | None = None
    counts: bool = False

    def days_of(self, *, box: str | None = None, piece: str | None = None) -> tuple[date, ...]:
        """The days on which a box is worked on in depth, or a piece is played as repertoire."""
        return tuple(
            day.date
            for day in self.days
            if any(
                (box is not None and item.box == box and item.in_depth)
                or (piece is not None and item.piece == piece and item.section == "repertoire")
                for item in day.items
            )
        )

    def to_json(self) -> dict[str, Any]:
        """The plan as `plan --json` gives it."""
        given: dict[str, Any] = {
            "format": FORMAT,
            "days": [_day_json(day) for day in self.days],
            "relaxed": [relaxed.rule for relaxed in self.relaxed],
        }
        return given | ({"seed": self.seed} if self.seed is not None else {})


def _day_json(day: PlanDay) -> dict[str, Any]:
    """A day; breaks, turns and a run-through that it does not have are left out."""
    given: dict[str, Any] = {
        "date": day.date.isoformat(),
        "minutes": day.minutes,
        "break_minutes": day.break_minutes,
        "items": [_item_json(item) for item in day.items],
    }
    if day.breaks_after:
        given["breaks"] = [{"after": after, "minutes": day.one_break} for after in day.breaks_after]
    if day.turns:
        given["turns"] = [{"box": box, "minutes": minutes} for box, minutes in day.turns]
    if day.run_through:
        given["run_through"] = asdict(day.run_through) | {
            "performance": day.run_through.performance.isoformat()
        }
    return given


def _item_json(item: PlanItem) -> dict[str, Any]:
    """An item; what it does not have is left out."""
    values = ((field, getattr(item, field.name)) for field in fields(item))
    return {field.name: value for field, value in values if value != field.default}
