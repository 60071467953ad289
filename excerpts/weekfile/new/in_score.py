"""What a table or an answer leaves to the score: which bars are meant, and which note beats in them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from excerpts.errors import InputError
from excerpts.excerpt import Tempo
from excerpts.score import Part, open_score
from excerpts.weekfile.studio_folder import find_root, find_score
from excerpts.weekfile.tempo_text import parse_number, tempo_text
from excerpts.words import Words


class PiecesInScores:
    """The parts of pieces, each opened once and only when it is asked for.

    Args:
        folder: The folder of the week files.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._studio = find_root(folder / "week.toml")
        self._parts: dict[tuple[str, str], Part | None] = {}

    def part(self, piece: Mapping[str, Any]) -> Part | None:
        """The part of a piece as a week file has it; None where there is none: checking the file tells why."""
        key = str(piece.get("score", "")), str(piece.get("part", ""))
        if key not in self._parts:
            try:
                score = open_score(find_score(key[0], self._folder, self._studio)) if key[0] else None
                self._parts[key] = score.part(key[1] or None) if score else None
            except InputError:
                self._parts[key] = None
        return self._parts[key]

    def fitting(self, piece: Mapping[str, Any], ranges: Sequence[str]) -> list[str]:
        """The ranges of bars that the part has; all of them where there is no part."""
        part = self.part(piece)
        return [bars for bars in ranges if part is None or _has(part, bars, _moved(piece))]

    def with_beat(self, piece: Mapping[str, Any], bars: str, target: str) -> str:
        """A target that is a number alone with the beat of its first bar; any other as it is."""
        part = self.part(piece)
        if part is None or not _has(part, bars, _moved(piece)):
            return target
        return with_beat(target, part, bars, _moved(piece))


def with_beat(target: str, part: Part, bars: str, pupil_bars: int = 0) -> str:
    """A target that is a number alone with the beat of the first of its bars, as the metre counts there."""
    try:
        number = parse_number(target)
    except ValueError:
        return target
    return tempo_text(Tempo(number, part.passage(bars, pupil_bars).beat), Words())


def _has(part: Part, bars: str, pupil_bars: int) -> bool:
    try:
        part.passage(bars, pupil_bars)
    except InputError:
        return False
    return True


def _moved(piece: Mapping[str, Any]) -> int:
    moved = piece.get("pupil_bars", 0)
    return moved if type(moved) is int else 0
