"""Bar numbers: those of the file, of the pupil's own edition, and what a player calls some bars."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from excerpts.score.bars import BarRange, Bars

if TYPE_CHECKING:
    from excerpts.words import Words

_NUMBERED: Final = re.compile(r"(\d{1,9})(\D*)", re.ASCII)
_MOST_RUNS: Final = 6
"""Runs of numbers that a message lists."""


def shifted(label: str, by: int) -> str:
    """A bar number moved on ("12a" by 4 is "16a"); labels that do not begin with a number stay."""
    match = _NUMBERED.fullmatch(label)
    return f"{int(match[1]) + by}{match[2]}" if match and by else label


class Numbering:
    """The numbers of the bars of a part, in the pupil's own edition (`pupil_bars` higher) and in the file."""

    def __init__(self, bars: Bars, pupil_bars: int = 0) -> None:
        self._bars = bars
        self._shift = pupil_bars

    def runs(self, name: str) -> list[tuple[int, int]]:
        """Bars of that number, as (first, last) indexes."""
        return self._bars.runs(shifted(name, -self._shift))

    def said(self, name: str) -> str:
        """A number for a message, in both numberings where they differ."""
        in_file = shifted(name, -self._shift)
        return f"{name} ({in_file} in the file)" if in_file != name else name

    def at(self, index: int) -> str:
        """The number of the measure at `index` for a message; its place where it has none."""
        label = self._bars.labels[index]
        return self.said(shifted(label, self._shift)) if label else f"@{index + 1}"

    def range_text(self) -> str:
        """What bars there are: "bars 0 to 277 (278 in all)", movement by movement where they begin anew."""
        count = len(self._bars)
        if not count:
            return "no bars at all"
        if not any(self._bars.labels):
            return f"bars without numbers, @1 to @{count}"
        runs = self._numbered_runs()
        if len(runs) == 1:
            return self._from_to(0, count - 1, f"{count} in all")
        listed = [self._from_to(a, b, f"@{a + 1} to @{b + 1}") for a, b in runs[:_MOST_RUNS]]
        more = f" and {len(runs) - _MOST_RUNS} more runs of numbers" if len(runs) > _MOST_RUNS else ""
        return ", then ".join(listed) + more

    def _from_to(self, first: int, last: int, more: str) -> str:
        labels = [label or f"@{index + 1}" for index, label in enumerate(self._bars.labels)]
        own = f"bars {shifted(labels[first], self._shift)} to {shifted(labels[last], self._shift)}"
        in_file = f"{labels[first]} to {labels[last]} in the file; " if self._shift else ""
        return f"{own} ({in_file}{more})"

    def range_said(self, words: Words) -> str:
        """The same in the words of a person, without the word for bars: "0 to 277 (278 in all)"."""
        count = len(self._bars)
        if not count:
            return words("show.no_bars")
        if not any(self._bars.labels):
            return words("show.no_numbers", last=count)
        runs = self._numbered_runs()
        if len(runs) == 1:
            return self._said_from_to(0, count - 1, words("show.in_all", n=count), words)
        listed = [
            self._said_from_to(a, b, words("show.places", first=a + 1, last=b + 1), words)
            for a, b in runs[:_MOST_RUNS]
        ]
        said = words("show.then").join(listed)
        more = len(runs) - _MOST_RUNS
        return words("show.more_runs", runs=said, n=more) if more > 0 else said

    def _said_from_to(self, first: int, last: int, more: str, words: Words) -> str:
        first_label, last_label = (self._bars.labels[index] or f"@{index + 1}" for index in (first, last))
        return words("show.range", first=first_label, last=last_label, more=more)

    def _numbered_runs(self) -> list[tuple[int, int]]:
        """Where numbers begin anew at 0 or 1 a new movement begins."""
        starts, before = [0], -1
        for index, label in enumerate(self._bars.labels):
            number = int(label) if label.isdecimal() and len(label) < 10 else None
            if number is None:
                continue
            if number <= 1 and number < before:
                starts.append(index)
            before = number
        return list(zip(starts, [start - 1 for start in starts[1:]] + [len(self._bars) - 1], strict=True))


UNPRINTED: Final = re.compile(r"[Xx]\d*")
"""Numbers of bars that stand in files only."""


@dataclass(frozen=True, slots=True)
class Called:
    """Bars by their printed numbers.

    Attributes:
        first: Number of the first of them that has one; of the bar after a pick-up that stands alone.
        last: Number of the last of them; empty for a pick-up alone.
        pickup: "opening" where they begin with the pick-up of a piece or movement, "inner" where they begin with
            another bar without a number, else empty.
    """

    first: str
    last: str
    pickup: str = ""


def called(bars: Bars, span: BarRange, pupil_bars: int = 0) -> Called:
    """What the bars of a span are called, in the numbers of the pupil's own edition (`pupil_bars` higher)."""
    numbered = [index for index in range(span.first, span.last + 1) if _numbered(bars, index)]
    if not numbered and not any(_numbered(bars, index) for index in range(len(bars))):
        return Called(str(span.first + 1), str(span.last + 1))
    pickup = "" if span.first in numbered else "inner" if any(bars.labels[: span.first]) else "opening"
    if pickup and bars.labels[span.first] == "0":
        pickup = "opening"
    if numbered:
        first, last = (shifted(bars.labels[index], pupil_bars) for index in (numbered[0], numbered[-1]))
        return Called(first, last, pickup)
    after = (index for index in range(span.last + 1, len(bars)) if _numbered(bars, index))
    following = next(after, None)
    if following is not None:
        return Called(shifted(bars.labels[following], pupil_bars), "", pickup)
    before = next(index for index in range(span.first, -1, -1) if _numbered(bars, index))
    label = shifted(bars.labels[before], pupil_bars)
    return Called(label, label)


def _numbered(bars: Bars, index: int) -> bool:
    """Whether a player finds a number for a measure; a first bar of full length may be called 0."""
    label = bars.labels[index]
    if label == "0" or (index == 0 and bars.measures[0].get("implicit") == "yes"):
        return not bars.length(index) < bars.metre(index).length
    return bool(label) and not UNPRINTED.fullmatch(label)
