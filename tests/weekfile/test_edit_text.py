"""The text of a week file: taken apart and put together without a change, and moved with its comments."""

from __future__ import annotations

import tomllib
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.system.resources import scores
from excerpts.weekfile.edit_text import WeekText

TEXT = '''\
# of the file

format = 1 # one

[player]
name = "Ada"   # her name

# the days
[week]   # seven
start = 2026-11-30
minutes = {mon = 30}

[[box]]
id = "a"
abc = """
[[box]]
# no comment
id = "x"
"""   # music
# right below a

# apart from a

# right above b
[[box]] # header of b
id = 'b'
target = "crotchet = 60"   # fast
why = [
    "shift",  # a list

    "rhythm",
]

# ---- technique ----

[[technique]]
text = "Vibrato"
'''

comments = st.sampled_from(["", "# c\n", "\n", "\n# apart\n", "\n# apart\n\n", "# c\n\n# d\n"])
tables = st.sampled_from(
    [
        '[[box]]\nid = "%d"\nabc = "CDE"\n',
        '[[box]] # h\nid = "%d"   # i\nabc = """\n[[box]]\n\n# x\n"""\nwhy = [\n"shift", # s\n\n]\n',
        '[[piece]]\nid = "%d"\ntitle = "[[box]]"\n',
        '  [[warmup]]\n  text = "warm %d"\n',
        '[[technique]]\ntext = "%d"\n',
        '[[ "retired" ]]\nid = "%d"\nabc = "C"\nretired = 2026-11-30\n',
    ]
)


@st.composite
def files(draw: st.DrawFn) -> str:
    """A file of any tables in any order with comments anywhere between."""
    text = draw(comments) + "format = 1\n" + draw(comments) + '[player]\nname = "A"\n' + draw(comments)
    text += "[week]\nstart = 2026-11-30\nminutes = 20\n" + draw(comments)
    for number, table in enumerate(draw(st.lists(tables, max_size=8))):
        text += table % number + draw(comments)
    return text.rstrip("\n") + "\n"


def said(text: str) -> list[str]:
    """The words of all comments, in any order."""
    return sorted(line.partition("# ")[2] for line in text.split("\n") if "# " in line)


@pytest.mark.parametrize("path", sorted((scores() / "weeks").glob("*.toml")), ids=lambda path: path.stem)
def test_the_demo_weeks_come_out_as_they_went_in(path: object) -> None:
    text = (scores() / "weeks" / str(path)).read_text(encoding="utf-8")
    assert WeekText(text).text() == text


@given(files())
def test_what_is_not_changed_comes_out_as_it_went_in(text: str) -> None:
    assert WeekText(text).text() == text
    assert WeekText(text.replace("\n", "\r\n")).text() == text


@given(files(), st.data())
def test_moving_loses_nothing(text: str, data: st.DataObject) -> None:
    """Whatever box is moved where: same tables but for its name, same comments."""
    week = WeekText(text)
    boxes = week.all("box")
    if not boxes:
        return
    block = data.draw(st.sampled_from(boxes))
    to = data.draw(st.sampled_from(["retired", "parked"]))
    moved = block.values()
    week.move(block, to)
    block.set({"since": date(2026, 11, 30)})
    before, after = tomllib.loads(text), tomllib.loads(week.text())
    assert after[to][-1] == {**moved, "since": date(2026, 11, 30)}
    assert after.get("box", []) == [box for box in before["box"] if box != moved]
    for other in ("piece", "warmup", "technique", "player", "week", "format"):
        assert before.get(other) == after.get(other)
    assert said(week.text()) == said(text)


def test_comments_beside_and_above_go_along_and_those_apart_stay() -> None:
    week = WeekText(TEXT)
    assert week.text() == TEXT
    week.move(week.one("box", "b"), "parked")
    text = week.text()
    assert text.endswith(
        "# right above b\n[[parked]] # header of b\nid = 'b'\ntarget = \"crotchet = 60\"   # fast\n"
        'why = [\n    "shift",  # a list\n\n    "rhythm",\n]\n'
    )
    assert "# right below a\n\n# apart from a\n\n# ---- technique ----\n\n[[technique]]" in text


def test_keys_are_set_with_what_stands_beside_them() -> None:
    week = WeekText(TEXT)
    week.one("box", "b").set({"target": "crotchet = 50", "start": 40, "why": None}, {"start": "slowly"})
    text = week.text()
    assert 'target = "crotchet = 50"   # fast\nstart = 40 # slowly\n' in text
    week.one("box", "a").set({"clean": 3})
    assert '"""   # music\n# right below a\nclean = 3\n' in week.text()


def test_what_is_removed_leaves_what_stands_apart() -> None:
    week = WeekText(TEXT)
    week.remove(week.one("box", "a"))
    assert "minutes = {mon = 30}\n\n# apart from a\n\n# right above b\n[[box]] # header of b" in week.text()


def test_a_first_table_of_its_name_goes_where_one_would_look_for_it() -> None:
    week = WeekText(TEXT)
    week.add("piece", {"id": "p", "title": 'Quote " and \\ back'})
    text = week.text()
    assert text.index("[week]") < text.index("[[piece]]") < text.index("[[box]] # header of b")
    assert tomllib.loads(text)["piece"] == [{"id": "p", "title": 'Quote " and \\ back'}]
