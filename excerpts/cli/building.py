"""The work of `excerpts workbook`, with nothing of the command line: a workbook is built and written."""

from __future__ import annotations

import sys
from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING, Any

from excerpts.system.output import check_output, workbook_name, write_whole

if TYPE_CHECKING:
    from datetime import date

    from excerpts.week import Week
    from excerpts.workbook import Built


def build_week(
    *,
    week: Path,
    output: Path | None = None,
    paper: Any = None,
    only: Collection[Any] = (),
    new: bool = False,
    today: date | None = None,
    force: bool = False,
) -> None:
    """Build the workbook of a week file.

    Args:
        week: The file.
        output: The PDF to write; None for one beside the week file.
        paper: Its paper; None for the week's own.
        only: The sections that are wanted; empty for all.
        new: Leave out what last week's workbook has.
        today: A day to mark.
        force: Write over a file of the user's.

    Raises:
        ExcerptsError: The week, its music or the file to write is not as it should be.
    """
    from excerpts.week import load_week

    loaded = load_week(week)
    target = output or week.with_name(f"{workbook_name(loaded.player.name, loaded.week.start)}.pdf")
    check_output(target, (".pdf",), force=force)
    from excerpts.workbook.already_printed import last_week

    last = last_week(loaded) if new else None
    build(loaded, target, paper=paper, only=only, last=last, today=today)


def build(week: Week, target: Path, **options: Any) -> Built:
    """Build a workbook, write it, and say what the teacher should know.

    Args:
        week: The week.
        target: The file to write.
        options: What `build_workbook` takes besides.
    """
    from excerpts.workbook import build_workbook

    built = build_workbook(week, **options)
    write_whole(target, built.pdf)
    for warning in (*built.told, *built.warnings):
        print(f"excerpts: {warning}", file=sys.stderr)  # noqa: T201
    print(f"{target}  ({built.pages} pages)")  # noqa: T201
    return built
