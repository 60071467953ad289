import tomllib
from typing import Any

import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.weekfile.lines import KeyPath, key_lines, line_of

TRICKY = """\
# [[box]] in a comment
format = 1
[player] # after a header
name = "not # a comment"
"quoted key" = 'single'
[week]
minutes = {mon = 30, tue = 5}
notes = [
  "one", # two
  \"\"\"three
  [[box]]
  four ""quoted\"\"\"\",
  '''
five''',
]
[[box]]
id = "a"
[box.inside]
dotted . key = 3
[[box]]
id = "b"
why = ["shift", "]"]
day = 2026-11-30 # a date
when = 2026-11-30 10:00:00
lists = [[1, 2], [{deep = 1}]]
"""


def test_finds_the_line_of_each_key() -> None:
    tomllib.loads(TRICKY)  # it is valid
    lines = key_lines(TRICKY)
    expected: dict[KeyPath, int] = {
        ("format",): 2,
        ("player",): 3,
        ("player", "name"): 4,
        ("player", "quoted key"): 5,
        ("week", "minutes", "tue"): 7,
        ("week", "notes"): 8,
        ("week", "notes", 0): 9,
        ("week", "notes", 1): 10,
        ("week", "notes", 2): 13,
        ("box",): 16,
        ("box", 0, "id"): 17,
        ("box", 0, "inside"): 18,
        ("box", 0, "inside", "dotted", "key"): 19,
        ("box", 1): 20,
        ("box", 1, "id"): 21,
        ("box", 1, "why", 1): 22,
        ("box", 1, "day"): 23,
        ("box", 1, "when"): 24,
        ("box", 1, "lists", 1, 0, "deep"): 25,
    }
    assert {path: lines.get(path) for path in expected} == expected


def test_a_missing_key_is_told_at_its_table() -> None:
    lines = key_lines(TRICKY)
    assert line_of(lines, ("box", 1, "piece")) == 20
    assert line_of(lines, ("piece", 0)) is None


def test_lines_of_a_file_from_windows_are_the_same() -> None:
    assert key_lines(TRICKY.replace("\n", "\r\n")) == key_lines(TRICKY)


_KEYS = st.text(min_size=1, max_size=6)
_VALUES = st.recursive(
    st.integers(-9, 9) | st.booleans() | st.text(max_size=12) | st.floats(allow_nan=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_KEYS, inner, max_size=3),
    max_leaves=12,
)


def _paths(value: Any, path: KeyPath = ()) -> list[KeyPath]:
    if isinstance(value, dict):
        found = [below for key, inner in value.items() for below in _paths(inner, (*path, key))]
    elif isinstance(value, list):
        found = [below for place, inner in enumerate(value) for below in _paths(inner, (*path, place))]
    else:
        found = []
    return [path, *found] if path else found


@settings(deadline=None)
@given(st.dictionaries(_KEYS, _VALUES, max_size=5))
def test_every_key_that_a_writer_of_toml_writes_has_a_line(data: dict[str, Any]) -> None:
    """A library writes the file; this scanner must find each of its keys in it, in the order of the file."""
    text = tomlkit.dumps(data)
    read = tomllib.loads(text)
    lines = key_lines(text)
    for path in _paths(read):
        assert 1 <= lines[path] <= text.count("\n") + 1
        assert path[:-1] not in lines or lines[path[:-1]] <= lines[path]
