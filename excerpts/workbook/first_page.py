"""Fills the first page: the head, the focus, the week as a table, the list of boxes, the notes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from math import ceil

from excerpts.warmups import short_name
from excerpts.week import Week
from excerpts.week.bars_in_words import bars_of
from excerpts.week.plan import Plan, PlanDay, PlanItem, Stretch
from excerpts.week.plan.describe import run_lines
from excerpts.weekfile.settings import SECTIONS, Section
from excerpts.workbook import pages
from excerpts.workbook.page_names import LONGEST_GOAL, Names, in_brief, shortened
from excerpts.workbook.page_texts import Dates, PageTexts
from excerpts.workbook.reader import Reader

NO_BREAK = "\N{NO-BREAK SPACE}"

_RUN = frozenset({"run-through", "opening", "memory"})

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
        lines = [self.texts("lesson", day=self.dates.weekday(days.next_lesson))]
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
            pages.PlanRow(section, tuple(tuple(self._cell(day, section, warmups)) for day in days))
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
            first=self._first(day),
        )

    def _cell(self, day: PlanDay, section: Section, warmups: Sequence[str]) -> Iterator[pages.TableItem]:
        """What is played of a section on a day, in order, with its breaks."""
        for one in day.timeline()[len(self._opening(day)) :]:
            if one.item.section == section:
                made = self._item(replace(one.item, minutes=one.minutes), warmups)
                yield replace(made, rest=self._rest(one))

    def _opening(self, day: PlanDay) -> tuple[Stretch, ...]:
        """What a day begins with, up to the end of its run-through; nothing on other days."""
        timeline = day.timeline()
        runs = [place for place, one in enumerate(timeline) if one.item.kind in _RUN]
        return timeline[: runs[-1] + 1] if runs else ()

    def _first(self, day: PlanDay) -> tuple[pages.TableItem, ...]:
        """The tuning and the run-through of a day, with its order, and the break after it."""
        opening = self._opening(day)
        by_order = day.run_through is not None and not self.reader.child
        runs = [one.item for one in opening if one.item.kind in _RUN and by_order]
        tuning = [self._item(one.item, ()) for one in opening if one.item not in runs]
        items = [*tuning, *self._run(day, runs)]
        rests = [rest for one in opening if (rest := self._rest(one))]
        return (*items[:-1], *(replace(item, rest=", ".join(rests)) for item in items[-1:]))

    def _rest(self, stretch: Stretch) -> str:
        """Where a break comes in or after a stretch."""
        inside = [str(after) for after in stretch.rests if after < stretch.minutes]
        said = [self.texts("rest_within", after=", ".join(inside))] if inside else []
        return ", ".join([*said, *([self.texts("rest")] if stretch.minutes in stretch.rests else [])])

    def _run(self, day: PlanDay, items: Sequence[PlanItem]) -> Iterator[pages.TableItem]:
        """A run-through with its order, and the places to start from by heart, each as one thing to do."""
        if day.run_through is None:
            return
        order, *starts = run_lines(day.run_through, self.week, self.texts.words)
        through = sum(item.minutes for item in items if item.kind != "memory")
        memory = sum(item.minutes for item in items if item.kind == "memory")
        if through:
            yield pages.TableItem(order.strip(), through)
        if memory:
            yield pages.TableItem(" ".join(line.strip() for line in starts), memory)

    def _item(self, item: PlanItem, warmups: Sequence[str]) -> pages.TableItem:
        times = item.times if item.times is not None and item.times > 1 else 0
        if item.section == "passages" and item.box is not None:
            return pages.TableItem("", item.minutes, self.numbers[item.box], item.in_depth, times)
        return pages.TableItem(self._text(item, warmups), item.minutes, times=times)

    def _extra(self, item: PlanItem) -> str:
        """What the planner adds of itself: tuning, a run-through, starts from memory, a last tune."""
        title = self.names.short_title(self.week.piece(item.piece)) if item.piece else ""
        return self.texts(f"kind.{item.kind}", piece=title)

    def _text(self, item: PlanItem, warmups: Sequence[str]) -> str:
        if item.warmup is not None:
            return in_brief(warmups[item.warmup])
        if item.text is not None:
            return in_brief(item.text)
        if item.kind is not None:
            return self._extra(item)
        if item.technique is not None and item.box is not None:
            return self.texts("drill", number=self.numbers[item.box])
        if item.technique is not None and (scale := self.week.technique[item.technique]).key:
            return short_name(scale.key, scale.pattern, self.texts.words)
        title = self.names.short_title(self.week.piece(item.piece)) if item.piece else ""
        if not item.bars:
            return title
        return f"{title}, {bars_of(self.week, item.piece, item.bars, self.texts.words)}"
