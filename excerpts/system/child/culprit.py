"""Finds where in a file a converter stops: the first line, bar or track with which it fails as before."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final
from xml.etree import ElementTree

SECONDS: Final = 4.0
"""Processor time that the search may take; what it knows by then is told."""

_SHOWN: Final = 40


@dataclass(frozen=True, slots=True)
class Pieces:
    """A file in pieces, one after the other.

    Attributes:
        unit: What one is called.
        names: The number or name of each.
        texts: What stands in each, "" where it cannot be shown.
        begin: Gives the file with the first so many of them.
    """

    unit: str
    names: tuple[str, ...]
    texts: tuple[str, ...]
    begin: Callable[[int], Any]


@dataclass(frozen=True, slots=True)
class Culprit:
    """Where a converter stops.

    Attributes:
        unit: "line", "bar" or "track".
        first: The first that it may be; "" for what stands before all of them.
        last: The last that it may be.
        text: What stands there, where it is one and can be shown.
    """

    unit: str
    first: str
    last: str
    text: str = ""


def find_culprit(reader: str, data: Any, fails: Callable[[Any], bool]) -> Culprit | None:
    """Find where a converter stops.

    Args:
        reader: Name of the format: "abc", "humdrum", "mei" or "midi".
        data: The file, as the converter gets it.
        fails: Whether it fails with a file just as it did with this one.

    Returns:
        The place; None where the file cannot be taken apart.
    """
    pieces = _SPLITTERS[reader](data)
    if not pieces.names:
        return None
    if fails(pieces.begin(0)):
        return Culprit(pieces.unit, "", "")
    good, bad, until = 0, len(pieces.names), time.process_time() + SECONDS
    while bad - good > 1 and time.process_time() < until:
        middle = (good + bad) // 2
        good, bad = (good, middle) if fails(pieces.begin(middle)) else (middle, bad)
    text = " ".join(pieces.texts[bad - 1].split()) if bad - good == 1 else ""
    shown = text if len(text) <= _SHOWN else f"{text[:_SHOWN]}…"
    return Culprit(pieces.unit, pieces.names[good], pieces.names[bad - 1], shown)


def _lines(text: str, end: Callable[[list[str]], str]) -> Pieces:
    rows = text.splitlines()
    numbers = tuple(str(number) for number in range(1, len(rows) + 1))
    return Pieces("line", numbers, tuple(rows), lambda count: "\n".join(rows[:count]) + end(rows[:count]))


def _spines_ended(rows: list[str]) -> str:
    """The last line that all columns of kern end with."""
    last = next((row for row in reversed(rows) if row.strip() and not row.startswith("!")), "")
    return "\n" + "\t".join(["*-"] * (last.count("\t") + 1)) + "\n"


def _measures(text: str) -> Pieces:
    root = ElementTree.fromstring(text)
    tag = f"{root.tag.partition('}')[0]}}}measure" if root.tag.startswith("{") else "measure"
    numbers = [measure.get("n", "") for measure in root.iter(tag)]
    names = tuple(name or str(place) for place, name in enumerate(numbers, start=1))

    def begin(count: int) -> str:
        copy = ElementTree.fromstring(text)
        kept = set(list(copy.iter(tag))[:count])
        for parent in list(copy.iter()):
            for child in [one for one in parent if one.tag == tag and one not in kept]:
                parent.remove(child)
        return ElementTree.tostring(copy, encoding="unicode")

    return Pieces("bar", names, ("",) * len(names), begin)


def _tracks(data: bytes) -> Pieces:
    starts: list[int] = []
    at = 0
    while at < len(data):
        starts.append(at)
        at += 8 + int.from_bytes(data[at + 4 : at + 8], "big")
    names = tuple(str(number) for number in range(1, len(starts)))
    ends = (*starts[1:], len(data))

    def begin(count: int) -> bytes:
        head = data[:10] + count.to_bytes(2, "big") + data[12 : ends[0]]
        return head + data[ends[0] : ends[count]]

    return Pieces("track", names, ("",) * len(names), begin)


_SPLITTERS: Final[dict[str, Callable[[Any], Pieces]]] = {
    "abc": lambda text: _lines(text, lambda _: "\n"),
    "humdrum": lambda text: _lines(text, _spines_ended),
    "mei": _measures,
    "midi": _tracks,
}
