"""Checks a week file against its music: everything that a workbook would print is made, and nothing drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from excerpts.errors import WeekError
from excerpts.week.orders import Guard, Orders, ScaleOrders, Trouble
from excerpts.week.scale_weeks import LISTED, listed_file
from excerpts.weekfile.faults import Fault, WeekFaultsError
from excerpts.weekfile.lines import KeyPath
from excerpts.weekfile.load import read_tables
from excerpts.weekfile.model import Week
from excerpts.weekfile.reading import Document, read_document
from excerpts.weekfile.sources import read_sources
from excerpts.words import Words

_At = Callable[[KeyPath, str], Fault]


@dataclass(frozen=True, slots=True)
class Checked:
    """What is to be told of a week file.

    Attributes:
        faults: What is wrong: no workbook is made.
        told: What is left out of a workbook, or worth another look.
        unread_marks: What looks like a mark in a score and is not read as a box.
    """

    faults: tuple[Fault, ...] = ()
    told: tuple[Fault, ...] = ()
    unread_marks: tuple[str, ...] = ()


def check_week(path: Path) -> Checked:
    """Find everything that is wrong with a week file, with its music and with its list of scales, in one round.

    Args:
        path: The file.

    Raises:
        WeekError: It cannot be read at all: not there, or no text.
    """
    try:
        document = read_document(path)
    except WeekFaultsError as error:
        return Checked(error.faults)
    reading = read_tables(path, document)
    if reading.week is None:
        return Checked(tuple(reading.faults))
    music = _checked(reading.week, reading.fault)
    faults = _sorted(path, (*reading.faults, *music.faults))
    return Checked(faults, music.told, reading.week.unread_marks)


def music_faults(week: Week, document: Document | None = None) -> list[Fault]:
    """What in a week file its scores and instrument do not allow, in the order of its lines.

    Args:
        week: The week.
        document: What its file says, and where; read again when left out.

    Raises:
        WeekError: The week file is no longer there.
    """
    return list(_checked(week, _places(week, document)).faults)


def orders_told(week: Week, orders: Orders) -> Checked:
    """What a workbook of a week has to tell: why it is not made, or what is left out of it.

    Args:
        week: The week.
        orders: What is to be made for it.
    """
    troubles = orders.troubles()
    return _told(week, troubles, _places(week, None)) if troubles else Checked()


def _places(week: Week, document: Document | None) -> _At:
    """Finds file and line of a key of a week."""
    return read_sources(week.path, document or read_document(week.path), week.studio).fault


def _checked(week: Week, at: _At) -> Checked:
    return _told(week, (*Orders(week).troubles(), *_later_rows(week)), at)


def _later_rows(week: Week) -> Iterator[Trouble]:
    """What the player cannot play of the list of scales, in whatever week it comes."""
    try:
        listed = listed_file(week)
    except WeekError:
        return  # told when the week was read
    words = Words(week.player.words)
    for place, scale in enumerate(listed.listed.scales if listed else ()):
        item = scale.warmup
        if item.key and (LISTED, place) not in week.came_from.values():
            row = ScaleOrders(
                (LISTED, place), item, week.player.instrument, week.player.level, words, Guard()
            )
            for order in (row.plain, *row.variants):
                yield from order.troubles()


def _told(week: Week, troubles: Iterable[Trouble], at: _At) -> Checked:
    found = [(trouble.stops, _fault(week, trouble, at)) for trouble in troubles]
    return Checked(
        _sorted(week.path, (fault for stops, fault in found if stops)),
        _sorted(week.path, (fault for stops, fault in found if not stops)),
    )


def _fault(week: Week, trouble: Trouble, at: _At) -> Fault:
    table, *inside = trouble.path
    if table == LISTED and inside:
        listed = listed_file(week)
        assert listed is not None  # a row of it is told of
        return listed.fault(("scale", *inside), trouble.message)
    return at(trouble.path, trouble.message)


def _sorted(path: Path, faults: Iterable[Fault]) -> tuple[Fault, ...]:
    """Faults without repetitions, by line, those of the week file itself first."""
    return tuple(
        sorted(dict.fromkeys(faults), key=lambda one: (one.file != path, str(one.file), one.line or 0))
    )
