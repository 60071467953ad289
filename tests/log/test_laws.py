"""Whatever stands in a week file and a log: the next week is a right week file, and no box is lost or there twice."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.log import LogRow, next_week
from excerpts.log.choices import Choices
from excerpts.log.offers import Way
from excerpts.week import Week, load_week
from excerpts.week.plan import plan_week
from tests.log.weeks import MONDAY, row

IDS = ("a", "b", "c")

HEAD = """\
format = 1
[player]
name = "Ada Lind"
instrument = "violin"
level = "{level}"
[week]
start = 2026-11-30
minutes = 20
[[piece]]
id = "song"
title = "Song"
status = "{status}"
"""

boxes = st.sampled_from(
    [
        'target = "crotchet = 80"\nclean = 3',
        'goal = "one line"\nclean = 2',
        "clean = 1",
        'target = "♩. = 40"\nstart = 40',
    ]
)
kinds = st.sampled_from(["box", "retired", "parked"])


@st.composite
def weeks(draw: st.DrawFn) -> str:
    level = draw(st.sampled_from(["first", "lower", "advanced"]))
    text = HEAD.format(level=level, status=draw(st.sampled_from(["learning", "review"])))
    for name in IDS[: draw(st.integers(1, 3))]:
        kind = draw(kinds)
        text += f'\n[[{kind}]]  # {name}\nid = "{name}"\npiece = "song"\nplace = "bar 1"\n{draw(boxes)}\n'
        back = draw(st.integers(0, 5))
        if kind == "retired":
            text += f"retired = {MONDAY - timedelta(weeks=back)}\nchecks = {draw(st.integers(0, 3))}\n"
        elif draw(st.booleans()):
            text += f"since = {MONDAY - timedelta(weeks=back)}\n"
    return text


rows = st.builds(
    row,
    st.sampled_from([*IDS, "song", "gone"]),
    st.none() | st.integers(30, 220),
    st.none() | st.integers(0, 12),
    day=st.none() | st.integers(0, 6),
    weeks=st.integers(-3, 1),
    kind=st.sampled_from(["box", "heard", "run-through", "day"]),
    bars=st.sampled_from(["", "3", "4-5", "C+2"]),
)


def ids(week: Week) -> list[str]:
    return sorted(box.id for box in (*week.boxes, *week.retired, *week.parked))


@settings(max_examples=50, deadline=None)
@given(weeks(), st.lists(rows, max_size=12))
def test_next_is_always_a_right_week_with_every_box_once(
    tmp_path_factory: pytest.TempPathFactory, text: str, log: list[LogRow]
) -> None:
    week = _written(tmp_path_factory.mktemp("law"), text)
    made = next_week(week, log)
    made.path.write_text(made.text, encoding="utf-8")
    new = load_week(made.path)
    assert ids(new) == ids(week)
    assert new.week.start == MONDAY + timedelta(weeks=1)
    assert made.text == next_week(week, log).text
    for day in plan_week(new).days:
        assert sum(item.minutes for item in day.items) + day.break_minutes == day.minutes
    for name in ids(week):
        assert f"# {name}" in made.text
    retiring = {box.id for box in new.retired} - {box.id for box in week.retired}
    assert retiring <= {box.id for box in week.boxes}
    for box in new.boxes:
        if box.start is not None and box.target is not None:
            assert box.start.quarters_per_minute <= box.target.quarters_per_minute


@settings(max_examples=25, deadline=None)
@given(weeks(), st.lists(rows, max_size=6), st.sampled_from(["variant", "simplify", "park"]))
def test_a_way_out_loses_no_box_either(
    tmp_path_factory: pytest.TempPathFactory, text: str, log: list[LogRow], way: Way
) -> None:
    week = _written(tmp_path_factory.mktemp("law"), text)
    chosen = [box for box in week.boxes if way != "simplify" or box.target is not None][:1]
    made = next_week(week, log, choices=Choices(ways={box.id: way for box in chosen}))
    made.path.write_text(made.text, encoding="utf-8")
    assert ids(load_week(made.path)) == ids(week)


def _written(folder: Path, text: str) -> Week:
    path = folder / "week.toml"
    path.write_text(text, encoding="utf-8")
    return load_week(path)
