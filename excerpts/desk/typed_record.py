"""What is typed into the form of a week's records: as rows of the log, with what is wrong or doubtful by its cell.

Cells are named by where they stand: "box run 2 c0" is the first column of the third line of the box "run".
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, ValidationError

from excerpts.desk.record_form import BoxForm, Heard, Line, PieceLine, RecordForm, beat_of
from excerpts.errors import InputError
from excerpts.log import LogRow
from excerpts.log.answers import Entry, bars_typed, entry_text, read_entries
from excerpts.log.doubts import bars_doubt, tempo_doubt
from excerpts.log.log_cells import plain, read_count
from excerpts.week import Week
from excerpts.weekfile.items import BoxItem
from excerpts.words import Words

Short = Annotated[str, StringConstraints(max_length=200, strip_whitespace=True)]
Long = Annotated[str, StringConstraints(max_length=2000, strip_whitespace=True)]
Form = TypeVar("Form", bound=BaseModel)


class _Model(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class TypedLine(_Model):
    """A line of a box's record as it was typed; `was` is the day that it was shown with."""

    was: date | None = None
    day: date | None = None
    cells: Annotated[tuple[Short, ...], Field(max_length=20)] = ()
    other: Short = ""
    broke: Short = ""
    noticed: Long = ""


class TypedBox(_Model):
    """The record of a box; `line` is all of it in one line, as `excerpts log --enter` reads it."""

    lines: Annotated[tuple[TypedLine, ...], Field(max_length=200)] = ()
    heard: Heard = ""
    line: Long = ""


class TypedPiece(_Model):
    """A run-through as it was typed; `row` is the digest of the row that it was shown with, empty for none."""

    piece: Short
    row: Short = ""
    day: date | None = None
    played: bool = False
    broke: Short = ""
    noticed: Long = ""


class TypedRecord(_Model):
    """The whole form; what is left out of it stays as the log has it."""

    boxes: dict[Short, TypedBox] = {}
    pieces: Annotated[tuple[TypedPiece, ...], Field(max_length=300)] | None = None
    scales: dict[Short, Heard] = {}
    days: Annotated[frozenset[date], Field(max_length=200)] | None = None


@dataclass
class ReadRecord:
    """What was read.

    Attributes:
        rows: The rows that the log is to have in place of those that the form showed.
        faults: What cannot be read, by its cell.
        doubts: What can hardly be right, by its cell.
        lines: For a box that was typed in one line, the lines that come of it.
    """

    rows: list[LogRow] = field(default_factory=list)
    faults: dict[str, str] = field(default_factory=dict)
    doubts: dict[str, str] = field(default_factory=dict)
    lines: dict[str, tuple[Line, ...]] = field(default_factory=dict)


def read_typed(said: Any) -> TypedRecord:
    """The form as the page sent it."""
    return as_sent(TypedRecord, said, "form")


def as_sent(model: type[Form], said: Any, what: str) -> Form:
    """What a page sent, as its model.

    Raises:
        InputError: It is nothing such; the desk's own page sends nothing like it.
    """
    try:
        return model.model_validate(said)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = " ".join(map(str, first["loc"]))
        raise InputError(f"the {what} cannot be read at {where}: {first['msg']}.") from error


def read_record(form: RecordForm, typed: TypedRecord, words: Words) -> ReadRecord:
    """The rows of a form as it was typed.

    Args:
        form: The form as it was shown.
        typed: What it holds now.
        words: Words of what is asked about it.
    """
    reading = _Reading(form.week, words)
    for box in form.boxes:
        reading.box(box, typed.boxes.get(box.box.id))
    runs = {(run.piece, run.row): run for run in typed.pieces or ()}
    for piece in form.pieces:
        reading.piece(piece, runs.get((piece.piece, piece.key)))
    for scale in form.scales:
        reading.heard(scale.name, scale.heard, scale.rows, typed.scales.get(scale.name))
    for day, rows in form.days:
        reading.day(day, rows, typed.days)
    return reading.read


def _with_texts(line: Line, said: TypedLine) -> Line:
    """A line with what was typed in it."""
    cells = said.cells[: len(line.tempos)]
    cells += ("",) * (len(line.tempos) - len(cells))
    return replace(line, day=said.day, cells=cells, other=said.other, broke=said.broke, noticed=said.noticed)


def _with_entry(line: Line, entry: Entry, unit: Fraction | None, words: Words) -> Line:
    """A line with one entry more."""
    if entry.clean is not None and entry.tempo in line.tempos:
        place = line.tempos.index(entry.tempo)
        return replace(line, cells=(*line.cells[:place], str(entry.clean), *line.cells[place + 1 :]))
    text = entry_text(LogRow(None, tempo=entry.tempo, clean=entry.clean), unit, words)
    return replace(line, other=", ".join(filter(None, (line.other, text))))


class _Reading:
    def __init__(self, week: Week, words: Words) -> None:
        self.week = week
        self.start = week.week.start
        self.words = words
        self.read = ReadRecord()

    def box(self, form: BoxForm, typed: TypedBox | None) -> None:
        """The rows of a box: of its lines, and of the lesson."""
        if typed is None:
            typed = TypedBox(heard=form.heard)
        lines = list(self._lines(form, typed))
        if typed.line:
            lines = self._in_one_line(form, lines, typed.line)
        for place, line in enumerate(lines):
            if place < len(form.lines) and line.texts == form.lines[place].texts:
                self.read.rows += form.lines[place].rows
            else:
                self._line(form.box, f"box {form.box.id} {place}", line)
        self.heard(form.box.id, form.heard, form.heard_rows, typed.heard)

    def _lines(self, form: BoxForm, typed: TypedBox) -> Iterator[Line]:
        """The lines with what was typed in them; a line that was not sent is as it was."""
        by_day = {said.was: said for said in typed.lines}
        for shown in form.lines:
            said = by_day.pop(shown.day, None)
            yield shown if said is None else _with_texts(shown, said)
        for said in by_day.values():  # of a day that the form has no line for any more
            yield _with_texts(form.lines[-1], said)

    def _in_one_line(self, form: BoxForm, lines: list[Line], text: str) -> list[Line]:
        """The entries of one line, put where the paper has them: in the cell of its day and tempo."""
        name = f"box {form.box.id} line"
        try:
            entries = read_entries(text, self.week.week, form.unit)
        except ValueError as error:
            self.read.faults[name] = str(error)
            return lines
        for entry in entries:
            place = next((n for n, line in enumerate(lines) if line.day == entry.day), None)
            if place is None:
                place = len(lines)
                tempos = form.lines[-1].tempos
                lines.append(Line(entry.day, tempos, ("",) * len(tempos)))
            lines[place] = _with_entry(lines[place], entry, form.unit, self.words)
        self.read.lines[form.box.id] = tuple(lines)
        return lines

    def _line(self, box: BoxItem, name: str, line: Line) -> None:
        rows: list[LogRow] = []
        for place, (tempo, text) in enumerate(zip(line.tempos, line.cells, strict=True)):
            if text:
                count = self._at(f"{name} c{place}", read_count, text.removeprefix("x").strip())
                rows.append(LogRow(self.start, line.day, "box", box.id, tempo, count))
        for entry in self._at(f"{name} other", self._entries, line.other, beat_of(box)) or ():
            self._doubt(f"{name} other", tempo_doubt(box, entry.tempo, self.words))
            rows.append(LogRow(self.start, line.day, "box", box.id, entry.tempo, entry.clean))
        bars = self._at(f"{name} broke", bars_typed, line.broke) or ""
        note = self._at(f"{name} noticed", plain, line.noticed) or ""
        self._doubt(f"{name} broke", bars_doubt(box, bars, self.words) if bars else "")
        if bars or note:  # it stands once a day, with the fastest
            last = rows.pop() if rows else LogRow(self.start, line.day, "box", box.id)
            rows.append(replace(last, bars=bars, note=note))
        self.read.rows += rows

    def _entries(self, text: str, unit: Fraction | None) -> tuple[Any, ...]:
        entries = read_entries(text, self.week.week, unit)
        if any(entry.day for entry in entries):
            raise ValueError(
                "The day stands at the beginning of the line; here are tempos only (58, or 58 3)."
            )
        return entries

    def piece(self, shown: PieceLine, said: TypedPiece | None) -> None:
        """The row of a run-through."""
        name = f"piece {shown.piece} {shown.key}".strip()
        if said is None or (said.day, said.played, said.broke, said.noticed) == shown.texts:
            self.read.rows += shown.rows
            return
        bars = self._at(f"{name} broke", bars_typed, said.broke) or ""
        note = self._at(f"{name} noticed", plain, said.noticed) or ""
        if said.played or bars or note:
            row = LogRow(self.start, said.day, "run-through", shown.piece, bars=bars, note=note)
            self.read.rows.append(row)

    def heard(self, name: str, shown: Heard, rows: tuple[LogRow, ...], typed: Heard | None) -> None:
        """The row of what was heard in the lesson."""
        if typed is None or typed == shown:
            self.read.rows += rows
        elif typed:
            clean = None if typed == "clean" else 0
            self.read.rows.append(LogRow(self.start, None, "heard", name, clean=clean))

    def day(self, day: date, shown: tuple[LogRow, ...], typed: frozenset[date] | None) -> None:
        """The row of another day of practice."""
        if typed is None or (day in typed) == bool(shown):
            self.read.rows += shown
        elif day in typed:
            self.read.rows.append(LogRow(self.start, day, "day"))

    def _at(self, cell: str, read: Any, text: str, *more: Any) -> Any:
        """What a cell says; None where it is empty or wrong, which is told."""
        if not text:
            return None
        try:
            return read(text, *more)
        except ValueError as error:
            self.read.faults[cell] = str(error)
            return None

    def _doubt(self, cell: str, doubt: str) -> None:
        if doubt:
            self.read.doubts[cell] = doubt
