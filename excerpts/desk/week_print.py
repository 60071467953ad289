"""Builds the workbook of one week file for the browser's own viewer."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from excerpts.desk.studio_state import StudioState
from excerpts.errors import WeekError
from excerpts.studio.run import build_studio
from excerpts.system.cache import cache_folder


def print_week(state: StudioState, path: Path) -> dict[str, Any]:
    """Build the workbook of a player's latest week as a build of the studio does, and wait for it.

    Args:
        state: The studio.
        path: The week file.

    Returns:
        The key by which the desk gives the file, its name, its pages, and what the teacher should know.

    Raises:
        WeekError: It has faults, is not the latest of its player, or the workbook cannot be written.
    """
    summary = build_studio(state.folder, cache=cache_folder(), only=(path,))
    if not summary.outcomes:
        raise WeekError(
            "a later week of this player was written meanwhile. Load the page again.", where=path.name
        )
    outcome = summary.outcomes[0]
    if outcome.target is None or outcome.state == "failed":
        raise WeekError(outcome.why)
    told = [*outcome.told, *outcome.warnings]
    return {
        "file": state.give(outcome.target),
        "name": outcome.target.name,
        "pages": outcome.pages,
        "told": told,
    }
