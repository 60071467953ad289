"""Builds the workbook of one week file for the browser's own viewer."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from excerpts.desk.makings import Making
from excerpts.desk.studio_state import StudioState
from excerpts.errors import WeekError
from excerpts.studio.run import build_studio
from excerpts.system.cache import cache_folder


def print_week(state: StudioState, path: Path, making: Making) -> dict[str, Any]:
    """Build the workbook of a player's latest week as a build of the studio does, and wait for it.

    Args:
        state: The studio.
        path: The week file.
        making: Is told how far it is, and may stop it.

    Returns:
        As `made_of`.

    Raises:
        HaltedError: It was stopped.
        WeekError: It has faults, is not the latest of its player, or the workbook cannot be written.
    """
    summary = build_studio(
        state.folder, cache=cache_folder(), only=(path,), progress=making.progress, halt=making.halt
    )
    if not summary.outcomes:
        raise WeekError(
            "a later week of this player was written meanwhile. Load the page again.", where=path.name
        )
    outcome = summary.outcomes[0]
    if outcome.target is None or outcome.state == "failed":
        raise WeekError(outcome.why.replace(f"{state.root}/", ""))
    told = [line.removeprefix(f"{path.name}, ") for line in (*outcome.told, *outcome.warnings)]
    return made_of(state, outcome.target, outcome.pages, told)


def made_of(state: StudioState, path: Path, pages: int, remarks: list[str]) -> dict[str, Any]:
    """What a page is told of a workbook: its address, its name with its pages, and what the teacher should know."""
    message = "desk.week.made_one" if pages == 1 else "desk.week.made"
    return {
        "file": f"/file/{state.give(path)}",
        "said": state.words(message, file=path.name, pages=pages),
        "told": [line.replace(f"{state.root}/", "") for line in remarks],
    }
