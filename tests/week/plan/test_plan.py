from datetime import date
from fractions import Fraction
from math import ceil

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.errors import WeekError
from excerpts.instruments.instrument import LEVELS
from excerpts.week import BoxMusic, WeekMusic
from excerpts.week.plan import PlanDay, PlanItem, plan_lines, plan_week
from excerpts.week.plan.describe import rest_text
from excerpts.week.plan.workload import box_work
from excerpts.words import Words
from tests.week.weeks import week


def _outline(day: PlanDay) -> list[tuple[str, int, str]]:
    return [
        (item.section, item.minutes, item.kind or item.box or item.piece or item.text or str(item.warmup))
        for item in day.items
    ]


def test_fifteen_minutes_are_three_eight_four() -> None:
    day = plan_week(week(minutes="15", boxes=1)).days[0]
    assert _outline(day) == [
        ("warm-up", 1, "tuning"),
        ("warm-up", 2, "0"),
        ("passages", 8, "b0"),
        ("repertoire", 3, "p0"),
        ("repertoire", 1, "last-tune"),
    ]


def test_the_shortest_day_has_a_box_and_its_piece() -> None:
    assert _outline(plan_week(week(minutes="6", boxes=1)).days[0]) == [
        ("passages", 4, "b0"),
        ("repertoire", 2, "p0"),
    ]
    assert _outline(plan_week(week(minutes="1", boxes=1)).days[0]) == [("passages", 1, "b0")]


def test_half_an_hour() -> None:
    monday, tuesday, *_ = plan_week(week(minutes="30")).days
    assert _outline(monday) == [
        ("warm-up", 1, "tuning"),
        ("warm-up", 4, "0"),
        ("technique", 7, "Vibrato"),
        ("passages", 9, "b0"),
        ("repertoire", 4, "p0"),
        ("repertoire", 3, "p1"),
        ("repertoire", 2, "last-tune"),
    ]
    # Monday's box comes back for two minutes, its piece makes room for the one without a box
    assert _outline(tuesday)[3:-1] == [
        ("passages", 7, "b1"),
        ("passages", 2, "b0"),
        ("repertoire", 4, "p1"),
        ("repertoire", 3, "p2"),
    ]
    assert [item.in_depth for item in tuesday.section("passages")] == [True, False]


def test_the_box_of_yesterday_comes_back_where_that_leaves_six_minutes_to_that_of_today() -> None:
    shapes: set[tuple[int, ...]] = set()
    for minutes in range(6, 46):
        tuesday = plan_week(week(minutes=str(minutes), boxes=2)).days[1]
        if len(tuesday.in_depth) == 1:
            shapes.add(tuple(item.minutes for item in tuesday.section("passages")))
    assert {(7,), (6, 2)} <= shapes
    assert all(6 <= one[0] and one[1] == 2 if len(one) == 2 else one[0] <= 7 for one in shapes)


def test_an_hour_has_two_boxes_in_depth_and_two_breaks() -> None:
    day = plan_week(week(minutes="60", boxes=3)).days[0]
    assert [item.box for item in day.in_depth] == ["b0", "b1"]
    assert day.break_minutes == 10
    assert day.breaks_after == (18, 34)
    assert sum(item.minutes for item in day.items) == 50


def test_a_break_is_told_where_it_comes() -> None:
    """Between two items where one ends near, else so many minutes into one."""
    made = week(minutes="60", boxes=1)
    lines = list(plan_lines(plan_week(made), made, Words("uk")))[:11]
    assert lines.index("  Break, 5 min") == lines.index("  Technique, 10 min: Vibrato") + 1
    long = week(
        minutes="{mon = 80}", boxes=0, pieces=1, warmups=0, technique=0, more="[plan]\nlast_tune = 0\n"
    )
    plan = plan_week(long)
    assert [(one.minutes, one.rests) for one in plan.days[0].timeline()] == [(1, ()), (69, (22, 46))]
    assert list(plan_lines(plan, long, Words("uk")))[2:4] == [
        "  Repertoire, 69 min: Piece 0",
        "  Breaks, 5 min each: 22 min into it, 46 min into it",
    ]


def test_boxes_that_take_turns_stand_turn_by_turn() -> None:
    """With the breaks between them; the day told in order has what the items have."""
    made = week(minutes="60", boxes=3, more="[plan]\nturns = 4\n")
    tuesday = plan_week(made).days[1]
    timeline = tuesday.timeline()
    turns = [(one.item.box, one.minutes) for one in timeline if one.item.in_depth]
    assert tuple(turns) == tuesday.turns
    assert len(turns) > len(tuesday.in_depth)
    assert [one.item.box for one in timeline if one.item.section == "passages"][-1] == "b1"
    lines = list(plan_lines(plan_week(made), made, Words("uk")))
    start = next(n for n, line in enumerate(lines) if line.startswith("Tue"))
    end = next(n for n, line in enumerate(lines) if line.startswith("Wed"))
    told = [int(line.split(" min")[0].split(", ")[-1]) for line in lines[start + 1 : end]]
    assert sum(told) == 60


def test_boxes_go_round_the_days() -> None:
    plan = plan_week(week(minutes="30", boxes=3))
    assert [day.in_depth[0].box for day in plan.days] == ["b0", "b1", "b2", "b0", "b1", "b2", "b0"]
    assert [day.isoformat() for day in plan.days_of(box="b1")] == ["2026-12-01", "2026-12-04"]


def test_a_day_without_minutes_is_a_day_off() -> None:
    days = plan_week(week(minutes="{mon = 30, wed = 30}")).days
    assert [bool(day.items) for day in days] == [True, False, True, False, False, False, False]
    assert days[2].in_depth[0].box == "b1"


def test_a_beginner_plays_known_pieces_on_a_short_day_too() -> None:
    plan = plan_week(week(level="first", minutes="15", boxes=1, pieces=3))
    assert [item.minutes for item in plan.days[0].section("repertoire")] == [2, 1, 1]
    assert not [relaxed for relaxed in plan.relaxed if relaxed.rule == "piece-without-day"]


@pytest.mark.parametrize(
    ("level", "known", "new", "minutes"),
    [
        ("first", 1, 1, [26, 9]),
        ("first", 2, 1, [13, 13, 9]),
        ("first", 1, 2, [26, 5, 4]),
        ("first", 2, 2, [13, 13, 5, 4]),
        ("first", 2, 0, [18, 17]),
        ("middle", 1, 1, [17, 18]),
    ],
)
def test_in_the_first_year_known_pieces_have_three_quarters(
    level: str, known: int, new: int, minutes: list[int]
) -> None:
    """Of the 35 minutes of playing that are left of 41 after tuning and a break."""
    more = "".join(f'[[piece]]\nid = "r{n}"\ntitle = "R"\nstatus = "review"\n' for n in range(known))
    more += "[plan]\nlast_tune = 0\n"
    made = week(level=level, minutes="{mon = 41}", boxes=0, pieces=new, warmups=0, technique=0, more=more)
    given = {item.piece: item.minutes for item in plan_week(made).days[0].items}
    order = [f"r{n}" for n in range(known)] + [f"p{n}" for n in range(new)]
    assert [given[piece] for piece in order] == minutes


def test_own_minutes_are_kept() -> None:
    more = '[[technique]]\ntext = "Shifts"\nminutes = 4\n[[warmup]]\ntext = "Open strings"\nminutes = 3\n'
    plan = plan_week(week(technique=0, warmups=0, more=more))
    assert all(("technique", 4, "Shifts") in _outline(day) for day in plan.days)
    assert all(("warm-up", 3, "Open strings") in _outline(day) for day in plan.days)
    assert plan.relaxed == ()


def test_own_minutes_that_do_not_fit_are_shortened_and_told() -> None:
    more = '[[technique]]\ntext = "Shifts"\nminutes = 60\n'
    plan = plan_week(week(technique=0, minutes="{mon = 30}", more=more))
    assert _outline(plan.days[0])[2:4] == [("technique", 21, "Shifts"), ("passages", 3, "b0")]
    assert [(relaxed.rule, relaxed.items) for relaxed in plan.relaxed][0] == (
        "item-minutes-shortened",
        ("2026-11-30",),
    )


def test_own_minutes_that_do_not_fill_the_day_are_stretched_and_told() -> None:
    more = '[[warmup]]\ntext = "Open strings"\nminutes = 3\n'
    plan = plan_week(week(warmups=0, technique=0, boxes=0, pieces=0, minutes="{mon = 10}", more=more))
    assert _outline(plan.days[0]) == [("warm-up", 1, "tuning"), ("warm-up", 9, "Open strings")]
    assert [relaxed.rule for relaxed in plan.relaxed] == ["item-minutes-stretched"]


def _known(box: int = 64, bars: int = 8, piece: int = 120) -> WeekMusic:
    """A box of so many crotchets, and a piece of so many seconds."""
    return WeekMusic(seconds={"p0": Fraction(piece)}, boxes={"b0": BoxMusic(Fraction(box), bars)})


def test_a_long_day_gives_a_drill_ten_minutes_and_a_box_its_week_s_work() -> None:
    """Three hours with a scale, a drill, eight bars and a piece of two minutes: told as too little for the day."""
    more = '[[technique]]\ndrill = "b0"\n'
    made = week(minutes="180", boxes=1, pieces=1, technique=0, level="advanced", more=more)
    plan = plan_week(made, _known())
    minutes = {item.section: item.minutes for item in plan.days[0].items if item.kind is None}
    work = ceil(box_work(made.boxes[0], made, BoxMusic(Fraction(64), 8), runs=10, variants=3, days=7))
    assert minutes == {"warm-up": 10, "technique": 10, "passages": work, "repertoire": 127 - work}
    assert {relaxed.rule: relaxed.items for relaxed in plan.relaxed}["item-minutes-stretched"] == tuple(
        day.date.isoformat() for day in plan.days
    )
    longer = plan_week(made, WeekMusic(boxes={"b0": BoxMusic(Fraction(64), 8)}))
    minutes = {item.section: item.minutes for item in longer.days[0].items if item.kind is None}
    assert minutes["passages"] == work  # the rest to a piece of no known length, which is told too
    assert [relaxed.rule for relaxed in longer.relaxed] == ["item-minutes-stretched"]


@pytest.mark.parametrize(
    ("section", "minutes", "given"),
    [
        ("warm-up", 8, [2, 2, 2, 2]),
        ("warm-up", 9, [3, 2, 2, 2]),
        ("technique", 11, [6, 5]),
        ("technique", 12, [4, 4, 4]),
        ("passages", 11, [6, 5]),
        ("passages", 12, [4, 4, 4]),
        ("passages", 15, [5, 5, 5]),
    ],
)
def test_one_more_is_taken_in_where_each_has_minutes_enough(
    section: str, minutes: int, given: list[int]
) -> None:
    """Two for a warm-up, four for technique and a box; a day with nothing else."""
    boxes, warmups, technique = (9 * (section == name) for name in ("passages", "warm-up", "technique"))
    names = ("warm-up", "technique", "passages", "repertoire")
    shares = ", ".join(f"{name} = {int(name == section)}" for name in names)
    more = f"[plan]\nlast_tune = 0\ntuning = 0\nin_depth = 6\nshares = {{{shares}}}\n"
    made = week(
        minutes=f"{{mon = {minutes}}}",
        boxes=boxes,
        pieces=int(boxes > 0),
        warmups=warmups,
        technique=technique,
        more=more,
    )
    day = plan_week(made).days[0]
    assert [item.minutes for item in day.items] == given


@pytest.mark.parametrize(("seconds", "asked"), [(60, 10), (100, 10), (150, 13), (400, 34)])
def test_a_piece_or_study_asks_for_five_times_through(seconds: int, asked: int) -> None:
    """And for ten minutes, however short it is; the rest of three hours goes to the piece of unknown length."""
    study = '[[technique]]\npiece = "p1"\nbars = "1-90"\n'
    made = week(minutes="180", boxes=0, pieces=2, technique=0, more=study)
    music = WeekMusic(studies={0: Fraction(seconds)})
    assert [item.minutes for item in plan_week(made, music).days[0].section("technique")] == [asked]
    shares = "[plan]\nshares = {warm-up = 0, technique = 1, passages = 0, repertoire = 0}\n"
    own = plan_week(week(minutes="90", boxes=0, pieces=2, technique=0, more=study + shares), music)
    assert max(item.minutes for item in own.days[0].section("technique")) > 60
    two = plan_week(
        week(minutes="180", boxes=0, pieces=2, technique=0, warmups=0),
        WeekMusic(seconds={"p0": Fraction(seconds)}),
    )
    given = {item.piece: item.minutes for item in two.days[0].items if item.kind is None}
    assert (given["p0"], given["p1"] > 90) == (asked, True)


def test_fewer_pieces_a_day_not_shorter_ones() -> None:
    """Fifty minutes of playing have fifteen of pieces: two for a student of the upper level, three or four before."""
    more = "".join(f'[[piece]]\nid = "c{n}"\ntitle = "C"\nweight = 7\n' for n in range(4))
    pieces = {}
    for level in ("middle", "upper"):
        plan = plan_week(week(level=level, minutes="60", boxes=2, pieces=2, more=more))
        days = [[one.minutes for one in day.section("repertoire") if one.kind is None] for day in plan.days]
        pieces[level] = days
    assert all(len(day) >= 3 for day in pieces["middle"])
    assert all(1 <= len(day) <= 2 and min(day) >= 5 for day in pieces["upper"])
    short = plan_week(week(level="upper", minutes="20", boxes=0, pieces=3)).days[0].section("repertoire")
    assert [one.kind for one in short] == [None, "last-tune"]


def test_days_too_short_for_technique_say_when_it_has_its_turn() -> None:
    """Of the usual fifteen minutes nothing is wrong on five days of seven: it comes on the other two."""
    plan = plan_week(week(minutes="15", boxes=1, pieces=1, warmups=1))
    with_technique = tuple(day.date.isoformat() for day in plan.days if day.section("technique"))
    told = {relaxed.rule: relaxed.items for relaxed in plan.relaxed}
    assert len(with_technique) == 2
    assert told["technique-in-turns"] == with_technique
    assert "every-section" not in told


def test_too_little_material_is_told_where_the_length_of_a_piece_is_not_known() -> None:
    """Three quarters of an hour of each of two pieces on paper is no plan: common practice, no source."""
    long = {relaxed.rule for relaxed in plan_week(week(minutes="180", boxes=2, pieces=2)).relaxed}
    usual = {relaxed.rule for relaxed in plan_week(week(minutes="90", boxes=2, pieces=2)).relaxed}
    assert "item-minutes-stretched" in long
    assert "item-minutes-stretched" not in usual


def test_several_breaks_of_an_item_stand_in_one_line() -> None:
    """Two lines under each other read as two breaks in a row."""
    item = PlanItem("repertoire", 42, piece="p0")
    day = PlanDay(date(2026, 11, 30), 52, 10, (item,), (22, 42))
    (stretch,) = day.timeline()
    assert rest_text(day, stretch, Words()) == "Breaks, 5 min each: 22 min into it, at its end"


def test_what_had_no_day_is_told() -> None:
    plan = plan_week(week(minutes="{mon = 15}", boxes=2, pieces=2, warmups=2))
    assert {relaxed.rule: relaxed.items for relaxed in plan.relaxed} == {
        "box-without-day": ("b1",),
        "every-section": ("2026-11-30",),
        "piece-without-day": ("p1",),
        "warm-up-without-day": ("2",),
        "technique-without-day": ("1",),
    }


def test_a_drill_comes_on_the_day_of_its_box() -> None:
    more = '[[technique]]\ndrill = "b1"\n[[technique]]\ndrill = "b0"\n'
    plan = plan_week(week(technique=0, more=more))
    days = [(day.section("technique")[0].box, day.in_depth[0].box) for day in plan.days[:4]]
    assert days == [("b0", "b0"), ("b1", "b1"), ("b0", "b0"), ("b1", "b1")]


@pytest.mark.parametrize(
    ("day", "short", "bars"),
    [
        (30, "", None),  # time for all of it
        (29, "", "3-4"),
        (25, "", "3-4"),
        (25, 'short = "2"', "2"),
        (15, "", None),  # no technique at all
    ],
)
def test_on_a_short_day_technique_is_a_few_bars(day: int, short: str, bars: str | None) -> None:
    more = f'[[technique]]\npiece = "p2"\nbars = "1-4"\n{short}\n'
    made = week(technique=0, minutes=f"{{mon = {day}}}", more=more)
    music = WeekMusic() if short else WeekMusic(few={0: "3-4"})
    plan = plan_week(made, music)
    items = plan.days[0].section("technique")
    assert [item.bars for item in items] == ([] if day == 15 else [bars])
    given = plan.to_json()["days"][0]["items"]
    assert [item["bars"] for item in given if "bars" in item] == ([bars] if bars else [])


def test_a_study_for_technique_only_is_no_repertoire() -> None:
    more = '[[technique]]\npiece = "p2"\nbars = "1-4"\n'
    plan = plan_week(week(technique=0, more=more))
    assert plan.days_of(piece="p2") == ()
    assert all(day.section("technique")[0].piece == "p2" for day in plan.days)


def test_a_performance_piece_comes_round_twice_as_often() -> None:
    more = '[[piece]]\nid = "concert"\ntitle = "C"\nstatus = "performance"\n'
    plan = plan_week(week(boxes=0, pieces=2, minutes="{every = 20}", warmups=3, technique=3, more=more))
    counts = {name: len(plan.days_of(piece=name)) for name in ("p0", "p1", "concert")}
    assert counts["concert"] == 7
    assert counts["p0"] + counts["p1"] == 7


def test_nothing_to_play_is_refused() -> None:
    with pytest.raises(WeekError, match="The week has nothing to play"):
        plan_week(week(boxes=0, pieces=0, warmups=0, technique=0))


def test_json_is_as_agreed() -> None:
    data = plan_week(week(minutes="{mon = 45}", boxes=1, pieces=2)).to_json()
    assert data["format"] == 1
    monday = data["days"][0]
    assert set(monday) == {"date", "minutes", "break_minutes", "breaks", "items"}
    assert monday["breaks"] == [{"after": 16, "minutes": 5}]
    assert set(data["days"][1]) == {"date", "minutes", "break_minutes", "items"}
    assert (monday["date"], monday["minutes"], monday["break_minutes"]) == ("2026-11-30", 45, 5)
    assert {"section": "passages", "minutes": 12, "box": "b0", "piece": "p0", "in_depth": True} in monday[
        "items"
    ]
    assert {"section": "technique", "minutes": 10, "text": "Vibrato", "technique": 0} in monday["items"]
    assert all("in_depth" not in item for item in monday["items"] if item["section"] != "passages")
    assert data["relaxed"] == []


def test_the_same_week_gives_the_same_plan() -> None:
    assert plan_week(week(boxes=4, pieces=5)) == plan_week(week(boxes=4, pieces=5))


@settings(max_examples=100, deadline=None)
@given(
    pieces=st.integers(2, 9),
    boxes=st.integers(0, 4),
    minutes=st.lists(st.integers(20, 140), min_size=7, max_size=7),
    level=st.sampled_from(LEVELS),
)
def test_pieces_take_turns(pieces: int, boxes: int, minutes: list[int], level: str) -> None:
    """The piece of a box in depth is played that day; pieces without boxes differ by one turn at most."""
    days = ", ".join(
        f"{day} = {n}" for day, n in zip("mon tue wed thu fri sat sun".split(), minutes, strict=True)
    )
    file = week(level=level, boxes=boxes, pieces=pieces, minutes=f"{{{days}}}")
    plan = plan_week(file)
    for day in plan.days:
        played = {item.piece for item in day.section("repertoire")}
        assert {item.piece for item in day.in_depth} <= played
    boxed = {box.piece for box in file.boxes}
    free = [piece.id for piece in file.pieces if piece.id not in boxed]
    turns = [len(plan.days_of(piece=piece)) for piece in free]
    assert not turns or max(turns) - min(turns) <= 1
