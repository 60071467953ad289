"""Scales and technique of a week in notes: patterns in a key, bars of studies, drills on boxes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import Final

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.instruments.instrument import Instrument, Level
from excerpts.score import Part
from excerpts.technique import Drill, drills
from excerpts.variants import for_player
from excerpts.variants.passage import take_box
from excerpts.warmups import warmup
from excerpts.week.orders.boxes import BoxOrders, Vary
from excerpts.week.orders.order import Guard, Order, ReasonsError, Trouble, at, needed
from excerpts.week.orders.pieces import Pieces
from excerpts.weekfile.lines import KeyPath
from excerpts.weekfile.scale_items import ScaleFields, TechniqueItem
from excerpts.words import Words


class ScaleOrders:
    """What one scale or pattern asks for: the plain pattern, and its variants.

    Args:
        path: Its key in the week file.
        item: What the file says; it has a key.
        instrument: The player's.
        level: The player's; None for as high as what is asked for needs.
        words: For titles.
        guard: Keeps a variant that fails from stopping the week.
        taught: The positions that the player was taught; empty for all.
    """

    def __init__(
        self,
        path: KeyPath,
        item: ScaleFields,
        instrument: str | Instrument,
        level: Level | None,
        words: Words,
        guard: Guard,
        taught: tuple[int, ...] = (),
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
            manner=replace(item.manner, taught=taught),
        )
        self.plain: Order[Excerpt] = Order(path, self._make, remarks=self._remarks)
        self.variants = tuple(
            Order((*path, "variants", place), partial(self._variant, name), name)
            for place, name in enumerate(item.variants)
        )

    def _remarks(self, made: Excerpt) -> Iterator[Trouble]:
        for line in made.report:
            if line.action == "warning":
                yield Trouble(self.plain.path, f"{made.origin.title}: {line.detail}", stops=False)

    def _variant(self, name: str) -> Excerpt:
        place = needed(self.plain).tree().findtext("movement-title") or ""
        return self._guard.guarded(name, place, lambda: self._make(variant=name))

    @property
    def printed(self) -> tuple[Order[Excerpt], ...]:
        """What is printed: the variants that can be made, or the plain pattern where there are none."""
        return tuple(one for one in self.variants if one.is_made) or (self.plain,)


MOST_DRILLS: Final = 2
"""Drills that are printed for one box, at most."""


class StudyOrders:
    """What bars of a study ask for."""

    def __init__(self, path: KeyPath, item: TechniqueItem, pieces: Pieces, vary: Vary) -> None:
        self.path = path
        self.item = item
        self._pieces = pieces
        self._vary = vary
        self.music: Order[Excerpt | None] = Order(path, self._music)
        self.variants: tuple[Order[Excerpt], ...] = tuple(
            Order((*path, "variants", place), partial(self._variant, name), name)
            for place, name in enumerate(item.variants)
        )

    def _music(self) -> Excerpt | None:
        item = self.item
        path = (*self.path, "bars")
        return self._pieces.bars(path, self._pieces.week.piece(item.piece or ""), item.bars or "")

    def _variant(self, name: str) -> Excerpt:
        music = needed(self.music)
        if music is None:
            raise VariantError(
                f"'{name}' needs notes, and the study has no score.", hint="Give its piece one (score)."
            )
        return self._vary(music, for_player(name, self._pieces.week.player.instrument))

    @property
    def short(self) -> Order[None]:
        """The few bars of the study for a short day."""
        return Order((*self.path, "short"), self._short)

    def _short(self) -> None:
        item = self.item
        orders = self._pieces.orders.get(item.piece or "")
        if item.short is None or item.bars is None or orders is None:
            return
        part: Part = needed(orders.part)
        needed(self.music)
        pupil_bars = self._pieces.week.piece(item.piece or "").pupil_bars
        path = (*self.path, "short")
        few = at(path, lambda: part.passage(item.short or "", pupil_bars)).span
        whole = part.passage(item.bars, pupil_bars).span
        if (few.first, few.start) < (whole.first, whole.start) or (few.last, few.end) > (
            whole.last,
            whole.end,
        ):
            message = f"Bars {item.short} are not among the bars {item.bars} of the study."
            raise ReasonsError([(path, message)])


class DrillOrders:
    """What a drill on a box asks for."""

    def __init__(self, path: KeyPath, item: TechniqueItem, box: BoxOrders, pieces: Pieces) -> None:
        self.item = item
        self.box = box
        self._player = pieces.player
        self.drills: Order[tuple[Drill, ...]] = Order((*path, "drill"), self._drills)

    @property
    def gives_none(self) -> bool:
        """Whether the box has notes that give no drill."""
        return self.box.music.made() is not None and not self.drills.is_made

    def _drills(self) -> tuple[Drill, ...]:
        """The drills, those against the faults of the box first; none for a box on paper only."""
        music = needed(self.box.music)
        if music is None:
            raise VariantError(
                f'a drill needs notes, and the box "{self.box.box.id}" is on paper only (place).'
            )
        box = self.box.box
        made = drills(music, self._player, box.why, MOST_DRILLS, box.note or "", slurred=self.box.may_slur())
        if not made and not self.item.variants:
            raise VariantError(f'the box "{self.box.box.id}" gives no drill: {_why_none(music)}')
        return made


def _why_none(music: Excerpt) -> str:
    try:
        take_box(music)
    except VariantError as refusal:
        return refusal.what
    return "it has no shift, no crossing, no leap of a fourth or more and no double stop."


class CheckOrders:
    """What the check of a retired box asks for: its music, so that it can be played though its page is weeks back."""

    def __init__(self, item: TechniqueItem, box: BoxOrders) -> None:
        self.item = item
        self.box = box
        self.music = box.music
