"""`excerpts check`, `plan` and `workbook`: from a week file to its plan and its pages."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated, Any, Final

import typer

from excerpts.cli.building import build_week
from excerpts.cli.days import day
from excerpts.cli.look import chosen

PAPERS: Final = ("a4", "letter", "booklet", "phone")
SECTIONS: Final = ("boxes", "plan", "warm-ups")
_FILE: Final[Any] = typer.Argument(help="A week file (TOML).", show_default=False)


def check(week: Annotated[Path, _FILE]) -> int:
    """Find every fault of a week file and of its music, and what a workbook would leave out."""
    from excerpts.week.check import check_week

    found = check_week(week)
    for told in found.unread_marks:
        print(f"excerpts: {told}", file=sys.stderr)  # noqa: T201
    for fault in (*found.faults, *found.told):
        print(fault, file=sys.stderr)  # noqa: T201
    if found.faults:
        return 2
    typer.echo(f"{week}: a workbook can be made from it." if found.told else f"{week}: nothing wrong.")
    return 0


def plan(
    week: Annotated[Path, _FILE],
    as_json: Annotated[bool, typer.Option("--json", help="Print the plan as JSON.")] = False,
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
    force: Annotated[bool, typer.Option("--force", help="Overwrite an existing file.")] = False,
) -> None:
    """Build the workbook of a week as a PDF."""
    build_week(
        week=week,
        output=output,
        paper=chosen(paper, PAPERS, "--paper") if paper else None,
        only=[chosen(name, SECTIONS, "--only") for name in only or ()],
        new=new,
        today=day(today, "--today"),
        force=force,
    )
