"""The scores of a week, the player's parts in them, and passages with the teacher's marks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from excerpts.errors import InputError
from excerpts.excerpt import Excerpt
from excerpts.paper import Pages, find_pages
from excerpts.score import Part, Passage, Score
from excerpts.score.boxes_in_score import unmarked
from excerpts.score.mark_clashes import mark_clashes
from excerpts.score.marking_syntax import parse_mark
from excerpts.score.teacher_markings import MarkWriter, with_marks
from excerpts.week.model import Week
from excerpts.week.orders.order import Order, ReasonsError, Trouble, at, needed
from excerpts.weekfile.item_values import sentence
from excerpts.weekfile.items import Piece
from excerpts.weekfile.lines import KeyPath


@dataclass(frozen=True, slots=True)
class PieceOrders:
    """A piece with a score: the score, the player's part, and whether the marks for the whole piece hold."""

    score: Order[Score]
    part: Order[Part]
    marks: Order[None]


class Pieces:
    """The music of the pieces of a week."""

    def __init__(self, week: Week) -> None:
        self.week = week
        self.player = week.player.plays
        self.orders: dict[str, PieceOrders] = {}
        self.pages: dict[str, Order[Pages]] = {}
        for place, piece in enumerate(week.pieces):
            if piece.id in week.score_paths:
                self.orders[piece.id] = self._piece(("piece", place), piece)
            if piece.id in week.page_paths:
                pages = partial(find_pages, week.page_paths[piece.id])
                self.pages[piece.id] = Order(("piece", place, "pages"), pages)

    def _piece(self, path: KeyPath, piece: Piece) -> PieceOrders:
        score = Order((*path, "score"), partial(self._score, piece.id))
        part = Order((*path, "part"), lambda: part_of(piece, needed(score)))
        marks = Order((*path, "marks"), partial(self._whole_piece, (*path, "marks"), piece, part))
        return PieceOrders(score, part, marks)

    def _score(self, piece_id: str) -> Score:
        score = self.week.score(piece_id)
        assert score is not None  # only pieces with a score are asked for it
        return score

    def _whole_piece(self, path: KeyPath, piece: Piece, part: Order[Part]) -> None:
        """Put the marks for the whole piece into all of it."""
        whole_part = needed(part)
        if piece.marks:
            self.marked(whole_part.whole(piece.pupil_bars), 0, piece.marks, path)

    def bars(
        self, path: KeyPath, piece: Piece, bars: str, marks: tuple[str, ...] = (), marks_path: KeyPath = ()
    ) -> Excerpt | None:
        """Bars of a piece with a bar of context and the teacher's marks; None where the piece has no score."""
        orders = self.orders.get(piece.id)
        if orders is None:
            return None
        part = needed(orders.part)
        needed(orders.marks)
        return at(
            path,
            lambda: self.marked(part.passage(bars, piece.pupil_bars), 1, marks, marks_path, piece.marks),
        )

    def marked(
        self,
        passage: Passage,
        context: int,
        marks: tuple[str, ...],
        path: KeyPath,
        piece_marks: tuple[str, ...] = (),
    ) -> Excerpt:
        """Cut a passage and put marks into it.

        Raises:
            ReasonsError: Some of the marks cannot be put in, or contradict each other; every one is told.
        """
        if not marks:
            return passage.cut(context, (), piece_marks)
        plain = passage.cut(context, (), piece_marks)
        reasons = dict(_wrong(plain, passage, marks))
        for clash in mark_clashes(plain, marks, passage.resolver, self.player):
            if clash.certain:
                reasons.setdefault(clash.place, clash.message)
        if reasons:
            raise ReasonsError(((*path, place), message) for place, message in sorted(reasons.items()))
        return with_marks(plain, marks, passage.resolver)

    def mark_remarks(
        self, passage: Passage, context: int, marks: tuple[str, ...], path: KeyPath
    ) -> Iterator[Trouble]:
        """What may be meant as it is but is worth another look: a bow sign under a printed slur."""
        for clash in mark_clashes(passage.cut(context), marks, passage.resolver, self.player):
            if not clash.certain:
                yield Trouble((*path, clash.place), clash.message, stops=False)


def part_of(piece: Piece, score: Score) -> Part:
    """The player's part of a piece, as it is printed: without the marks in it that its boxes are taken from."""
    part = score.part(piece.part)
    return unmarked(part) if piece.marked else part


def _wrong(plain: Excerpt, passage: Passage, marks: tuple[str, ...]) -> Iterator[tuple[int, str]]:
    """The marks that cannot be put in, with their places in the list; one that cannot leaves no trace."""
    writer = MarkWriter(plain, passage.resolver)
    for place, mark in enumerate(marks):
        try:
            writer.put(parse_mark(mark), outside=False)
        except InputError as error:
            yield place, sentence(error)
