"""The layout audit on real music: a hundred boxes from string quartets, in workbooks for all kinds of readers.

The music is in music21's corpus (its own licence; not shipped by us).
"""

from __future__ import annotations

import io
import random
import shutil
from pathlib import Path

import pikepdf
import pytest

from excerpts.editions import EditionName, edition
from excerpts.score import open_score
from excerpts.week import load_week
from excerpts.workbook import build_workbook
from excerpts.workbook.reader import fitting, reader
from tests.workbook.audit import orphans, outside, split_music, staff_heights, ua_faults

BOXES = 10
READERS: tuple[tuple[str, int, EditionName], ...] = (
    ("middle", 14, "a4"),
    ("advanced", 17, "letter"),
    ("lower", 10, "a4"),
    ("first", 7, "a4"),
    ("upper", 72, "a4"),
    ("middle", 30, "letter"),
    ("advanced", 20, "phone"),
    ("first", 6, "letter"),
    ("upper", 16, "a4"),
    ("middle", 40, "phone"),
)
"""Ten weeks of ten boxes: level, age and edition of each."""
SAMPLE = frozenset({3})
"""That of the slow tier; the others belong to the corpus tier."""


def _sources() -> list[Path]:
    from music21 import corpus

    names = ("mozart/k155", "mozart/k156", "mozart/k458", "haydn", "beethoven", "schumann_robert")
    found = [Path(str(path)) for path in corpus.getCorePaths() if str(path).endswith(".mxl")]
    return sorted(path for path in found if any(name in path.as_posix() for name in names))


def _week(folder: Path, number: int) -> Path:
    """A week file with ten boxes from ten movements, of one to twelve bars each."""
    chance = random.Random(number)
    level, age, _ = READERS[number]
    lines = [
        "format = 1", "[player]", f'name = "Reader {number}"', 'instrument = "violin"', f'level = "{level}"',
        f"age = {age}", "[week]", "start = 2026-11-30", "minutes = { every = 90 }", 'focus = "Listen"',
    ]  # fmt: skip
    for place, source in enumerate(chance.sample(_sources(), BOXES)):
        shutil.copy(source, folder / f"p{place}.mxl")
        score = open_score(folder / f"p{place}.mxl")
        bars = len(score.part("#1").bars)
        first = chance.randrange(1, bars)
        last = min(bars, first + chance.randrange(12))
        lines += ["[[piece]]", f'id = "p{place}"', f'title = "Movement {place}"', f'score = "p{place}.mxl"']
        lines += [
            'part = "#1"',
            "[[box]]",
            f'id = "b{place}"',
            f'piece = "p{place}"',
            f'bars = "@{first}-@{last}"',
        ]
        lines += [
            f'why = "{chance.choice(["shift", "uneven", "tone", "crossing"])}"',
            'target = "crotchet = 96"',
        ]
    path = folder / "week.toml"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "number",
    [
        pytest.param(place, marks=pytest.mark.slow if place in SAMPLE else pytest.mark.corpus)
        for place in range(len(READERS))
    ],
)
def test_real_music_in_a_workbook(number: int, tmp_path: Path) -> None:
    """Staves, margins, splits, headings, fonts, PDF/UA; a hundred boxes in ten workbooks.

    On a phone a bar of many notes may be wider than the page by a hair: 0.5 mm.
    """
    week = load_week(_week(tmp_path, number))
    level, age, name = READERS[number]
    size = edition(name)
    staff = fitting(reader(level, age), size).staff_mm
    built = build_workbook(week, paper=name)
    heights = staff_heights(built.pdf)
    assert len(heights) >= BOXES
    assert max(abs(height - staff) for height in heights) < 0.1
    slack = 0.5 if size.name == "phone" else 0.3
    assert outside(built.pdf, size.inner, size.outer, size.top, 2.5, slack) == []
    with pikepdf.open(io.BytesIO(built.pdf)) as file:
        assert split_music(file, size.text_height) == []
        assert orphans(file) == []
        assert ua_faults(file) == []
