"""What minutes hold: the steps of a box in depth, how often the youngest play an item, and where minutes are too few.

All numbers are common practice, no source: defaults. For the youngest a plan says how often instead of how long,
because no child of six watches a clock: a box as often as its clean runs, a piece as often as its minutes hold it with
a breath in between, anything else once a minute, and nothing more than five times.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from math import ceil
from typing import Final, Literal

from excerpts.variants import parse_variant
from excerpts.week.advice import box_variants
from excerpts.week.box_tempos import box_tempos, meant_tempos
from excerpts.week.model import BoxMusic, WeekMusic
from excerpts.week.plan.minutes import apportion
from excerpts.week.plan.model import Plan, PlanDay, PlanItem
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.model import WeekFile

StepName = Literal["slow", "pieces", "rhythms", "written", "context"]

_LEAST_NEEDED: Final[tuple[StepName, ...]] = ("pieces", "context", "rhythms", "written")
"""What is left out first when there are fewer minutes than steps; slow always stays."""

_OTHERS_MOST: Final = Fraction(2, 3)
"""Part of the minutes as written that another step has at most."""

_SLOW_RUNS: Final = 2
_PIECES_RUNS: Final = 3
_CONTEXT_RUNS: Final = 2
_VARIANT_RUNS: Final = 2
"""How often a box is gone through slowly, in small pieces, in context, and in each variant."""


def recipe(
    minutes: int,
    box: BoxItem,
    week: WeekFile,
    music: BoxMusic | None = None,
    *,
    days: int = 1,
    variants: int = 1,
    context: bool = True,
) -> dict[StepName, int]:
    """The steps of a box on its first day in depth; their minutes add up to `minutes`, each has at least one.

    They follow from the length of the box, its tempos of that day and its clean runs: as written it has the most.

    Args:
        minutes: Minutes for the box on that day.
        box: The box.
        week: Its week.
        music: Its music, where it is known.
        days: Days of the week on which it is worked on in depth.
        variants: How many variants it has to play.
        context: Whether there is music around it to play it in.
    """
    work = _day_work(box, week, music or _UNKNOWN_BOX, days, variants)
    names = [name for name in work if (name != "rhythms" or variants) and (name != "context" or context)]
    for name in _LEAST_NEEDED:
        if len(names) > minutes and name in names:
            names.remove(name)
    if minutes < 1:
        return {}
    spare = apportion(minutes - len(names), [work[name] for name in names])
    return {name: 1 + more for name, more in zip(names, spare, strict=True)}


def _day_work(
    box: BoxItem, week: WeekFile, music: BoxMusic, days: int, variants: int
) -> dict[StepName, Fraction]:
    """Seconds of work in each step on the first day, in the order they are played."""
    tempos = _tempos(box, week, music, days)
    today = meant_tempos(0, days, len(tempos))
    runs = [_run(music.quarters, tempo) for tempo, meant in zip(tempos, today, strict=True) if meant]
    written = week.clean_runs(box) * sum(runs, Fraction(0))
    others: dict[StepName, Fraction] = {
        "slow": _SLOW_RUNS * runs[0],
        "pieces": _PIECES_RUNS * runs[0],
        "rhythms": _VARIANT_RUNS * variants * runs[0],
    }
    work = {**others, "written": written, "context": _CONTEXT_RUNS * runs[-1]}
    return {
        name: one if name == "written" else min(one, written * _OTHERS_MOST) for name, one in work.items()
    }


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

_UNKNOWN_BOX: Final = BoxMusic(Fraction(8), 2)
"""A box that is not in a score file."""

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
    box: BoxItem, week: WeekFile, music: BoxMusic, *, runs: int, variants: int, days: int = 0, parts: int = 1
) -> Fraction:
    """Minutes of work that a box asks for in a week.

    Args:
        box: The box.
        week: Its week.
        music: Its music.
        runs: Clean runs in a row on each tempo step.
        variants: Number of variants.
        days: Days on which it is worked on in depth.
        parts: Into how many parts it is split, of which one is worked on.
    """
    once = [_run(music.quarters / parts, tempo) for tempo in _tempos(box, week, music, days)]
    slower = once[: (len(once) + 1) // 2]
    return Fraction(
        runs * sum(once, Fraction(0)) + variants * min(runs, _VARIANT_RUNS) * sum(slower, Fraction(0)), 60
    )


def _run(quarters: Fraction, tempo: Fraction) -> Fraction:
    """Seconds of one run, with the breath after it."""
    return quarters * 60 / tempo + _BREATH


def _tempos(box: BoxItem, week: WeekFile, music: BoxMusic, days: int) -> list[Fraction]:
    """The tempos of a box in quarter notes a minute."""
    tempos = [tempo.quarters_per_minute for tempo in box_tempos(box, week, days)]
    return tempos or [music.tempo or _UNKNOWN]


def written_variants(box: BoxItem, week: WeekFile) -> int:
    """How many variants of a box change its notes, and so take time of their own."""
    names = box_variants(box, week.player.level)
    return sum(any(not step.variant.info.same_notes for step in parse_variant(name)) for name in names)


def _boxes(plan: Plan, week: WeekFile, music: WeekMusic) -> Iterator[Tight]:
    for box in week.boxes:
        items = [item for day in plan.days for item in day.section("passages") if item.box == box.id]
        has = sum(item.minutes for item in items)
        if box.id not in music.boxes or not has:
            continue
        known, runs, variants = music.boxes[box.id], week.clean_runs(box), written_variants(box, week)
        work = partial(box_work, box, week, known, days=len(plan.days_of(box=box.id)))
        needs = work(runs=runs, variants=variants)
        if needs > has:
            ways = tuple(_ways(work, known.bars, runs, variants, has))
            yield Tight("box", box.id, ceil(needs), has, ways)


def _ways(work: Callable[..., Fraction], bars: int, runs: int, variants: int, has: int) -> Iterator[Way]:
    parts = range(2, min(bars, _MOST_PARTS) + 1)

    def fits(runs: int, variants: int, parts: int = 1) -> bool:
        return work(runs=runs, variants=variants, parts=parts) <= has

    ways = [
        *[Way("split", n) for n in parts if fits(runs, variants, n)][:1],
        *[Way("variants", n) for n in range(1, variants + 1) if fits(runs, variants - n)][:1],
        *([Way("runs", _FEW_RUNS)] if runs > _FEW_RUNS and fits(_FEW_RUNS, variants) else []),
    ]
    if not ways:
        ways = [Way("all", n) for n in parts if fits(min(runs, _FEW_RUNS), 0, n)][:1]
    yield from ways or [Way("minutes", ceil(work(runs=runs, variants=variants)))]


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
        needs = ceil(seconds / 60)
        ways = [Way("marks", 0)] if music.marks.get(piece.id) else []
        yield Tight("piece", piece.id, needs, max(played), (*ways, Way("minutes", needs)))
