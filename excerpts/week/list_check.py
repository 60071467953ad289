"""Checks a list of scales by itself, for slips that are printed for any player."""

from __future__ import annotations

from collections.abc import Iterator

from excerpts.instruments.instrument import INSTRUMENTS
from excerpts.week.orders import Guard, ScaleOrders, Trouble
from excerpts.week.scale_list import ListFile
from excerpts.weekfile.faults import Fault
from excerpts.weekfile.items import WarmupItem
from excerpts.words import Words


def unplayable_rows(file: ListFile) -> Iterator[Fault]:
    """The rows of a list that no instrument plays as they are written, with the reason of the first instrument.

    Args:
        file: The list.
    """
    for place, scale in enumerate(file.listed.scales):
        if not scale.key:
            continue
        troubles = _troubles(place, scale.warmup)
        if troubles:
            yield file.fault(troubles[0].path, troubles[0].message)


def _troubles(place: int, item: WarmupItem) -> tuple[Trouble, ...]:
    """What keeps a row from being played; none as soon as one instrument plays it."""
    first: tuple[Trouble, ...] = ()
    for name in (item.instrument,) if item.instrument else INSTRUMENTS:
        row = ScaleOrders(("scale", place), item, name, None, Words(), Guard())
        orders = (row.plain, *row.variants)
        troubles = tuple(trouble for order in orders for trouble in order.troubles())
        if not troubles:
            return ()
        first = first or troubles
    return first
