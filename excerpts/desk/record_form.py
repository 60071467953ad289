"""The records of a week as a form: what the log says in the lines and columns of the printed pages, and back again.

A line that nobody touches keeps the rows that it shows, whatever they are; only what was typed is read anew.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Literal

from excerpts.excerpt import Tempo
from excerpts.log import LogRow
from excerpts.log.answers import entry_text
from excerpts.log.enter import checked_boxes, played_pieces
from excerpts.log.row import row_digest
from excerpts.week import Week
from excerpts.week.added_warmups import due_scales
from excerpts.week.plan import Plan
from excerpts.weekfile.items import BoxItem
from excerpts.words import Words
from excerpts.workbook.box_record import BoxRecord, box_record
from excerpts.workbook.reader import reader

Heard = Literal["", "clean", "not"]
"""What was heard in the lesson; empty for not heard."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a record: a day.

    Attributes:
        day: The day; None where it is not said.
        tempos: The tempo of each cell; None for a goal in words.
        cells: Clean runs in a row.
        other: Tempos beside the columns, with or without runs: "58", "58 3, 62".
        broke: Where it broke down.
        noticed: What was noticed.
        rows: The rows of the log that it shows.
        meant: For each cell, whether the page suggests it for this day.
    """

    day: date | None
    tempos: tuple[Tempo | None, ...] = ()
    cells: tuple[str, ...] = ()
    other: str = ""
    broke: str = ""
    noticed: str = ""
    rows: tuple[LogRow, ...] = ()
    meant: tuple[bool, ...] = ()

    @property
    def texts(self) -> tuple[date | None, tuple[str, ...], str, str, str]:
        """Everything that can be typed in it."""
        return self.day, self.cells, self.other, self.broke, self.noticed


@dataclass(frozen=True, slots=True)
class BoxForm:
    """The record of a box.

    Attributes:
        box: The box.
        number: Its number on the page; 0 for a retired box whose check is in this week.
        tempos: The columns; for circles each line has a tempo of its own, and there are none here.
        circles: It is kept by circles.
        lines: Its lines; the last is for what has no day.
        heard: What was heard.
        heard_rows: The rows that say so.
    """

    box: BoxItem
    number: int
    tempos: tuple[Tempo, ...]
    circles: bool
    lines: tuple[Line, ...]
    heard: Heard
    heard_rows: tuple[LogRow, ...]

    @property
    def unit(self) -> Fraction | None:
        """The beat of its tempos; None for a goal in words."""
        return beat_of(self.box)


@dataclass(frozen=True, slots=True)
class PieceLine:
    """A piece played through.

    Attributes:
        piece: Its id.
        title: Its title.
        day: The day; None where it is not said.
        played: It was played.
        broke: Where it broke down.
        noticed: What was noticed.
        rows: The row that it shows; none for an empty line.
    """

    piece: str
    title: str
    day: date | None = None
    played: bool = False
    broke: str = ""
    noticed: str = ""
    rows: tuple[LogRow, ...] = ()

    @property
    def key(self) -> str:
        """The digest of the row that it shows; empty for none."""
        return row_digest(self.rows[0]) if self.rows else ""

    @property
    def texts(self) -> tuple[date | None, bool, str, str]:
        """Everything that can be typed in it."""
        return self.day, self.played, self.broke, self.noticed


@dataclass(frozen=True, slots=True)
class ScaleForm:
    """A scale of the list that is due.

    Attributes:
        name: Its name.
        heard: What was heard.
        rows: The rows that say so.
    """

    name: str
    heard: Heard = ""
    rows: tuple[LogRow, ...] = ()


@dataclass(frozen=True, slots=True)
class RecordForm:
    """Everything that a player's paper says of a week.

    Attributes:
        week: The week.
        boxes: The records of the boxes in work and of the checks.
        pieces: The run-throughs.
        scales: The scales that are due.
        days: Other days on which there was practice, with the rows that say so.
    """

    week: Week
    boxes: tuple[BoxForm, ...]
    pieces: tuple[PieceLine, ...]
    scales: tuple[ScaleForm, ...]
    days: tuple[tuple[date, tuple[LogRow, ...]], ...]

    @property
    def rows(self) -> tuple[LogRow, ...]:
        """All rows of the log that it shows."""
        shown: list[LogRow] = []
        for box in self.boxes:
            for line in box.lines:
                shown += line.rows
            shown += box.heard_rows
        for rows in (
            *(piece.rows for piece in self.pieces),
            *(scale.rows for scale in self.scales),
            *(rows for _, rows in self.days),
        ):
            shown += rows
        return tuple(shown)


def beat_of(box: BoxItem) -> Fraction | None:
    """The beat of a box's tempos; None for a goal in words."""
    mark = box.target or box.start
    return mark.unit if mark else None


def record_form(week: Week, plan: Plan, rows: Iterable[LogRow]) -> RecordForm:
    """The form of a week.

    Args:
        week: The week.
        plan: Its plan, for the days of the printed records.
        rows: The player's log.
    """
    own = [row for row in rows if row.week == week.week.start]
    circles = reader(week.player.level, week.player.age).circles
    words = Words(week.player.words)
    boxes = [
        _box(box, number, box_record(week, plan, box, circles=circles), own, words, circles)
        for number, box in enumerate(week.boxes, start=1)
    ]
    boxes += [_box(box, 0, BoxRecord((), ()), own, words, False) for box in checked_boxes(week)]
    pieces: list[PieceLine] = []
    for piece in played_pieces(week):
        known = [row for row in own if row.kind == "run-through" and row.box == piece.id]
        pieces += [
            PieceLine(piece.id, piece.title, row.date, True, row.bars, row.note, (row,)) for row in known
        ]
        pieces.append(PieceLine(piece.id, piece.title))
    scales = tuple(ScaleForm(name, *_heard(name, own)) for name in due_scales(week))
    days = tuple(
        (day, tuple(row for row in own if row.kind == "day" and row.date == day)) for day in week.week.dates
    )
    return RecordForm(week, tuple(boxes), tuple(pieces), scales, days)


def _heard(name: str, rows: Iterable[LogRow]) -> tuple[Heard, tuple[LogRow, ...]]:
    heard = tuple(row for row in rows if row.kind == "heard" and row.box == name)
    return ("" if not heard else "clean" if heard[-1].heard_clean else "not"), heard


def _box(
    box: BoxItem, number: int, record: BoxRecord, rows: Sequence[LogRow], words: Words, circles: bool
) -> BoxForm:
    known = [row for row in rows if row.kind == "box" and row.box == box.id]
    columns: tuple[Tempo | None, ...] = record.tempos or (() if beat_of(box) else (None,))
    lines: list[Line] = []
    for day in record.days:
        tempos = (day.tempo,) if circles and day.tempo else columns
        meant = (True,) if circles else day.meant
        lines.append(Line(day.day, tempos, meant=meant))
    planned = {line.day for line in lines}
    others = sorted({row.date for row in known if row.date is not None and row.date not in planned})
    free = () if circles and record.tempos else columns
    lines += [Line(day, free) for day in (*others, None)]
    filled = tuple(
        _filled(line, [row for row in known if row.date == line.day], beat_of(box), words) for line in lines
    )
    tempos = () if circles else record.tempos
    return BoxForm(box, number, tempos, circles, filled, *_heard(box.id, rows))


def _filled(line: Line, rows: Sequence[LogRow], unit: Fraction | None, words: Words) -> Line:
    """A line with what the log says of its day."""
    cells, others = [""] * len(line.tempos), list[str]()
    for row in rows:
        place = line.tempos.index(row.tempo) if row.tempo in line.tempos else None
        if place is not None and row.clean is not None and not cells[place]:
            cells[place] = str(row.clean)
        elif row.tempo is not None or row.clean is not None:
            others.append(entry_text(row, unit, words))
    bars, notes = (
        "; ".join(dict.fromkeys(filter(None, (getattr(row, name) for row in rows))))
        for name in ("bars", "note")
    )
    return Line(line.day, line.tempos, tuple(cells), ", ".join(others), bars, notes, tuple(rows), line.meant)


def difference(old: Iterable[LogRow], new: Iterable[LogRow]) -> tuple[tuple[LogRow, ...], tuple[LogRow, ...]]:
    """The rows that are to be taken back, and those that are to be added, each as often as it must be."""
    gone, fresh = Counter(old), Counter(new)
    both = gone & fresh
    return tuple(_kept(gone - both, old)), tuple(_kept(fresh - both, new))


def _kept(counts: Counter[LogRow], rows: Iterable[LogRow]) -> Iterator[LogRow]:
    """Rows in their order, the last ones of those that are alike."""
    left: list[LogRow] = []
    for row in reversed(list(rows)):
        if counts[row] > 0:
            counts[row] -= 1
            left.append(row)
    return reversed(left)
