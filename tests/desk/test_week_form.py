"""A week as a form: every key with its value, its kind and what is wrong with it; and its plan before it is saved."""

from __future__ import annotations

import re
import tomllib
from datetime import date
from pathlib import Path
from shutil import copytree
from typing import Any

import pytest

from excerpts.desk.plan_preview import all_faults, plan_preview
from excerpts.desk.week_changes import read_changes
from excerpts.desk.week_form import WeekForm, week_form
from excerpts.desk.week_texts import PageChange, SharedError, WeekTexts, raw_text, read_page_changes
from excerpts.errors import InputError
from excerpts.score.opened_scores import Scores
from excerpts.system.resources import scores
from excerpts.week import load_week
from excerpts.week.measured import week_music
from excerpts.week.orders.check import check_week
from excerpts.week.plan import plan_lines, plan_week
from excerpts.words import Words
from excerpts.workbook.page_texts import short_day

SCORES = Scores()
DEMO = ("jonas", "mila", "noor")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo studio."""
    return copytree(str(scores()), tmp_path_factory.mktemp("demo") / "studio")


def texts_of(path: Path) -> WeekTexts:
    return WeekTexts(path, {path: raw_text(path.read_bytes())})


def after(texts: WeekTexts, *changes: dict[str, Any]) -> WeekTexts:
    return texts.changed(read_page_changes(list(changes)))


def setting(*path: str | int, value: Any) -> dict[str, Any]:
    return {"do": "set", "path": list(path), "value": value}


def form_of(texts: WeekTexts) -> WeekForm:
    return week_form(texts, all_faults(texts, SCORES)[0])


@pytest.mark.parametrize("name", DEMO)
def test_every_value_of_a_week_is_on_its_form(demo: Path, name: str) -> None:
    path = demo / "weeks" / f"{name}-week-49.toml"
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    form = week_form(texts_of(path))
    for group in ("player", "week"):
        given = {key for key, field in form.groups[group].items() if field.given}
        assert given == raw[group].keys()
    for table in ("piece", "box", "warmup", "technique"):
        items = form.items[table]
        assert [{key for key, one in item.fields.items() if one.given} for item in items] == [
            set(item) for item in raw.get(table, [])
        ]
    assert form.faults == ()


@pytest.mark.parametrize("name", DEMO)
def test_the_plan_is_that_of_the_command(demo: Path, name: str) -> None:
    path = demo / "weeks" / f"{name}-week-49.toml"
    week = load_week(path)
    plan = plan_week(week, week_music(week))
    shown = plan_preview(texts_of(path), SCORES)
    assert shown.data is not None
    assert {key: value for key, value in shown.data.items() if key != "warnings"} == plan.to_json()
    lines = [line for day in shown.days for line in (day.head, *day.lines)] + list(shown.remarks)
    words = Words(week.player.words)
    told = [line.strip() for line in plan_lines(plan, week, words)]
    dated = [
        re.sub(r"\d{4}-\d\d-\d\d", lambda day: short_day(date.fromisoformat(day[0]), words), line)
        for line in told
    ]
    assert [line.rstrip(":") for line in lines[: len(told)]] == [line.rstrip(":") for line in dated]


FAULTS = (
    (("box", 0, "bars"), "999", "f-box-0-bars"),
    (("box", 0, "why"), ["shif"], "f-box-0-why"),
    (("box", 1, "piece"), "nothing", "f-box-1-piece"),
    (("box", 1, "start"), "300", "f-box-1"),
    (("player", "age"), "nine", "f-player-age"),
    (("player", "instrument"), "harp", "f-player-instrument"),
    (("player", "name"), "", "f-player-name"),
    (("week", "minutes", "mon"), "lots", "f-week-minutes"),
    (("week", "start"), "tomorrow", "f-week-start"),
    (("piece", 0, "score"), "gone.musicxml", "f-piece-0-score"),
    (("piece", 0, "part"), "Oboe", "f-piece-0-part"),
    (("warmup", 0, "key"), "H#", "f-warmup-0-key"),
    (("technique", 0, "bars"), "", "f-technique-0"),
    (("plan", "break_minutes"), "30", "f-plan"),
    (("plan", "shares"), {"warm-up": "1"}, "f-plan-shares-technique"),
    (("scales",), "gone.csv", "f-scales"),
)


@pytest.mark.parametrize(("path", "value", "beside"), FAULTS, ids=[one[2] for one in FAULTS])
def test_a_fault_stands_beside_its_field_in_the_words_of_check(
    demo: Path, tmp_path: Path, path: tuple[Any, ...], value: Any, beside: str
) -> None:
    studio = copytree(demo, tmp_path / "studio")
    file = studio / "weeks" / "jonas-week-49.toml"
    texts = after(texts_of(file), setting(*path, value=value))
    told = form_of(texts).told()
    assert beside in told
    file.write_text(texts.own, encoding="utf-8")
    found = {fault.message for fault in check_week(file).faults}
    assert any(text.endswith(message) for text in told[beside] for message in found)


def test_a_key_that_is_not_known_is_told_at_its_item(demo: Path) -> None:
    path = demo / "weeks" / "mila-week-49.toml"
    texts = after(texts_of(path), setting("box", 0, "colour", value="red"), setting("shoe", value="38"))
    form = form_of(texts)
    assert 'There is no key "colour" here.' in form.told()["f-box-0"][0]
    assert any("shoe" in text for text in form.faults)


def test_the_plan_stays_where_a_bar_is_not_there_and_says_that_it_is_a_guess(demo: Path) -> None:
    path = demo / "weeks" / "jonas-week-49.toml"
    shown = plan_preview(after(texts_of(path), setting("box", 0, "bars", value="999")), SCORES)
    assert "there is no bar 999" in shown.unmeasured
    assert len(shown.days) == 7


def test_nothing_is_planned_where_too_little_is_right(demo: Path) -> None:
    path = demo / "weeks" / "jonas-week-49.toml"
    shown = plan_preview(after(texts_of(path), setting("week", "start", value="")), SCORES)
    assert shown.days == ()
    assert [fault.path for fault in shown.faults] == [("week", "start")]


SET = """\
# boxes of the section
[[piece]]
id = "air"
title = "Slow Air"
score = "air.musicxml"

[[box]]
id = "turn"
piece = "air"
bars = "2-3"   # the turn
why = "shift"

[[warmup]]
key = "D"
"""

OWN = """\
format = 1
include = "sets/section.toml"

[player]
name = "{name}"
instrument = "violin"
level = "lower"

[week]
start = 2026-11-30
minutes = 20

[[box]]
id = "own"
piece = "air"
bars = "4"
"""


@pytest.fixture
def section(folder: Path) -> WeekTexts:
    """A week that includes a set of boxes."""
    (folder / "sets").mkdir()
    (folder / "sets" / "section.toml").write_text(SET, encoding="utf-8")
    path = folder / "ida.toml"
    path.write_text(OWN.format(name="Ida"), encoding="utf-8")
    return texts_of(path)


def test_a_shared_box_is_changed_when_it_was_said_for_whom(section: WeekTexts) -> None:
    shared = setting("box", 1, "note", value="Arm first")
    assert week_form(section).items["box"][1].shared == section.path.parent / "sets" / "section.toml"
    with pytest.raises(SharedError):
        after(section, shared)
    alone = after(section, {**shared, "scope": "own"})
    assert list(alone.texts) == [section.path]
    boxes = tomllib.loads(alone.own)["box"]
    assert boxes[1] == {"id": "turn", "piece": "air", "bars": "2-3", "why": "shift", "note": "Arm first"}
    assert [one.shared for one in week_form(alone).items["box"]] == [None, None]
    for_all = after(section, {**shared, "scope": "all"})
    assert for_all.own == section.own
    text = for_all.texts[section.path.parent / "sets" / "section.toml"]
    assert text == SET.replace('why = "shift"\n', 'why = "shift"\nnote = "Arm first"\n')
    assert week_form(for_all).items["box"][1].value("note") == "Arm first"


def test_a_shared_box_can_be_left_out_for_one_player(section: WeekTexts) -> None:
    alone = after(section, {"do": "remove", "path": ["box", 1], "scope": "own"})
    assert [box["id"] for box in tomllib.loads(alone.own)["parked"]] == ["turn"]
    assert len(week_form(alone).items["box"]) == 1
    for_all = after(section, {"do": "remove", "path": ["box", 1], "scope": "all"})
    assert "turn" not in for_all.texts[section.path.parent / "sets" / "section.toml"].replace(
        "# the turn", ""
    )


def test_a_shared_piece_that_is_written_into_a_week_still_finds_its_score(section: WeekTexts) -> None:
    alone = after(section, {"do": "own", "path": ["piece", 0], "scope": "own"})
    assert form_of(alone).told() == {}
    assert tomllib.loads(alone.own)["piece"][0]["title"] == "Slow Air"


def test_a_shared_warm_up_is_not_changed_for_one(section: WeekTexts) -> None:
    change = setting("warmup", 0, "octaves", value="1")
    with pytest.raises(InputError, match="for all"):
        after(section, {**change, "scope": "own"})
    assert (
        "octaves = 1"
        in after(section, {**change, "scope": "all"}).texts[section.path.parent / "sets" / "section.toml"]
    )


def test_a_new_box_gets_an_id_that_no_shared_one_has(section: WeekTexts) -> None:
    added = after(section, {"do": "add", "path": ["box"], "value": {"id": "", "piece": "turn", "bars": ""}})
    assert tomllib.loads(added.own)["box"][1]["id"] != "turn"
    plain = section.changed([PageChange(one) for one in read_changes([])])
    assert plain.own == section.own
