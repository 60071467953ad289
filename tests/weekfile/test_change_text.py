"""Changes to the text of a week file: what was asked for, where it stands, and nothing else."""

from __future__ import annotations

import re
import tomllib
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.system.resources import scores
from excerpts.weekfile.change_text import Change, applied, changed_text

TEXT = '''\
# of the file
format = 1 # one
grade = "V"   # a key that nobody knows

# ---- the player ----
[player]
name = "Ada"   # her name
instrument = "violin"
level = "lower"
shoe = 38

[week]   # seven
start = 2026-11-30
minutes = {mon = 30, tue = 20}  # no Sunday
notes = [
    "first",   # of all

    "second",
]

[[piece]]
id = "ferry"
title = 'Evening "Ferry"'

# right above a
[[box]]
id = "a"
piece = "ferry"
place = "p. 3"
why = ["shift", "tone"] # two
note = """
One line,
and another."""   # prose
[box.mine]
colour = "green"

# apart from a

[[box]] # header of b
id = 'b'
piece = "ferry"
place = "p. 4"
target = "crotchet = 60"   # fast

# ---- technique ----

[[technique]]
text = "Vibrato"
'''

values = st.one_of(
    st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), min_size=1, max_size=20),
    st.just("two\nlines\n"),
    st.just('"""\n\\'),
    st.integers(0, 1440),
    st.dates(),
    st.booleans(),
    st.lists(st.sampled_from(["first", "second", "third", "shift"]), min_size=1, max_size=4),
    st.fixed_dictionaries({"mon": st.integers(0, 90)}, optional={"2026-12-06": st.integers(0, 90)}),
)

paths = st.sampled_from(
    [
        ("player", "name"), ("player", "age"), ("week", "notes"), ("week", "focus"), ("week", "minutes"),
        ("week", "minutes", "mon"), ("week", "minutes", "sat"), ("plan", "turns"), ("plan", "shares"),
        ("scales",), ("grade",), ("box", 0, "why"), ("box", 0, "note"), ("box", 1, "note"),
        ("box", 1, "target"), ("piece", 0, "date"), ("technique", 0, "minutes"),
    ]
)  # fmt: skip

sets = st.builds(Change, st.just("set"), paths, values)
orders = st.one_of(
    st.builds(lambda at, to: Change("move", ("box", at), to=to), st.integers(0, 1), st.integers(0, 2)),
    st.builds(lambda at: Change("remove", ("box", at)), st.integers(0, 1)),
    st.builds(
        lambda to, value: Change("add", ("box",), {"id": "new", "note": value}, to),
        st.sampled_from([0, 1, 2, None]), values,
    ),
    st.builds(lambda table: Change("add", (table,), {"key": "D"}), st.sampled_from(["warmup", "parked"])),
)  # fmt: skip


def lines(text: str) -> list[str]:
    """The lines with something on them."""
    return [line for line in text.split("\n") if line.strip()]


def ends(draw: st.DataObject, text: str) -> str:
    """The text with one kind of line end, or with both, and with or without a mark at its beginning."""
    kinds = draw.draw(st.sampled_from(["\n", "\r\n", "both"]))
    if kinds == "both":
        rows = text.split("\n")
        text = "".join(row + ("\r\n" if place % 3 else "\n") for place, row in enumerate(rows[:-1]))
    else:
        text = text.replace("\n", kinds)
    return (
        draw.draw(st.sampled_from(["", "\ufeff"])) + text + draw.draw(st.sampled_from(["", "\n\n", "\r\n"]))
    )


def read(text: str) -> dict[str, Any]:
    return tomllib.loads(text.removeprefix("\ufeff"))


@given(st.data())
def test_no_change_gives_the_same_text(data: st.DataObject) -> None:
    text = ends(data, TEXT)
    assert changed_text(text, ()) == text
    assert changed_text(text, [Change("set", ("player", "name"), "Ada")]) == text


@given(st.data(), st.one_of(sets, orders))
def test_a_change_does_what_it_says_and_its_inverse_undoes_it(data: st.DataObject, change: Change) -> None:
    text = ends(data, TEXT)
    before = read(text)
    after = changed_text(text, [change])
    if change.do != "set" or change.path[:2] != ("week", "minutes"):
        assert read(after) == applied(before, change)
    assert read(changed_text(after, [inverse(before, change)])) == before
    assert after.startswith("\ufeff") == text.startswith("\ufeff")
    for end in ("\n", "\r\n"):
        if text.count("\n") == text.count(end) and text.count("\r") == end.count("\r") * text.count("\n"):
            assert after.count("\r") == end.count("\r") * after.count("\n")


def inverse(raw: dict[str, Any], change: Change) -> Change:
    """The change that undoes one."""
    *outer, last = change.path
    if change.do == "add":
        return Change("remove", (last, len(raw.get(str(last), [])) if change.to is None else change.to))
    if change.do == "move":
        to = len(raw["box"]) - 1 if change.to is None else min(change.to, len(raw["box"]) - 1)
        return Change("move", ("box", to), to=int(last))
    if change.do == "remove":
        return Change("add", ("box",), raw["box"][int(last)], int(last))
    if change.path[0] == "plan" and "plan" not in raw:
        return Change("set", ("plan",))
    value: Any = raw
    for step in change.path:
        value = value.get(step) if isinstance(value, dict) else value[step]
    return Change("set", change.path, value)


@given(st.data(), sets)
def test_every_other_line_stays(data: st.DataObject, change: Change) -> None:
    """Each line that does not hold the key is there as it was, with its line end, in the same order."""
    text = ends(data, TEXT)
    after = changed_text(text, [change])
    own = str(change.path[-1])
    held = {"notes": ('"first"', '"second"', "]"), "note": ("One", "and")}.get(own, ())
    key = ("minutes",) if change.path[:2] == ("week", "minutes") else (own,)
    kept = [
        line for line in lines(text.removeprefix("\ufeff")) if not line.lstrip().startswith((*held, *key))
    ]
    rest = iter(lines(after.removeprefix("\ufeff")))
    assert [line for line in kept if line not in rest] == []


@given(orders)
def test_a_moved_box_takes_its_comments_and_tables_with_it(change: Change) -> None:
    after = changed_text(TEXT, [change])
    kept = lines(TEXT)
    if change.do == "remove":
        body = re.split(r"\n\n", TEXT)
        gone = next(part for part in body if f"id = {'ab'[int(change.path[1])]!r}" in part.replace('"', "'"))
        kept = [line for line in kept if line not in lines(gone) or lines(TEXT).count(line) > 1]
    assert [line for line in kept if line not in lines(after)] == []
    if "# right above a" in after:
        assert '# right above a\n[[box]]\nid = "a"' in after


def test_one_line_of_a_list_is_changed_alone() -> None:
    after = changed_text(TEXT, [Change("set", ("week", "notes"), ["first", "2nd", "third"])])
    assert '    "first",   # of all\n\n    "2nd",' in after
    assert read(after)["week"]["notes"] == ["first", "2nd", "third"]


def test_minutes_for_every_day_become_a_table_when_one_day_is_set() -> None:
    text = TEXT.replace("{mon = 30, tue = 20}", "25")
    after = changed_text(text, [Change("set", ("week", "minutes", "sun"), 0)])
    assert "minutes = {every = 25, sun = 0}  # no Sunday\n" in after


def test_minutes_under_a_header_of_their_own() -> None:
    text = TEXT.replace("minutes = {mon = 30, tue = 20}  # no Sunday\n", "")
    text = text.replace("[[piece]]", "[week.minutes] # apart\nmon = 30  # day\ntue = 20\n\n[[piece]]")
    after = changed_text(text, [Change("set", ("week", "minutes", "tue"), 45)])
    assert after == text.replace("tue = 20", "tue = 45")
    after = changed_text(text, [Change("set", ("week", "minutes"), {"mon": 30, "fri": 10})])
    assert "[week.minutes] # apart\nmon = 30  # day\nfri = 10\n" in after
    assert read(changed_text(text, [Change("set", ("week", "minutes"), 30)]))["week"]["minutes"] == 30


@pytest.mark.parametrize(
    "text",
    [
        '# top\nformat = 1\nplayer = {name = "A"} # inline\nweek = {start = 2026-11-30, minutes = 20}\n'
        'box = [{id = "a"}, {id = "b"}] # boxes\n',
        '# top\nformat = 1\nplayer.name = "A" # dotted\nweek.start = 2026-11-30\nweek.minutes = 20\n'
        '[[box]]\nid = "a" # first\n[[box]]\nid = "b"\n',
    ],
    ids=["inside lines", "dotted"],
)
def test_tables_inside_lines_keep_their_comments_too(text: str) -> None:
    after = changed_text(
        text,
        [
            Change("set", ("player", "name"), "B"),
            Change("set", ("week", "start"), date(2026, 12, 7)),
            Change("set", ("box", 1, "note"), "new"),
        ],
    )
    raw = read(after)
    assert raw["player"] == {"name": "B"}
    assert raw["box"][1] == {"id": "b", "note": "new"}
    assert [line for line in re.findall("# .*", text) if line not in after] == []
    moved = read(
        changed_text(after, [Change("move", ("box", 1), to=0), Change("add", ("box",), {"id": "c"})])
    )
    assert [box["id"] for box in moved["box"]] == ["b", "a", "c"]


def test_the_first_item_of_an_empty_list() -> None:
    text = 'format = 1\nbox = []\n[player]\nname = "A"\n'
    assert read(changed_text(text, [Change("add", ("box",), {"id": "a"})]))["box"] == [{"id": "a"}]


@pytest.mark.parametrize("path", sorted((scores() / "weeks").glob("*.toml")), ids=lambda path: path.stem)
def test_a_note_of_a_demo_week(path: Any) -> None:
    text = path.read_text(encoding="utf-8")
    after = changed_text(text, [Change("set", ("box", 0, "note"), "Play.")])
    note = read(text)["box"][0]["note"]
    assert read(after)["box"][0]["note"] == "Play."
    gone = [line for line in lines(text) if line not in lines(after)]
    assert gone
    assert all(line.split(' "')[-1].strip('"\\ ') in note for line in gone if line != 'note = """')
