"""One day's session: tuning, a run-through before a performance, the four sections, a last tune."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import ceil
from typing import Final

from excerpts.week.model import WeekMusic
from excerpts.week.plan.choice import Choice
from excerpts.week.plan.minutes import (
    FEW_BARS,
    LONGEST,
    SHORT,
    SHORTEST,
    Allotment,
    Chosen,
    allot,
    apportion,
    day_sections,
)
from excerpts.week.plan.model import Kind, PlanItem, RuleName, RunThrough
from excerpts.weekfile.model import WeekFile
from excerpts.weekfile.settings import SECTIONS, Section

_AGAIN_MINUTES: Final = 2
_AGAIN_LEAVES: Final = 6
"""Yesterday's box is played again for two minutes when that leaves today's box six."""

_BOX_LEAST: Final = 4
"""Minutes that a run-through always leaves for a box."""

_UNKNOWN_PIECE: Final = 3
_OPENING: Final = 1
_MEMORY: Final = 2
"""Minutes of a piece in a run-through whose length is not known, of an opening, and of starts from memory."""

_LIGHT_WARMUP: Final = 5
"""Minutes that the warm-up of a light day has at least, where the day has so many."""


class Session:
    """Makes the items of one day.

    Args:
        week: The week.
        music: What is known of its music.
        choice: Whose turn it is.
        number: Which day of practice it is, from 1.

    Attributes:
        yielded: Rules that had to yield on this day.
        ran: A run-through is in it.
    """

    def __init__(self, week: WeekFile, music: WeekMusic, choice: Choice, number: int) -> None:
        self.week = week
        self.music = music
        self.choice = choice
        self.number = number
        self.yielded: list[RuleName] = []
        self.ran = False

    def items(
        self, total: int, playing: int, run: RunThrough | None, yesterday: Sequence[PlanItem]
    ) -> list[PlanItem]:
        """The items of a day of `total` minutes, `playing` of them without the breaks; a light day may have fewer.

        Args:
            total: Minutes of the day.
            playing: Minutes of playing.
            run: The run-through of the day, if any.
            yesterday: The boxes in depth of the practice day before.
        """
        light = run is not None and run.light
        tuning = self._tuning(playing)
        head = [_extra("tuning", "warm-up", tuning)] if tuning else []
        room = min(playing, self.week.plan.break_after) if light else playing
        runs = self._run_items(room - tuning, run)
        left = room - tuning - sum(item.minutes for item in runs)
        if light:
            return [*head, *runs, *self._light(playing, tuning, left, openings=bool(runs))]
        through = {item.piece for item in runs}
        done = {piece.id for piece in self.choice.pieces if piece.id in through}
        shares = self._shares(left, tuning)
        last = self._last_tune(left, shares)
        chosen, allotment = self._allotted(left - last, shares, self._chosen(total, shares, done))
        if allotment.shortened:
            self.yielded.append("item-minutes-shortened")
        if allotment.stretched or self._too_long(chosen, allotment.minutes):
            self.yielded.append("item-minutes-stretched")
        timed = zip(chosen, allotment.minutes, strict=True)
        items = [replace(one.item, minutes=part) for one, part in timed if part]
        if playing < FEW_BARS:
            items = [self._few(item) for item in items]
        items = self._again(items, chosen, yesterday)
        order = self.week.plan.order
        items.sort(key=lambda item: order.index(item.section))
        tail = [_extra("last-tune", "repertoire", last)] if last else []
        return [*head, *runs, *items, *tail]

    def _light(self, playing: int, tuning: int, left: int, *, openings: bool) -> list[PlanItem]:
        """What a light day has besides its openings: the warm-up of a usual day; after openings a last tune."""
        minutes = min(max(self._shares(playing - tuning, tuning).get("warm-up", 0), _LIGHT_WARMUP), left)
        chosen = self.choice.warmups(minutes) if minutes and self.week.warmups else []
        minutes = min(minutes, sum(one.wanted or one.most or minutes for one in chosen))
        parts = allot(minutes, {}, chosen).minutes
        warmups = [replace(one.item, minutes=part) for one, part in zip(chosen, parts, strict=True) if part]
        tune = min(self.week.plan.last_tune, left - minutes) if openings else 0
        return [*warmups, *([_extra("last-tune", "repertoire", tune)] if tune else [])]

    def _allotted(
        self, playing: int, shares: dict[Section, int], chosen: list[Chosen]
    ) -> tuple[list[Chosen], Allotment]:
        """The items with their minutes; the last piece is left out for as long as one has less than its least."""
        while True:
            allotment = allot(playing, shares, chosen)
            timed = zip(chosen, allotment.minutes, strict=True)
            pieces = [(one, part) for one, part in timed if one.least and one.wanted is None]
            if len(pieces) < 2 or all(part >= one.least for one, part in pieces):
                return chosen, allotment
            chosen = [one for one in chosen if one is not pieces[-1][0]]

    def _too_long(self, chosen: Sequence[Chosen], minutes: Sequence[int]) -> bool:
        """Whether a piece of unknown length, which takes what is left over, fills more than the time between breaks."""
        if self.week.plan.shares:
            return False
        free = [(one, part) for one, part in zip(chosen, minutes, strict=True) if one.wanted is None]
        return any(one.most is None and one.item.piece and part > LONGEST for one, part in free)

    def _tuning(self, playing: int) -> int:
        wanted = self.week.plan.tuning
        if wanted and playing < max(SHORTEST, 2 * wanted):
            self.yielded.append("tuning")
            return 0
        return wanted

    def _run_items(self, playing: int, run: RunThrough | None) -> list[PlanItem]:
        """The pieces of the run-through and the starts from memory, which leave a box its minutes."""
        if run is None:
            return []
        self.ran = run.light
        if run.kind == "day":
            return []
        kept = 0 if run.light else _BOX_LEAST if self.week.boxes else 1
        room = max(playing - kept, 0)
        wanted = [_OPENING if run.kind == "light" else self._length(piece) for piece in run.pieces]
        if sum(wanted) > room:
            self.yielded.append("run-through-short")
            wanted = apportion(room, wanted)
        kind: Kind = "opening" if run.kind == "light" else "run-through"
        items = [
            PlanItem("repertoire", minutes, piece=piece, kind=kind)
            for piece, minutes in zip(run.pieces, wanted, strict=True)
            if minutes
        ]
        self.ran = self.ran or bool(items)
        if run.starts and playing >= SHORT and room - sum(wanted) >= _MEMORY:
            items.append(_extra("memory", "repertoire", _MEMORY))
        return items

    def _length(self, piece_id: str) -> int:
        seconds = self.music.seconds.get(piece_id)
        return ceil(seconds / 60) if seconds else _UNKNOWN_PIECE

    def _filled(self) -> list[Section]:
        """The sections that have something to play."""
        week = self.week
        contents = (week.warmups, self.choice.technique_places, week.boxes, self.choice.pieces)
        filled = [section for section, items in zip(SECTIONS, contents, strict=True) if items]
        return filled or ["technique" if self.choice.technique_places else "repertoire"]

    def _shares(self, left: int, tuning: int) -> dict[Section, int]:
        """Minutes of each section; tuning is a part of the warm-up's."""
        week, filled = self.week, self._filled()
        own = week.plan.shares.by_section if week.plan.shares else None
        review = week.player.level == "first" and any(piece.status == "review" for piece in week.pieces)
        whole = left + tuning if "warm-up" in filled else left
        shares = day_sections(whole, week.player.level, filled, own=own, review=review, day=self.number)
        _take(shares, "warm-up", whole - left)
        asked = own is None or own["passages"] > 0
        if asked and "passages" in filled and not shares.get("passages"):
            longest = max(shares, key=lambda section: shares[section])
            shares["passages"] = 1
            shares[longest] -= 1
        return shares

    def _last_tune(self, left: int, shares: dict[Section, int]) -> int:
        wanted = self.week.plan.last_tune
        if not wanted or not self.choice.pieces:
            return 0
        room = shares.get("repertoire") or left // 4
        minutes = wanted if room >= 2 * wanted + 1 else min(wanted, max(room // 4, 1))
        if left < SHORTEST - 1 or room < 3:
            self.yielded.append("last-tune")
            return 0
        _take(shares, "repertoire", minutes)
        return minutes

    def _chosen(self, total: int, shares: dict[Section, int], done: set[str]) -> list[Chosen]:
        choice = self.choice
        passages = shares.get("passages", 0)
        boxes = choice.boxes(total, passages) if passages else []
        pieces = shares.get("repertoire", 0)
        others = any(piece.id not in done for piece in choice.pieces)
        by_section = {
            "warm-up": choice.warmups(shares.get("warm-up", 0)),
            "technique": choice.technique(shares.get("technique", 0), boxes),
            "passages": boxes,
            "repertoire": choice.repertoire(self.number, pieces, boxes, done if others else ()),
        }
        return [one for section in SECTIONS if shares.get(section) for one in by_section[section]]

    def _few(self, item: PlanItem) -> PlanItem:
        """Of a study the few most useful bars: the teacher's own, else those found in the music."""
        if item.technique is None:
            return item
        own = self.week.technique[item.technique].short
        return replace(item, bars=own or self.music.few.get(item.technique))

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
        off = not self.week.plan.again or self.week.player.level == "first"
        if off or not again or not free:
            return items
        longest = max(free, key=lambda place: items[place].minutes)
        if items[longest].minutes < _AGAIN_LEAVES + _AGAIN_MINUTES:
            return items
        items[longest] = replace(items[longest], minutes=items[longest].minutes - _AGAIN_MINUTES)
        more = replace(again[0], minutes=_AGAIN_MINUTES, in_depth=False, turns=1)
        items.insert(deep[-1] + 1, more)
        return items


def _extra(kind: Kind, section: Section, minutes: int) -> PlanItem:
    return PlanItem(section, minutes, kind=kind)


def _take(shares: dict[Section, int], section: Section, minutes: int) -> None:
    """Take minutes from a section, and from the longest section when it has none left."""
    for _ in range(minutes):
        giver = section if shares.get(section) else max(shares, key=lambda one: shares[one])
        shares[giver] -= 1


def in_turns(items: Sequence[PlanItem], minutes: int) -> tuple[list[PlanItem], tuple[tuple[str, int], ...]]:
    """Spread the boxes in depth of a day over short alternating turns of about `minutes`, round and round.

    Whether that helps is open. Mixed order helped in some studies of grown-up players (Carter and Grahn 2016, ten
    clarinettists; Abushanab and Bishara 2013, pianists), not in others (Mathias and Goldman 2025, twenty advanced
    violinists: blocks were better after a day), and hardly in real lessons or with the young (Czyz et al. 2024, 54
    studies). So it is off unless a week asks for it.

    Args:
        items: The items of the day.
        minutes: Minutes of a turn; with 0, or with one box only, every box stays one block.

    Returns:
        The items, with the number of their turns; box and minutes of every turn in order.
    """
    deep = [item for item in items if item.in_depth]
    if not minutes or len(deep) < 2:
        return list(items), ()
    counts = {item.box: max(round(item.minutes / minutes), 1) for item in deep}
    parts = {item.box or "": apportion(item.minutes, [1] * counts[item.box]) for item in deep}
    rounds = range(max(counts.values()))
    order = [(box, turns[place]) for place in rounds for box, turns in parts.items() if place < len(turns)]
    spread = [replace(item, turns=counts[item.box]) if item.in_depth else item for item in items]
    return spread, tuple(order)
