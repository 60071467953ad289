"""Resolving a week file against opened scores: one store for all, and no file opened twice in a build."""

from __future__ import annotations

import ast
from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest

import excerpts
from excerpts.cli import main
from excerpts.excerpt import Tempo
from excerpts.score import Score, open_score, opened_scores
from excerpts.score.opened_scores import Scores
from excerpts.studio.worker import build
from excerpts.week import load_week, resolve
from excerpts.week.orders.check import check_week
from excerpts.weekfile import reading
from excerpts.weekfile.read_week import read_week
from tests.music import bars_of
from tests.week.weeks import HEAD

WEEK = (
    HEAD.replace(
        "format = 1", 'format = 1\nscales = "scales.csv"\nwarmups = "from pieces"\ninclude = "set.toml"'
    )
    + """
[[box]]
id = "opening"
piece = "air"
bars = "A+1-2"
why = "tone"
marks = "2:1 finger 3"
[[technique]]
piece = "air"
bars = "1-6"
[[technique]]
drill = "opening"
"""
)
SET = '[[piece]]\nid = "air"\ntitle = "Air"\nscore = "air.musicxml"\n'


@pytest.fixture
def week_file(tmp_path: Path) -> Path:
    marked = bars_of(*["C4:1 D4:1 E4:1 F4:1"] * 6).replace(
        b"<note", b"<direction><direction-type><rehearsal>A</rehearsal></direction-type></direction><note", 1
    )
    (tmp_path / "air.musicxml").write_bytes(marked)
    (tmp_path / "set.toml").write_text(SET)
    (tmp_path / "scales.csv").write_text("key,octaves\nD,1\nG,2\n")
    (tmp_path / "ada.toml").write_text(WEEK)
    return tmp_path / "ada.toml"


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How often each file was opened as a score, or read as a text."""
    names: Counter[str] = Counter()
    read_text = reading.read_text

    def counted_score(path: Path) -> Score:
        names[path.name] += 1
        return open_score(path)

    def counted_text(path: Path) -> str:
        names[path.name] += 1
        return read_text(path)

    monkeypatch.setattr(opened_scores, "open_score", counted_score)
    for module in ("reading", "scale_list"):
        monkeypatch.setattr(f"excerpts.weekfile.{module}.read_text", counted_text)
    return names


ALL = {"ada.toml": 1, "set.toml": 1, "scales.csv": 1, "air.musicxml": 1}


def test_a_workbook_opens_no_file_twice(week_file: Path, opened: Counter[str]) -> None:
    assert main(["workbook", str(week_file)]) == 0
    assert opened == ALL


def test_a_check_opens_no_file_twice(week_file: Path, opened: Counter[str]) -> None:
    assert check_week(week_file).faults == ()
    assert opened == ALL


def test_a_check_of_a_score_that_is_none_opens_it_once(week_file: Path, opened: Counter[str]) -> None:
    (week_file.parent / "air.musicxml").write_text("no score")
    assert check_week(week_file).faults
    assert opened == ALL


@pytest.mark.slow
def test_a_studio_opens_no_score_twice(week_file: Path, opened: Counter[str]) -> None:
    """Its text is read twice: digests are taken in between, so that what changes meanwhile is built again."""
    build(week_file, week_file.with_suffix(".pdf"), None, "", force=False)
    assert opened == dict.fromkeys(ALL, 2) | {"air.musicxml": 1}
    other = week_file.with_name("bo.toml")
    other.write_text(WEEK.replace("Ada", "Bo"))
    build(other, other.with_suffix(".pdf"), None, "", force=False)
    assert opened["air.musicxml"] == 1


def test_two_weeks_share_a_store_and_each_keeps_what_it_saw(week_file: Path, opened: Counter[str]) -> None:
    scores, score = Scores(), week_file.parent / "air.musicxml"
    first, second = (resolve(read_week(week_file), scores) for _ in range(2))
    assert opened["air.musicxml"] == 1
    assert first.score("air") is second.score("air")
    score.write_bytes(score.read_bytes().replace(b"<step>C", b"<step>D"))
    third = resolve(read_week(week_file), scores)
    assert first.score("air") is second.score("air") is not third.score("air")


def test_reading_opens_no_score(week_file: Path, opened: Counter[str]) -> None:
    read = read_week(week_file)
    assert read.content is not None
    assert (read.fault(("box", 0, "bars"), "").line, read.faults) == (
        WEEK.splitlines().index('bars = "A+1-2"') + 1,
        (),
    )
    assert opened["air.musicxml"] == 0
    assert load_week(week_file).boxes[0].bars == "A+1-2"


def _imports(room: str, *, deep: bool = True) -> set[str]:
    """The modules of ours that the modules of a room import, whether at their head or inside a function."""
    folder = Path(excerpts.__file__).parent
    trees = (ast.parse(path.read_bytes()) for path in (folder / room).glob("**/*.py" if deep else "*.py"))
    nodes = [node for tree in trees for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    return {node.module for node in nodes if node.module}


def test_reading_resolving_and_planning_import_one_way() -> None:
    """Reading knows nothing of resolving; planning opens no score; nothing that resolves knows of plans."""
    assert not {
        name for name in _imports("weekfile") if name.startswith("excerpts.week.") or name == "excerpts.week"
    }
    own = _imports("week", deep=False)
    assert not {name for name in own if name.startswith(("excerpts.week.plan", "excerpts.week.orders"))}
    assert not {name for name in _imports("week/orders") if name.startswith("excerpts.week.plan")}
    assert not {name for name in _imports("week/plan") if name.startswith("excerpts.week.orders")}
    assert not {name for name in _imports("week/plan") if name.startswith("excerpts.score")}


BEATS = """
[[piece]]
id = "jig"
title = "Jig"
score = "jig.musicxml"
[[box]]
id = "turn"
piece = "jig"
bars = "2"
target = 60
start = 40
[[box]]
id = "slow"
piece = "jig"
bars = "1"
target = "crotchet = 50"
[[retired]]
id = "old"
piece = "jig"
bars = "1"
target = "72.5"
retired = 2026-11-16
"""


def test_a_target_without_a_note_is_in_the_beat_of_its_bar_and_said_once(tmp_path: Path) -> None:
    jig = bars_of("C4:1.5 D4:1.5", "C4:1.5 D4:1.5").replace(
        b"<beats>4</beats><beat-type>4", b"<beats>6</beats><beat-type>8"
    )
    (tmp_path / "jig.musicxml").write_bytes(jig)
    (tmp_path / "ada.toml").write_text(HEAD + BEATS)
    week = load_week(tmp_path / "ada.toml")
    dotted = Fraction(3, 2)
    assert [box.target for box in week.boxes] == [Tempo(Fraction(60), dotted), Tempo(Fraction(50))]
    assert week.boxes[0].start == Tempo(Fraction(40), dotted)
    assert week.retired[0].target == Tempo(Fraction("72.5"), dotted)
    assert week.remarks == (
        'ada.toml, box "turn": a tempo without a note is in the beat of its bar: dotted crotchet = 60.',
    )


def test_bars_that_are_typed_in_tell_the_beat_of_a_target(tmp_path: Path) -> None:
    text = HEAD + '[[box]]\nid = "typed"\nabc = "M:6/8\\nL:1/8\\nK:D\\nDEF A3 |"\ntarget = 60\n'
    (tmp_path / "week.toml").write_text(text, encoding="utf-8")
    (box,) = load_week(tmp_path / "week.toml").boxes
    assert box.target == Tempo(Fraction(60), Fraction(3, 2))


def test_a_number_alone_where_no_score_tells_the_beat_is_a_fault(tmp_path: Path) -> None:
    piece = '[[piece]]\nid = "air"\ntitle = "Air"\n'
    text = HEAD + piece + '[[box]]\nid = "copied"\npiece = "air"\nplace = "p. 2"\ntarget = 92\n'
    (tmp_path / "week.toml").write_text(text, encoding="utf-8")
    (fault,) = check_week(tmp_path / "week.toml").faults
    assert (fault.line, fault.key) == (text[: text.index("target")].count("\n") + 1, 'box "copied", target')
    assert fault.message == 'Say which note has the beat: "crotchet = 92" or "dotted quarter = 92".'
