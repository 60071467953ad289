"""The rules of the plan over any week file: each holds, or the plan says that it yielded (default tier)."""

from datetime import date, timedelta
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.instruments.instrument import LEVELS
from excerpts.week.plan import Plan, PlanDay, PlanItem, plan_lines, plan_week
from excerpts.week.plan.choice import repertoire, weight_of
from excerpts.week.plan.minutes import break_minutes, most_in_depth
from excerpts.week.plan.model import RULES
from excerpts.weekfile.model import WeekFile
from excerpts.weekfile.settings import SECTIONS
from excerpts.words import Words

START = date(2026, 11, 30)
_WANTED = st.none() | st.integers(1, 40)
_EXTRA = {"tuning", "run-through", "memory", "opening", "last-tune"}


@st.composite
def plan_tables(draw: st.DrawFn) -> dict[str, Any]:
    """Any `[plan]` table: most weeks have none."""
    if draw(st.booleans()):
        return {}
    after = draw(st.integers(10, 60))
    return {
        "order": draw(st.permutations(SECTIONS)),
        "shares": dict(
            zip(SECTIONS, draw(st.lists(st.integers(1, 100), min_size=4, max_size=4)), strict=True)
        ),
        "tuning": draw(st.integers(0, 10)),
        "last_tune": draw(st.integers(0, 20)),
        "break_after": after,
        "break_minutes": draw(st.integers(0, min(after // 2, 30))),
        "turns": draw(st.integers(0, 15)),
        "in_depth": draw(st.integers(1, 6)),
        "again": draw(st.booleans()),
        "cold_days": draw(st.integers(0, 14)),
        "light": draw(st.booleans()),
        "seed": draw(st.text("ab1", min_size=1)),
    }


@st.composite
def weeks(draw: st.DrawFn) -> WeekFile:
    """Any week: any minutes on any days, any items, with and without minutes of their own, and performances."""

    def items(most: int, make: Any) -> list[dict[str, Any]]:
        made = [make(n) for n in range(draw(st.integers(0, most)))]
        return [item | ({"minutes": own} if (own := draw(_WANTED)) else {}) for item in made]

    def piece(n: int) -> dict[str, Any]:
        status = draw(st.sampled_from(["learning", "learning", "review", "performance"]))
        weight = draw(st.none() | st.integers(1, 20))
        day = START + timedelta(draw(st.integers(0, 25)))
        dated = {"date": day.isoformat()} if status == "performance" and draw(st.booleans()) else {}
        return (
            {"id": f"p{n}", "title": f"P{n}", "status": status}
            | ({"weight": weight} if weight else {})
            | dated
        )

    pieces = items(6, piece)
    ids = [one["id"] for one in pieces]
    place = {"place": "p. 1"}
    boxes = items(
        6,
        lambda n: {"id": f"b{n}"} | ({"piece": draw(st.sampled_from(ids))} | place if ids else {"abc": "C"}),
    )
    technique = items(4, lambda n: {"drill": boxes[0]["id"]} if boxes and n % 2 else {"text": f"T{n}"})
    warmups = items(4, lambda n: {"key": "D"} if n % 2 else {"text": f"W{n}"})
    days = draw(st.integers(1, 17))
    some = st.just(0) | st.integers(1, 140) | st.integers(1, 1440)
    minutes = draw(st.lists(some, min_size=days, max_size=days))
    dates = [(START + timedelta(n)).isoformat() for n in range(days)]
    age = draw(st.none() | st.integers(4, 80))
    return WeekFile.model_validate(
        {
            "format": 1,
            "player": {"name": "A", "instrument": "violin", "level": draw(st.sampled_from(LEVELS))}
            | ({"age": age} if age else {}),
            "week": {
                "start": dates[0],
                "until": dates[-1],
                "minutes": dict(zip(dates, minutes, strict=True)) if draw(st.booleans()) else minutes[0],
            },
            "piece": pieces,
            "box": boxes,
            "warmup": warmups or ([] if pieces or boxes or technique else [{"key": "G"}]),
            "technique": technique,
            "plan": draw(plan_tables()),
        }
    )


def _told(plan: Plan, rule: str) -> tuple[str, ...]:
    return next((relaxed.items for relaxed in plan.relaxed if relaxed.rule == rule), ())


def _practised(plan: Plan) -> list[PlanDay]:
    return [day for day in plan.days if day.minutes]


@settings(max_examples=60, deadline=None)
@given(weeks())
def test_minutes_are_exact(week: WeekFile) -> None:
    """Items and breaks add up to the minutes of the day; only a light day has fewer than the file says."""
    plan = plan_week(week)
    longest, length = week.plan.break_after, week.plan.break_minutes
    assert [day.date for day in plan.days] == list(week.week.dates)
    for day in plan.days:
        given = week.week.minutes_on(day.date)
        light = day.run_through is not None and day.run_through.light
        assert day.minutes <= given if light else day.minutes == given
        assert day.break_minutes == (0 if light else break_minutes(given, longest, length))
        assert sum(item.minutes for item in day.items) + day.break_minutes == day.minutes
        assert all(item.minutes >= 1 for item in day.items)
        edges = (0, *day.breaks_after, day.minutes - day.break_minutes)
        blocks = [later - earlier for earlier, later in zip(edges, edges[1:], strict=False)]
        assert not day.minutes or all(0 < block for block in blocks)
        assert not length or all(block <= longest for block in blocks)
        told = plan.to_json()["days"][plan.days.index(day)]
        assert sum(one["minutes"] for one in (*told["items"], *told.get("breaks", []))) == told["minutes"]
        assert [one["after"] for one in told.get("breaks", [])] == list(day.breaks_after)


@settings(max_examples=60, deadline=None)
@given(weeks())
def test_breaks_stand_where_they_come(week: WeekFile) -> None:
    """The day told in order has every item, turn and break once."""
    for day in plan_week(week).days:
        timeline = day.timeline()
        assert sum(one.minutes for one in timeline) == day.minutes - day.break_minutes
        starts = [sum(one.minutes for one in timeline[:place]) for place in range(len(timeline))]
        rests = [start + rest for start, one in zip(starts, timeline, strict=True) for rest in one.rests]
        assert tuple(rests) == day.breaks_after
        items = list(dict.fromkeys(id(one.item) for one in timeline))
        assert len(items) == len(day.items)
        assert {one.item for one in timeline} == set(day.items)


@settings(max_examples=60, deadline=None)
@given(weeks())
def test_a_light_day_has_openings_and_little_else(week: WeekFile) -> None:
    """No box, no technique, no piece; on the day of the performance a warm-up only."""
    plan = plan_week(week)
    for day in plan.days:
        run = day.run_through
        light = run is not None and run.light
        assert (day.date.isoformat() in _told(plan, "light-last-day")) == (light and day.minutes > 0)
        if run is None or not light:
            continue
        kinds = {item.kind for item in day.items if item.section != "warm-up"}
        assert kinds <= ({"opening", "last-tune"} if run.kind == "light" else set())
        assert (run.kind == "day") == (day.date == run.performance)
        assert day.minutes <= week.plan.break_after


@settings(max_examples=60, deadline=None)
@given(weeks())
def test_nothing_has_more_than_it_asks_for_unless_told(week: WeekFile) -> None:
    """Scales, drills and exercises ask for ten minutes, where the teacher neither gives any nor shares the day out."""
    plan = plan_week(week)
    own = [*(item.minutes for item in week.warmups), *(item.minutes for item in week.technique)]
    for day in _practised(plan):
        if week.plan.shares or any(own) or day.date.isoformat() in _told(plan, "item-minutes-stretched"):
            continue
        for item in day.items:
            assert item.minutes <= 10 or item.warmup is item.technique is None


@settings(max_examples=60, deadline=None)
@given(weeks())
def test_from_upper_on_a_piece_has_five_minutes_or_is_alone(week: WeekFile) -> None:
    if week.player.level not in {"upper", "advanced"}:
        return
    own = {piece.id for piece in week.pieces if piece.minutes}
    for day in _practised(plan_week(week)):
        pieces = [one for one in day.section("repertoire") if one.kind is None and one.piece not in own]
        assert len(pieces) < 2 or min(one.minutes for one in pieces) >= 5


def _place(item: PlanItem, week: WeekFile) -> int:
    """Where an item belongs: tuning, run-through, the sections in the week's order, a last tune."""
    if item.kind in {"tuning", "last-tune"}:
        return -2 if item.kind == "tuning" else 10
    return -1 if item.kind in _EXTRA else week.plan.order.index(item.section)


@settings(max_examples=60, deadline=None)
@given(weeks())
def test_a_day_goes_in_order(week: WeekFile) -> None:
    for day in _practised(plan_week(week)):
        places = [_place(item, week) for item in day.items]
        assert places == sorted(places)
        assert sum(item.kind == "tuning" for item in day.items) <= 1
        if week.plan.turns < 1:
            assert not day.turns
        elif day.turns:
            spent = {box: sum(n for name, n in day.turns if name == box) for box, _ in day.turns}
            assert spent == {item.box: item.minutes for item in day.in_depth}


@settings(max_examples=60, deadline=None)
@given(weeks())
def test_every_day_rule_holds_or_is_told(week: WeekFile) -> None:
    plan = plan_week(week)
    for day in _practised(plan):
        name = day.date.isoformat()
        kinds = {item.kind for item in day.items}
        light = day.run_through is not None and day.run_through.light
        if week.boxes and not light:
            assert day.in_depth or name in _told(plan, "box-in-depth")
            most = week.plan.in_depth or most_in_depth(day.minutes)
            assert len(day.in_depth) <= (max(most, 2) if week.plan.turns else most)
        played = [item.piece for item in day.items if item.section == "repertoire"]
        if not light:
            assert all(
                item.piece is None or item.piece in played or name in _told(plan, "piece-of-box")
                for item in day.in_depth
            )
        for place, item in enumerate(day.items):
            later = day.items[place:]
            before = item.section == "repertoire" and item.piece is not None
            if before and any(one.in_depth and one.piece == item.piece for one in later):
                assert name in _told(plan, "piece-after-box")
        assert not week.plan.tuning or "tuning" in kinds or name in _told(plan, "tuning")
        if week.plan.last_tune and repertoire(week) and not light:
            assert "last-tune" in kinds or name in _told(plan, "last-tune")
        _check_sections(day, plan, week)


def _check_sections(day: PlanDay, plan: Plan, week: WeekFile) -> None:
    contents = (week.warmups, week.technique, week.boxes, repertoire(week))
    name = day.date.isoformat()
    told = name in _told(plan, "every-section") or name in _told(plan, "light-last-day")
    for section, items in zip(SECTIONS, contents, strict=True):
        there = [item for item in day.section(section) if item.kind not in {"tuning", "last-tune"}]
        turn = section == "technique" and _told(plan, "technique-in-turns") and day.minutes < 20
        assert not items or there or told or turn
    if week.player.level == "first" and any(piece.status == "review" for piece in week.pieces):
        known = {piece.id for piece in week.pieces if piece.status == "review"}
        review = sum(item.minutes for item in day.section("repertoire") if item.piece in known)
        largest = max(sum(item.minutes for item in day.section(section)) for section in SECTIONS[:3])
        assert review >= largest or name in _told(plan, "review-largest") or told


@settings(max_examples=60, deadline=None)
@given(weeks())
def test_everything_has_its_turn_or_is_told(week: WeekFile) -> None:
    """Boxes even to one, everything has a day, daily pieces come daily, and equal weights are even to one."""
    plan = plan_week(week)
    practised = _practised(plan)
    in_depth = {box.id: len(plan.days_of(box=box.id)) for box in week.boxes}
    assert {box for box, days in in_depth.items() if not days} == set(
        _told(plan, "box-without-day")
    ) or not practised
    if in_depth and not any(box.minutes for box in week.boxes):
        assert max(in_depth.values()) - min(in_depth.values()) <= 1
    pieces = repertoire(week)
    turns = {piece.id: len(plan.days_of(piece=piece.id)) for piece in pieces}
    if not practised:
        return
    assert {piece for piece, days in turns.items() if not days} == set(_told(plan, "piece-without-day"))
    told = {*_told(plan, "daily-piece"), *_told(plan, "piece-without-day")}
    for piece in pieces:
        if weight_of(piece, week) >= 7:
            days = [day for day in practised if day.run_through is None or day.run_through.kind != "day"]
            assert turns[piece.id] >= len(days) or piece.id in told


@settings(max_examples=60, deadline=None)
@given(weeks())
def test_the_same_week_gives_the_same_plan_and_its_words(week: WeekFile) -> None:
    """Same seed, same plan; every rule that yields has its sentence, and they come in order of priority."""
    plan = plan_week(week)
    assert plan == plan_week(week)
    assert plan.to_json() == plan_week(week).to_json()
    assert [RULES.index(relaxed.rule) for relaxed in plan.relaxed] == sorted(
        RULES.index(relaxed.rule) for relaxed in plan.relaxed
    )
    assert len(list(plan_lines(plan, week, Words("us")))) >= len(plan.days)


_WEIGHTS = st.lists(st.integers(1, 9), min_size=2, max_size=8)


@settings(max_examples=60, deadline=None)
@given(_WEIGHTS, st.lists(st.integers(20, 140), min_size=3, max_size=14), st.sampled_from(LEVELS))
def test_pieces_rotate_by_weight(weights: list[int], minutes: list[int], level: str) -> None:
    """Without boxes to call a piece out of turn: equal weights differ by one at most, a heavier comes no less often."""
    dates = [(START + timedelta(n)).isoformat() for n in range(len(minutes))]
    week = WeekFile.model_validate(
        {
            "format": 1,
            "player": {"name": "A", "instrument": "cello", "level": level},
            "week": {
                "start": dates[0],
                "until": dates[-1],
                "minutes": dict(zip(dates, minutes, strict=True)),
            },
            "piece": [{"id": f"p{n}", "title": "P", "weight": weight} for n, weight in enumerate(weights)],
        }
    )
    plan = plan_week(week)
    turns = [len(plan.days_of(piece=f"p{n}")) for n in range(len(weights))]
    for one, light in zip(turns, weights, strict=True):
        for other, heavy in zip(turns, weights, strict=True):
            if light == heavy:
                assert abs(one - other) <= 1
            if light < heavy:
                assert one <= other + 1
    assert all(days >= 0 for days in turns)
