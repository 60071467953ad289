"""Fills what is printed before a performance: a sheet for the mock performance, and slips to draw from a hat."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from excerpts.week import Week
from excerpts.week.model import WeekMusic
from excerpts.week.plan import Plan
from excerpts.week.plan.run_throughs import programme
from excerpts.workbook.page_texts import Dates, PageTexts
from excerpts.workbook.paginate import Block

_MOST_SLIPS: Final = 24
_MOST_MARKS: Final = 6
"""Slips on one sheet, and starts from one piece among them."""


@dataclass(frozen=True, slots=True)
class MockSheet:
    """The sheet for a mock performance: its day, and the pieces in the order of the programme."""

    day: str
    pieces: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Slip:
    """A slip to cut out: a piece, from its beginning or from a rehearsal mark."""

    piece: str
    start: str


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """What is printed before a performance; both may be missing."""

    mock: MockSheet | None = None
    slips: tuple[Slip, ...] = ()

    def blocks(self) -> list[Block]:
        """The sheet and the slips, each in one piece."""
        blocks = [Block("mock", self.mock, 9.0, 6.5, 2)] if self.mock else []
        return blocks + ([Block("slips", self.slips, 9.0, 6.5, 2)] if self.slips else [])


def rehearsal(week: Week, plan: Plan, music: WeekMusic, texts: PageTexts) -> Rehearsal:
    """The mock sheet of a week that has a mock performance, and slips where there is something to draw.

    A child gets slips with pieces only, and no sheet to fill in.
    """
    runs = [(day.date, day.run_through) for day in plan.days if day.run_through]
    mocks = [(day, run) for day, run in runs if run.mock]
    mock = None
    if mocks and not texts.child:
        day, run = mocks[-1]
        mock = MockSheet(Dates(texts).weekday(day), tuple(week.piece(piece).title for piece in run.pieces))
    drawn = [run for _, run in runs if run.kind == "drawn"]
    slips: list[Slip] = []
    for piece in programme(week, drawn[-1].performance) if drawn else ():
        slips.append(Slip(piece.title, ""))
        if week.plan.memory and not texts.child:
            marks = music.marks.get(piece.id, ())[:_MOST_MARKS]
            slips += [Slip(piece.title, texts.words("plan.slips.mark", mark=mark)) for mark in marks]
    return Rehearsal(mock, tuple(slips[:_MOST_SLIPS]) if len(slips) > 1 else ())
