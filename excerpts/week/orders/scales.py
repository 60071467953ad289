"""Scales and other patterns in a key: the warm-ups of a week, its technique, and the rows of a list of scales."""

from __future__ import annotations

from functools import partial

from excerpts.excerpt import Excerpt
from excerpts.instruments.instrument import Level
from excerpts.warmups import warmup
from excerpts.week.orders.guard import Guard
from excerpts.week.orders.order import Order, needed
from excerpts.weekfile.items import ScaleFields
from excerpts.weekfile.lines import KeyPath
from excerpts.words import Words


class ScaleOrders:
    """What one scale or pattern asks for: it as it stands, and its variants.

    Args:
        path: It in the week file.
        item: What the file says; it has a key.
        instrument: The player's.
        level: The player's; None for as high as what is asked for needs.
        words: For titles.
        guard: Keeps a variant that fails from stopping the week.
    """

    def __init__(
        self,
        path: KeyPath,
        item: ScaleFields,
        instrument: str,
        level: Level | None,
        words: Words,
        guard: Guard,
    ) -> None:
        self.item = item
        self._guard = guard
        self._make = partial(
            warmup,
            item.key or "",
            instrument=item.instrument or instrument,
            level=level,
            octaves=item.octaves,
            start=item.from_,
            pattern=item.pattern or "scale",
            words=words,
            manner=item.manner,
        )
        self.plain: Order[Excerpt] = Order(path, self._make)
        self.variants = tuple(
            Order((*path, "variants", place), partial(self._variant, name), name)
            for place, name in enumerate(item.variants)
        )

    def _variant(self, name: str) -> Excerpt:
        place = needed(self.plain).tree().findtext("movement-title") or ""
        return self._guard.guarded(name, place, lambda: self._make(variant=name))

    @property
    def printed(self) -> tuple[Order[Excerpt], ...]:
        """What is printed: its variants, or it as it stands where it has none."""
        return self.variants or (self.plain,)
