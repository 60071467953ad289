"""Says a plan in words, a line each, for the screen."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from excerpts.warmups import short_name
from excerpts.week.bars_in_words import bars_of, box_name
from excerpts.week.plan.model import Plan, PlanDay, PlanItem, Relaxed, RunThrough, Stretch
from excerpts.week.plan.workload import Tight
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.model import WeekFile
from excerpts.words import Words


def plan_lines(plan: Plan, week: WeekFile, words: Words) -> Iterator[str]:
    """The plan line by line: each day, its items below it, and the rules that had to yield."""
    for day in plan.days:
        yield from day_lines(day, plan, week, words)
    yield from remark_lines(plan, week, words)


def day_lines(day: PlanDay, plan: Plan, week: WeekFile, words: Words) -> Iterator[str]:
    """A day of a plan: the day itself, then its items, each with an indent."""
    yield _day(day, words, plan.counts)
    if day.run_through:
        yield from run_lines(day.run_through, week, words)
    for stretch in day.timeline():
        item = stretch.item
        yield "  " + _item(item, stretch.minutes, week, words)
        if plan.counts and item.in_depth:
            yield words("plan.listen", what=listen_for(week.box(item.box or ""), words))
        if stretch.rests:
            yield "  " + rest_text(day, stretch, words)


def remark_lines(plan: Plan, week: WeekFile, words: Words) -> Iterator[str]:
    """What is said below the days of a plan: the draw, and the rules that had to yield."""
    if not any(day.minutes for day in plan.days):
        yield words("plan.nothing")
    if plan.seed is not None:
        yield words("plan.seed", seed=plan.seed)
    for relaxed in plan.relaxed:
        yield relaxed_text(relaxed, week, words)


def rest_text(day: PlanDay, stretch: Stretch, words: Words) -> str:
    """The breaks of a stretch: after it, so many minutes into it, or several in one line."""
    ends = [after == stretch.minutes for after in stretch.rests]
    if len(ends) == 1:
        message = "rest" if ends[0] else "rest_within"
        return words(f"plan.{message}", minutes=day.one_break, after=stretch.rests[0])
    places = [
        words("plan.rest_end") if end else words("plan.rest_into", after=after)
        for end, after in zip(ends, stretch.rests, strict=True)
    ]
    return words("plan.rests", minutes=day.one_break, places=", ".join(places))


def listen_for(box: BoxItem, words: Words) -> str:
    """What a parent who plays no instrument can listen for in a box."""
    return words(f"fault.listen.{box.why[0] if box.why else 'any'}")


def run_lines(run: RunThrough, week: WeekFile, words: Words) -> Iterator[str]:
    """The run-through of a day in words: its order, and where to start from by heart."""
    titles = ", ".join(week.piece(piece).title for piece in run.pieces)
    kind = "one" if not run.light and len(run.pieces) == 1 and not run.mock else run.kind
    yield words(f"plan.run_{'mock' if run.mock else kind}", pieces=titles)
    if run.starts:
        places = [
            words("plan.start", piece=week.piece(start.piece).title, mark=start.mark) for start in run.starts
        ]
        yield words("plan.starts", places="; ".join(places))


def _item(item: PlanItem, minutes: int, week: WeekFile, words: Words) -> str:
    section = words(f"plan.section.{item.section}")
    what = item_text(item, week, words)
    if not week.counts:
        return words("plan.item", section=section, minutes=minutes, what=what)
    times = ""
    if item.times is not None:
        times = words("plan.times", times=words.times(item.times))
    return words("plan.item_counts", section=section, what=what, times=times)


def tight_text(tight: Tight, week: WeekFile, words: Words) -> str:
    """What does not fit its minutes, and the ways out."""
    parameters = {"needs": tight.needs, "has": tight.has}
    if tight.kind == "piece":
        ways = [words(f"plan.tight.{way.name}", n=way.number) for way in tight.ways]
        title = week.piece(tight.id).title
        return words("plan.tight.piece", title=title, ways=words("plan.tight.or").join(ways), **parameters)
    box = week.box(tight.id)
    bars = bars_of(week, box.piece, box.bars, words) if box.bars else words("plan.tight.whole_box")
    numbers = ("", *words("plan.tight.numbers").split())
    ways = [
        words(
            f"plan.tight.{way.name}",
            n=way.number if way.name == "minutes" or way.number >= len(numbers) else numbers[way.number],
            bars=bars,
        )
        for way in tight.ways
    ]
    number = _number(tight.id, week)
    return words("plan.tight.box", number=number, ways=words("plan.tight.or").join(ways), **parameters)


def relaxed_text(relaxed: Relaxed, week: WeekFile, words: Words) -> str:
    """Which rule had to yield, and where."""
    names = [_name(relaxed, item, week, words) for item in relaxed.items]
    return words(f"plan.relaxed.{relaxed.rule}", items=", ".join(names))


def _name(relaxed: Relaxed, item: str, week: WeekFile, words: Words) -> str:
    if relaxed.rule == "box-without-day":
        return str(_number(item, week))
    if relaxed.rule in {"piece-without-day", "daily-piece"}:
        return week.piece(item).title
    if relaxed.rule in {"warm-up-without-day", "technique-without-day"}:
        return item
    return f"{words('plan.weekdays').split()[date.fromisoformat(item).weekday()]} {item}"


def _number(box_id: str, week: WeekFile) -> int:
    """Number of a box, from 1: its place in the week file, as the pages print it."""
    return [box.id for box in week.boxes].index(box_id) + 1


def _day(day: PlanDay, words: Words, counts: bool) -> str:
    weekday = words("plan.weekdays").split()[day.date.weekday()]
    parameters = {"weekday": weekday, "date": day.date.isoformat(), "minutes": day.minutes}
    if not day.minutes:
        return words("plan.day_off", **parameters)
    if counts:
        return words("plan.day_counts", **parameters)
    if not day.break_minutes:
        return words("plan.day", **parameters)
    return words("plan.day_breaks", breaks=day.break_minutes, **parameters)


def item_text(item: PlanItem, week: WeekFile, words: Words) -> str:
    """What an item is, in a few words."""
    if item.kind is not None:
        title = week.piece(item.piece).title if item.piece is not None else ""
        return words(f"plan.kind.{item.kind}", piece=title)
    if item.text is not None:
        return " ".join(item.text.split())
    if item.section == "passages":
        what = _box(item.box or "", week, words)
        return words("plan.in_depth", what=what) if item.in_depth else what
    if item.warmup is not None:
        return _warmup(item.warmup, week, words)
    if item.technique is not None:
        return _technique(item.technique, item.bars, week, words)
    return week.piece(item.piece or "").title


def _box(box_id: str, week: WeekFile, words: Words) -> str:
    box = week.box(box_id)
    where = box_name(week, box, words)
    number = _number(box_id, week)
    return words("plan.box", number=number, where=where) if where else words("plan.box_alone", number=number)


def _warmup(place: int, week: WeekFile, words: Words) -> str:
    warmup = week.warmups[place]
    return short_name(warmup.key or "", warmup.pattern, words, whole=True)


def _technique(place: int, few: str | None, week: WeekFile, words: Words) -> str:
    item = week.technique[place]
    if item.key is not None:
        return short_name(item.key, item.pattern, words, whole=True)
    if item.drill is not None:
        return words("plan.drill", number=_number(item.drill, week))
    bars = bars_of(week, item.piece, few or item.bars or "", words)
    return words("plan.study", piece=week.piece(item.piece or "").title, where=bars)
