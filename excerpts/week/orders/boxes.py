"""The boxes of a week: their music, and their variants."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import cached_property, partial

from excerpts.errors import InputError, VariantError
from excerpts.excerpt import Excerpt
from excerpts.lefthand.double_stops import wide_stops
from excerpts.paper import LEAST_DPI, PaperCut
from excerpts.score import Passage
from excerpts.score.abc import abc_faults
from excerpts.variants import for_player, in_double_values, parse_variant
from excerpts.week.advice import box_variants
from excerpts.week.model import typed_bars
from excerpts.week.orders.order import Order, ReasonsError, Trouble, at, needed
from excerpts.week.orders.pieces import Pieces
from excerpts.week.printed_bars import on_pages, printed
from excerpts.week.within_level import Demands, allows, demands
from excerpts.weekfile.item_values import FaultName, fault_name
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.lines import KeyPath
from excerpts.words import capital

Vary = Callable[[Excerpt, str], Excerpt]
"""Makes a practice variant; VariantError where it does not fit."""


class BoxOrders:
    """What one box asks for."""

    def __init__(self, path: KeyPath, box: BoxItem, pieces: Pieces, vary: Vary) -> None:
        self.path = path
        self.box = box
        self._pieces = pieces
        self._week = pieces.week
        self._vary = vary
        self.music: Order[Excerpt | None] = Order(path, self._music, remarks=self._remarks)
        self.paper: Order[PaperCut | None] = Order(path, self._paper, remarks=self._coarse)

    @cached_property
    def variants(self) -> tuple[Order[Excerpt | None], ...]:
        """The variants that are printed: the teacher's own, else the advised ones; what does not fit gives way.

        One that is a word to the player alone gives None. Those that leave the notes alone are not printed again.
        """
        if self._notes() is None and self.box.variants is None:
            return ()
        return tuple(self._order(name) for name in self.names() if not same_notes(name))

    @cached_property
    def refused(self) -> tuple[Order[Excerpt | None], ...]:
        """The variants of the teacher's list that cannot be made, each told with what is printed in its place."""
        own, names = self.box.variants or (), self.names()
        others = iter([name for name in names if name not in own])
        return tuple(self._order(name, next(others, "")) for name in own if name not in names)

    def _order(self, name: str, instead: str = "") -> Order[Excerpt | None]:
        own = self.box.variants or ()
        path = (*self.path, "variants", own.index(name)) if name in own else (*self.path, "why")
        return Order(path, partial(self._variant, name), name, instead=instead)

    def names(self) -> tuple[str, ...]:
        """The names of its variants, those too that are not printed."""
        return self._names_of(self.box)

    def usual(self) -> tuple[str, ...]:
        """The names that it would have if the teacher named none."""
        return self._names_of(self.box.model_copy(update={"variants": None}))

    def _names_of(self, box: BoxItem) -> tuple[str, ...]:
        level = self._week.player.level
        if self._notes() is None:
            return box_variants(box, level)
        return box_variants(box, level, self.fits, self.suits, self._work)

    def _work(self) -> tuple[FaultName, ...]:
        """What the box is most work for, by a proposed fingering for this player."""
        music = self._notes()
        if music is None:
            return ()
        from excerpts.lefthand.path import Wishes, taught_positions
        from excerpts.lefthand.work import box_faults  # which loads numpy

        player, target = self._week.player, self.box.target
        wishes = Wishes(taught_positions(player.positions, player.level), player.extensions == "avoid")
        speed = target.quarters_per_minute if target is not None else None
        return tuple(map(fault_name, box_faults(music, self._pieces.player, speed, wishes)))

    def fits(self, name: str) -> bool:
        """Whether a variant can be made, or need not be: the recipe names it."""
        return same_notes(name) or self._tried(name) is not None

    def suits(self, name: str) -> bool:
        """Whether a variant fits the music and is for the player; where there are no notes, only a word is."""
        level, made = self._week.player.level, self._tried(name)
        if made is not None:
            return allows(level, name, lambda: (_demands(made), self._piece_demands))
        return self._notes() is None and allows(level, name, None)

    def may_slur(self) -> bool:
        """Whether the player may be given two notes in a bow where the box does not ask it."""
        return self._week.player.level != "first" or self._piece_demands.bow > 1

    def _notes(self) -> Excerpt | None:
        try:
            return self.music.made()
        except InputError:
            return None  # told of the music itself

    def _tried(self, name: str) -> Excerpt | None:
        music = self._notes()
        try:
            return None if music is None else self._vary(music, self._own(name))
        except VariantError:
            return None

    @cached_property
    def _piece_demands(self) -> Demands:
        """What the piece asks of its player; of a box that is typed in, what that asks."""
        orders, music = self._pieces.orders.get(self.box.piece or ""), needed(self.music)
        if orders is not None and self.box.abc is None:
            return demands(needed(orders.part).bars.measures)
        return _demands(music) if music is not None else demands(())

    def _variant(self, name: str) -> Excerpt | None:
        music = self.music.made()
        if music is None:
            raise VariantError(
                f"'{name}' needs notes, and the box is on paper only ({'page' if self.box.page else 'place'}).",
                hint="Type its bars as ABC (abc), or give the piece its score and the box its bars.",
            )
        if spoken(name):
            return None
        return self._vary(music, self._own(self.made_as(name)))

    def _own(self, name: str) -> str:
        """The variant for the instrument of the player, whatever the part in the score is called."""
        return for_player(name, self._week.player.instrument)

    def made_as(self, name: str) -> str:
        """The variant as it is made: in double values where the week asks for them."""
        return in_double_values(name) if self._week.plan.double_values else name

    def _music(self) -> Excerpt | None:
        """The excerpt with a bar of context at each side; None for a box on paper only."""
        box, marks = self.box, (*self.path, "marks")
        if box.abc is not None:
            return self._pieces.marked(self._typed, 0, box.marks, marks)
        if box.in_score is None or box.piece is None:
            return None
        return self._pieces.bars(
            (*self.path, "bars"), self._week.piece(box.piece), box.in_score, box.marks, marks
        )

    def _paper(self) -> PaperCut | None:
        """What is cut out of printed pages; None for a box that names none."""
        if self.box.piece not in self._pieces.pages or not on_pages(self.box, self._week):
            return None
        pages, piece = needed(self._pieces.pages[self.box.piece]), self._week.piece(self.box.piece)
        key = next((key for key in ("areas", "area", "systems") if getattr(self.box, key)), "bars")
        return at((*self.path, key), lambda: printed(self.box, piece, pages))

    def _coarse(self, cut: PaperCut | None) -> Iterator[Trouble]:
        """A scan or photo with so few dots that it prints badly."""
        for page, line in zip(cut.line_pages, cut.lines, strict=True) if cut else ():
            if line.dpi is not None and line.dpi < LEAST_DPI:
                message = (
                    f"Page {page} has about {line.dpi:.0f} dots an inch, and prints badly. Take it again: flat, from "
                    "above, in even light, the page filling the picture; or scan it at 300."
                )
                yield Trouble((*self.path, "page" if self.box.page else "bars"), message, stops=False)

    @cached_property
    def _typed(self) -> Passage:
        """All of the bars that are typed in as ABC."""
        path, text = (*self.path, "abc"), self.box.abc or ""
        if faults := abc_faults(text):
            raise ReasonsError(((*path, fault.line - 1), fault.message) for fault in faults)

        return at(path, lambda: typed_bars(self.box, self._pieces.player.clef))

    def _remarks(self, music: Excerpt | None) -> Iterator[Trouble]:
        """A box that is all rests shows a wrong bar or part; marks may clash with what the score says."""
        box = self.box
        if music is None:
            return
        if not _sounds(music):
            key = "abc" if box.abc is not None else "bars"
            message = "These bars are all rests in this part. Check that bars and part are the right ones."
            yield Trouble((*self.path, key), message, stops=False)
        passage, context = self._passage(box), 0 if box.abc is not None else 1
        if passage is None:
            return
        key = "abc" if box.abc is not None else "bars"
        for said in wide_stops(music, passage.part, self._pieces.player):
            yield Trouble((*self.path, key), f"{capital(said)}.", stops=False)
        if box.marks:
            yield from self._pieces.mark_remarks(passage, context, box.marks, (*self.path, "marks"))

    def _passage(self, box: BoxItem) -> Passage | None:
        if box.abc is not None:
            return self._typed
        piece = self._week.piece(box.piece or "")
        return self._pieces.orders[piece.id].part.made().passage(box.in_score or "", piece.pupil_bars)


def same_notes(variant: str) -> bool:
    """Whether a variant leaves the notes alone, and the recipe names it: it is not printed again."""
    return all(step.variant.info.same_notes for step in parse_variant(variant)) and not spoken(variant)


def spoken(variant: str) -> bool:
    """Whether a variant is a word to the player alone."""
    return all(step.variant.info.spoken for step in parse_variant(variant))


def _demands(music: Excerpt) -> Demands:
    return demands(music.tree().iterfind("part/measure"))


def _sounds(music: Excerpt) -> bool:
    """Whether any note begins or sounds in the box."""
    measures = music.tree().findall("part/measure")
    bars: Sequence[int] = sorted(
        {bar for span in music.boxes for bar in range(span.start.bar, span.end.bar + 1)}
    ) or range(len(measures))
    notes = (note for bar in bars if bar < len(measures) for note in measures[bar].iterfind("note"))
    return any(note.find("rest") is None for note in notes)
