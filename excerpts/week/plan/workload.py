"""What minutes hold: the steps of a box in depth, how often the youngest play an item, and where minutes are too few.

All numbers are common practice, no source: defaults. For the youngest a plan says how often instead of how long,
because no child of six watches a clock: a box as often as its clean runs, a piece as often as its minutes hold it with
a breath in between, anything else once a minute, and nothing more than five times.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final, Literal

from excerpts.variants import parse_variant
from excerpts.week.advice import box_variants
from excerpts.week.model import BoxMusic, WeekMusic
from excerpts.week.plan.minutes import apportion
from excerpts.week.plan.model import Plan, PlanDay, PlanItem
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.model import WeekFile

StepName = Literal["slow", "pieces", "rhythms", "written", "context"]

_SHARES: Final[Mapping[StepName, int]] = {
    "slow": 25,
    "pieces": 20,
    "rhythms": 25,
    "written": 20,
    "context": 10,
}
"""Per cent of the box's minutes, in the order they are played."""

_LEAST_NEEDED: Final[tuple[StepName, ...]] = ("pieces", "written", "rhythms", "context")
"""What is left out first when there are fewer minutes than steps; slow always stays."""


@dataclass(frozen=True, slots=True)
class RecipeStep:
    """One step of the recipe and its whole minutes."""

    name: StepName
    minutes: int


def recipe(minutes: int, *, rhythms: bool = True, context: bool = True) -> tuple[RecipeStep, ...]:
    """The steps of a box for one day; their minutes add up to `minutes`, each has at least one.

    Args:
        minutes: Minutes for the box on that day.
        rhythms: Whether it has variants to play.
        context: Whether there is music around it to play it in.
    """
    names = [name for name in _SHARES if (name != "rhythms" or rhythms) and (name != "context" or context)]
    for name in _LEAST_NEEDED:
        if len(names) > minutes and name in names:
            names.remove(name)
    if minutes < 1:
        return ()
    spare = apportion(minutes - len(names), [_SHARES[name] for name in names])
    return tuple(RecipeStep(name, 1 + more) for name, more in zip(names, spare, strict=True))


_MOST_TIMES: Final = 5
_USUAL_PIECE: Final = Fraction(60)
"""Seconds of a child's piece that is not in a score file."""

_CHILDS_BREATH: Final = Fraction(20)
"""Seconds between two times: bow down, one word about it, bow up."""


def with_times(day: PlanDay, week: WeekFile, music: WeekMusic) -> PlanDay:
    """The day with the number of times of each item."""
    return replace(day, items=tuple(replace(item, times=_times(item, week, music)) for item in day.items))


def _times(item: PlanItem, week: WeekFile, music: WeekMusic) -> int | None:
    if item.kind in {"tuning", "memory"} or item.text is not None:
        return None  # words say themselves how often
    if item.kind is not None:
        return 1
    if item.section == "passages":
        return week.clean_runs(week.box(item.box or "")) if item.in_depth else 1
    once = Fraction(60)
    if item.section == "repertoire":
        once = music.seconds.get(item.piece or "", _USUAL_PIECE) + _CHILDS_BREATH
    return min(max(int(item.minutes * 60 / once), 1), _MOST_TIMES)


_BREATH: Final = Fraction(3)
"""Seconds between two runs."""

_UNKNOWN: Final = Fraction(60)
"""Quarter notes a minute where neither box nor score gives a tempo."""

_VARIANT_RUNS: Final = 2
_FEW_RUNS: Final = 3
_MOST_PARTS: Final = 6

WayName = Literal["split", "variants", "runs", "all", "minutes", "marks"]


@dataclass(frozen=True, slots=True)
class Way:
    """A way out: into how many parts, how many variants fewer, how many runs, or how many minutes."""

    name: WayName
    number: int


@dataclass(frozen=True, slots=True)
class Tight:
    """A box or piece that asks for more than it has.

    Attributes:
        kind: Which of the two.
        id: Its id.
        needs: Minutes that it asks for: a box in the week, a piece to be played once.
        has: Minutes that it has: a box in the week, a piece on its longest day.
        ways: Ways out; each is enough by itself.
    """

    kind: Literal["box", "piece"]
    id: str
    needs: int
    has: int
    ways: tuple[Way, ...]


def tight_places(plan: Plan, week: WeekFile, music: WeekMusic) -> tuple[Tight, ...]:
    """The boxes and pieces that do not fit their minutes, as far as the music is known."""
    return (*_boxes(plan, week, music), *_pieces(plan, week, music))


def box_work(
    box: BoxItem, week: WeekFile, music: BoxMusic, *, runs: int, variants: int, parts: int = 1
) -> Fraction:
    """Minutes of work that a box asks for.

    Args:
        box: The box.
        week: Its week.
        music: Its music.
        runs: Clean runs in a row on each tempo step.
        variants: Number of variants.
        parts: Into how many parts it is split, of which one is worked on.
    """
    length = music.quarters / parts
    once = [length * 60 / tempo + _BREATH for tempo in _tempos(box, week, music)]
    slower = once[: (len(once) + 1) // 2]
    return Fraction(
        runs * sum(once, Fraction(0)) + variants * min(runs, _VARIANT_RUNS) * sum(slower, Fraction(0)), 60
    )


def _tempos(box: BoxItem, week: WeekFile, music: BoxMusic) -> list[Fraction]:
    """The tempo steps of a box in quarter notes a minute."""
    if box.target is None:
        return [music.tempo or _UNKNOWN]
    return [tempo.quarters_per_minute for tempo in week.tempos(box)]


def _boxes(plan: Plan, week: WeekFile, music: WeekMusic) -> Iterator[Tight]:
    for box in week.boxes:
        items = [item for day in plan.days for item in day.section("passages") if item.box == box.id]
        has = sum(item.minutes for item in items)
        if box.id not in music.boxes or not has:
            continue
        known, runs = music.boxes[box.id], week.clean_runs(box)
        names = box_variants(box, week.player.level)
        variants = sum(
            any(not step.variant.info.same_notes for step in parse_variant(name)) for name in names
        )
        needs = box_work(box, week, known, runs=runs, variants=variants)
        if needs > has:
            ways = tuple(_ways(box, week, known, variants, has))
            yield Tight("box", box.id, -(-needs // 1), has, ways)


def _ways(box: BoxItem, week: WeekFile, music: BoxMusic, variants: int, has: int) -> Iterator[Way]:
    runs = week.clean_runs(box)
    parts = range(2, min(music.bars, _MOST_PARTS) + 1)

    def fits(runs: int, variants: int, parts: int = 1) -> bool:
        return box_work(box, week, music, runs=runs, variants=variants, parts=parts) <= has

    ways = [
        *[Way("split", n) for n in parts if fits(runs, variants, n)][:1],
        *[Way("variants", n) for n in range(1, variants + 1) if fits(runs, variants - n)][:1],
        *([Way("runs", _FEW_RUNS)] if runs > _FEW_RUNS and fits(_FEW_RUNS, variants) else []),
    ]
    if not ways:
        ways = [Way("all", n) for n in parts if fits(min(runs, _FEW_RUNS), 0, n)][:1]
    needs = box_work(box, week, music, runs=runs, variants=variants)
    yield from ways or [Way("minutes", -(-needs // 1))]


def _pieces(plan: Plan, week: WeekFile, music: WeekMusic) -> Iterator[Tight]:
    for piece in week.pieces:
        played = [
            item.minutes
            for day in plan.days
            for item in day.section("repertoire")
            if item.piece == piece.id and item.kind != "opening"
        ]
        seconds = music.seconds.get(piece.id)
        if not seconds or not played or seconds <= 60 * max(played):
            continue
        needs = -(-seconds // 60)
        ways = [Way("marks", 0)] if music.marks.get(piece.id) else []
        yield Tight("piece", piece.id, needs, max(played), (*ways, Way("minutes", needs)))
