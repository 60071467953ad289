"""The list of everything in notes that a week asks for."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from itertools import chain
from typing import Any

from excerpts.excerpt import Excerpt
from excerpts.variants import vary as make_variant
from excerpts.variants.passage import where
from excerpts.week.model import Week
from excerpts.week.orders.boxes import BoxOrders, Vary
from excerpts.week.orders.exercises import CheckOrders, DrillOrders, ScaleOrders, StudyOrders
from excerpts.week.orders.order import Guard, Order, Trouble
from excerpts.week.orders.pieces import Pieces
from excerpts.weekfile.lines import KeyPath
from excerpts.weekfile.scale_items import TechniqueItem
from excerpts.words import Words


class Orders:
    """Everything in notes that a week asks for.

    Args:
        week: The week.
        words: The player's words; read for the week's language when left out.
        vary: Makes a variant; pass one that keeps its results to use those of an earlier build.
        guard: Remembers the variants that failed; pass one to report them.

    Attributes:
        pieces: The scores, parts and marks of the pieces.
        boxes: One for each box, in the order of the week.
        warmups: By their places in the week; those in words have none.
        technique: By their places in the week; that in words has none.
    """

    def __init__(
        self,
        week: Week,
        words: Words | None = None,
        vary: Vary | None = None,
        guard: Guard | None = None,
    ) -> None:
        self.week = week
        self._words = words or Words(week.player.words)
        self._guard = guard or Guard()
        self._vary = vary or self._new_variant
        self.pieces = Pieces(week)
        self.boxes = [
            BoxOrders(self._path("box", place), box, self.pieces, self._vary)
            for place, box in enumerate(week.boxes)
        ]
        player = week.player
        self.warmups = {
            place: ScaleOrders(
                self._path("warmup", place),
                item,
                player.plays,
                player.level,
                self._words,
                self._guard,
                player.positions,
            )
            for place, item in enumerate(week.warmups)
            if item.key
        }
        self.technique = {
            place: orders
            for place in range(len(week.technique))
            if (orders := self._technique(place)) is not None
        }

    def _path(self, table: str, place: int) -> KeyPath:
        return self.week.came_from.get((table, place), (table, place))

    def _new_variant(self, excerpt: Excerpt, name: str) -> Excerpt:
        make = partial(make_variant, excerpt, name, words=self._words)
        return self._guard.guarded(name, where(excerpt), make)

    def _technique(self, place: int) -> ScaleOrders | StudyOrders | DrillOrders | CheckOrders | None:
        item, path, player = self.week.technique[place], self._path("technique", place), self.week.player
        if item.key:
            return ScaleOrders(
                path, item, player.plays, player.level, self._words, self._guard, player.positions
            )
        if item.drill:
            box = next(orders for orders in self.boxes if orders.box.id == item.drill)
            return DrillOrders(path, item, box, self.pieces)
        if item.piece:
            return StudyOrders(path, item, self.pieces, self._vary)
        if item.check:
            return self._check(item)
        return None

    def _check(self, item: TechniqueItem) -> CheckOrders | None:
        """The music of a retired box; None where it has no notes, or its piece is not listed any more."""
        listed = set(self.pieces.orders)
        for place, box in enumerate(self.week.retired):
            if box.id == item.check and (box.abc is not None or (box.in_score and box.piece in listed)):
                return CheckOrders(
                    item, BoxOrders(self._path("retired", place), box, self.pieces, self._vary)
                )
        return None

    def __iter__(self) -> Iterator[Order[Any]]:
        """Every order, in the order in which a workbook needs them."""
        for piece in self.pieces.orders.values():
            yield piece.score
            yield piece.part
            yield piece.marks
        yield from self.pieces.pages.values()
        for box in self.boxes:
            yield box.music
            yield box.paper
            yield from (*box.variants, *box.refused)
        for orders in (*self.warmups.values(), *self.technique.values()):
            if isinstance(orders, DrillOrders):
                yield orders.drills
            elif isinstance(orders, CheckOrders):
                yield orders.music
            elif isinstance(orders, StudyOrders):
                yield orders.music
                yield orders.short
                yield from orders.variants
            else:
                yield orders.plain
                yield from orders.variants

    def troubles(self) -> tuple[Trouble, ...]:
        """What cannot be made, and what is worth telling; each once."""
        return tuple(dict.fromkeys(chain.from_iterable(order.troubles() for order in self)))
