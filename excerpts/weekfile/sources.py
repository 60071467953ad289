"""A week file together with the sets of boxes that it includes: one set may serve a whole section of players.

What the week file says itself goes before: its own piece or box takes the place of the included one with the same id,
and an included box that it has retired or parked is left out, with the drills on it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from excerpts.errors import WeekError
from excerpts.weekfile.crosscheck import ids_of
from excerpts.weekfile.faults import Fault, WeekFaultsError, listed
from excerpts.weekfile.lines import KeyPath
from excerpts.weekfile.model import FORMAT
from excerpts.weekfile.reading import Document, read_document
from excerpts.weekfile.studio_folder import Studio, find_score

SHARED: Final = ("piece", "box", "warmup", "technique")
"""The tables that an included file may have."""

_MOST: Final = 20


@dataclass(frozen=True, slots=True)
class Sources:
    """The tables of a week file and of what it includes.

    Attributes:
        path: The week file, there already or not.
        own: What it says, and where.
        raw: All tables together.
        included: Table and place of everything that another file gave, with that file and its place there.
        documents: The files that are included, in order.
        faults: What is wrong with the including itself.
    """

    path: Path
    own: Document
    raw: dict[str, Any]
    included: dict[tuple[str, int], tuple[Document, int]]
    documents: tuple[Document, ...] = ()
    faults: tuple[Fault, ...] = ()

    def folder(self, table: str, place: int) -> Path:
        """The folder of the file that an item stands in."""
        if (table, place) in self.included:
            return self.included[table, place][0].file.resolve().parent
        return self.path.resolve().parent

    def fault(self, path: KeyPath, message: str) -> Fault:
        """A fault at a key path of all tables together, with its own file and line."""
        table, place = (*path, "", "")[:2]
        document = self.own
        if isinstance(table, str) and isinstance(place, int) and (table, place) in self.included:
            document, there = self.included[table, place]
            path = (table, there, *path[2:])
        return document.fault(path, message)


def read_sources(
    path: Path, own: Document, studio: Studio, read: Callable[[Path], Document] = read_document
) -> Sources:
    """Read what a week file includes; `read` opens a file of that name."""
    names = own.raw.get("include", ())
    names = [names] if isinstance(names, str) else names
    raw = dict(own.raw)
    included: dict[tuple[str, int], tuple[Document, int]] = {}
    documents: list[Document] = []
    faults: list[Fault] = []
    if isinstance(names, list) and all(isinstance(name, str) for name in names):
        line = own.lines.get(("include",))
        if len(names) > _MOST:
            faults.append(Fault(path, line, "include", f"There are more than {_MOST} files to include."))
        for name in names[:_MOST]:
            try:
                document = read(find_score(name, path.resolve().parent, studio, what="file"))
            except WeekFaultsError as error:
                faults += error.faults
                continue
            except WeekError as error:
                faults.append(Fault(path, line, "include", str(error)))
                continue
            documents.append(document)
            faults += _foreign(document)
            _add(document, raw, own.raw, included)
    return Sources(path, own, raw, included, tuple(documents), tuple(faults))


def _foreign(document: Document) -> list[Fault]:
    """Faults for the keys that an included file may not have."""
    faults: list[Fault] = []
    for key in document.raw:
        if key in SHARED or (key == "format" and document.raw[key] == FORMAT):
            continue
        tables = listed(f"[[{table}]]" for table in SHARED)
        message = f'An included file has {tables} only; "{key}" belongs in the week file.'
        if key == "format":
            message = f"Write format = {FORMAT}, or leave it out."
        faults.append(document.fault((key,), message))
    for table in SHARED:
        if table in document.raw and not isinstance(document.raw[table], list):
            message = f"Write [[{table}]] with two brackets on each side: there can be several."
            faults.append(document.fault((table,), message))
    return faults


def _add(
    document: Document,
    raw: dict[str, Any],
    own: dict[str, Any],
    included: dict[tuple[str, int], tuple[Document, int]],
) -> None:
    for table in SHARED:
        given = document.raw.get(table)
        before = raw.get(table, [])
        if not isinstance(given, list) or not isinstance(before, list):
            continue
        away = {*ids_of(own, "retired"), *ids_of(own, "parked")}
        hidden = {*ids_of(own, table), *(away if table == "box" else ())}
        items = list(before)
        for place, item in enumerate(given):
            name = str(item.get("id")) if isinstance(item, dict) and "id" in item else None
            drill = str(item.get("drill")) if isinstance(item, dict) and table == "technique" else None
            if name not in hidden and drill not in away:
                included[table, len(items)] = (document, place)
                items.append(item)
        if items:
            raw[table] = items
