"""`excerpts check`, `plan` and `workbook`: from a week file to its plan and its pages."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

import typer

from excerpts.cli.days import day
from excerpts.cli.look import chosen
from excerpts.output import check_output, workbook_name, write_whole

if TYPE_CHECKING:
    from excerpts.week import Week
    from excerpts.workbook import Built

PAPERS: Final = ("a4", "letter", "booklet", "phone")
SECTIONS: Final = ("boxes", "plan", "warm-ups")
_FILE: Final[Any] = typer.Argument(help="A week file (TOML).", show_default=False)


def check(week: Annotated[Path, _FILE]) -> int:
    """Find every fault of a week file, without building anything."""
    from excerpts.week import load_week, week_faults
    from excerpts.week.music import music_faults

    faults = week_faults(week) or music_faults(load_week(week))
    for fault in faults:
        print(fault, file=sys.stderr)  # noqa: T201
    if faults:
        return 2
    typer.echo(f"{week}: nothing wrong.")
    return 0


def plan(
    week: Annotated[Path, _FILE],
    as_json: Annotated[bool, typer.Option("--json", help="Print the plan as JSON.")] = False,
) -> None:
    """Show what to play on which day."""
    from excerpts.week import load_week, plan_lines, plan_week, tight_places, tight_text
    from excerpts.week.measured import week_music
    from excerpts.words import Words

    loaded = load_week(week)
    music = week_music(loaded)
    made = plan_week(loaded, music)
    words = Words(loaded.player.words)
    tight = [tight_text(one, loaded, words) for one in tight_places(made, loaded, music)]
    if as_json:
        typer.echo(json.dumps(made.to_json() | {"warnings": tight}, ensure_ascii=False, indent=2))
    else:
        typer.echo("\n".join([*plan_lines(made, loaded, words), *tight]))


def workbook(
    week: Annotated[Path, _FILE],
    output: Annotated[
        Path | None,
        typer.Option(
            "-o", "--output", help="The PDF to write; default: beside the week file.", show_default=False
        ),
    ] = None,
    paper: Annotated[
        str | None,
        typer.Option(
            "--paper", help="a4, letter, booklet (a sheet folded once) or phone; default: as the week says."
        ),
    ] = None,
    only: Annotated[
        list[str] | None, typer.Option("--only", help="boxes, plan or warm-ups; may be repeated.")
    ] = None,
    new: Annotated[
        bool, typer.Option("--new", help="Leave out the music that last week's workbook has.")
    ] = False,
    today: Annotated[
        str | None, typer.Option("--today", help="A day to mark, as 2026-11-30.", show_default=False)
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Write over a file of yours.")] = False,
) -> None:
    """Build the workbook of a week as a PDF."""
    from excerpts.week import load_week

    loaded = load_week(week)
    target = output or week.with_name(f"{workbook_name(loaded.player.name, loaded.week.start)}.pdf")
    check_output(target, (".pdf",), force=force)
    from excerpts.workbook.kept import last_week

    options = {
        "paper": chosen(paper, PAPERS, "--paper") if paper else None,
        "only": [chosen(name, SECTIONS, "--only") for name in only or ()],
        "last": last_week(loaded) if new else None,
        "today": day(today, "--today"),
    }
    build(loaded, target, **options)


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
    for warning in built.warnings:
        print(f"excerpts: {warning}", file=sys.stderr)  # noqa: T201
    typer.echo(f"{target}  ({built.pages} pages)")
    return built
