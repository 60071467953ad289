"""The plan: what is played on which day, for how many minutes.

The rules, all common practice and defaults: a session goes warm-up, technique, passages, repertoire; every
practice day has a box in depth, and the boxes go round the days; the piece of that box is played the same
day, the other pieces take turns; on a short day technique drops out; minutes and breaks add up exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from excerpts.week.shares import Section

FORMAT = 1

RuleName = Literal[
    "item-minutes-shortened",
    "item-minutes-stretched",
    "box-without-day",
    "piece-without-day",
    "warm-up-without-day",
    "technique-without-day",
]


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
        in_depth: The box is worked on step by step that day, not only played.
    """

    section: Section
    minutes: int
    box: str | None = None
    piece: str | None = None
    text: str | None = None
    warmup: int | None = None
    technique: int | None = None
    in_depth: bool = False

    def to_json(self) -> dict[str, Any]:
        """The item as `plan --json` gives it; what it does not have is left out."""
        given: dict[str, Any] = {"section": self.section, "minutes": self.minutes}
        for key in ("box", "piece", "text", "warmup", "technique"):
            if getattr(self, key) is not None:
                given[key] = getattr(self, key)
        return given | ({"in_depth": True} if self.in_depth else {})


@dataclass(frozen=True, slots=True)
class PlanDay:
    """One day of the week, a day off too.

    Attributes:
        date: The day.
        minutes: All minutes of the day, breaks in them; 0 for a day off.
        break_minutes: Minutes of those that are breaks.
        items: What is played, in order.
        breaks_after: Minutes of playing after which each break comes.
    """

    date: date
    minutes: int
    break_minutes: int = 0
    items: tuple[PlanItem, ...] = ()
    breaks_after: tuple[int, ...] = ()

    def section(self, section: Section) -> tuple[PlanItem, ...]:
        """The day's items of one section."""
        return tuple(item for item in self.items if item.section == section)

    @property
    def in_depth(self) -> tuple[PlanItem, ...]:
        """The boxes in depth of the day."""
        return tuple(item for item in self.items if item.in_depth)


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
    """The plan of a week."""

    days: tuple[PlanDay, ...]
    relaxed: tuple[Relaxed, ...] = ()

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
        return {
            "format": FORMAT,
            "days": [
                {
                    "date": day.date.isoformat(),
                    "minutes": day.minutes,
                    "break_minutes": day.break_minutes,
                    "items": [item.to_json() for item in day.items],
                }
                for day in self.days
            ],
            "relaxed": [relaxed.rule for relaxed in self.relaxed],
        }
