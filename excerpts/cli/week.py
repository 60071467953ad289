"""`excerpts check`, `plan` and `workbook`: from a week file to its plan and its pages."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

from excerpts.cli.command import Arg
from excerpts.cli.options import Force, WeekFile, day, pages, print_json, warn, writes
from excerpts.editions import EDITIONS
from excerpts.system.output import check_output, write_whole
from excerpts.system.studio_files import refuse_anothers, workbook_path

if TYPE_CHECKING:
    from excerpts.week import Week
    from excerpts.workbook import Built

SECTIONS: Final = ("boxes", "plan", "warm-ups")


def check(week: WeekFile) -> int:
    """Find every mistake in a week file and its music, and what a workbook would leave out."""
    from excerpts.week.orders.check import check_week

    checked = check_week(week)
    warn(*checked.warnings)
    for fault in (*checked.faults, *checked.told):
        print(fault, file=sys.stderr)
    if checked.faults:
        return 2
    print(f"{week}: a workbook can be made from it." if checked.told else f"{week}: nothing wrong.")
    return 0


def plan(
    week: WeekFile,
    as_json: Annotated[bool, Arg("--json", help="Print the plan as JSON.")] = False,
) -> None:
    """Show what to play on which day."""
    from excerpts.week import load_week
    from excerpts.week.measured import week_music
    from excerpts.week.plan import plan_lines, plan_week, tight_places, tight_text
    from excerpts.words import Words

    loaded = load_week(week)
    music = week_music(loaded)
    made = plan_week(loaded, music)
    words = Words(loaded.player.words)
    from excerpts.week.load import load_warnings

    tight = [*load_warnings(loaded, words)]
    tight += [tight_text(one, loaded, words) for one in tight_places(made, loaded, music)]
    if as_json:
        print_json(made.to_json() | {"warnings": tight})
    else:
        print("\n".join([*plan_lines(made, loaded, words), *tight]))


def workbook(
    week: WeekFile,
    output: Annotated[Path | None, writes([".pdf"], "default: beside the week file")] = None,
    paper: Annotated[
        str | None,
        Arg(
            "--paper",
            choices=EDITIONS,
            help="a4, letter, booklet (a sheet folded once), phone or large (print); default: as the week says.",
        ),
    ] = None,
    only: Annotated[
        list[str] | None,
        Arg("--only", choices=SECTIONS, help="boxes, plan or warm-ups; may be repeated."),
    ] = None,
    new: Annotated[
        bool, Arg("--new", help="Name the page of an earlier workbook instead of printing its music again.")
    ] = False,
    today: Annotated[str | None, Arg("--today", help="A day to mark, as 2026-11-30.")] = None,
    force: Force = False,
) -> None:
    """Build the workbook of a week as a PDF."""
    from excerpts.week import load_week

    marked = day(today, "--today")
    loaded = load_week(week)
    target = output or workbook_path(week.parent, loaded.player.name, loaded.week.start)
    check_output(target, (".pdf",), force=force)
    if not force:
        refuse_anothers(target, loaded.player.name)
    from excerpts.workbook.already_printed import earlier_workbooks

    earlier = tuple(earlier_workbooks(loaded).values()) if new else ()
    from excerpts.week.load import load_warnings
    from excerpts.words import Words

    warn(*load_warnings(loaded, Words(loaded.player.words)))
    build(loaded, target, paper=paper, only=only or (), earlier=earlier, today=marked, tell=_end_the_engraver)


def _end_the_engraver(step: str, _done: int, _of: int) -> None:
    """End the engraver once all music is drawn: 30 MB less while the pages are laid out, which takes the most."""
    if step == "pages":
        from excerpts.engrave.verovio_page import ENGRAVER

        ENGRAVER.stop()


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
    warn(*built.told, *built.warnings)
    print(f"{target}  ({pages(built.pages)})")
    return built
