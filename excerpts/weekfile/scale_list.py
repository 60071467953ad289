"""A player's list of scales for an exam or a term, typed once: TOML or CSV.

As TOML: `start`, `until` and a `[[scale]]` for each. As CSV: a first row with the names of the columns (`key`,
`pattern`, `octaves`, `bowing`, `tempo`, `heard`), a row for each scale.
"""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Final, Literal, Self

from pydantic import BeforeValidator, Field, ValidationError, model_validator

from excerpts.errors import WeekError
from excerpts.weekfile.cells import told_delimiter
from excerpts.weekfile.fault_free import FaultFree, fault_free
from excerpts.weekfile.faults import Fault, message_of, nearest
from excerpts.weekfile.item_values import RealDate, Table
from excerpts.weekfile.lines import KeyPath
from excerpts.weekfile.reading import Document, read_document, read_text
from excerpts.weekfile.scale_items import WarmupItem

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
class ListFile:
    """A list of scales as it was read.

    Attributes:
        document: What the file says, and where.
        listed: The list; where it has faults, the part without them; None where too little is left.
        kept: Which rows of the file `listed` has.
        faults: The faults.
    """

    document: Document
    listed: ScaleList | None
    kept: FaultFree
    faults: tuple[Fault, ...] = ()

    @property
    def scales(self) -> tuple[ListedScale, ...]:
        """The scales without faults."""
        return self.listed.scales if self.listed else ()

    def fault(self, path: KeyPath, message: str) -> Fault:
        """A fault at a key of `listed` (("scale", 3)), with its line."""
        return self.document.fault(self.kept.place(path), message)


def read_list_file(path: Path) -> ListFile:
    """Read a list of scales with its lines and its faults.

    Raises:
        WeekError: It cannot be read at all.
    """
    document = _from_csv(path) if path.suffix.lower() == ".csv" else read_document(path)
    findings, kept = fault_free(document.raw, _findings)
    listed = ScaleList.model_validate(kept.raw) if kept else None
    faults = tuple(document.fault(*finding) for finding in findings)
    return ListFile(document, listed, kept or FaultFree({}), faults)


def _findings(rest: FaultFree) -> Iterator[tuple[KeyPath, str]]:
    try:
        ScaleList.model_validate(rest.raw)
    except ValidationError as error:
        for detail in error.errors():
            path = tuple(step for step in detail["loc"] if step != "[key]")
            yield path, message_of(detail, ListedScale if len(path) > 1 else ScaleList)


def _from_csv(path: Path) -> Document:
    text = read_text(path)
    first = text.partition("\n")[0]
    delimiter = told_delimiter(first)
    rows = csv.reader(
        io.StringIO(text), delimiter=delimiter or (";" if ";" in first and "," not in first else ",")
    )
    try:
        if delimiter:
            next(rows)
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


def _rows(path: Path, header: list[str], rows: Any) -> Document:
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
    return Document(path, {"scale": scales}, lines)


def _cells(header: list[str], row: list[str]) -> Iterator[tuple[str, Any]]:
    """The filled cells of a row; numbers as numbers."""
    for name, cell in zip(header, row, strict=False):
        text = cell.strip()
        if text:
            yield name, int(text) if name in _NUMBERS and text.isdecimal() else text


def scale_names(listed: ScaleList) -> tuple[str, ...]:
    """A name for each scale of a list, no two alike: key and pattern, where needed its octaves, then its place."""
    names = [f"{' '.join((scale.key or '').split())} {scale.pattern or 'scale'}" for scale in listed.scales]
    octaves = [str(scale.octaves or "") for scale in listed.scales]
    names = [
        f"{name} {count}".strip() if _twice(name, names) else name
        for name, count in zip(names, octaves, strict=True)
    ]
    return tuple(
        f"{name} ({place})" if _twice(name, names) else name for place, name in enumerate(names, start=1)
    )


def _twice(name: str, names: Sequence[str]) -> bool:
    return Counter(map(str.casefold, names))[name.casefold()] > 1


def find_scale(text: str, names: Sequence[str]) -> str:
    """The scale that is meant: its name, or its key alone where that says enough; a key alone is first a scale.

    Raises:
        WeekError: There is none of that name, or more than one.
    """
    typed = " ".join(text.split()).casefold()
    for wanted in (typed, f"{typed} scale"):
        if named := [name for name in names if name.casefold() == wanted]:
            return named[0]
    begun = [name for name in names if name.casefold().startswith(f"{typed} ")]
    if len(begun) == 1:
        return begun[0]
    if begun:
        raise WeekError(
            f'"{text}" can be {len(begun)} scales of the list.', hint=f"Say {' or '.join(begun)}."
        )
    otherwise = f"There are: {', '.join(names)}."
    raise WeekError(f'there is no scale "{text}" in the list.', hint=nearest(text, names, otherwise))
