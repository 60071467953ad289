"""Changes that a page sends: read, given the values that a week file has, and made in its text."""

from __future__ import annotations

import tomllib
from collections.abc import Collection
from datetime import date
from typing import Any

import pytest

from excerpts.desk.week_changes import changed, read_changes
from excerpts.desk.week_fields import Field, field_at, fields_of
from excerpts.errors import InputError
from excerpts.weekfile.change_text import Change
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.lines import KeyPath
from excerpts.weekfile.read_week import TABLE_MODELS

TEXT = """\
format = 1  # the first line

[player]
name = "Ada"
instrument = "violin"
level = "lower"

[week]
start = 2026-11-30
minutes = 20   # every day
mood = "sunny"   # nobody knows this key

[[piece]]
id = "ferry"
title = "Evening Ferry"
score = "ferry.musicxml"

# the hard one
[[box]]
id = "ferry-12-16"
piece = "ferry"
bars = "12-16"   # to the barline

[[box]]
id = "low"
piece = "ferry"
bars = 3
"""


def read(text: str) -> dict[str, Any]:
    return tomllib.loads(text)


def set_value(text: str, path: KeyPath, value: Any) -> str:
    return changed(text, [Change("set", path, value)])


def add_box(text: str, values: dict[str, Any], to: int | None = None, taken: Collection[str] = ()) -> str:
    return changed(text, [Change("add", ("box",), values, to)], taken)


def remove(text: str, path: KeyPath) -> str:
    return changed(text, [Change("remove", path)])


def move(text: str, path: KeyPath, to: int) -> str:
    return changed(text, [Change("move", path, to=to)])


def test_a_box_is_added_with_an_id_of_its_own_and_the_values_that_a_file_has() -> None:
    typed = {"piece": "ferry", "bars": "12-16", "why": ["shift"], "target": "66", "clean": "5", "note": " "}
    text = add_box(TEXT, typed, taken=["ferry-12-16-2"])
    made = {
        "id": "ferry-12-16-3",
        "piece": "ferry",
        "bars": "12-16",
        "why": ["shift"],
        "target": 66,
        "clean": 5,
    }
    assert read(text)["box"][2] == made
    assert text.startswith(TEXT)
    assert read(add_box(TEXT, typed, to=0))["box"][0]["bars"] == "12-16"


def test_values_are_set_as_their_fields_ask() -> None:
    text = set_value(TEXT, ("week", "start"), "2026-12-07")
    text = set_value(text, ("week", "minutes", "tue"), "45")
    text = set_value(text, ("week", "notes"), ["One", "", "two\nlines"])
    text = set_value(text, ("player", "age"), "nine")
    text = set_value(text, ("player", "level"), "")
    text = set_value(text, ("week", "sound"), True)
    raw = read(text)
    assert raw["week"] == {
        "start": date(2026, 12, 7), "minutes": {"every": 20, "tue": 45}, "mood": "sunny",
        "notes": ["One", "two\nlines"], "sound": True,
    }  # fmt: skip
    assert raw["player"] == {"name": "Ada", "instrument": "violin", "age": "nine"}
    assert "# nobody knows this key" in text


def test_items_move_and_go() -> None:
    text = move(TEXT, ("box", 1), 0)
    assert [box["id"] for box in read(text)["box"]] == ["low", "ferry-12-16"]
    assert '# the hard one\n[[box]]\nid = "ferry-12-16"' in text
    assert [box["id"] for box in read(remove(TEXT, ("box", 0)))["box"]] == ["low"]
    assert remove(remove(TEXT, ("box", 0)), ("box", 0)).startswith(
        TEXT.partition("# the hard one")[0].rstrip()
    )


def test_a_page_that_is_older_than_the_file_is_told() -> None:
    with pytest.raises(InputError, match="Load the page again"):
        remove(TEXT, ("box", 7))
    with pytest.raises(InputError, match="Load the page again"):
        changed(TEXT, read_changes([{"do": "set", "path": ["technique", 0, "text"], "value": "x"}]))


@pytest.mark.parametrize("table", ['box = "x"', "box = 1", "[box]"])
def test_a_file_that_has_something_else_there_is_told(table: str) -> None:
    with pytest.raises(InputError, match="no place for this"):
        add_box(f"format = 1\n{table}\n", {"bars": "1"})


@pytest.mark.parametrize(
    "sent",
    [
        None, {}, "set", [1], [{}], [{"do": "set"}], [{"do": "set", "path": []}],
        [{"do": "set", "path": ["box", 0, "why"], "value": [{"a": 1}]}],
        [{"do": "set", "path": ["box", -1, "why"], "value": "x"}],
        [{"do": "set", "path": ["box", 0, "a", "b", "c"], "value": "x"}],
        [{"do": "set", "path": ["format"], "value": "2"}],
        [{"do": "add", "path": ["player"], "value": {}}], [{"do": "add", "path": ["box"], "value": "x"}],
        [{"do": "remove", "path": ["week"]}], [{"do": "move", "path": ["box", 0], "to": "1"}],
        [{"do": "move", "path": ["box", True], "to": 1}],
        [{"do": "set", "path": ["player", "name"]}] * 1001,
    ],
    ids=str,
)  # fmt: skip
def test_what_is_no_list_of_changes_is_refused(sent: object) -> None:
    with pytest.raises(InputError):
        read_changes(sent)


def test_changes_are_read_as_pages_send_them() -> None:
    sent = [
        {"do": "set", "path": ["box", 0, "note"], "value": "Elbow first"},
        {"do": "move", "path": ["box", 1], "to": 0},
        {"do": "add", "path": ["warmup"], "value": {"key": "D", "octaves": "2"}},
        {"do": "remove", "path": ["box", 1]},
    ]
    raw = read(changed(TEXT, read_changes(sent)))
    assert [box["id"] for box in raw["box"]] == ["low"]
    assert raw["warmup"] == [{"key": "D", "octaves": 2}]


def keys(fields: tuple[Field, ...]) -> list[str]:
    return [field.key for field in fields]


@pytest.mark.parametrize("table", TABLE_MODELS)
def test_every_key_of_a_week_file_is_a_field(table: str) -> None:
    model = TABLE_MODELS[table]
    found = field_at((table,))
    assert found is not None
    assert keys(found.inside) == [info.alias or name for name, info in model.model_fields.items()]


def test_kinds_and_choices_come_from_the_models() -> None:
    box = {field.key: field for field in fields_of(BoxItem)}
    assert box["why"].choices[:2] == ("uneven", "crossing")
    assert box["why"].many
    assert (box["clean"].kind, box["clean"].low, box["clean"].high) == ("number", 1, 50)
    assert (box["note"].kind, box["goal"].kind, box["area"].kind) == ("prose", "text", "kept")
    assert (box["target"].kind, box["since"].kind) == ("tempo", "date")
    player = field_at(("player", "instrument"))
    assert player is not None
    assert player.choices == ("violin", "viola", "cello", "bass")
    day = field_at(("week", "minutes", "2026-12-06"))
    assert day is not None
    assert day.kind == "number"
    assert field_at(("box", 0, "colour")) is None
