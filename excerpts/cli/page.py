"""`excerpts page`: the player's page of a week."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from excerpts.cli.command import Arg
from excerpts.cli.options import Force, WeekFile, warn, writes


def page(
    week: WeekFile,
    output: Annotated[Path, writes([".html"])],
    a: Annotated[int, Arg("--a", low=390, high=470, help="Hertz of A4 in what the page plays.")] = 440,
    force: Force = False,
) -> None:
    """Build the player's page of a week: one HTML file for a browser."""
    from excerpts.player_page import build_page
    from excerpts.system.output import check_output, write_whole
    from excerpts.week import load_week

    check_output(output, (".html",), force=force)
    built = build_page(load_week(week), a=a)
    write_whole(output, built.html)
    warn(*built.told, *built.warnings)
    print(f"{output}  ({len(built.html) / 1000:.0f} kB)")
