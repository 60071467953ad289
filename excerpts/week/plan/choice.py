"""Chooses what is played today in each section: whoever had the fewest turns so far is next."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from fractions import Fraction
from math import ceil
from typing import Final

from excerpts.week.model import WeekMusic
from excerpts.week.plan.minutes import Chosen, most_in_depth
from excerpts.week.plan.model import PlanItem
from excerpts.week.plan.workload import box_work, written_variants
from excerpts.weekfile.items import BoxItem, Piece
from excerpts.weekfile.model import WeekFile

DAILY: Final = 7
"""The weight from which on a piece comes every day."""


class Rotation:
    """Turns of some items over the days of a week.

    Items of equal weight that are never called out of turn differ by at most one turn.

    Args:
        weights: Weight of each item: one of weight 2 has about twice as many turns.
    """

    def __init__(self, weights: Sequence[int]) -> None:
        self.turns = [0] * len(weights)
        self.weights = list(weights)

    def next(self, count: int, first: Sequence[int] = (), liked: Collection[int] = ()) -> list[int]:
        """The items of today, without counting them as played.

        Args:
            count: How many; those of `first` count too and come even when there are more of them.
            first: Items that come today in any case.
            liked: Items that win a tie.
        """
        chosen = list(dict.fromkeys(first))
        others = [item for item in range(len(self.turns)) if item not in chosen]
        others.sort(key=lambda item: (self._served(item), item not in liked, -self.weights[item], item))
        return chosen + others[: max(count - len(chosen), 0)]

    def _served(self, item: int) -> Fraction:
        return Fraction(self.turns[item], self.weights[item])

    def played(self, item: int) -> None:
        """Count a turn."""
        self.turns[item] += 1

    @property
    def left_out(self) -> list[int]:
        """Items that had no turn."""
        return [item for item, turns in enumerate(self.turns) if not turns]


class PieceTurns(Rotation):
    """Turns of the pieces over the days of a week, by weight: on how many of seven days each is wanted.

    Pieces of weight 7 and more come every day, before all others. The others are due when an even spread of
    their days says so, so that an old favourite of weight 1 comes once, in the middle of the week; where there is
    less room than is due, they share it in proportion to their weights (by the smallest of (turns + 1/2) / weight,
    the divisor method of Webster and Sainte-Lague). Pieces of equal weight that are never called out of turn
    differ by at most one turn.

    Args:
        weights: Weight of each piece.
        days: Number of days with practice.
    """

    def __init__(self, weights: Sequence[int], days: int) -> None:
        super().__init__(weights)
        self._days = days

    def due(
        self, day: int, count: int, first: Sequence[int] = (), without: Collection[int] = ()
    ) -> list[int]:
        """The pieces of today, without counting them as played; one at least where there is any.

        Args:
            day: Which day of practice it is, from 1.
            count: How many; those of `first` count too and come even when there are more of them.
            first: Pieces that come today in any case.
            without: Pieces that do not come today.
        """
        chosen = list(dict.fromkeys(first))
        others = [piece for piece in range(len(self.turns)) if piece not in chosen and piece not in without]
        others.sort(key=self._rank)
        due = [piece for piece in others if self._is_due(piece, day)]
        chosen += due[: max(count - len(chosen), 0)]
        return chosen or others[:1]

    def daily(self, piece: int) -> bool:
        """Whether a piece is to come every day."""
        return self.weights[piece] >= DAILY

    def _rank(self, piece: int) -> tuple[bool, Fraction, int, int]:
        served = Fraction(2 * self.turns[piece] + 1, self.weights[piece])
        return not self.daily(piece), served, -self.weights[piece], piece

    def _is_due(self, piece: int, day: int) -> bool:
        wanted = max(Fraction(self.weights[piece] * self._days, DAILY), Fraction(1))
        return self.daily(piece) or self.turns[piece] + Fraction(1, 2) <= wanted * day / self._days


_WARMUP_MINUTES = 2
_TECHNIQUE_MINUTES = 4
_BOX_MINUTES = 4
_PIECE_MINUTES = 3
"""Minutes below which one more warm-up, technique item, box in depth or piece is not taken in."""

_BEARS: Final = 10
_TIMES_THROUGH: Final = 5
"""Minutes a day that any item may ask for, and how often a piece or study is gone through on a day at most. A box may
ask for what its whole week's work takes."""

_PIECE_LEAST: Final = 5
_WHOLE_PIECES: Final = frozenset({"upper", "advanced"})
"""From this level on a piece that is played has five minutes at least: fewer pieces a day, not shorter ones."""

_LEARNING = 5
_OLD_FAVOURITE = 1
"""Weights of a piece in learning and one in review; a performance piece comes daily."""


def repertoire(week: WeekFile) -> tuple[Piece, ...]:
    """The pieces that take turns as repertoire: all but studies that only technique takes bars from."""
    boxed = {box.piece for box in week.boxes}
    studies = {item.piece for item in week.technique} - boxed
    return tuple(piece for piece in week.pieces if piece.id not in studies or piece.status == "performance")


def weight_of(piece: Piece, week: WeekFile) -> int:
    """On how many of seven days a piece is wanted: a concert piece daily, an old favourite once.

    In the first year the pieces that are known already are most of the music, and come daily too.
    """
    if piece.weight is not None:
        return piece.weight
    if piece.status == "performance" or piece.date is not None:
        return DAILY
    if piece.status == "review":
        return DAILY if week.player.level == "first" else _OLD_FAVOURITE
    return _LEARNING


class Choice:
    """What is played on each day of one week.

    Args:
        week: The week.
        days: Number of days with practice.
        music: What is known of its music.

    Attributes:
        technique_places: The places in the week's technique of all items but drills that their boxes cannot give.
    """

    def __init__(self, week: WeekFile, days: int, music: WeekMusic) -> None:
        self.week = week
        self.music = music
        self.days = days
        self.technique_places = [
            place for place in range(len(week.technique)) if place not in music.no_drills
        ]
        self.pieces = repertoire(week)
        self.warmup_turns = Rotation([1] * len(week.warmups))
        self.technique_turns = Rotation([1] * len(self.technique_places))
        self.box_turns = Rotation([1] * len(week.boxes))
        self.piece_turns = PieceTurns([weight_of(piece, week) for piece in self.pieces], days)
        self._piece_places = {piece.id: place for place, piece in enumerate(self.pieces)}
        self._box_places = {box.id: place for place, box in enumerate(week.boxes)}

    def boxes(self, total: int, minutes: int) -> list[Chosen]:
        """The boxes in depth of a day of `total` minutes, `minutes` of them for passages."""
        settings = self.week.plan
        most = settings.in_depth or most_in_depth(total)
        least = _BOX_MINUTES
        if settings.turns:
            most, least = max(most, 2), settings.turns
        places = self.box_turns.next(max(min(most, minutes // least), 1))
        return [self._box(self.week.boxes[place]) for place in places]

    def _box(self, box: BoxItem) -> Chosen:
        item = PlanItem("passages", 0, box=box.id, piece=box.piece, in_depth=True)
        known = self.music.boxes.get(box.id)
        if known is None:
            return Chosen(item, box.minutes)
        runs, variants = self.week.clean_runs(box), written_variants(box, self.week)
        work = box_work(box, self.week, known, runs=runs, variants=variants, days=self.days)
        return Chosen(item, box.minutes, most=self._most(work))

    def _most(self, minutes: Fraction = Fraction(0)) -> int | None:
        """Minutes that an item asks for on a day; any number where the teacher shares out the day."""
        return None if self.week.plan.shares else max(_BEARS, ceil(minutes))

    def _times_through(self, seconds: Fraction | None) -> int | None:
        """Minutes that a piece or study asks for on a day, by the seconds that it takes, where they are known."""
        return None if seconds is None else self._most(_TIMES_THROUGH * seconds / 60)

    def warmups(self, minutes: int) -> list[Chosen]:
        """The warm-ups of a day, in the order of the file."""
        places = self.warmup_turns.next(max(minutes // _WARMUP_MINUTES, 1))
        items = [(place, self.week.warmups[place]) for place in sorted(places)]
        return [
            Chosen(PlanItem("warm-up", 0, text=item.text, warmup=place), item.minutes, most=self._most())
            for place, item in items
        ]

    def technique(self, minutes: int, boxes: Sequence[Chosen]) -> list[Chosen]:
        """The technique of a day, in the order of the file; a drill comes on the day of its box."""
        today = {one.item.box for one in boxes}
        known = [(place, self.week.technique[place]) for place in self.technique_places]
        drills = [turn for turn, (_, item) in enumerate(known) if item.drill in today]
        turns = self.technique_turns.next(max(minutes // _TECHNIQUE_MINUTES, 1), liked=drills)
        items = [known[turn] for turn in sorted(turns)]
        return [
            Chosen(
                PlanItem("technique", 0, box=item.drill, piece=item.piece, text=item.text, technique=place),
                item.minutes,
                most=self._times_through(self.music.studies.get(place)) if item.piece else self._most(),
            )
            for place, item in items
        ]

    def repertoire(
        self, day: int, minutes: int, boxes: Sequence[Chosen], without: Collection[str] = ()
    ) -> list[Chosen]:
        """The pieces of a day: that of each box in depth first, then those that come daily, then the others.

        Args:
            day: Which day of practice it is, from 1.
            minutes: Minutes for them.
            boxes: The boxes of the day.
            without: Ids of pieces that have been played through already.
        """
        left = {self._piece_places[piece] for piece in without if piece in self._piece_places}
        boxed = [one.item.piece for one in boxes if one.item.piece is not None and one.item.in_depth]
        first = [self._piece_places[piece] for piece in dict.fromkeys(boxed)]
        first = [place for place in first if place not in left]
        daily = {place for place in range(len(self.pieces)) if self.piece_turns.daily(place)} - left
        room = max(minutes // _PIECE_MINUTES, 2 if minutes >= _PIECE_MINUTES + 1 else 1)
        usual = 1 + (minutes + 1) // 9
        if self.week.player.level == "first":  # short pieces, and those known already are most of the music
            usual = max(minutes // _PIECE_MINUTES, 2 if minutes >= _PIECE_MINUTES else 1)
        count = max(usual, min(len(daily.union(first)) + 1, room))
        places = self.piece_turns.due(day, count, first, left)
        return self._weighted([self.pieces[place] for place in places])

    def _weighted(self, pieces: Sequence[Piece]) -> list[Chosen]:
        """Pieces with their weights: in the first year those in review have three quarters of the minutes.

        From the level upper on each has at least five minutes.
        """
        level = self.week.player.level
        known = [piece.status == "review" and level == "first" for piece in pieces]
        new = known.count(False)
        weights = [3 * max(new, 1) if old else max(known.count(True), 1) for old in known]
        seconds = [self.music.seconds.get(piece.id) for piece in pieces]
        least = _PIECE_LEAST if level in _WHOLE_PIECES else 0
        return [
            Chosen(
                PlanItem("repertoire", 0, piece=piece.id),
                piece.minutes,
                weight,
                least,
                self._times_through(time),
            )
            for piece, time, weight in zip(pieces, seconds, weights, strict=True)
        ]

    def count(self, items: Sequence[PlanItem]) -> None:
        """Count the items of a day as played; a piece that comes twice on the day has had one turn."""
        for item in items:
            if item.warmup is not None:
                self.warmup_turns.played(item.warmup)
            elif item.technique is not None:
                self.technique_turns.played(self.technique_places.index(item.technique))
            elif item.in_depth:
                self.box_turns.played(self._box_places[item.box or ""])
        played = dict.fromkeys(item.piece for item in items if item.section == "repertoire")
        for piece in played:
            if piece in self._piece_places:
                self.piece_turns.played(self._piece_places[piece])
