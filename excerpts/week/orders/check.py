"""Checks a week file against its music: everything that a workbook would print is made, and nothing drawn."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from excerpts.instruments.instrument import INSTRUMENTS
from excerpts.score.opened_scores import Scores
from excerpts.week.load import load_warnings
from excerpts.week.model import LISTED, Week
from excerpts.week.orders.everything import Orders
from excerpts.week.orders.exercises import ScaleOrders
from excerpts.week.orders.order import Guard, Trouble
from excerpts.week.resolve import resolve_rest
from excerpts.weekfile.faults import Fault, WeekFaultsError
from excerpts.weekfile.read_week import WeekReading, read_week
from excerpts.weekfile.scale_items import WarmupItem
from excerpts.weekfile.scale_list import ListFile
from excerpts.words import Words


@dataclass(frozen=True, slots=True)
class Checked:
    """What is to be told of a week file.

    Attributes:
        faults: What is wrong: no workbook is made.
        told: What is left out of a workbook, or worth another look.
        warnings: What looks like a mark in a score and is not read as a box, and a load that jumps.
    """

    faults: tuple[Fault, ...] = ()
    told: tuple[Fault, ...] = ()
    warnings: tuple[str, ...] = ()


def check_week(path: Path) -> Checked:
    """Find all faults of a week file, of its music and of its list of scales.

    Raises:
        WeekError: It cannot be read at all: not there, or no text.
    """
    try:
        return check_reading(read_week(path))
    except WeekFaultsError as error:
        return Checked(error.faults)


def check_reading(reading: WeekReading) -> Checked:
    """Check a week file that was read; see `check_week`."""
    week, faults = resolve_rest(reading, Scores())
    if week is None:
        return Checked(faults)
    music = check_week_music(week)
    warnings = (*week.remarks, *load_warnings(week, Words(week.player.words)))
    return Checked(reading.sorted((*faults, *music.faults)), music.told, warnings)


def check_week_music(week: Week) -> Checked:
    """What in a week file its scores and instrument do not allow, and what would be left out of a workbook."""
    return _sorted(week, (*Orders(week).troubles(), *_later_rows(week)))


def orders_told(week: Week, orders: Orders) -> Checked:
    """What a workbook of a week has to tell: why it is not made, or what is left out of it."""
    return _sorted(week, orders.troubles())


def _later_rows(week: Week) -> Iterator[Trouble]:
    """Troubles with the scales of the list that come in other weeks."""
    words = Words(week.player.words)
    for place, scale in enumerate(week.scale_list.scales if week.scale_list else ()):
        if scale.key and (LISTED, place) not in week.came_from.values():
            player = week.player
            row = ScaleOrders((LISTED, place), scale.warmup, player.plays, player.level, words, Guard())
            for order in (row.plain, *row.variants):
                yield from order.troubles()


def _sorted(week: Week, troubles: Iterable[Trouble]) -> Checked:
    """Troubles with their files and lines: those that stop a workbook, and the others."""
    placed = [(trouble.stops, week.fault(trouble.path, trouble.message)) for trouble in troubles]
    return Checked(
        week.sorted(fault for stops, fault in placed if stops),
        week.sorted(fault for stops, fault in placed if not stops),
    )


def unplayable_rows(file: ListFile) -> Iterator[Fault]:
    """The rows of a list that no instrument plays as they are written, with the reason of the first instrument."""
    for place, scale in enumerate(file.scales):
        if not scale.key:
            continue
        troubles = _troubles(place, scale.warmup)
        if troubles:
            yield file.fault(troubles[0].path, troubles[0].message)


def _troubles(place: int, item: WarmupItem) -> tuple[Trouble, ...]:
    """Why no instrument can play a row; empty when one can."""
    first: tuple[Trouble, ...] = ()
    for name in (item.instrument,) if item.instrument else INSTRUMENTS:
        row = ScaleOrders(("scale", place), item, name, None, Words(), Guard())
        orders = (row.plain, *row.variants)
        troubles = tuple(trouble for order in orders for trouble in order.troubles())
        if not troubles:
            return ()
        first = first or troubles
    return first
