"""The rules of counting in Python: what the page's script is held to.

A clean run adds one. A slip takes one off the count, all of it, or nothing (`plan.slip` of the week). Two misses in a
row offer a slower tempo; they cost what two slips cost and no more.
"""

from __future__ import annotations

from dataclasses import dataclass

MOST_RUNS = 999


@dataclass(frozen=True)
class Run:
    """Clean runs in a row, and runs since the last clean one."""

    count: int = 0
    misses: int = 0


def after_run(run: Run, clean: bool, slip: str) -> Run:
    """The count after one more run."""
    if clean:
        return Run(min(run.count + 1, MOST_RUNS))
    left = {"one": run.count - 1, "all": 0, "none": run.count}[slip]
    return Run(max(left, 0), run.misses + 1)


def offer(run: Run, wanted: int, *, at: int, last: int, ups: int, most: int) -> str:
    """What is offered after a run."""
    if run.misses >= 2:
        return "slower" if at else ""
    if run.count < wanted:
        return ""
    if at == last:
        return "goal"
    return "up" if ups < most else ""
