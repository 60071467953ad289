"""The board of a studio: every player in a line, with dates, stuck boxes, and who has not practised."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from excerpts.teacher.standing_sheet import PlayerState
from excerpts.week.bars_in_words import box_name
from excerpts.words import Words
from excerpts.workbook.page_names import shortened
from excerpts.workbook.page_texts import Dates, PageTexts, short_day

SOON_DAYS = 14
"""Days before a performance from which it stands at the head of the board."""

_LONGEST_NAMES = 150
"""Characters of the names at the head of the board."""

_LONGEST_NAME = 22
_LONGEST_PLACE = 22
"""Characters of a cell of the table: each player has one line."""


@dataclass(frozen=True, slots=True)
class BoardRow:
    """One player on the board.

    Attributes:
        player: Name.
        instrument: Instrument, in words.
        lesson: Day of the next lesson.
        practised: Days practised out of the days planned, or since when there were none.
        silent: Whether nothing was written down this week.
        boxes: How many boxes are in work.
        checks: How many checks are due.
        stuck: The boxes that are stuck.
        date: The next performance and the days to it.
    """

    player: str
    instrument: str
    lesson: str
    practised: str
    silent: bool
    boxes: int
    checks: int
    stuck: str
    date: str


@dataclass(frozen=True, slots=True)
class Board:
    """The board.

    Attributes:
        title: Title of the page.
        summary: Lines at its head: who has not practised, who is stuck, which dates are near.
        rows: The players, by lesson day and name.
        faults: Files that could not be read.
    """

    title: str
    summary: tuple[tuple[str, str], ...]
    rows: tuple[BoardRow, ...]
    faults: tuple[str, ...] = ()


def board(
    states: Sequence[PlayerState], words: Words, faults: Sequence[str] = (), today: date = date.min
) -> Board:
    """The board of a studio.

    Args:
        states: Where each player stands, by lesson day.
        words: The words of the studio.
        faults: Files that could not be read.
        today: Performances before this day are over, and weeks that start on it or later have nothing to show yet.
    """
    return Board(
        title=words("teacher.board.title"),
        summary=tuple(_summary(states, words, today)),
        rows=tuple(_row(state, words, today) for state in states),
        faults=tuple(faults),
    )


def _summary(states: Sequence[PlayerState], words: Words, today: date) -> list[tuple[str, str]]:
    begun = [state for state in states if today == date.min or today > state.week.week.start]
    silent = [state.week.player.name for state in begun if state.silent]
    stuck = [state.week.player.name for state in states if any(box.stuck for box in state.boxes)]
    soon = []
    for state in states:
        days = list(_dates(state, today))
        if days and (days[0] - state.lesson).days <= SOON_DAYS:
            soon.append(f"{state.week.player.name} ({short_day(days[0], words)})")
    groups = (("silent", silent), ("stuck", stuck), ("soon", soon))
    return [(words(f"teacher.board.{name}"), _names(names, words)) for name, names in groups]


def _names(names: Sequence[str], words: Words) -> str:
    if not names:
        return words("teacher.board.nobody")
    named, more = names[0], len(names) - 1
    while more and len(named) + len(names[-more]) < _LONGEST_NAMES:
        named, more = f"{named}, {names[-more]}", more - 1
    return words("teacher.board.and_more", names=named, n=more) if more > 0 else named


def _row(state: PlayerState, words: Words, today: date) -> BoardRow:
    week = state.week
    dates = Dates(PageTexts(words))
    return BoardRow(
        player=shortened(week.player.name, _LONGEST_NAME),
        instrument=words(f"instrument.{week.player.instrument}"),
        lesson=f"{dates.short(state.lesson)} {short_day(state.lesson, words)}",
        practised=_practised(state, words),
        silent=state.silent,
        boxes=len(state.boxes),
        checks=len(state.due),
        stuck=_stuck(state, words),
        date=_date(state, words, today),
    )


def _stuck(state: PlayerState, words: Words) -> str:
    places = [box_name(state.week, box.box, words) or box.box.id for box in state.boxes if box.stuck]
    if not places:
        return ""
    first = shortened(places[0], _LONGEST_PLACE)
    return words("teacher.board.more_stuck", place=first, n=len(places) - 1) if len(places) > 1 else first


def _dates(state: PlayerState, today: date) -> Iterable[date]:
    """The days of performances from the first day of the week, or from today, on."""
    return dict.fromkeys(piece.date for piece in state.coming if piece.date and piece.date >= today)


def _date(state: PlayerState, words: Words, today: date) -> str:
    """Every performance that is still to come, also one before the next lesson."""
    sentences = []
    for day in _dates(state, today):
        away = (day - state.lesson).days
        pieces = shortened(
            ", ".join(piece.title for piece in state.coming if piece.date == day), _LONGEST_PLACE
        )
        message = "in_days" if away > 1 else "on_day"
        sentences.append(words(f"teacher.board.{message}", day=short_day(day, words), n=away, pieces=pieces))
    return "; ".join(sentences)


def _practised(state: PlayerState, words: Words) -> str:
    if state.silent:
        if state.last is None:
            return words("teacher.board.none")
        return words("teacher.board.none_since", day=short_day(state.last, words))
    days = str(state.practised)
    if state.practised <= state.planned:
        days = words("teacher.board.of", n=state.practised, of=state.planned)
    return f"{days} +" if state.undated else days
