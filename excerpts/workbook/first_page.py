"""Fills the first page: the head, the focus, the week as a table, the list of boxes, the notes."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from math import ceil

from excerpts.week import Plan, PlanDay, PlanItem, Week
from excerpts.week.shares import SECTIONS, Section
from excerpts.workbook import pages
from excerpts.workbook.dates import Dates
from excerpts.workbook.names import LONGEST_GOAL, Names, in_brief, shortened
from excerpts.workbook.reader import Reader
from excerpts.workbook.texts import PageTexts

NO_BREAK = "\N{NO-BREAK SPACE}"

DAYS_ACROSS = 8
"""Most days in one table: from one lesson to the next with both days; a longer week goes on in the next."""


class FirstPage:
    """Builds the first page of one workbook.

    Args:
        week: The week.
        plan: Its plan.
        reader: Who it is for.
        texts: The words of the pages.
        today: A day to mark in the table, and to count from.
    """

    def __init__(
        self, week: Week, plan: Plan, reader: Reader, texts: PageTexts, today: date | None = None
    ) -> None:
        self.week = week
        self.plan = plan
        self.reader = reader
        self.texts = texts
        self.today = today
        self.dates = Dates(texts)
        self.names = Names(week, texts)
        self.numbers = {box.id: place for place, box in enumerate(week.boxes, start=1)}

    def build(self, boxes: Sequence[pages.BoxPage], warmups: Sequence[str]) -> pages.FirstPage:
        """The page.

        Args:
            boxes: The boxes, for the list with their pages.
            warmups: Short name of each warm-up of the week file.
        """
        days = self.week.week
        return pages.FirstPage(
            player=self.week.player.name,
            instrument=self.texts.words(f"instrument.{self.week.player.instrument}"),
            dates=self.dates.range(days.start, days.last),
            lines=tuple(self._lines()),
            focus=days.focus or "",
            tables=tuple(self._tables(warmups)),
            boxes=tuple(self._box_line(box) for box in boxes),
            notes=days.notes,
            parent=self._parent(),
        )

    def _lines(self) -> list[str]:
        days = self.week.week
        lines = []
        if days.until is not None:
            lines.append(self.texts("lesson", day=self.dates.weekday(days.until)))
        start = self.today or days.start
        coming = sorted({piece.date for piece in self.week.pieces if piece.date and piece.date >= start})
        for day in coming[:2]:
            away = (day - start).days
            message = "none" if away == 0 else "one" if away == 1 else "many"
            lines.append(self.texts(f"performance.{message}", days=away, day=self.dates.day(day)))
        return lines

    def _parent(self) -> str:
        """The line for the grown-up; the longest day says how many minutes are enough."""
        if not self.reader.child:
            return ""
        return self.texts("parent_text", minutes=max(day.minutes for day in self.plan.days))

    def _box_line(self, box: pages.BoxPage) -> pages.BoxLine:
        item = self.week.boxes[box.number - 1]
        goal = self.names.goal(item)
        goal = goal.replace(" ", NO_BREAK) if item.target else shortened(goal, LONGEST_GOAL)
        return pages.BoxLine(
            number=box.number,
            anchor=box.anchor,
            title=box.title,
            why="" if self.reader.child else self.names.first_fault(item),
            goal=goal,
        )

    def _tables(self, warmups: Sequence[str]) -> list[pages.WeekTable]:
        days = self.plan.days
        sections = [section for section in SECTIONS if any(day.section(section) for day in days)]
        across = ceil(len(days) / ceil(len(days) / DAYS_ACROSS))
        return [
            self._table(days[place : place + across], sections, warmups)
            for place in range(0, len(days), across)
        ]

    def _table(
        self, days: Sequence[PlanDay], sections: Sequence[Section], warmups: Sequence[str]
    ) -> pages.WeekTable:
        heads = tuple(self._head(day) for day in days)
        rows = tuple(
            pages.PlanRow(
                section,
                tuple(tuple(self._item(item, warmups) for item in day.section(section)) for day in days),
            )
            for section in sections
        )
        return pages.WeekTable(heads, rows)

    def _head(self, day: PlanDay) -> pages.DayHead:
        return pages.DayHead(
            name=self.dates.short(day.date),
            date=str(day.date.day),
            minutes=day.minutes,
            rest=day.break_minutes,
            today=day.date == self.today,
        )

    def _item(self, item: PlanItem, warmups: Sequence[str]) -> pages.PlanItem:
        if item.section == "passages" and item.box is not None:
            return pages.PlanItem("", item.minutes, self.numbers[item.box], item.in_depth)
        return pages.PlanItem(self._text(item, warmups), item.minutes)

    def _text(self, item: PlanItem, warmups: Sequence[str]) -> str:
        if item.warmup is not None:
            return in_brief(warmups[item.warmup])
        if item.text is not None:
            return in_brief(item.text)
        if item.technique is not None and item.box is not None:
            return self.texts("drill", number=self.numbers[item.box])
        return self.names.short_title(self.week.piece(item.piece)) if item.piece else ""
