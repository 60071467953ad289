"""Keeps account of the rules that had to yield, and tells them in their order of priority."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from excerpts.week.plan.choice import Choice
from excerpts.week.plan.model import RULES, PlanDay, PlanItem, Relaxed, RuleName
from excerpts.week.plan.session import Session
from excerpts.weekfile.model import WeekFile
from excerpts.weekfile.settings import SECTIONS


class Relaxations:
    """The rules that yielded in one week.

    Args:
        week: The week.
        choice: Who has had turns.
    """

    def __init__(self, week: WeekFile, choice: Choice) -> None:
        self.week = week
        self.choice = choice
        self.found: dict[RuleName, list[str]] = {}

    def _add(self, rule: RuleName, items: Sequence[str]) -> None:
        if items:
            self.found[rule] = list(dict.fromkeys([*self.found.get(rule, []), *items]))

    def note(self, day: date, session: Session) -> None:
        """Take in what yielded while a day was made."""
        for rule in session.yielded:
            self._add(rule, [day.isoformat()])

    def told(self, days: Sequence[PlanDay]) -> tuple[Relaxed, ...]:
        """Every rule that yielded, the most important first."""
        practised = [day for day in days if day.minutes]
        for day in practised:
            for rule in self._of_day(day):
                self._add(rule, [day.date.isoformat()])
        if practised:
            self._left_out(practised)
        return tuple(Relaxed(rule, tuple(self.found[rule])) for rule in RULES if rule in self.found)

    def _of_day(self, day: PlanDay) -> list[RuleName]:
        run = day.run_through
        light = run is not None and run.kind == "light"
        yielded: list[RuleName] = []
        if light:
            yielded.append("light-last-day")
        elif self.week.boxes and not day.in_depth:
            yielded.append("box-in-depth")
        if any(self._before_box(place, item, day.items) for place, item in enumerate(day.items)):
            yielded.append("piece-after-box")
        played = {item.piece for item in day.section("repertoire")}
        if any(item.piece is not None and item.piece not in played for item in day.in_depth):
            yielded.append("piece-of-box")
        if not light and self._review_is_smaller(day):
            yielded.append("review-largest")
        if not light and self._lacks_section(day):
            yielded.append("every-section")
        return yielded

    def _before_box(self, place: int, item: PlanItem, items: Sequence[PlanItem]) -> bool:
        if item.section != "repertoire" or item.piece is None:
            return False
        return any(later.in_depth and later.piece == item.piece for later in items[place:])

    def _review_is_smaller(self, day: PlanDay) -> bool:
        known = {piece.id for piece in self.week.pieces if piece.status == "review"}
        if self.week.player.level != "first" or not known:
            return False
        review = sum(item.minutes for item in day.section("repertoire") if item.piece in known)
        others = (sum(item.minutes for item in day.section(section)) for section in SECTIONS[:3])
        return any(minutes > review for minutes in others)

    def _lacks_section(self, day: PlanDay) -> bool:
        contents = (self.week.warmups, self.week.technique, self.week.boxes, self.choice.pieces)
        return any(
            items and not any(item.kind not in {"tuning", "last-tune"} for item in day.section(section))
            for section, items in zip(SECTIONS, contents, strict=True)
        )

    def _left_out(self, practised: Sequence[PlanDay]) -> None:
        choice = self.choice
        pieces = [piece.id for piece in choice.pieces]
        turns = choice.piece_turns
        self._add("box-without-day", [self.week.boxes[place].id for place in choice.box_turns.left_out])
        self._add("piece-without-day", [pieces[place] for place in turns.left_out])
        daily = [
            piece
            for place, piece in enumerate(pieces)
            if turns.daily(place) and 0 < turns.turns[place] < len(practised)
        ]
        self._add("daily-piece", daily)
        self._add("warm-up-without-day", [str(place + 1) for place in choice.warmup_turns.left_out])
        self._add("technique-without-day", [str(place + 1) for place in choice.technique_turns.left_out])
