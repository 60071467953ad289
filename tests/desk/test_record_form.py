"""The form of a week's records: what the log says is shown, what is typed becomes rows, nothing is lost or doubled."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.desk.record_form import RecordForm, difference, record_form
from excerpts.desk.typed_record import ReadRecord, read_record, read_typed
from excerpts.errors import InputError
from excerpts.excerpt import Tempo
from excerpts.log import LogRow
from excerpts.week import Week
from excerpts.week.plan import Plan, plan_week
from excerpts.words import Words
from tests.log.weeks import HEAD, MONDAY, RUN, TONE, row
from tests.log.weeks import week as written

RETIRED = """
[[retired]]
id = "old"
piece = "song"
place = "bar 2"
target = "crotchet = 90"
retired = 2026-11-23

[[technique]]
text = "Check bar 2"
check = "old"
"""
Planned = tuple[Week, Plan]


def _planned(folder: Path, text: str) -> Planned:
    week = written(folder, text)
    return week, plan_week(week)


@pytest.fixture(scope="module")
def ada(tmp_path_factory: pytest.TempPathFactory) -> Planned:
    return _planned(tmp_path_factory.mktemp("ada"), HEAD + RUN + TONE + RETIRED)


@pytest.fixture(scope="module")
def child(tmp_path_factory: pytest.TempPathFactory) -> Planned:
    text = (HEAD + RUN).replace("age = 13", "age = 7").replace('"middle"', '"first"')
    return _planned(tmp_path_factory.mktemp("child"), text)


def _typed_as_shown(form: RecordForm) -> dict[str, Any]:
    """What the page sends of a form as it was shown."""
    return {
        "boxes": {
            box.box.id: {
                "lines": [
                    {
                        "was": line.day.isoformat() if line.day else None,
                        "day": line.day.isoformat() if line.day else None,
                        "cells": list(line.cells),
                        "other": line.other,
                        "broke": line.broke,
                        "noticed": line.noticed,
                    }
                    for line in box.lines
                ],
                "heard": box.heard,
            }
            for box in form.boxes
        },
        "pieces": [
            {
                "piece": line.piece,
                "row": line.key,
                "day": line.day.isoformat() if line.day else None,
                "played": line.played,
                "broke": line.broke,
                "noticed": line.noticed,
            }
            for line in form.pieces
        ],
        "scales": {scale.name: scale.heard for scale in form.scales},
        "days": [day.isoformat() for day, rows in form.days if rows],
    }


def _read(form: RecordForm, said: dict[str, Any]) -> ReadRecord:
    return read_record(form, read_typed(said), Words())


def _box(said: dict[str, Any], box: str = "run", line: int = 0) -> dict[str, Any]:
    found: dict[str, Any] = said["boxes"][box]["lines"][line]
    return found


def test_the_form_has_the_days_and_tempos_of_the_printed_record(ada: Planned) -> None:
    week, plan = ada
    form = record_form(week, plan, [])
    run, tone, old = form.boxes
    assert [line.day for line in run.lines] == [date(2026, 11, 30), date(2026, 12, 2), None]
    assert run.tempos[0] == Tempo(Fraction(40))
    assert run.tempos[-1] == Tempo(Fraction(80))
    assert all(line.tempos == run.tempos for line in run.lines)
    assert tone.lines[0].tempos == (None,)  # a goal in words has runs alone
    assert (old.number, [line.day for line in old.lines]) == (0, [None])
    assert [piece.piece for piece in form.pieces] == ["song"]


def test_a_child_has_one_tempo_a_day(child: Planned) -> None:
    (run,) = record_form(*child, []).boxes
    assert run.circles
    assert [len(line.tempos) for line in run.lines[:-1]] == [1] * (len(run.lines) - 1)
    assert run.lines[0].tempos == (Tempo(Fraction(40)),)
    assert run.lines[-1].tempos == ()


def test_a_paper_becomes_rows(ada: Planned) -> None:
    form = record_form(*ada, [])
    said = _typed_as_shown(form)
    _box(said)["cells"][0] = "5"
    _box(said)["cells"][1] = "x3"
    _box(said).update(broke="bar 4", noticed="thumb")
    _box(said, line=1)["other"] = "58"
    _box(said, "tone")["cells"] = ["2"]
    said["boxes"]["tone"]["heard"] = "not"
    said["boxes"]["old"]["heard"] = "clean"
    said["pieces"][0] |= {"played": True, "broke": "Takt 33–34"}
    said["days"] = ["2026-12-01"]
    read = _read(form, said)
    tempos = form.boxes[0].tempos
    assert read.faults == read.doubts == {}
    assert read.rows == [
        LogRow(MONDAY, MONDAY, "box", "run", tempos[0], 5),
        LogRow(MONDAY, MONDAY, "box", "run", tempos[1], 3, "4", "thumb"),
        row(tempo=58, day=2),
        row("tone", clean=2, day=2),
        row("tone", clean=0, kind="heard"),
        row("old", kind="heard"),
        row("song", kind="run-through", bars="33-34"),
        LogRow(MONDAY, date(2026, 12, 1), "day"),
    ]


def test_one_line_goes_into_the_cells(ada: Planned) -> None:
    form = record_form(*ada, [])
    said = _typed_as_shown(form)
    said["boxes"]["run"]["line"] = "mon 40 5, wed 58 3, tue 80 1, x2"
    read = _read(form, said)
    lines = read.lines["run"]
    assert lines[0].cells[0] == "5"
    assert lines[1].other == "58 3"
    assert (lines[2].day, lines[2].other) == (None, "x2")
    assert (lines[3].day, lines[3].cells[-1]) == (date(2026, 12, 1), "1")
    assert [(one.date, one.clean) for one in read.rows] == [
        (MONDAY, 5), (date(2026, 12, 2), 3), (None, 2), (date(2026, 12, 1), 1)
    ]  # fmt: skip


def test_what_is_wrong_and_what_is_doubtful_stand_by_their_cells(ada: Planned) -> None:
    form = record_form(*ada, [])
    said = _typed_as_shown(form)
    _box(said)["cells"][0] = "many"
    _box(said)["other"] = "wed 58"
    _box(said, line=1).update(other="150 2", broke="12")
    said["boxes"]["tone"]["line"] = "someday 3"
    read = _read(form, said)
    assert set(read.faults) == {"box run 0 c0", "box run 0 other", "box tone line"}
    assert read.faults["box run 0 c0"] == '"many" is not a number of clean runs (0 to 999).'
    assert read.doubts == {
        "box run 1 other": "crotchet = 150? The goal is crotchet = 80.",
        "box run 1 broke": "Bar 12? The box has 4.",
    }


def test_a_form_from_elsewhere_is_refused() -> None:
    for said in ({"boxes": {"run": {"lines": [{"cells": ["1" * 500]}]}}}, {"days": ["never"]}, {"other": 1}):
        with pytest.raises(InputError, match="the form cannot be read"):
            read_typed(said)


COUNTS = st.integers(0, 999)
BARS = st.sampled_from(["", "4", "4-5", "4; 9", "the shift"])
NOTES = st.sampled_from(["", "thumb", "=SUM(A1)", "<b>late</b>", "a; b"])


@st.composite
def _rows(draw: st.DrawFn) -> LogRow:
    """Any row that the log may have of this week, ones that no form would make among them."""
    day = draw(st.sampled_from([None, *(MONDAY + timedelta(days=n) for n in (0, 1, 2, 9))]))
    kind = draw(st.sampled_from(["box", "box", "box", "heard", "run-through", "day"]))
    if kind == "day":
        return LogRow(MONDAY, day or MONDAY, "day", note=draw(NOTES))
    if kind == "run-through":
        return LogRow(MONDAY, day, "run-through", "song", bars=draw(BARS), note=draw(NOTES))
    box = draw(st.sampled_from(["run", "tone", "old"]))
    tempo = draw(
        st.sampled_from([None, Tempo(Fraction(40)), Tempo(Fraction(58)), Tempo(Fraction(72), Fraction(1, 2))])
    )
    clean = draw(st.none() | COUNTS)
    if kind == "heard":
        return LogRow(MONDAY, None, "heard", box, tempo, clean, note=draw(NOTES))
    return LogRow(MONDAY, day, "box", box, tempo, clean, draw(BARS), draw(NOTES))


@settings(max_examples=30)
@given(st.lists(_rows(), max_size=12))
def test_a_form_that_nobody_touches_changes_nothing(ada: Planned, rows: list[LogRow]) -> None:
    form = record_form(*ada, rows)
    shown = [one for one in rows if one.kind != "day" or one.date in ada[0].week.dates]
    assert Counter(form.rows) == Counter(shown)
    read = _read(form, _typed_as_shown(form))
    assert difference(form.rows, read.rows) == ((), ())
    assert read.faults == read.doubts == {}


@st.composite
def _papers(draw: st.DrawFn) -> dict[str, Any]:
    """What may be typed: counts in cells, other tempos, bars and notes, by day."""

    def line(columns: int, day: date | None, tempos: bool) -> dict[str, Any]:
        other = st.sampled_from(["", "58", "58 3", "57, 59 2", "quaver = 72 x4"]) if tempos else st.just("")
        cells = [draw(st.sampled_from(["", "0", "3", "10"])) for _ in range(columns)]
        return {
            "was": day and day.isoformat(), "day": day and day.isoformat(), "cells": cells, "other": draw(other),
            "broke": draw(st.sampled_from(["", "4", "4-5", "4, 5"])), "noticed": draw(NOTES),
        }  # fmt: skip

    days = [MONDAY, MONDAY + timedelta(days=2), None]
    heard = draw(st.sampled_from(["", "clean", "not"]))
    return {
        "boxes": {
            "run": {"lines": [line(draw(st.just(5)), day, True) for day in days], "heard": heard},
            "tone": {"lines": [line(1, day, False) for day in days[1:]]},
        }
    }  # fmt: skip


@settings(max_examples=30)
@given(_papers())
def test_what_was_typed_is_shown_again_and_is_not_doubled(ada: Planned, said: dict[str, Any]) -> None:
    empty = record_form(*ada, [])
    columns = len(empty.boxes[0].tempos)
    for line in said["boxes"]["run"]["lines"]:
        line["cells"] = line["cells"][:columns] + [""] * (columns - len(line["cells"]))
    read = _read(empty, said)
    assert read.faults == {}
    gone, fresh = difference(empty.rows, read.rows)
    assert gone == ()
    again = record_form(*ada, fresh)
    assert Counter(again.rows) == Counter(fresh)
    shown = _typed_as_shown(again)
    for box in ("run", "tone"):
        for place, line in enumerate(said["boxes"][box]["lines"]):
            kept = shown["boxes"][box]["lines"][place]
            assert {key: kept[key] for key in line} == line
    # typed once more into the form that shows it, it changes nothing
    assert difference(again.rows, _read(again, said).rows) == ((), ())


@settings(max_examples=30)
@given(st.lists(_rows(), max_size=8), st.lists(_rows(), max_size=8))
def test_the_difference_leads_from_one_to_the_other(old: list[LogRow], new: list[LogRow]) -> None:
    gone, fresh = difference(old, new)
    assert Counter(old) - Counter(gone) + Counter(fresh) == Counter(new)
    assert not Counter(gone) & Counter(fresh)
