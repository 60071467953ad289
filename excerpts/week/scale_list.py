"""A player's list of scales for an exam or a term, typed once: TOML or CSV.

As TOML: `start`, `until` and a `[[scale]]` for each. As CSV: a first row with the names of the columns (`key`,
`pattern`, `octaves`, `bowing`, `tempo`, `heard`), a row for each scale.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Final, Literal, Self

from pydantic import BeforeValidator, Field, ValidationError, model_validator

from excerpts.errors import WeekError
from excerpts.week.sound import Sound, sound_part
from excerpts.weekfile.faults import Fault, WeekFaultsError, key_in_words, message_of, nearest
from excerpts.weekfile.items import RealDate, Table, WarmupItem
from excerpts.weekfile.lines import KeyPath, line_of
from excerpts.weekfile.reading import read_document, read_text

COLUMNS: Final = ("key", "pattern", "octaves", "from", "bowing", "tempo", "heard")
"""Columns of a CSV list; the same keys as in a TOML list, which has `turn` besides."""

_NUMBERS: Final = ("octaves", "bowing")
_MOST: Final = 200


def _bowing(value: Any) -> Any:
    return 1 if value == "separate" else value


class ListedScale(WarmupItem):
    """One scale or arpeggio of a list.

    Attributes:
        bowing: Notes to a bow, or "separate".
        heard: The day on which it was heard in a lesson: it is ticked, and comes back only when all are.
    """

    bowing: Annotated[int, Field(strict=True, ge=1, le=24), BeforeValidator(_bowing)] | None = None
    heard: RealDate | None = None

    @property
    def warmup(self) -> WarmupItem:
        """It as a warm-up of a week."""
        fields = WarmupItem.model_fields
        own = {field.alias or name: getattr(self, name) for name, field in fields.items()}
        return WarmupItem.model_construct(**{**own, "slur": self.bowing or self.slur})


class ScaleList(Table):
    """A list of scales.

    Attributes:
        format: The format of the file; 1.
        start: First day of the weeks that the list is spread over.
        until: Last of them: the exam, or the end of the term.
        scales: The scales, in the order in which they are learned.
    """

    format: Literal[1] = 1
    start: RealDate | None = None
    until: RealDate | None = None
    scales: Annotated[tuple[ListedScale, ...], Field(max_length=_MOST)] = Field(alias="scale")

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not self.scales:
            raise ValueError("The list has no scale. Write a [[scale]] for each, or a row.")
        if (self.start is None) != (self.until is None):
            missing = "until" if self.until is None else "start"
            raise ValueError(f"A list runs from start to until; {missing} is missing.")
        if self.start and self.until and self.until < self.start:
            raise ValueError(f"The list ends on {self.until}, before it starts on {self.start}.")
        return self


@dataclass(frozen=True, slots=True)
class _Source:
    """What a file says, and where."""

    raw: dict[str, Any]
    lines: dict[KeyPath, int]


@dataclass(frozen=True, slots=True)
class ListFile:
    """A list of scales as it stands in its file.

    Attributes:
        path: The file.
        listed: The list, or what is sound of it.
        source: All that the file says.
        sound: Which of it the list has.
    """

    path: Path
    listed: ScaleList
    source: _Source
    sound: Sound

    def fault(self, path: KeyPath, message: str) -> Fault:
        """A fault at a key of the list (("scale", 3)), with its line."""
        path = self.sound.place(path)
        line = line_of(self.source.lines, path)
        return Fault(self.path, line, key_in_words(path, self.source.raw), message)


def read_scale_list(path: Path) -> ScaleList:
    """Read a list of scales.

    Args:
        path: A .csv file, else TOML.

    Raises:
        WeekError: It cannot be read or has faults; all of them are told, with their lines.
    """
    return read_list_file(path).listed


def read_list_file(path: Path) -> ListFile:
    """Read a list of scales together with its lines; see `read_scale_list`."""
    source = _source(path)
    try:
        return ListFile(path, ScaleList.model_validate(source.raw), source, Sound(source.raw))
    except ValidationError as error:
        raise WeekFaultsError([_fault(path, source, detail) for detail in error.errors()]) from error


def sound_list_file(path: Path) -> ListFile | None:
    """Read what is sound of a list whose other rows have faults; None where too little is.

    Raises:
        WeekError: It cannot be read at all.
    """
    source = _source(path)

    def faulty(left: Sound) -> list[tuple[KeyPath, str]]:
        try:
            ScaleList.model_validate(left.raw)
        except ValidationError as error:
            return [
                (tuple(step for step in detail["loc"] if step != "[key]"), "") for detail in error.errors()
            ]
        return []

    sound = sound_part(source.raw, faulty)
    return ListFile(path, ScaleList.model_validate(sound.raw), source, sound) if sound else None


def _source(path: Path) -> _Source:
    return _from_csv(path) if path.suffix.lower() == ".csv" else _from_toml(path)


def _fault(path: Path, source: _Source, detail: Any) -> Fault:
    loc = tuple(step for step in detail["loc"] if step != "[key]")
    table = ListedScale if len(loc) > 1 else ScaleList
    return Fault(path, line_of(source.lines, loc), key_in_words(loc, source.raw), message_of(detail, table))


def _from_toml(path: Path) -> _Source:
    document = read_document(path)
    return _Source(document.raw, document.lines)


def _from_csv(path: Path) -> _Source:
    text = read_text(path)
    first = text.partition("\n")[0]
    rows = csv.reader(io.StringIO(text), delimiter=";" if ";" in first and "," not in first else ",")
    try:
        header = _header(path, next(rows, []))
        return _rows(path, header, rows)
    except csv.Error as error:
        where = f"{path.name}, line {rows.line_num}"
        raise WeekError(f"This row is not written as CSV asks ({error}).", where=where) from error


def _header(path: Path, row: list[str]) -> list[str]:
    header = [name.strip().lower() for name in row]
    for name in header:
        if name not in COLUMNS:
            raise WeekError(
                f'There is no column "{name}". {nearest(name, COLUMNS)}'.strip(),
                where=f"{path.name}, line 1",
                hint=f"The columns are {', '.join(COLUMNS)}; key is needed.",
            )
    if "key" not in header:
        raise WeekError(
            "The first row has to name the columns.", where=path.name, hint=f"Write {','.join(COLUMNS)}."
        )
    return header


def _rows(path: Path, header: list[str], rows: Any) -> _Source:
    scales: list[dict[str, Any]] = []
    lines: dict[KeyPath, int] = {}
    for row in rows:
        if not any(cell.strip() for cell in row):
            continue
        if len(row) > len(header):
            where = f"{path.name}, line {rows.line_num}"
            raise WeekError(f"This row has {len(row)} cells under {len(header)} columns.", where=where)
        place = len(scales)
        lines["scale", place] = rows.line_num
        lines |= {("scale", place, name): rows.line_num for name in header}
        scales.append(dict(_cells(header, row)))
    return _Source({"scale": scales}, lines)


def _cells(header: list[str], row: list[str]) -> Iterator[tuple[str, Any]]:
    """The filled cells of a row; numbers as numbers."""
    for name, cell in zip(header, row, strict=False):
        text = cell.strip()
        if text:
            yield name, int(text) if name in _NUMBERS and text.isdecimal() else text
