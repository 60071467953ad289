"""Random weeks on real music, the same for the same number: players of all levels with boxes from string quartets.

`python -m tests.workbook.random_weeks FOLDER FIRST LAST [SOURCE]` builds some and prints the audit of their pages;
SOURCE is another checkout whose package counts the pages to compare with. The music is in music21's corpus (its own
licence; not shipped by us).
"""

from __future__ import annotations

import random
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from excerpts.editions import EDITIONS, EditionName
from excerpts.score import open_score
from excerpts.week import load_week
from excerpts.workbook import Built, build_workbook
from excerpts.workbook.page_fit import Fitter
from excerpts.workbook.pages import BoxPage
from excerpts.workbook.paginate import SAFE_MM, Block, Page

if TYPE_CHECKING:
    import pytest

READERS = (
    ("first", 7), ("first", 6), ("lower", 10), ("middle", 14), ("middle", 30), ("upper", 16), ("upper", 72),
    ("advanced", 20),
)  # fmt: skip
FAULTS = ("shift", "uneven", "tone", "crossing", "rhythm", "speed", "intonation")
PLAYERS = ("violin", "violin", "viola", "cello")
"""What the parts of a quartet are played on."""
WARMUPS = ("D", "G", "Bb", "F# minor", "A", "C minor")


@lru_cache(maxsize=1)
def sources() -> tuple[Path, ...]:
    """Movements of string quartets."""
    from music21 import corpus

    names = ("mozart/k155", "mozart/k156", "mozart/k458", "haydn", "beethoven", "schumann_robert")
    found = [Path(str(path)) for path in corpus.getCorePaths() if str(path).endswith(".mxl")]
    return tuple(sorted(path for path in found if any(name in path.as_posix() for name in names)))


def week_file(folder: Path, number: int) -> tuple[Path, EditionName]:
    """Write a week file with its scores, and choose an edition.

    Args:
        folder: Where to.
        number: Which week.
    """
    chance = random.Random(number)
    level, age = READERS[number % len(READERS)]
    part = chance.randrange(4)
    lines = [
        "format = 1", "[player]", f'name = "Reader {number}"', f'instrument = "{PLAYERS[part]}"', f'level = "{level}"',
        f"age = {age}", f'words = "{chance.choice(["uk", "us", "de"])}"', "[week]", "start = 2026-11-30",
        f"minutes = {{ every = {chance.choice([20, 40, 60, 90])}, sun = 0 }}",
        f'focus = "{chance.choice(["Listen", "A quiet left hand in every shift", "One bow for each breath"])}"',
        f"notes = {['Sing the theme before you play it.'] * chance.randrange(4)}",
        f'paper = "{chance.choice(["a4", "letter"])}"',
    ]  # fmt: skip
    count = chance.randrange(1, 4 if level == "first" else 9)
    for place, source in enumerate(chance.sample(sources(), count)):
        shutil.copy(source, folder / f"p{place}.mxl")
        lines += _piece(chance, folder / f"p{place}.mxl", place, part)
    for key in chance.sample(WARMUPS, chance.randrange(3)):
        lines += ["[[warmup]]", f'key = "{key}"']
    for place in range(chance.randrange(4)):
        lines += [
            "[[technique]]",
            f'text = "Bow exercise {place + 1}: long bows on open strings"',
            "minutes = 3",
        ]
    if chance.random() < 0.5:
        lines += ["[[technique]]", 'piece = "p0"', f'bars = "{_bars(chance, folder / "p0.mxl", part, 8)}"']
    path = folder / "week.toml"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path, EDITIONS[number % len(EDITIONS)]


def _part(score: Path, part: int) -> str:
    return f"#{min(part + 1, len(open_score(score).parts))}"


def _bars(chance: random.Random, score: Path, part: int, most: int) -> str:
    """Some bars of a part, not more than so many."""
    bars = len(open_score(score).part(_part(score, part)).bars)
    first = chance.randrange(1, bars)
    return f"@{first}-@{min(bars, first + chance.randrange(most))}"


def _piece(chance: random.Random, score: Path, place: int, part: int) -> Iterator[str]:
    """A piece with a box or two of one to twelve bars."""
    status = chance.choice(["learning", "learning", "review", "performance"])
    title = f"{chance.choice(['Quartet op. 74,1', 'Study'])}: Movement {place + 1}"
    yield from ("[[piece]]", f'id = "p{place}"', f'title = "{title}"')
    yield from (f'score = "{score.name}"', f'part = "{_part(score, part)}"', f'status = "{status}"')
    yield from (["date = 2026-12-12"] if status == "performance" else [])
    for box in range(chance.choice([1, 1, 2])):
        bars = _bars(chance, score, part, 12)
        yield from ("[[box]]", f'id = "b{place}-{box}"', f'piece = "p{place}"', f'bars = "{bars}"')
        yield f"why = {chance.sample(FAULTS, chance.randrange(1, 3))}"
        if chance.random() < 0.3:
            yield 'note = "The third finger waits over its string before the bow changes, every time."'
        yield 'target = "crotchet = 96"' if chance.random() < 0.8 else 'goal = "one colour from start to end"'


@dataclass
class Audit:
    """What is found on the pages of some weeks, by what it is; and the weeks that it was found in."""

    counts: Counter[str] = field(default_factory=Counter)
    where: dict[str, list[str]] = field(default_factory=dict)

    def found(self, what: str, where: str) -> None:
        self.counts[what] += 1
        self.where.setdefault(what, []).append(where)


class Watched(Fitter):
    """Keeps the pages that were laid out last."""

    last: tuple[Sequence[Page], float, bool] = ((), 0.0, False)
    layouts = 0

    def __init__(self, lay_out: Any, *rest: Any) -> None:
        def watched(pages: Sequence[Page], numbers: Mapping[str, int]) -> Any:
            document = lay_out(pages, numbers)
            Watched.last = (pages, self.size.text_height, self.size.to_write)
            Watched.layouts += 1
            return document

        super().__init__(watched, *rest)


def audited(week: Path, name: EditionName, audit: Audit, patch: pytest.MonkeyPatch) -> Built:
    """Build a workbook and note what is on its pages.

    Args:
        week: The week file.
        name: The edition.
        audit: Takes what is found.
        patch: Puts the watched fitter in its place.
    """
    patch.setattr("excerpts.workbook.build.Fitter", Watched)
    Watched.layouts = 0
    built = build_workbook(load_week(week), paper=name)
    if Watched.layouts > 1:
        audit.found("laid out again", f"{week.parent.name} {name}")
    pages, page_mm, spreads = Watched.last
    for what, number in page_faults(pages, page_mm, spreads=spreads):
        audit.found(what, f"{week.parent.name} {name} page {number}")
    audit.counts["pages"] += built.pages
    audit.counts.update(_boxes_counted(pages, page_mm, spreads=spreads))
    for warning in built.warnings:
        if "outside the paper" in warning:
            audit.found("outside the paper", f"{week.parent.name}: {warning}")
    return built


_ROWS = frozenset({"text", "piece", "day"})
_HEADS = frozenset({"section", "head"})


def page_faults(pages: Sequence[Page], page_mm: float, *, spreads: bool) -> Iterator[tuple[str, int]]:
    """What a reader would complain of on made-up pages, each with its page."""
    for number, page in enumerate(pages, start=1):
        for group, alone in zip(page.groups, _alone(pages, number, page), strict=True):
            if alone:
                yield f"lonely {group.kind}", number
        if page.blocks[-1].kind in _HEADS and number < len(pages):
            yield "lonely heading", number
    if {block.kind for block in pages[-1].blocks} <= {"copying"}:
        yield "last page with the copying line only", len(pages)
    for parts in _boxes(pages):
        numbers = [number for number, _ in parts]
        yield "boxes", numbers[0]
        if len(numbers) == 1:
            continue
        if len(numbers) == 2 and (not spreads or numbers[0] % 2 == 0):
            yield "box on a spread" if spreads else "box on two screens", numbers[0]
        else:
            yield f"box over {len(numbers)} pages", numbers[0]
        if _high(parts) <= page_mm - SAFE_MM:
            yield "box broken though a page holds it", numbers[0]


def _boxes_counted(pages: Sequence[Page], page_mm: float, *, spreads: bool) -> Iterator[str]:
    """What is told of boxes and is no fault: which no two pages hold, and whose music and table lie open together."""
    for parts in _boxes(pages):
        if _high(parts) > 2 * page_mm - SAFE_MM:
            yield "box that no two pages hold"
        first, last = parts[0][0], parts[-1][0]
        if first == last or (spreads and first % 2 == 0 and last == first + 1):
            yield "box whose music and table lie open together"


def _high(parts: Sequence[tuple[int, Sequence[Block]]]) -> float:
    return sum(block.height + block.close_gap for _, blocks in parts for block in blocks)


def _alone(pages: Sequence[Page], number: int, page: Page) -> Iterator[bool]:
    """Whether each group of a page is one row of a list that goes on before or after."""
    for place, group in enumerate(page.groups):
        before = place == 0 and number > 1 and pages[number - 2].blocks[-1].kind == group.kind
        after = (
            place == len(page.groups) - 1
            and number < len(pages)
            and pages[number].blocks[0].kind == group.kind
        )
        yield group.kind in _ROWS and len(group.blocks) == 1 and (before or after)


def _boxes(pages: Sequence[Page]) -> Iterator[list[tuple[int, list[Block]]]]:
    """The blocks of each box by pages."""
    found: list[list[tuple[int, list[Block]]]] = []
    for number, page in enumerate(pages, start=1):
        for block in page.blocks:
            if block.kind == "opening" and isinstance(block.item, BoxPage) and block.box is None:
                found.append([])
            elif block.box is None:
                continue
            if not found[-1] or found[-1][-1][0] != number:
                found[-1].append((number, []))
            found[-1][-1][1].append(block)
    yield from found


_COUNT = """
import sys
from excerpts.week import load_week
from excerpts.workbook import build_workbook
print(build_workbook(load_week(sys.argv[1]), paper=sys.argv[2]).pages)
"""


def _main(folder: Path, first: int, last: int, source: str = "") -> None:
    import pytest

    audit, patch = Audit(), pytest.MonkeyPatch()
    for number in range(first, last):
        own = folder / f"week-{number:03}"
        own.mkdir(parents=True, exist_ok=True)
        week, name = week_file(own, number)
        built = audited(week, name, audit, patch)
        (own / f"{name}.pdf").write_bytes(built.pdf)
        before = ""
        if source and name != "large":
            run = subprocess.run(
                [sys.executable, "-c", _COUNT, str(week), name], env={"PYTHONPATH": source}, cwd=source,
                capture_output=True, text=True, check=False,
            )  # fmt: skip
            before = run.stdout.strip() or f"none: {(run.stderr.splitlines() or ['nothing said'])[-1]}"
            if run.stdout:
                audit.counts["pages where compared"] += built.pages
                audit.counts["pages before"] += int(before)
        sys.stdout.write(f"{own.name} {name}: {built.pages} pages {before and f'(before {before})'}\n")
        sys.stdout.flush()
    for what, count in sorted(audit.counts.items()):
        sys.stdout.write(
            f"{count:5} {what}: {'; '.join(audit.where.get(what, [])[:12]) if what != 'boxes' else ''}\n"
        )


if __name__ == "__main__":
    _main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]), *sys.argv[4:5])
