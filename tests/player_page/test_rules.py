"""The script's own rules against Python's, a thousand cases each (browser tier)."""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta
from fractions import Fraction
from itertools import product
from random import Random
from typing import TYPE_CHECKING, Any

import pytest

from excerpts.excerpt import Tempo
from excerpts.log.log_cells import plain
from excerpts.log.row import COLUMNS, HEADER, LogRow, read_row, row_line
from excerpts.variants.tempo_steps import METRONOME_NUMBERS
from excerpts.words import Words
from tests.player_page.counting import Run, after_run, offer

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.browser

SLIPS = ("one", "all", "none")
CASES = 1000

_COUNT = """async (cases) => {
    const { afterRun, offerOf } = await import("/rules.mjs");
    return cases.map(([run, clean, slip, wanted, steps]) => {
        const next = afterRun(run, clean, slip);
        return [next.count, next.misses, offerOf(next, wanted, steps)];
    });
}"""


def asked(run: Run, clean: bool, slip: str, wanted: int, steps: dict[str, int]) -> list[Any]:
    return [{"count": run.count, "misses": run.misses}, clean, slip, wanted, steps]


def answered(run: Run, clean: bool, slip: str, wanted: int, steps: dict[str, int]) -> list[Any]:
    after = after_run(run, clean, slip)
    return [after.count, after.misses, offer(after, wanted, **steps)]


def test_counting_is_pythons(modules: Page) -> None:
    random = Random(49)
    cases = []
    for _ in range(CASES):
        last = random.randrange(6)
        steps = {
            "at": random.randint(0, last),
            "last": last,
            "ups": random.randrange(5),
            "most": random.choice([1, 3]),
        }
        run = Run(random.choice([0, 1, 2, 4, 9, 10, 11, 998, 999]), random.randrange(4))
        cases.append((run, random.random() < 0.5, random.choice(SLIPS), random.choice([1, 3, 5, 10]), steps))
    assert modules.evaluate(_COUNT, [asked(*case) for case in cases]) == [answered(*case) for case in cases]


def test_the_truth_table_of_a_slip(modules: Page) -> None:
    """Slip one, all, none; a clean run and a slip; below and at the wanted runs; written out by hand."""
    steps = {"at": 1, "last": 3, "ups": 0, "most": 3}
    table = {
        ("one", True, 4): [5, 0, ""], ("one", False, 4): [3, 1, ""],
        ("one", True, 9): [10, 0, "up"], ("one", False, 10): [9, 1, ""],
        ("all", True, 4): [5, 0, ""], ("all", False, 4): [0, 1, ""],
        ("all", True, 9): [10, 0, "up"], ("all", False, 10): [0, 1, ""],
        ("none", True, 4): [5, 0, ""], ("none", False, 4): [4, 1, ""],
        ("none", True, 9): [10, 0, "up"], ("none", False, 10): [10, 1, "up"],
    }  # fmt: skip
    assert len(table) == len(list(product(SLIPS, (True, False), (4, 10))))
    cases = [asked(Run(count), clean, slip, 10, steps) for slip, clean, count in table]
    assert modules.evaluate(_COUNT, cases) == list(table.values())


def test_two_misses_in_a_row_are_no_slip_of_their_own(modules: Page) -> None:
    steps = {"at": 1, "last": 3, "ups": 0, "most": 3}
    second = {"one": [3, 2, "slower"], "all": [0, 2, "slower"], "none": [5, 2, "slower"]}
    first = {"one": 4, "all": 0, "none": 5}
    cases = [asked(Run(first[slip], 1), False, slip, 10, steps) for slip in SLIPS]
    assert modules.evaluate(_COUNT, cases) == [second[slip] for slip in SLIPS]


def _texts(random: Random) -> str:
    signs = "abc ÄÖ„“'\"=+-@＝＠,;|\t\n\r\u2028\u202e\u00a0\u3000\ufeff\u0000\x7f\x85\U0001d11e<>&éﬁ"
    return "".join(random.choice(signs) for _ in range(random.randrange(14)))


def test_rows_are_pythons(modules: Page) -> None:
    random, words = Random(7), Words("us")
    rows = []
    for _ in range(CASES):
        week = date(2026, 11, 30) + timedelta(random.randrange(400))
        kind: Any = random.choice(["box", "run-through", "day"])
        tempo = Tempo(
            random.choice([Fraction(40), Fraction(63), Fraction(185, 2), Fraction(208)]),
            random.choice([Fraction(1), Fraction(3, 2)]),
        )
        box = random.choice(["climb", "sul-d", "a-1"]) if kind != "day" else ""
        rows.append(
            LogRow(
                week, week + timedelta(random.randrange(7)), kind, box, tempo if kind == "box" else None,
                random.randrange(1000) if kind == "box" else None, _texts(random), _texts(random),
            )
        )  # fmt: skip
    cells = []
    for row in rows:
        plainly = read_row(row_line(row, words))
        figure = "" if row.tempo is None else row_line(plainly, words).split(",")[4]
        unit = "" if row.tempo is None else row_line(plainly, words).split(",")[5]
        cells.append([
            row.week.isoformat() if row.week else "", row.date.isoformat() if row.date else "", row.kind, row.box,
            figure, unit, "" if row.clean is None else str(row.clean), row.bars, row.note,
        ])  # fmt: skip
    made = modules.evaluate(
        'async (rows) => { const { csvLine } = await import("/rules.mjs"); return rows.map(csvLine); }', cells
    )
    assert made == [row_line(row, words) for row in rows]
    assert [read_row(line).note for line in made] == [plain(row.note) for row in rows]


def test_columns_and_long_texts_are_the_logs(modules: Page) -> None:
    columns, longest, cut = modules.evaluate(
        'async () => { const r = await import("/rules.mjs"); '
        'return [r.COLUMNS, r.csvText("A, B", []), r.plain("𝄞".repeat(3000))]; }'
    )
    assert tuple(columns) == COLUMNS
    assert longest == f'{HEADER}\n,,player,,,,,,"A, B"\n'
    assert plain(cut) == "𝄞" * 2000


def test_a_loop_of_beats_drifts_by_no_sample(modules: Page) -> None:
    """Outside check: 60 * rate / tempo samples to a beat; 64 beats at least, whole bars, no beat half a sample off."""
    tempos = [20, *METRONOME_NUMBERS, 66.5, 92.25, 416]
    cases = [[bpm, rate, bar] for bpm in tempos for rate in (44100, 48000) for bar in (0, 3)]
    loops = modules.evaluate(
        'async (cases) => { const { loopOf } = await import("/rules.mjs"); '
        "return cases.map((c) => { const l = loopOf(...c); return [l.beats, l.length, l.at]; }); }",
        cases,
    )
    for (bpm, rate, bar), (beats, length, at) in zip(cases, loops, strict=True):
        period = 60 * rate / bpm
        assert beats >= 64
        assert beats % max(bar, 1) == 0
        assert all(abs(place - n * period) <= 0.5 for n, place in enumerate(at))
        if bpm == int(bpm):  # a whole number of samples: never any drift
            assert math.isclose(length, beats * period, abs_tol=0.02), (bpm, rate, bar)


@pytest.mark.parametrize(
    ("kept", "done", "below", "step"),
    [
        ({"step": 4, "day": "2026-12-02"}, [], 1, 4),  # chosen this day
        ({"step": 4, "day": "2026-12-01"}, [], 1, 0),  # nothing was written: the slowest
        ({"step": 0, "day": ""}, [("2026-11-30", 0, 5), ("2026-11-30", 3, 5)], 1, 2),  # one below what held
        ({"step": 0, "day": ""}, [("2026-11-30", 3, 5)], 0, 3),  # who rises by tenths begins where it held
        ({"step": 0, "day": ""}, [("2026-11-30", 0, 5)], 1, 0),
        ({"step": 0, "day": ""}, [("2026-11-30", 3, 5), ("2026-12-01", 2, 4)], 1, 2),  # nothing held on the last day
        ({"step": 0, "day": ""}, [("2026-12-03", 5, 5)], 1, 0),  # a day that is still to come
    ],
)  # fmt: skip
def test_the_step_that_a_day_begins_with(
    kept: dict[str, Any], done: list[tuple[str, int, int]], below: int, step: int, modules: Page
) -> None:
    rows = [{"day": day, "step": at, "clean": clean} for day, at, clean in done]
    found = modules.evaluate(
        'async ([kept, done, below]) => { const { readyStep } = await import("/rules.mjs"); '
        'return readyStep(kept, done, "2026-12-02", 5, below); }',
        [kept, rows, below],
    )
    assert found == step


def test_days_are_local_and_midnight_belongs_to_the_sitting(modules: Page) -> None:
    late = datetime(2026, 12, 1, 23, 50).timestamp() * 1000
    minute = 60_000
    cases = [
        (None, late, "2026-12-01", "2026-12-01"),
        ({"day": "2026-12-01", "last": late}, late + 20 * minute, "2026-12-02", "2026-12-01"),
        ({"day": "2026-12-01", "last": late}, late + 70 * minute, "2026-12-02", "2026-12-02"),
        ({"day": "2026-12-02", "last": late + 15 * minute}, late, "2026-12-01", "2026-12-02"),  # an hour back
        ({"day": "2026-12-02", "last": late}, late - 3000 * minute, "2026-11-29", "2026-11-29"),  # days back
    ]
    found = modules.evaluate(
        'async (cases) => { const { dayOfWork } = await import("/rules.mjs"); '
        "return cases.map(([sitting, now, day]) => dayOfWork(sitting, now, day)); }",
        [case[:3] for case in cases],
    )
    assert found == [case[3] for case in cases]
