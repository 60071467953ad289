"""Progress: what is drawn is what the log says, inside its picture, in black and white."""

from __future__ import annotations

import re
from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from excerpts.log import LogRow
from excerpts.teacher.chart import HEIGHT, WIDTH, Scale, charts, progress_lines, progress_svg
from excerpts.teacher.tempos_reached import Point, Progress, Series, progress
from excerpts.words import Words
from tests.log.weeks import MONDAY, row
from tests.teacher.players import player

SVG = "{http://www.w3.org/2000/svg}"
WORDS = Words()
ROWS = [
    row(tempo=54, clean=3, day=0),
    row(tempo=58, clean=2, day=1),
    row(tempo=80, clean=5, day=2, weeks=2),
    row("tone", clean=2, day=0),
    row("tone", kind="heard", weeks=1),
    row("old", tempo=60, clean=3, day=0),
    row("gone", tempo=100, clean=1, day=0),
]


def test_the_highest_clean_tempo_of_each_week(tmp_path: Path) -> None:
    made = progress(player(tmp_path), ROWS, WORDS)
    assert made.weeks == tuple(MONDAY + timedelta(weeks=n) for n in range(3))
    run, tone, old, gone = made.series
    assert run.points == (
        Point(made.weeks[0], Fraction(58), 2, False),
        Point(made.weeks[2], Fraction(80), 5, True),
    )
    assert (tone.unit, [point.goal for point in tone.points]) == (None, [False, True])
    assert (old.retired, old.points[0].goal) == (date(2026, 11, 16), True)  # a check asks for three runs
    assert (gone.title, gone.target, gone.points[0].tempo) == ("gone", None, Fraction(100))


def test_tempos_are_counted_in_the_beat_of_the_target(tmp_path: Path) -> None:
    from excerpts.excerpt import Tempo

    rows = [LogRow(MONDAY, None, "box", "run", Tempo(Fraction(88), Fraction(1, 2)), 3)]
    (point,) = progress(player(tmp_path), rows, WORDS).series[0].points
    assert point.tempo == 44


def test_the_table(tmp_path: Path) -> None:
    lines = list(progress_lines(progress(player(tmp_path), ROWS, WORDS), WORDS))
    assert lines[0].split() == ["Box", "Goal", "30", "Nov", "7", "Dec", "14", "Dec"]
    assert re.fullmatch(r"Box 1, Song, bar 4 +crotchet = 80 +58 +– +80\*", lines[1])
    assert re.fullmatch(r"Box 2, Song, bar 9 +3 in a row +2× +\* +–", lines[2])
    assert lines[-1].startswith("* goal reached")


def test_a_picture_for_each_box_that_was_written_about(tmp_path: Path) -> None:
    week = player(tmp_path)
    drawn = charts(progress(week, ROWS, WORDS), WORDS)
    assert [chart.alt for chart in drawn][:2] == [
        "Box 1, Song, bar 4: 30 Nov 58, 14 Dec 80 *",
        "Box 2, Song, bar 9: 30 Nov 2, 7 Dec 3 *",
    ]
    assert charts(progress(week, [], WORDS), WORDS) == []


def test_the_file_is_svg_in_black_and_white_and_the_same_each_time(tmp_path: Path) -> None:
    made = progress(player(tmp_path), ROWS, WORDS)
    data = progress_svg(made, WORDS, "<Ada> & Co")
    root = etree.fromstring(data)
    assert root.tag == f"{SVG}svg"
    assert "<Ada> & Co" in [text.text for text in root.iter(f"{SVG}text")]
    colours = set(re.findall(rb"#[0-9a-f]{3,6}", data))
    assert colours == {b"#111", b"#fff", b"#9a9a9a"}
    assert data == progress_svg(made, WORDS, "<Ada> & Co")
    assert b"Nothing is in the log yet" in progress_svg(progress(player(tmp_path), [], WORDS), WORDS, "x")


points = st.builds(
    Point,
    st.integers(0, 60).map(lambda n: MONDAY + timedelta(weeks=n)),
    st.none() | st.fractions(10, 600, max_denominator=100),
    st.none() | st.integers(0, 999),
    st.booleans(),
)
series = st.builds(
    Series,
    st.text(max_size=80).filter(lambda text: text.isprintable()),
    st.sampled_from([None, Fraction(1), Fraction(3, 2), Fraction(1, 2)]),
    st.none() | st.fractions(10, 600, max_denominator=100),
    st.integers(0, 50),
    st.lists(points, min_size=1, max_size=30, unique_by=lambda point: point.week).map(
        lambda found: tuple(sorted(found, key=lambda point: point.week))
    ),
    st.none() | st.just(MONDAY),
)


@given(series)
def test_every_mark_is_inside_its_picture_and_higher_means_faster(one: Series) -> None:
    weeks = tuple(sorted({point.week for point in one.points} | {MONDAY}))
    (chart,) = charts(Progress(weeks, (one,)), WORDS)
    root = etree.fromstring(chart.svg())
    dots = [(float(dot.get("cx", "")), float(dot.get("cy", ""))) for dot in root.iter(f"{SVG}circle")]
    for x, y in dots:
        assert 9 <= x <= WIDTH
        assert 10 <= y <= HEIGHT - 6
    scale = Scale(one, 13, 38)
    values = [value for point in one.points if (value := scale.value(point)) is not None]
    assert len(dots) == len(values)
    order = sorted(range(len(values)), key=lambda place: values[place])
    heights = [dots[place][1] for place in order]
    assert heights == sorted(heights, reverse=True)
    labels = scale.labels()
    assert len(labels) == len(set(labels)) <= 12
