"""Does it fit: the work of boxes and pieces against their minutes, and the ways out."""

from datetime import date
from fractions import Fraction
from functools import partial
from pathlib import Path

import pytest

from excerpts.excerpt import Tempo
from excerpts.week import BoxMusic, WeekMusic, load_week
from excerpts.week.measured import week_music
from excerpts.week.plan import PlanDay, plan_week, tight_places, tight_text
from excerpts.week.plan.model import PlanItem
from excerpts.week.plan.workload import Tight, Way, box_work, with_times
from excerpts.weekfile.model import WeekFile
from excerpts.words import Words
from tests.music import bars_of
from tests.week.weeks import HEAD, week


def _box(more: str = "", minutes: str = "{mon = 30}", level: str = "middle") -> WeekFile:
    box = f'[[box]]\nid = "x"\npiece = "p0"\nbars = "12-27"\ntarget = "crotchet = 60"\nstart = 60\n{more}\n'
    return week(boxes=0, pieces=1, minutes=minutes, level=level, more=box)


def _tight(file: WeekFile, music: WeekMusic) -> tuple[Tight, ...]:
    return tight_places(plan_week(file, music), file, music)


def test_the_work_of_a_box() -> None:
    """By hand: 12 crotchets at 60 are 12 s, with 3 s of breath 15 s.

    Ten runs on one step, and two variants twice, are 14 times 15 s: three and a half minutes.
    """
    file = _box()
    music = BoxMusic(Fraction(12), 3)
    assert box_work(file.boxes[0], file, music, runs=10, variants=2) == Fraction(7, 2)
    assert box_work(file.boxes[0], file, music, runs=1, variants=0, parts=3) == Fraction(7, 60)
    # with two steps, 48 and 60, the slower takes 18 s, and the variants are played on the slower only
    file = _box("[plan]\nsteps = 2")
    two = file.boxes[0].model_copy(update={"start": Tempo(Fraction(48))})
    work = partial(box_work, two, file, music)
    assert work(runs=1, variants=0) * 60 == 18 + 15
    assert work(runs=1, variants=3) * 60 == 18 + 15 + 3 * 18
    assert work(runs=10, variants=3) * 60 == 10 * (18 + 15) + 3 * 2 * 18


@pytest.mark.parametrize(("written", "seconds"), [(None, 15), (Fraction(120), 9)])
def test_a_box_without_a_goal_is_worked_on_at_the_tempo_of_its_score(
    written: Fraction | None, seconds: int
) -> None:
    """Where that says none either, at 60 crotchets a minute; with 3 s of breath."""
    file = week(boxes=1)
    assert (
        box_work(file.boxes[0], file, BoxMusic(Fraction(12), 3, written), runs=1, variants=0) * 60 == seconds
    )


def test_how_often_those_who_count_play_what_they_have() -> None:
    """Each piece with 20 s of breath, one of unknown length as 60 s; five times at most, once at least."""
    file = week(level="first", pieces=2, boxes=1)
    items = [
        (PlanItem("warm-up", 1, kind="tuning"), None),
        (PlanItem("warm-up", 2, text="Open strings"), None),
        (PlanItem("warm-up", 3, warmup=0), 3),
        (PlanItem("technique", 9, piece="p1", technique=0), 5),
        (PlanItem("passages", 8, box="b0", in_depth=True), 5),  # as many clean runs as the level asks for
        (PlanItem("passages", 2, box="b0"), 1),
        (PlanItem("repertoire", 4, piece="p0"), 4),
        (PlanItem("repertoire", 4, piece="p1"), 3),
        (PlanItem("repertoire", 1, piece="p1"), 1),
        (PlanItem("repertoire", 4, piece="p0", kind="run-through"), 1),
        (PlanItem("repertoire", 2, kind="memory"), None),
        (PlanItem("repertoire", 1, kind="last-tune"), 1),
    ]
    day = PlanDay(date(2026, 11, 30), 41, 0, tuple(item for item, _ in items))
    counted = with_times(day, file, WeekMusic(seconds={"p0": Fraction(40)}))
    assert [item.times for item in counted.items] == [times for _, times in items]


def test_what_fits_gets_no_word() -> None:
    assert _tight(_box(), WeekMusic(boxes={"x": BoxMusic(Fraction(12), 3)})) == ()
    assert _tight(_box(), WeekMusic()) == ()


def test_a_box_that_is_too_long_gets_ways_out() -> None:
    """Sixteen bars of 4/4 at 60, 64 s and a breath: 16 times 67 s are 18 minutes, a third of it is enough."""
    file = _box()
    music = WeekMusic(boxes={"x": BoxMusic(Fraction(64), 16)})
    (tight,) = _tight(file, music)
    assert (tight.kind, tight.id, tight.needs, tight.has) == ("box", "x", 18, 9)
    assert tight.ways == (Way("split", 3),)
    assert tight_text(tight, file, Words("uk")) == (
        "Box 1 needs about 18 min of work and has 9 this week. "
        "You could split bars 12–27 into three, one part a week."
    )


def test_each_way_out_is_enough_by_itself() -> None:
    file = _box()
    music = WeekMusic(boxes={"x": BoxMusic(Fraction(37), 1)})
    (tight,) = _tight(file, music)
    assert tight.ways == (Way("variants", 2), Way("runs", 3))
    assert "You could drop two of its variants; or ask for three clean runs." in tight_text(
        tight, file, Words("uk")
    )
    for runs, variants in ((10, 3 - 2), (3, 3)):
        work = box_work(file.boxes[0], file, music.boxes["x"], runs=runs, variants=variants)
        assert work <= tight.has
    assert box_work(file.boxes[0], file, music.boxes["x"], runs=10, variants=2) > tight.has


def test_a_box_out_of_all_measure_takes_all_ways_or_more_minutes() -> None:
    file = _box(minutes="{mon = 8}")
    (tight,) = _tight(file, WeekMusic(boxes={"x": BoxMusic(Fraction(240), 60)}))
    assert [way.name for way in tight.ways] == ["all"]
    (tight,) = _tight(file, WeekMusic(boxes={"x": BoxMusic(Fraction(2400), 600)}))
    assert [way.name for way in tight.ways] == ["minutes"]


def test_a_piece_that_is_longer_than_its_minutes() -> None:
    file = _box(minutes="{mon = 30}")
    (tight,) = _tight(file, WeekMusic(seconds={"p0": Fraction(725)}, marks={"p0": ("A",)}))
    assert (tight.kind, tight.needs, tight.has) == ("piece", 13, 7)
    assert tight.ways == (Way("marks", 0), Way("minutes", 13))
    assert tight_text(tight, file, Words("uk")).startswith(
        "Piece 0 takes about 13 min to play and has 7 a day at most"
    )


def test_a_piece_that_does_not_come_this_week_is_not_too_long() -> None:
    file = week(minutes="{mon = 15}", boxes=1)
    music = WeekMusic(seconds={"p2": Fraction(725)})
    assert not plan_week(file, music).days_of(piece="p2")
    assert _tight(file, music) == ()


REPEATS = """<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>V</part-name></score-part>
</part-list><part id="P1">{}</part></score-partwise>"""
NOTE = "<note><rest measure='yes'/><duration>4</duration></note>"
ATTRIBUTES = (
    "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
    "<direction><sound tempo='60'/></direction>"
)


@pytest.mark.parametrize(
    ("bars", "seconds"),
    [
        (["", "", "", ""], 16),
        (["", "|:", ":|", ""], 24),  # 1 2 3 2 3 4
        (["", ":|", "", ""], 24),  # 1 2 1 2 3 4
        (["", "[1:|", "[2", ""], 20),  # 1 2 1 3 4
        (["", "|:", ":|3", ""], 32),  # twice more
    ],
)
def test_playing_time_follows_repeats(tmp_path: Path, bars: list[str], seconds: int) -> None:
    """Crotchet = 60, four bars of 4/4; the bars in the order they are played stand beside each case."""
    signs = {
        "": "",
        "|:": '<barline location="left"><repeat direction="forward"/></barline>',
        ":|": '<barline location="right"><repeat direction="backward"/></barline>',
        ":|3": '<barline location="right"><repeat direction="backward" times="3"/></barline>',
        "[1:|": '<barline location="left"><ending number="1" type="start"/></barline>'
        '<barline location="right"><ending number="1" type="stop"/><repeat direction="backward"/></barline>',
        "[2": '<barline location="left"><ending number="2" type="start"/></barline>'
        '<barline location="right"><ending number="2" type="discontinue"/></barline>',
    }
    text = ""
    for number, bar in enumerate(bars, start=1):
        barlines = [f"{one}</barline>" for one in signs[bar].split("</barline>")[:-1]]
        left = "".join(one for one in barlines if "left" in one)
        right = "".join(one for one in barlines if "right" in one)
        start = ATTRIBUTES if number == 1 else ""
        text += f'<measure number="{number}">{left}{start}{NOTE}{right}</measure>'
    (tmp_path / "air.musicxml").write_text(REPEATS.format(text))
    (tmp_path / "w.toml").write_text(HEAD + '[[piece]]\nid = "air"\ntitle = "Air"\nscore = "air.musicxml"\n')
    assert week_music(load_week(tmp_path / "w.toml")).seconds == {"air": seconds}


@pytest.mark.parametrize(
    ("written", "goals", "seconds"),
    [
        (True, (), 16),
        (True, ("crotchet = 30",), 32),
        (True, ("crotchet = 120",), 8),
        (True, ("minim = 60", "crotchet = 40"), 24),  # as fast as its slowest box
        (False, (), None),
        (False, ("crotchet = 80", "crotchet = 40"), 24),
    ],
)
def test_a_piece_is_timed_at_the_goals_of_its_boxes(
    tmp_path: Path, written: bool, goals: tuple[str, ...], seconds: int | None
) -> None:
    """Four bars of 4/4, the score at crotchet = 60 or without a tempo; studies at the tempo of their score, else 60."""
    head = ATTRIBUTES if written else ATTRIBUTES.partition("<direction>")[0]
    bars = [f'<measure number="{bar}">{head * (bar == 1)}{NOTE}</measure>' for bar in range(1, 5)]
    (tmp_path / "air.musicxml").write_text(REPEATS.format("".join(bars)))
    text = HEAD + '[[piece]]\nid = "air"\ntitle = "Air"\nscore = "air.musicxml"\n'
    for number, goal in enumerate(goals):
        text += f'[[box]]\nid = "b{number}"\npiece = "air"\nbars = "2"\ntarget = "{goal}"\n'
    text += '[[box]]\nid = "words"\npiece = "air"\nbars = "3"\ngoal = "one line"\n'
    text += '[[technique]]\npiece = "air"\nbars = "1-3"\n'
    (tmp_path / "w.toml").write_text(text)
    music = week_music(load_week(tmp_path / "w.toml"))
    assert music.seconds.get("air") == seconds
    assert music.studies == {0: 12}


def test_boxes_are_measured_to_the_beat(tmp_path: Path) -> None:
    """A score without a tempo gives no playing time; typed bars are as long as they are."""
    (tmp_path / "air.musicxml").write_bytes(bars_of(*["C4:1 D4:1 E4:1 F4:1"] * 4))
    text = '[[piece]]\nid = "air"\ntitle = "Air"\nscore = "air.musicxml"\n'
    text += (
        '[[box]]\nid = "a"\npiece = "air"\nbars = "2-3"\n[[box]]\nid = "b"\npiece = "air"\nbars = "2:2-3:1"\n'
    )
    text += '[[box]]\nid = "c"\nabc = "M:3/4\\nL:1/4\\nK:C\\nC D E | F3 |"\n'
    text += '[[box]]\nid = "d"\npiece = "air"\nplace = "p. 1"\n'
    (tmp_path / "w.toml").write_text(HEAD + text)
    music = week_music(load_week(tmp_path / "w.toml"))
    assert {name: (int(box.quarters), box.bars) for name, box in music.boxes.items()} == {
        "a": (8, 2),
        "b": (4, 2),
        "c": (6, 2),
    }
    assert music.seconds == {}


def test_marks_come_from_the_score() -> None:
    """Our own demo score: its rehearsal marks, and a playing time near two minutes."""
    file = load_week(Path(__file__).parents[3] / "scores" / "weeks" / "noor-week-49.toml")
    music = week_music(file)
    assert music.marks["allegro"] == ("A", "B", "C", "D")
    assert 100 < music.seconds["allegro"] < 130
