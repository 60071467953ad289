"""The part of a file without its faulty keys, so that the rest can be checked in the same round."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any, Final

from excerpts.weekfile.lines import KeyPath

Finding = tuple[KeyPath, str]
"""Where something is wrong, and what."""

_NEEDED: Final = frozenset({(), ("format",), ("player",), ("week",)})
"""What no week can do without."""

_MOST_ROUNDS: Final = 10
"""How often something is found that comes of what was taken out: a box of a piece that is gone, a drill on that box."""


@dataclass(frozen=True, slots=True)
class FaultFree:
    """The part of a file that has no faults.

    Attributes:
        raw: Its tables.
        kept: Of each list that it has, by its path in the file: the places that its items have there.
    """

    raw: dict[str, Any]
    kept: dict[KeyPath, list[int]] = field(default_factory=dict)

    def place(self, path: KeyPath) -> KeyPath:
        """The path in the whole file of a path in this part."""
        in_file: KeyPath = ()
        for step in path:
            places = self.kept.get(in_file)
            inside = places is not None and isinstance(step, int) and step < len(places)
            in_file = (*in_file, places[step] if places and inside and isinstance(step, int) else step)
        return in_file

    def index(self, table: str, place: int) -> int:
        """The place in the file of an item of a table."""
        return int(self.place((table, place))[1])


def fault_free(
    raw: dict[str, Any], findings_in: Callable[[FaultFree], Iterable[Finding]]
) -> tuple[list[Finding], FaultFree | None]:
    """Take out what is faulty, and then what is faulty without it.

    Args:
        raw: The tables of a file.
        findings_in: Finds what is wrong in what is left.

    Returns:
        What is wrong in the whole, and the rest: None where a week cannot do without what is faulty.
    """
    rest = FaultFree(raw)
    all_findings = findings = list(findings_in(rest))
    away: set[KeyPath] = set()
    for _ in range(_MOST_ROUNDS):
        if not findings:
            return all_findings, rest
        paths = {_there(path, rest.raw) for path, _ in findings}
        if paths & _NEEDED:
            break
        away |= {rest.place(path) for path in paths}
        rest = _without(raw, away)
        findings = list(findings_in(rest))
    return all_findings, None


def _without(raw: dict[str, Any], away: set[KeyPath]) -> FaultFree:
    kept: dict[KeyPath, list[int]] = {}

    def left(value: Any, path: KeyPath) -> Any:
        if isinstance(value, dict):
            return {key: left(one, (*path, key)) for key, one in value.items() if (*path, key) not in away}
        if isinstance(value, list):
            kept[path] = [place for place in range(len(value)) if (*path, place) not in away]
            return [left(value[place], (*path, place)) for place in kept[path]]
        return value

    return FaultFree(left(raw, ()), kept)


def _there(path: KeyPath, raw: dict[str, Any]) -> KeyPath:
    """The path; for a key that is missing, the path of the table that lacks it."""
    value: Any = raw
    for length, step in enumerate(path):
        inside = step in value if isinstance(value, dict) else isinstance(value, list) and _in(step, value)
        if not inside:
            return path[:length]
        value = value[step]
    return path


def _in(step: str | int, value: list[Any]) -> bool:
    return isinstance(step, int) and 0 <= step < len(value)
