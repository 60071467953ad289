"""A piece of a player's week as it is open on the desk: the week file as shown, the week, the part with its marks."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Lock
from typing import Any, Final, TypeVar

from excerpts.desk.part_picture import Drawn, PartPicture
from excerpts.desk.saves import Shown
from excerpts.desk.studio_state import NotThereError, Player, StudioState
from excerpts.desk.undo import digest_of
from excerpts.desk.week_texts import WeekTexts, raw_text
from excerpts.errors import InputError
from excerpts.excerpt import Excerpt
from excerpts.score import Part, Score
from excerpts.score.score import score_from_bytes
from excerpts.score.teacher_markings import with_marks
from excerpts.week.model import Week
from excerpts.week.orders import Orders, part_of
from excerpts.week.resolve import resolve_rest
from excerpts.weekfile.cells import as_utf8
from excerpts.weekfile.faults import Fault, WeekFaultsError
from excerpts.weekfile.items import Piece

_KEPT_SCORES: Final = 8
_USUAL_WIDTH: Final = 210
"""Width of the lines on a screen of 1280 points, in millimetres."""
_Kept = TypeVar("_Kept")


class NoScoreError(NotThereError):
    """A piece has no score that a part could be drawn from; `has_pages` says whether it has printed pages."""

    def __init__(self, where: str, *, has_pages: bool) -> None:
        super().__init__("the piece has no score.", where=where)
        self.has_pages = has_pages


@dataclass(frozen=True)
class ShownWeek:
    """A week file and the sets that it includes, as a page shows them.

    Attributes:
        texts: Their texts, a byte order mark included.
        shown: The files.
    """

    texts: WeekTexts
    shown: tuple[Shown, ...]

    @property
    def digest(self) -> str:
        """The digest that a save has to bring back: that of the week file, or of all where it includes others."""
        first, *others = self.shown
        return digest_of("".join(one.digest for one in self.shown).encode()) if others else first.digest


def shown_week(state: StudioState, path: Path) -> ShownWeek:
    """A week file and its sets as they are.

    Args:
        state: The studio.
        path: The week file.

    Raises:
        InputError: It cannot be read.
    """
    own = state.saves.show(path)
    texts = WeekTexts(path, {path: as_utf8(own.data).decode("utf-8", "replace")})
    sets = [state.saves.show(one.file) for one in texts.reading.sources.documents]
    if not sets:
        return ShownWeek(texts, (own,))
    return ShownWeek(
        WeekTexts(path, {**texts.texts, **{one.path: raw_text(one.data) for one in sets}}), (own, *sets)
    )


@dataclass(frozen=True, slots=True)
class OpenPart:
    """A piece with its part, as it is open.

    Attributes:
        player: The player.
        file: The week file as it is shown.
        raw: The tables of the week file itself.
        week: The week; without what is faulty in it.
        faults: What is faulty.
        piece: The piece.
        part: The player's part.
    """

    player: Player
    file: ShownWeek
    raw: dict[str, Any]
    week: Week
    faults: tuple[Fault, ...]
    piece: Piece
    part: Part

    @property
    def marks(self) -> tuple[str, ...]:
        """The teacher's marks for the piece and in its boxes, in the order in which they count."""
        own = (mark for box in self.week.boxes if box.piece == self.piece.id for mark in box.marks)
        return tuple(dict.fromkeys((*self.piece.marks, *own)))

    @property
    def texts(self) -> WeekTexts:
        """The texts of the week file and of the sets that it includes."""
        return self.file.texts

    @property
    def shared(self) -> Path | None:
        """The set that the piece stands in; None where it is the week file's own."""
        pieces = self.texts.reading.sources.raw["piece"]
        own = self.texts.set_of(("piece", [one.get("id") for one in pieces].index(self.piece.id)))
        return own[0] if own else None

    def as_of(self, week: Week) -> OpenPart:
        """The same with another week in the place of its own."""
        return replace(self, week=week, piece=week.piece(self.piece.id))


def open_part(state: StudioState, pictures: Pictures, player_key: str, piece_id: str) -> OpenPart:
    """Open a piece of a player's latest week.

    Args:
        state: The studio.
        pictures: Which keep parts as they are drawn.
        player_key: Key of the player.
        piece_id: Id of the piece.

    Raises:
        NotThereError: There is no such player, no such piece, or the piece has no score.
        InputError: The week file or the score cannot be read.
    """
    player = state.player(player_key)
    file = shown_week(state, player.week)
    week, faults = week_in(state, file.texts)
    piece = next((one for one in week.pieces if one.id == piece_id), None)
    if piece is None:
        raise NotThereError("there is no such piece in this week.", where=player.week.name)
    score = week.score(piece.id)
    if score is None:
        raise NoScoreError(player.week.name, has_pages=piece.id in week.page_paths)
    raw = file.texts.reading.sources.own.raw
    return OpenPart(player, file, raw, week, faults, piece, pictures.part(piece, score))


def week_of(state: StudioState, player: Player, text: str) -> tuple[Week, tuple[Fault, ...]]:
    """The week that a text is as the player's week file, without what is faulty, and its faults.

    Raises:
        WeekError: Too little of it can be read.
    """
    return week_in(state, WeekTexts(player.week, {player.week: text}))


def week_in(state: StudioState, texts: WeekTexts) -> tuple[Week, tuple[Fault, ...]]:
    """The week that texts are, without what is faulty, and its faults.

    Raises:
        WeekError: Too little of it can be read.
    """
    week, faults = resolve_rest(texts.reading, state.scores)
    if week is None:
        raise WeekFaultsError(faults)
    return week, faults


class Pictures:
    """The pictures of parts, with the marks of their weeks in them, for as long as the desk runs.

    Attributes:
        width: The width in millimetres that a page asked for last: the next one will most likely ask for it too.
    """

    def __init__(self) -> None:
        self.width = _USUAL_WIDTH
        self._drawn = Drawn()
        self._orders: OrderedDict[tuple[object, ...], tuple[Score, Orders]] = OrderedDict()
        self._whole: OrderedDict[tuple[object, ...], tuple[Score, Excerpt]] = OrderedDict()
        self._marked: OrderedDict[tuple[object, ...], tuple[Score, Score, str]] = OrderedDict()
        self._parts: OrderedDict[tuple[object, ...], tuple[Score, Part]] = OrderedDict()
        self._lock = Lock()

    def part(self, piece: Piece, score: Score) -> Part:
        """The player's part, the same one as long as its score is."""
        key = id(score), piece.part, piece.marked
        with self._lock:
            if key not in self._parts:
                self._parts[key] = score, part_of(piece, score)
            return _newest(self._parts, key)[1]

    def orders(self, opened: OpenPart) -> Orders:
        """What a week asks for in notes: kept, for the variants of a box are asked for one by one."""
        key = opened.player.week, opened.file.digest, id(opened.part.score)
        with self._lock:
            if key not in self._orders:
                self._orders[key] = opened.part.score, Orders(opened.week)
            return _newest(self._orders, key)[1]

    def of(self, opened: OpenPart, width: int) -> tuple[PartPicture, str]:
        """The picture of a piece's part, and why its marks are not in it, where they cannot be put in."""
        self.width = width
        part, marks = opened.part, opened.marks
        if not marks:
            return self._drawn.picture(part, width, opened.piece.pupil_bars), ""
        key = id(part.score), part.index, marks, opened.piece.pupil_bars
        with self._lock:
            if key not in self._marked:
                self._marked[key] = part.score, *self._with_marks(opened, marks)
            _, marked, why = _newest(self._marked, key)
        if why:
            return self._drawn.picture(part, width, opened.piece.pupil_bars), why
        return self._drawn.picture(marked.part(), width, 0), ""

    def _with_marks(self, opened: OpenPart, marks: tuple[str, ...]) -> tuple[Score, str]:
        """The part with marks in it as a score of its own, in the numbers of the pupil's edition; or why it has none.

        All of the part is cut once, which takes some tenths of a second where it is long, and marked again and again.
        """
        part = opened.part
        key = id(part.score), part.index, opened.piece.pupil_bars
        passage = part.passage(f"@1-@{len(part.bars)}", opened.piece.pupil_bars)
        if key not in self._whole:
            self._whole[key] = part.score, passage.cut(0)
        whole = _newest(self._whole, key)[1]
        try:
            return score_from_bytes(with_marks(whole, marks, passage.resolver).xml, part.score.name), ""
        except InputError as error:
            return part.score, str(error)


def _newest(kept: OrderedDict[tuple[object, ...], _Kept], key: tuple[object, ...]) -> _Kept:
    """What is kept at a key, as what was used last; the oldest goes. Scores are kept, so that keys stay theirs."""
    kept.move_to_end(key)
    while len(kept) > _KEPT_SCORES:
        kept.popitem(last=False)
    return kept[key]
