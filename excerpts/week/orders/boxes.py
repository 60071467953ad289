"""The boxes of a week: their music, and their variants."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import cached_property, partial

from excerpts.errors import InputError, VariantError
from excerpts.excerpt import Excerpt
from excerpts.score import Passage, from_abc
from excerpts.score.abc import abc_faults
from excerpts.variants import for_player, in_double_values, parse_variant
from excerpts.week.advice import box_variants
from excerpts.week.orders.order import Order, ReasonsError, Trouble, at
from excerpts.week.orders.pieces import Pieces
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.lines import KeyPath

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

    @cached_property
    def variants(self) -> tuple[Order[Excerpt | None], ...]:
        """The variants that are printed: the teacher's own, else those of the advised ones that fit its music.

        One that is a word to the player alone gives None. Those that leave the notes alone are not printed again.
        """
        try:
            music = self.music.made()
        except InputError:
            return ()  # told of the music itself
        own = self.box.variants is not None
        if music is None and not own:
            return ()
        names = self.names(music)
        return tuple(
            Order(
                (*self.path, "variants", place) if own else (*self.path, "why"),
                partial(self._variant, name),
                name,
            )
            for place, name in enumerate(names)
            if not same_notes(name)
        )

    def names(self, music: Excerpt | None) -> tuple[str, ...]:
        """The names of its variants, those too that are not printed."""
        level = self._week.player.level
        return box_variants(self.box, level, partial(self._fits, music) if music is not None else None)

    def _fits(self, music: Excerpt, name: str) -> bool:
        try:
            self._vary(music, self._own(name))
        except VariantError:
            return False
        return True

    def _variant(self, name: str) -> Excerpt | None:
        music = self.music.made()
        if music is None:
            raise VariantError(
                f"'{name}' needs notes, and the box is on paper only (place).",
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
        if box.bars is None or box.piece is None:
            return None
        return self._pieces.bars(
            (*self.path, "bars"), self._week.piece(box.piece), box.bars, box.marks, marks
        )

    @cached_property
    def _typed(self) -> Passage:
        """All of the bars that are typed in as ABC."""
        path, text = (*self.path, "abc"), self.box.abc or ""
        if faults := abc_faults(text):
            raise ReasonsError(((*path, fault.line - 1), fault.message) for fault in faults)

        def read() -> Passage:
            name = f"box {self.box.id} of the week file"
            score = from_abc(text, name=name, clef=self._pieces.player.clef)
            part = score.part(None if len(score.parts) == 1 else "#1")
            return part.passage(f"@1-@{len(part.bars)}")

        return at(path, read)

    def _remarks(self, music: Excerpt | None) -> Iterator[Trouble]:
        """A box that is all rests shows a wrong bar or part; marks may clash with what the score says."""
        box = self.box
        if music is None:
            return
        if not _sounds(music):
            key = "abc" if box.abc is not None else "bars"
            message = "These bars are all rests in this part. Check that bars and part are the right ones."
            yield Trouble((*self.path, key), message, stops=False)
        if not box.marks:
            return
        passage, context = self._passage(box), 0 if box.abc is not None else 1
        if passage is not None:
            yield from self._pieces.mark_remarks(passage, context, box.marks, (*self.path, "marks"))

    def _passage(self, box: BoxItem) -> Passage | None:
        if box.abc is not None:
            return self._typed
        piece = self._week.piece(box.piece or "")
        return self._pieces.orders[piece.id].part.made().passage(box.bars or "", piece.pupil_bars)


def same_notes(variant: str) -> bool:
    """Whether a variant leaves the notes alone, and the recipe names it: it is not printed again."""
    return all(step.variant.info.same_notes for step in parse_variant(variant)) and not spoken(variant)


def spoken(variant: str) -> bool:
    """Whether a variant is a word to the player alone."""
    return all(step.variant.info.spoken for step in parse_variant(variant))


def _sounds(music: Excerpt) -> bool:
    """Whether any note begins or sounds in the box."""
    measures = music.tree().findall("part/measure")
    bars: Sequence[int] = sorted(
        {bar for span in music.boxes for bar in range(span.start.bar, span.end.bar + 1)}
    ) or range(len(measures))
    notes = (note for bar in bars if bar < len(measures) for note in measures[bar].iterfind("note"))
    return any(note.find("rest") is None for note in notes)
