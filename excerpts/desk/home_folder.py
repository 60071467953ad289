"""The folder of what a player is given: workbook, sounds and page, put together for one day."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from excerpts.desk.makings import Making
from excerpts.desk.studio_state import Player, StudioState
from excerpts.errors import InputError, OutputError
from excerpts.studio.run import build_studio
from excerpts.studio.version import fingerprint
from excerpts.studio.week_sounds import write_sounds
from excerpts.system.cache import Store, cache_folder
from excerpts.system.output import check_output, made_here, write_whole
from excerpts.system.studio_files import file_names, player_key, slug
from excerpts.week import load_week

FOLDER: Final = "home"
"""Folder in the studio: home/2026-11-30/mila-fenn/."""


@dataclass(frozen=True, slots=True)
class Put:
    """What was put together.

    Attributes:
        folder: The folder.
        files: The names of its files, from the folder.
        told: What the teacher should know.
    """

    folder: Path
    files: tuple[str, ...]
    told: tuple[str, ...]


def home_folder(state: StudioState, player: Player, day: str, players: Sequence[Player]) -> Path:
    """Where the files of a player go: under the short name, unless two players would share it."""
    short, full = file_names(player.name, "")
    alone = [player_key(one.name) for one in players if slug(one.name) == slug(player.name)]
    return state.folder / FOLDER / day / (short if len(alone) < 2 else full)


def put_together(
    state: StudioState,
    player: Player,
    folder: Path,
    making: Making,
    *,
    workbook: bool,
    sounds: bool,
    page: bool = False,
) -> Put:
    """Make what was chosen where it is not made yet, and put copies of it into a folder.

    Files that this program made and that were not chosen this time are taken out of it; others stay.

    Raises:
        HaltedError: It was stopped while the workbook was built.
        InputError: Something cannot be made or written.
    """
    state.saves.inside(folder)
    summary = build_studio(
        state.folder, cache=cache_folder(), only=[player.week], progress=making.progress, halt=making.halt
    )
    (outcome,) = summary.outcomes
    if outcome.state == "failed" or outcome.target is None:
        raise InputError(outcome.why)
    chosen: dict[str, Path] = {outcome.target.name: outcome.target} if workbook else {}
    lines: list[str] = []
    week = load_week(player.week, state.scores)
    if sounds:
        making.say("sounds")
        made, lines = write_sounds(week, outcome.target, Store(cache_folder()), fingerprint(), force=False)
        chosen |= {f"sound/{Path(path).name}": Path(path) for path in made}
    pages: dict[str, bytes] = {}
    if page:
        making.say("page")
        from excerpts.player_page import build_page  # a desk that makes no pages starts without it

        pages[outcome.target.with_suffix(".html").name] = build_page(week).html
    try:
        _copy(state, folder, {name: source.read_bytes() for name, source in chosen.items()} | pages)
    except OSError as error:
        raise OutputError(f"the folder cannot be written ({error.strerror}).", where=str(folder)) from error
    return Put(folder, tuple(sorted({*chosen, *pages})), tuple(lines))


def _copy(state: StudioState, folder: Path, chosen: dict[str, bytes]) -> None:
    """Write files into a folder, and take out of it those of ours that are not among them."""
    for name, data in chosen.items():
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        state.saves.inside(target)
        check_output(target)
        write_whole(target, data)
    for path in folder.rglob("*") if folder.is_dir() else ():
        ours = path.is_file() and not path.is_symlink() and made_here(path)
        if ours and path.relative_to(folder).as_posix() not in chosen:
            path.unlink()
    if folder.is_dir() and not any(folder.rglob("*.*")):
        shutil.rmtree(folder)


def files_in(folder: Path) -> tuple[str, ...]:
    """The files that are in a folder already."""
    return tuple(sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()))
