"""The `[plan]` table of a week file: every rule of the plan that a week may change, with its default."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from excerpts.weekfile.item_values import Table
from excerpts.weekfile.text_kinds import Id, one_or_more

Section = Literal["warm-up", "technique", "passages", "repertoire"]
SECTIONS: Final[tuple[Section, ...]] = ("warm-up", "technique", "passages", "repertoire")
"""The sections of a session, in the order they are played."""

Slip = Literal["one", "all", "none"]
"""What a slip costs in a count of clean runs: one of them, all of them, or none."""

USUAL_TURN: Final = 4
"""Minutes of a turn when the file says no more than `turns = true`."""


def _turns(value: Any) -> Any:
    return USUAL_TURN if value is True else 0 if value is False else value


def _whole(value: Any) -> Any:
    return str(value) if type(value) is int else value


def _each_once(order: tuple[Section, ...]) -> tuple[Section, ...]:
    if sorted(order) != sorted(SECTIONS):
        raise ValueError(f"The order names each of the four once: {', '.join(SECTIONS)}.")
    return order


def _no_piece_twice(programme: tuple[str, ...]) -> tuple[str, ...]:
    if len(set(programme)) != len(programme):
        raise ValueError("The programme names a piece twice.")
    return programme


class Shares(Table):
    """Parts of the playing time of the four sections; only their proportions count."""

    warm_up: Annotated[int, Field(strict=True, ge=0, le=100, alias="warm-up")]
    technique: Annotated[int, Field(strict=True, ge=0, le=100)]
    passages: Annotated[int, Field(strict=True, ge=0, le=100)]
    repertoire: Annotated[int, Field(strict=True, ge=0, le=100)]

    @property
    def by_section(self) -> dict[Section, int]:
        """The parts by section."""
        parts = (self.warm_up, self.technique, self.passages, self.repertoire)
        return dict(zip(SECTIONS, parts, strict=True))

    @model_validator(mode="after")
    def _something(self) -> Self:
        if not any(self.by_section.values()):
            raise ValueError("All four shares are 0. Give one of them a number.")
        return self


class PlanSettings(Table):
    """How a week is planned. All defaults are common practice without a source.

    Attributes:
        order: The four sections in the order they are played.
        shares: Parts of the playing time of each section; by level when left out.
        in_depth: Most boxes in depth a day; by the day's minutes when left out.
        again: Yesterday's box comes back for two minutes.
        tuning: Minutes of tuning at the start; 0 for none.
        last_tune: Minutes of a last tune for pleasure; 0 for none.
        break_after: Minutes of playing after which a break comes at the latest.
        break_minutes: Length of a break; 0 for none.
        turns: Minutes of a turn when the boxes of a day take short turns; 0 for one block each.
        clean: Clean runs in a row for every box that says no number itself; by age and level when left out.
        slip: What a slip costs in that count.
        steps: Tempo steps of a box from its start to its goal, at most; by the width of the steps when left out.
        double_values: Variants are printed in values twice as long, for readers who do not know the short ones.
        cold_days: Days before a performance with a run-through first thing; 0 for none.
        programme: Ids of the performance pieces in the order of the programme; as in the file when left out.
        memory: Starts from drawn rehearsal marks on those days.
        light: The last day before a performance is a light one.
        seed: What the draws start from; by player and week when left out.
        counts: Say how often instead of how long; up to the age of eight when left out.
    """

    order: Annotated[tuple[Section, ...], one_or_more, AfterValidator(_each_once)] = SECTIONS
    shares: Shares | None = None
    in_depth: Annotated[int, Field(strict=True, ge=1, le=6)] | None = None
    again: Annotated[bool, Field(strict=True)] = True
    tuning: Annotated[int, Field(strict=True, ge=0, le=10)] = 1
    last_tune: Annotated[int, Field(strict=True, ge=0, le=20)] = 2
    break_after: Annotated[int, Field(strict=True, ge=10, le=60)] = 30
    break_minutes: Annotated[int, Field(strict=True, ge=0, le=30)] = 5
    turns: Annotated[int, BeforeValidator(_turns), Field(strict=True, ge=0, le=15)] = 0
    clean: Annotated[int, Field(strict=True, ge=1, le=50)] | None = None
    slip: Slip = "one"
    steps: Annotated[int, Field(strict=True, ge=1, le=6)] | None = None
    double_values: Annotated[bool, Field(strict=True)] = False
    cold_days: Annotated[int, Field(strict=True, ge=0, le=14)] = 7
    programme: Annotated[tuple[Id, ...], one_or_more, AfterValidator(_no_piece_twice)] = ()
    memory: Annotated[bool, Field(strict=True)] = True
    light: Annotated[bool, Field(strict=True)] = True
    seed: Annotated[str, BeforeValidator(_whole), Field(min_length=1, max_length=60)] | None = None
    counts: Annotated[bool, Field(strict=True)] | None = None

    @model_validator(mode="after")
    def _can_be_kept(self) -> Self:
        if 2 * self.break_minutes > self.break_after:
            raise ValueError("A break is at most half as long as the playing before it.")
        return self
