"""The days of a page: what is played, section by section, and what is drawn before a performance."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from excerpts.week import Week
from excerpts.week.plan import Plan, RunThrough
from excerpts.week.plan.describe import run_lines
from excerpts.week.plan.run_throughs import programme
from excerpts.weekfile.settings import Section
from excerpts.workbook.page_texts import Dates, PageTexts
from excerpts.workbook.pages import DayHead, TableItem, WeekTable

_BIG: Final[tuple[tuple[Section, ...], ...]] = (("warm-up", "technique"), ("passages",), ("repertoire",))
"""The three things of a child's day."""


@dataclass(frozen=True, slots=True)
class PageItem:
    """One line of a day, with a circle of its own.

    Attributes:
        parts: What is played; several only on a child's page.
        minutes: For how long; 0 where nobody watches a clock.
        rest: Where a break comes; empty for none.
        link: Where on the page its music is; empty for none, and for boxes, which have their own.
    """

    parts: tuple[TableItem, ...]
    minutes: int
    rest: str = ""
    link: str = ""


@dataclass(frozen=True, slots=True)
class PageSection:
    """The lines of one section of a day; the first may have no name of its own."""

    name: str
    items: tuple[PageItem, ...]


@dataclass(frozen=True, slots=True)
class Draw:
    """A run-through as it was drawn.

    Attributes:
        kind: As the plan calls it ("drawn", "programme", "light", "day").
        title: What it is.
        lines: The same words that the plan prints.
        pieces: Id and title of each piece in its order.
        starts: Id, title and place of each start from memory.
    """

    kind: str
    title: str
    lines: tuple[str, ...]
    pieces: tuple[tuple[str, str], ...]
    starts: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class PageDay:
    """A day of the page; one off has no section."""

    day: date
    label: str
    minutes: int
    rest: int
    sections: tuple[PageSection, ...]
    draw: Draw | None = None

    @property
    def items(self) -> tuple[PageItem, ...]:
        """Its lines in order: the numbers by which they are kept."""
        return tuple(item for section in self.sections for item in section.items)


def page_days(
    week: Week, plan: Plan, tables: Sequence[WeekTable], texts: PageTexts, child: bool
) -> tuple[PageDay, ...]:
    """The days of a week as the page shows them.

    Args:
        week: The week.
        plan: Its plan.
        tables: The plan as the workbook prints it.
        texts: The words of the pages.
        child: Three big things a day, without minutes.
    """
    dates = Dates(texts)
    columns = [(table, column) for table in tables for column in range(len(table.days))]
    days = []
    for (table, column), day in zip(columns, plan.days, strict=True):
        cells = {row.section: row.cells[column] for row in table.rows}
        head = table.days[column]
        made = _three(head, cells) if child else _sections(head, cells, texts)
        draw = None if child or day.run_through is None else _draw(day.run_through, week, texts)
        days.append(
            PageDay(
                day.date, dates.weekday(day.date), head.minutes, head.rest if not child else 0, made, draw
            )
        )
    return tuple(days)


def _sections(
    head: DayHead, cells: dict[Section, tuple[TableItem, ...]], texts: PageTexts
) -> tuple[PageSection, ...]:
    plain = {texts("kind.tuning"), texts("kind.last-tune")}

    def item(one: TableItem, link: str) -> PageItem:
        return PageItem(
            (one,), 0 if one.times else one.minutes, one.rest, link if one.text not in plain else ""
        )

    links = {"warm-up": "#music", "technique": "#music"}
    named = [("", "#stage" if head.first[1:] else "", head.first)]
    named += [(texts(f"section.{name}"), links.get(name, ""), items) for name, items in cells.items()]
    return tuple(
        PageSection(name, tuple(item(one, link) for one in items)) for name, link, items in named if items
    )


def _three(head: DayHead, cells: dict[Section, tuple[TableItem, ...]]) -> tuple[PageSection, ...]:
    """Warm-up, box and piece, each with one circle."""
    parts = [[item for section in big for item in cells.get(section, ())] for big in _BIG]
    parts[0] = [*head.first, *parts[0]]
    items = tuple(PageItem(tuple(own), 0) for own in parts if own)
    return (PageSection("", items),) if items else ()


def _draw(run: RunThrough, week: Week, texts: PageTexts) -> Draw:
    lines = tuple(line.strip() for line in run_lines(run, week, texts.words))
    titles = {piece.id: piece.title for piece in week.pieces}
    mark = "plan.slips.mark"
    return Draw(
        run.kind,
        texts.words("page.run"),
        lines,
        () if run.kind == "day" else tuple((piece, titles[piece]) for piece in run.pieces),
        tuple((one.piece, titles[one.piece], texts.words(mark, mark=one.mark)) for one in run.starts),
    )


def day_data(days: Sequence[PageDay], boxes: Sequence[str]) -> list[dict[str, Any]]:
    """The days as the script needs them.

    Args:
        days: The days.
        boxes: Ids of the boxes in order.
    """

    def box(item: PageItem) -> str:
        number = item.parts[0].number
        return boxes[number - 1] if number else ""

    return [
        {
            "date": day.day.isoformat(),
            "label": day.label,
            "items": [
                {"what": one.parts[0].text, "minutes": one.minutes, "box": box(one), "rest": one.rest}
                for one in day.items
            ],
            "run": _run_data(day.draw),
        }
        for day in days
    ]  # fmt: skip


def _run_data(draw: Draw | None) -> dict[str, Any] | None:
    if draw is None:
        return None
    entries = [{"piece": piece, "title": title, "start": ""} for piece, title in draw.pieces]
    entries += [{"piece": piece, "title": title, "start": start} for piece, title, start in draw.starts]
    return {"kind": draw.kind, "title": draw.title, "list": entries}


def concerts(week: Week, texts: PageTexts) -> Iterator[dict[str, Any]]:
    """The performances from the week's first day on, with their pieces in the order of the programme."""
    days = sorted({piece.date for piece in week.pieces if piece.date and piece.date >= week.week.start})
    for day in days:
        pieces = [{"piece": piece.id, "title": piece.title} for piece in programme(week, day)]
        yield {"date": day.isoformat(), "label": Dates(texts).weekday(day), "pieces": pieces}
