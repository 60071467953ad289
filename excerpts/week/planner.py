"""Makes the plan of a week, day after day, by the rules that `excerpts.week.plan` tells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from excerpts.errors import WeekError
from excerpts.week.allot import Chosen, allot
from excerpts.week.breaks import break_count, break_minutes, break_places
from excerpts.week.items import Piece
from excerpts.week.model import WeekFile
from excerpts.week.plan import Plan, PlanDay, PlanItem, Relaxed, RuleName
from excerpts.week.rotation import Rotation
from excerpts.week.shares import SECTIONS, Section, day_sections, most_in_depth

_WARMUP_MINUTES = 2
_TECHNIQUE_MINUTES = 4
_BOX_MINUTES = 4
"""Minutes below which one more warm-up, technique item or box in depth is not taken in."""

_AGAIN_MINUTES = 2
_AGAIN_LEAVES = 6
"""Yesterday's box is played again for two minutes when that leaves today's box six."""


def plan_week(week: WeekFile) -> Plan:
    """Plan the days of a week.

    Raises:
        WeekError: The week has nothing to play.
    """
    return _Planner(week).plan()


def repertoire(week: WeekFile) -> tuple[Piece, ...]:
    """The pieces that take turns as repertoire: all but studies that only technique takes bars from."""
    boxed = {box.piece for box in week.boxes}
    studies = {item.piece for item in week.technique} - boxed
    return tuple(piece for piece in week.pieces if piece.id not in studies or piece.status == "performance")


def _weight(piece: Piece) -> int:
    """A piece for a performance comes round twice as often, unless the teacher says otherwise."""
    return piece.weight or (2 if piece.status == "performance" else 1)


class _Planner:
    def __init__(self, week: WeekFile) -> None:
        self.week = week
        self.pieces = repertoire(week)
        self.warmups = Rotation([1] * len(week.warmups))
        self.technique = Rotation([1] * len(week.technique))
        self.boxes = Rotation([1] * len(week.boxes))
        self.repertoire = Rotation([_weight(piece) for piece in self.pieces])
        self.filled = self._filled()
        self.shortened: list[str] = []
        self.stretched: list[str] = []

    def _filled(self) -> list[Section]:
        week = self.week
        contents: tuple[Sequence[object], ...] = (week.warmups, week.technique, week.boxes, self.pieces)
        return [section for section, items in zip(SECTIONS, contents, strict=True) if items]

    def plan(self) -> Plan:
        if not self.filled:
            raise WeekError("The week has nothing to play.", hint="Add a piece, a box or a warm-up.")
        days: list[PlanDay] = []
        yesterday: tuple[PlanItem, ...] = ()
        for day in self.week.week.dates:
            minutes = self.week.week.minutes_on(day)
            days.append(self._day(day, minutes, yesterday) if minutes else PlanDay(day, 0))
            yesterday = days[-1].in_depth or yesterday
        return Plan(tuple(days), self._relaxed(any(day.minutes for day in days)))

    def _day(self, day: date, minutes: int, yesterday: Sequence[PlanItem]) -> PlanDay:
        playing = minutes - break_minutes(minutes)
        shares = day_sections(playing, self.week.player.level, self.filled)
        chosen = self._chosen(minutes, shares)
        allotment = allot(playing, shares, chosen)
        if allotment.shortened:
            self.shortened.append(day.isoformat())
        if allotment.stretched:
            self.stretched.append(day.isoformat())
        timed = zip(chosen, allotment.minutes, strict=True)
        items = [replace(one.item, minutes=part) for one, part in timed if part]
        items = self._again(items, chosen, yesterday)
        for item in items:
            self._count(item)
        places = break_places(break_count(minutes), [item.minutes for item in items])
        return PlanDay(day, minutes, minutes - playing, tuple(items), places)

    def _chosen(self, total: int, shares: dict[Section, int]) -> list[Chosen]:
        boxes = self._todays_boxes(total, shares.get("passages", 0))
        by_section = {
            "warm-up": self._todays_warmups(shares.get("warm-up", 0)),
            "technique": self._todays_technique(shares.get("technique", 0), boxes),
            "passages": [self._box(place) for place in boxes],
            "repertoire": self._todays_pieces(shares.get("repertoire", 0), boxes),
        }
        return [one for section in SECTIONS if shares.get(section) for one in by_section[section]]

    def _todays_boxes(self, total: int, minutes: int) -> list[int]:
        if not minutes:
            return []
        return self.boxes.next(max(min(most_in_depth(total), minutes // _BOX_MINUTES), 1))

    def _box(self, place: int) -> Chosen:
        box = self.week.boxes[place]
        return Chosen(PlanItem("passages", 0, box=box.id, piece=box.piece, in_depth=True), box.minutes)

    def _todays_warmups(self, minutes: int) -> list[Chosen]:
        places = self.warmups.next(max(minutes // _WARMUP_MINUTES, 1))
        items = [(place, self.week.warmups[place]) for place in sorted(places)]
        return [
            Chosen(PlanItem("warm-up", 0, text=item.text, warmup=place), item.minutes)
            for place, item in items
        ]

    def _todays_technique(self, minutes: int, boxes: Sequence[int]) -> list[Chosen]:
        today = {self.week.boxes[place].id for place in boxes}
        drills = [place for place, item in enumerate(self.week.technique) if item.drill in today]
        places = self.technique.next(max(minutes // _TECHNIQUE_MINUTES, 1), liked=drills)
        items = [(place, self.week.technique[place]) for place in sorted(places)]
        return [
            Chosen(
                PlanItem("technique", 0, box=item.drill, piece=item.piece, text=item.text, technique=place),
                item.minutes,
            )
            for place, item in items
        ]

    def _todays_pieces(self, minutes: int, boxes: Sequence[int]) -> list[Chosen]:
        ids = [piece.id for piece in self.pieces]
        boxed = [self.week.boxes[place].piece for place in boxes]
        first = list(dict.fromkeys(ids.index(piece) for piece in boxed if piece is not None))
        usual = 1 + (minutes + 1) // 9
        if self.week.player.level == "first":  # short pieces, and those known already are most of the music
            usual = max(minutes // 3, 2 if minutes >= 4 else 1)
        one_more = min(len(first) + 1, minutes // 3)
        chosen = self.repertoire.next(max(usual, one_more, 1), first)
        pieces = [self.pieces[place] for place in chosen]
        return [Chosen(PlanItem("repertoire", 0, piece=piece.id), piece.minutes) for piece in pieces]

    def _again(
        self, items: list[PlanItem], chosen: Sequence[Chosen], yesterday: Sequence[PlanItem]
    ) -> list[PlanItem]:
        """Take yesterday's box in once more, for a short while, after the boxes in depth.

        A night between helped accuracy in studies of single passages (Simmons 2012, keyboard players). For a
        player in the first year one box a day is enough.
        """
        own = {one.item.box for one in chosen if one.item.in_depth and one.wanted is not None}
        deep = [place for place, item in enumerate(items) if item.in_depth]
        again = [item for item in yesterday if item.box not in {items[place].box for place in deep}]
        free = [place for place in deep if items[place].box not in own]
        if not again or not free or self.week.player.level == "first":
            return items
        longest = max(free, key=lambda place: items[place].minutes)
        if items[longest].minutes < _AGAIN_LEAVES + _AGAIN_MINUTES:
            return items
        items[longest] = replace(items[longest], minutes=items[longest].minutes - _AGAIN_MINUTES)
        items.insert(deep[-1] + 1, replace(again[0], minutes=_AGAIN_MINUTES, in_depth=False))
        return items

    def _count(self, item: PlanItem) -> None:
        if item.warmup is not None:
            self.warmups.played(item.warmup)
        elif item.technique is not None:
            self.technique.played(item.technique)
        elif item.in_depth:
            self.boxes.played([box.id for box in self.week.boxes].index(item.box or ""))
        elif item.section == "repertoire":
            self.repertoire.played([piece.id for piece in self.pieces].index(item.piece or ""))

    def _relaxed(self, any_day: bool) -> tuple[Relaxed, ...]:
        told: list[tuple[RuleName, list[str]]] = [
            ("item-minutes-shortened", self.shortened),
            ("item-minutes-stretched", self.stretched),
        ]
        if any_day:
            told += [
                ("box-without-day", [self.week.boxes[place].id for place in self.boxes.left_out]),
                ("piece-without-day", [self.pieces[place].id for place in self.repertoire.left_out]),
                ("warm-up-without-day", [str(place + 1) for place in self.warmups.left_out]),
                ("technique-without-day", [str(place + 1) for place in self.technique.left_out]),
            ]
        return tuple(Relaxed(rule, tuple(items)) for rule, items in told if items)
