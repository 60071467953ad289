"""What the week page of the desk costs, in processor time: `python -m tests.bench.bench_week_page`.

For a demo week: the plan again after a key (text changed, read and planned, faults placed in the form), what only the
making of the music shows, and a save. Goals: the plan 150 ms, a save 100 ms.

Found, the median of 15 in processor time: the plan 37 ms for a usual week (three boxes, four pieces) and 76 ms for the
largest demo week (five boxes, six pieces); check 101 and 264 ms; a save 10 ms.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from shutil import copytree
from statistics import median

from excerpts.desk.plan_preview import all_faults, plan_preview
from excerpts.desk.saves import Saves
from excerpts.desk.week_form import week_form
from excerpts.desk.week_texts import PageChange, WeekTexts, raw_text
from excerpts.score.opened_scores import Scores
from excerpts.system.resources import scores
from excerpts.weekfile.change_text import Change

ROUNDS = 15


def spent(work: Callable[[int], object]) -> tuple[float, float]:
    """Milliseconds of processor time and on the wall: the median of some rounds, after one that opens the scores."""
    work(-1)
    found = []
    for number in range(ROUNDS):
        start, wall = time.process_time(), time.perf_counter()
        work(number)
        found.append(((time.process_time() - start) * 1000, (time.perf_counter() - wall) * 1000))
    return median(one[0] for one in found), median(one[1] for one in found)


def main() -> None:
    opened = Scores()
    with tempfile.TemporaryDirectory() as folder:
        studio = copytree(str(scores()), Path(folder) / "studio")
        saves = Saves(studio, Path(folder) / "own")
        for path in sorted((studio / "weeks").glob("*.toml")):
            texts = WeekTexts(path, {path: raw_text(path.read_bytes())})

            def changed(number: int, texts: WeekTexts = texts) -> WeekTexts:
                return texts.changed([PageChange(Change("set", ("week", "focus"), f"focus {number}"))])

            def planned(number: int, changed: Callable[[int], WeekTexts] = changed) -> None:
                now = changed(number)
                week_form(now, plan_preview(now, opened).faults)

            def checked(number: int, changed: Callable[[int], WeekTexts] = changed) -> None:
                all_faults(changed(number), opened)

            def saved(number: int, path: Path = path, changed: Callable[[int], WeekTexts] = changed) -> None:
                shown = saves.show(path)
                saves.save(path, shown.digest, changed(number).own.encode(), what="saved")

            for name, work, goal in (("plan", planned, 150), ("check", checked, 0), ("save", saved, 100)):
                cpu, wall = spent(work)
                goal_told = f" (goal {goal})" if goal else ""
                print(
                    f"{path.stem:<16} {name:<6} {cpu:6.0f} ms of processor, {wall:6.0f} ms on the wall{goal_told}"
                )


if __name__ == "__main__":
    main()
