"""What is left of a file when all that is faulty is taken out: the rest is looked at in the same round."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any, Final

from excerpts.weekfile.lines import KeyPath

_NEEDED: Final = frozenset({(), ("format",), ("player",), ("week",)})
"""What no week can do without."""

_MOST_ROUNDS: Final = 10
"""How often something is found that comes of what was taken out: a box of a piece that is gone, a drill on that box."""


@dataclass(frozen=True, slots=True)
class Sound:
    """The sound part of a file.

    Attributes:
        raw: Its tables.
        kept: Of each list that it has, by its path in the file: the places that its items have there.
    """

    raw: dict[str, Any]
    kept: dict[KeyPath, list[int]] = field(default_factory=dict)

    def place(self, path: KeyPath) -> KeyPath:
        """A path in the sound part as it is in the file."""
        found: KeyPath = ()
        for step in path:
            places = self.kept.get(found)
            inside = places is not None and isinstance(step, int) and step < len(places)
            found = (*found, places[step] if places and inside and isinstance(step, int) else step)
        return found

    def index(self, table: str, place: int) -> int:
        """The place in the file of an item of a table."""
        return int(self.place((table, place))[1])


def sound_part(raw: dict[str, Any], faulty: Callable[[Sound], Iterable[tuple[KeyPath, str]]]) -> Sound | None:
    """Take out what is faulty, and then what is faulty without it.

    Args:
        raw: The tables of a file.
        faulty: Tells what is wrong in what is left, by path.

    Returns:
        The rest, or None where a week cannot do without what is faulty.
    """
    away: set[KeyPath] = set()
    for _ in range(_MOST_ROUNDS):
        sound = _without(raw, away)
        found = {_there(path, sound.raw) for path, _ in faulty(sound)}
        if not found:
            return sound
        if found & _NEEDED:
            return None
        away |= {sound.place(path) for path in found}
    return None


def _without(raw: dict[str, Any], away: set[KeyPath]) -> Sound:
    kept: dict[KeyPath, list[int]] = {}

    def left(value: Any, path: KeyPath) -> Any:
        if isinstance(value, dict):
            return {key: left(one, (*path, key)) for key, one in value.items() if (*path, key) not in away}
        if isinstance(value, list):
            kept[path] = [place for place in range(len(value)) if (*path, place) not in away]
            return [left(value[place], (*path, place)) for place in kept[path]]
        return value

    return Sound(left(raw, ()), kept)


def _there(path: KeyPath, raw: dict[str, Any]) -> KeyPath:
    """The path, or of what is not there, such as a missing key, what it is missing in."""
    value: Any = raw
    for length, step in enumerate(path):
        inside = step in value if isinstance(value, dict) else isinstance(value, list) and _in(step, value)
        if not inside:
            return path[:length]
        value = value[step]
    return path


def _in(step: str | int, value: list[Any]) -> bool:
    return isinstance(step, int) and 0 <= step < len(value)
