"""The proposals of the next week as lines with their reasons, each with what a teacher can do about it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from excerpts.log.edits import Told
from excerpts.log.offers import halves
from excerpts.week import Week
from excerpts.weekfile.items import BoxItem
from excerpts.words import Words
from excerpts.workbook.page_texts import Dates, PageTexts

_REFUSED: Final = frozenset({"piece", "notes", "private"})
"""What can be left as it is, beside boxes."""

_GONE: Final = frozenset({"retired", "retired_heard", "parked"})
"""Messages of boxes that are in work no longer."""

_FIXED: Final = frozenset({"days", "new_box", "performed"})
"""Messages that tell what has been decided already."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A proposal.

    Attributes:
        about: What it is about: "box run", "piece song", "notes".
        kind: The first word of that.
        name: The rest of it: an id.
        line: What is proposed, and why.
        reasons: More on it.
        ways: What can be done instead, by the ids of its words.
        start: Whether the tempo at which it starts can be changed.
        refusable: Whether it can be left as it is.
        takeable: Whether it is only proposed, and done when it is taken.
        box: For bars that broke down, what a new box would have.
    """

    about: str
    kind: str
    name: str
    line: str
    reasons: tuple[str, ...]
    ways: tuple[str, ...] = ()
    start: bool = False
    refusable: bool = False
    takeable: bool = False
    box: Mapping[str, Any] | None = None


def proposals(changes: Iterable[Told], week: Week, words: Words) -> tuple[Proposal, ...]:
    """The lines of a next week, those that belong together in one proposal.

    Args:
        changes: The lines.
        week: The week that is over.
        words: The player's words.
    """
    grouped: dict[str, list[Told]] = {}
    for line in changes:
        if line.message:
            grouped.setdefault(line.about, []).append(line)
    return tuple(_proposal(about, lines, week, words) for about, lines in grouped.items())


def _text(line: Told, words: Words) -> str:
    """A line with its dates in words, and without the options of the command."""
    dates = Dates(PageTexts(words))
    said = {
        name: dates.weekday(value) if isinstance(value, date) else value
        for name, value in line.parameters.items()
    }
    room = "desk" if words.has(f"desk.next.{line.message}") else "log"
    return words(f"{room}.next.{line.message}", **said).strip()


def _proposal(about: str, lines: list[Told], week: Week, words: Words) -> Proposal:
    kind, _, name = about.partition(" ")
    first, *more = (_text(line, words) for line in lines)
    boxes = {box.id: box for box in week.boxes}
    message = lines[0].message
    if kind == "box" and name in boxes:
        ways, timed = _ways(boxes[name]), boxes[name].target is not None and message not in _GONE
        return Proposal(about, kind, name, first, tuple(more), ways, start=timed)
    if message == "room_for_parked" or (message == "resumed"):
        return Proposal(about, kind, name, first, tuple(more), takeable=True)
    if message in _FIXED or not about:
        return Proposal(about, kind, name, first, tuple(more))
    if kind == "broke" and message in ("proposed", "proposed_later"):
        return Proposal(about, kind, name, first, (), box=lines[0].parameters)
    retired = kind == "box" and name in {box.id for box in week.retired}
    return Proposal(
        about,
        kind,
        name,
        first,
        tuple(more),
        refusable=retired or kind in _REFUSED,
        takeable=kind == "rest",
    )


def _ways(box: BoxItem) -> tuple[str, ...]:
    """What can be done with a box in work beside what is proposed."""
    ways = ["keep"]
    if halves(box.in_score):
        ways.append("shorten")
    if box.in_score or box.abc:
        ways.append("variant")
    if box.target is not None:
        ways.append("simplify")
    return (*ways, "park")
