"""Who shares the sets that week files include, and what a teacher is asked before one of them is changed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from excerpts.desk.studio_state import Player, StudioState
from excerpts.desk.week_texts import WeekTexts, raw_text
from excerpts.errors import InputError


def included(week: Path) -> set[Path]:
    """The sets that a week file on the disk includes.

    Raises:
        InputError: It cannot be read.
    """
    texts = WeekTexts(week, {week: raw_text(week.read_bytes())})
    return {document.file for document in texts.reading.sources.documents}


def sharers(state: StudioState, player: Player, texts: WeekTexts) -> dict[Path, str]:
    """Who shares each set that a week includes, in a row; a set that nobody else includes is left out."""
    documents = texts.reading.sources.documents
    sharing: dict[Path, list[str]] = {document.file: [] for document in documents}
    for other in state.players() if documents else ():
        if other.key == player.key:
            continue
        try:
            for file in included(other.week) & sharing.keys():
                sharing[file].append(other.name)
        except InputError:
            continue  # a week that cannot be read shares nothing that is known
    return {file: ", ".join([player.name, *names]) for file, names in sharing.items() if names}


def asked_for(state: StudioState, player: Player, texts: WeekTexts, file: Path) -> dict[str, Any]:
    """The question for whom something in a set is changed, and what is said once it was answered: for all."""
    words, names = state.words, sharers(state, player, texts).get(file)
    if names:
        said = words("desk.week.shared_by", file=file.name, players=names, player=player.name)
    else:
        said = words("desk.week.shared_set", file=file.name, player=player.name)
    return {
        "asked": said,
        "own": words("desk.week.for_one", player=player.name),
        "all": words("desk.week.for_all"),
        "now": words("desk.week.for_all_now", file=file.name),
    }
