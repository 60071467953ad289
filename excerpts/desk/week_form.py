"""A week file as a form: every key that it has or may have, with its value and what is wrong with it.

The fields come from the models that check a week file (`week_fields`); this module puts the values of one file and the
faults that were found beside them. What is wrong with no field stands at the item, or at the top.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any, Final

from excerpts.desk.week_fields import Field, fields_of
from excerpts.desk.week_texts import WeekTexts
from excerpts.weekfile.edit_text import TABLES
from excerpts.weekfile.faults import Fault
from excerpts.weekfile.lines import KeyPath
from excerpts.weekfile.sources import Sources

GROUPS: Final = ("player", "week", "plan")


@dataclass(frozen=True, slots=True)
class FormField:
    """One field.

    Attributes:
        path: The path that a change to it is sent with.
        field: Its key, kind and choices.
        value: A text as it is typed; a list of these where it holds many; minutes by day; yes, no or None.
        faults: What is wrong with it.
        inside: The fields of a table inside of it.
    """

    path: KeyPath
    field: Field
    value: Any
    faults: tuple[str, ...] = ()
    inside: tuple[FormField, ...] = ()

    @property
    def id(self) -> str:
        """What names it on the page."""
        return id_of(self.path)

    @property
    def given(self) -> bool:
        """Whether the file says something there."""
        return self.value not in (None, "", [], {}) or any(one.given for one in self.inside)


@dataclass(frozen=True, slots=True)
class FormItem:
    """One item of a table: a piece, a box, a warm-up and so on.

    Attributes:
        path: ("box", 2).
        fields: Its fields, by their keys.
        shared: The set that it stands in; None for one of the week file's own.
        faults: What is wrong with it as a whole.
    """

    path: KeyPath
    fields: Mapping[str, FormField]
    shared: Path | None = None
    faults: tuple[str, ...] = ()

    @property
    def id(self) -> str:
        """What names it on the page."""
        return id_of(self.path)

    @property
    def place(self) -> int:
        """Its place in its table, from 0."""
        return int(self.path[1])

    def value(self, key: str) -> Any:
        """The value of a key; None for one that it has not."""
        field = self.fields.get(key)
        return field.value if field else None


@dataclass(frozen=True, slots=True)
class WeekForm:
    """The form of a week.

    Attributes:
        top: The fields that stand in no table: what it includes, its list of scales.
        groups: The fields of the player, of the week and of the plan, by their keys.
        items: The items of each table, in their order.
        group_faults: What is wrong with player, week or plan as a whole.
        faults: What is wrong with no field and no item.
    """

    top: Mapping[str, FormField]
    groups: Mapping[str, Mapping[str, FormField]]
    items: Mapping[str, tuple[FormItem, ...]]
    group_faults: Mapping[str, tuple[str, ...]]
    faults: tuple[str, ...] = ()

    def told(self) -> dict[str, tuple[str, ...]]:
        """What is wrong, by the id of the field or item that it stands beside."""
        fields = [*self.top.values(), *(one for group in self.groups.values() for one in group.values())]
        items = [item for items in self.items.values() for item in items]
        fields += [one for item in items for one in item.fields.values()]
        fields += [inner for one in fields for inner in one.inside]
        by_id = {id_of((name,)): texts for name, texts in self.group_faults.items()}
        by_id |= {one.id: one.faults for one in fields} | {item.id: item.faults for item in items}
        return {name: texts for name, texts in by_id.items() if texts}

    def titles(self, table: str) -> dict[str, str]:
        """What each item of a table is called, by its id."""
        return {str(item.value("id")): title_of(item) for item in self.items[table] if item.value("id")}


def id_of(path: KeyPath) -> str:
    """What names a key path on the page."""
    return "-".join(["f", *(str(step) for step in path)])


def title_of(item: FormItem) -> str:
    """What an item is called: its title, or its id."""
    return str(item.value("title") or item.value("id") or "")


def week_form(texts: WeekTexts, faults: Iterable[Fault] = ()) -> WeekForm:
    """The form of a week.

    Args:
        texts: Its texts.
        faults: What was found in them.

    Raises:
        WeekError: A text is no TOML, and has no form.
    """
    sources = texts.reading.sources
    placed = PlacedFaults(sources, texts.path, faults)
    fields = {field.key: field for field in fields_of()}
    groups: dict[str, Mapping[str, FormField]] = {}
    for name in GROUPS:
        raw = sources.raw.get(name)
        groups[name] = _filled((name,), fields[name], raw if isinstance(raw, dict) else {}, placed)
    items = {name: tuple(_items(name, fields[name], sources, texts, placed)) for name in TABLES}
    plain = {key: field for key, field in fields.items() if key not in (*GROUPS, *TABLES, "format")}
    top = {key: _field((key,), field, sources.raw.get(key), placed) for key, field in plain.items()}
    whole = {name: placed.at((name,)) for name in GROUPS}
    return WeekForm(top, groups, items, whole, placed.left())


def _items(
    table: str, field: Field, sources: Sources, texts: WeekTexts, placed: PlacedFaults
) -> Iterable[FormItem]:
    raw = sources.raw.get(table)
    for place, values in enumerate(raw if isinstance(raw, list) else []):
        path: KeyPath = (table, place)
        inside = _filled(path, field, values if isinstance(values, dict) else {}, placed)
        shared = texts.set_of(path)
        yield FormItem(path, inside, shared[0] if shared else None, placed.at(path))


def _filled(
    path: KeyPath, field: Field, raw: Mapping[str, Any], placed: PlacedFaults
) -> dict[str, FormField]:
    return {one.key: _field((*path, one.key), one, raw.get(one.key), placed) for one in field.inside}


def _field(path: KeyPath, field: Field, raw: Any, placed: PlacedFaults) -> FormField:
    if field.kind == "group":
        inside = _filled(path, field, raw if isinstance(raw, dict) else {}, placed)
        return FormField(path, field, None, placed.at(path), tuple(inside.values()))
    return FormField(path, field, typed(field, raw), placed.at(path))


def typed(field: Field, raw: Any) -> Any:
    """A value of the file as it is typed into its field."""
    if field.kind == "days":
        table = raw if isinstance(raw, dict) else {} if raw is None else {"every": raw}
        return {str(day): _text(minutes) for day, minutes in table.items()}
    if field.many and field.kind != "kept":
        return [_text(one) for one in raw] if isinstance(raw, list) else [] if raw is None else [_text(raw)]
    if field.kind == "yes" and isinstance(raw, bool):
        return raw
    return _text(raw)


def _text(raw: Any) -> str:
    if raw is None:
        return ""
    if isinstance(raw, bool):
        return "true" if raw else "false"
    if isinstance(raw, date):
        return raw.isoformat()
    if isinstance(raw, list):
        return ", ".join(_text(one) for one in raw)
    if isinstance(raw, dict):
        return "; ".join(f"{key}: {_text(one)}" for key, one in raw.items())
    return str(raw)


class PlacedFaults:
    """Faults by the field or the item that they belong to, each shown once.

    Args:
        sources: The tables of the week.
        path: The week file.
        faults: What was found.
    """

    def __init__(self, sources: Sources, path: Path, faults: Iterable[Fault]) -> None:
        self._of_sets: dict[tuple[Path, KeyPath], KeyPath] = {
            (document.file, (at[0], place)): at for at, (document, place) in sources.included.items()
        }
        self._known = {path, *(document.file for document in sources.documents)}
        self._own = path
        self._faults = [replace(fault, path=self._merged(fault)) for fault in faults]
        self._shown: set[int] = set()

    def _merged(self, fault: Fault) -> KeyPath:
        """The path of a fault in all tables together; a fault in the list of scales is one of the key that names it."""
        if fault.file not in self._known:
            return ("scales",)
        if fault.file == self._own:
            return fault.path
        path = self._of_sets.get((fault.file, fault.path[:2]))
        return (*path, *fault.path[2:]) if path else ("include",)

    def at(self, path: KeyPath) -> tuple[str, ...]:
        """The faults of a key and of what is inside of it that were not asked for yet."""
        places = [
            place
            for place, fault in enumerate(self._faults)
            if place not in self._shown and fault.path[: len(path)] == path
        ]
        self._shown.update(places)
        return tuple(self._said(self._faults[place], path) for place in places)

    def left(self) -> tuple[str, ...]:
        """The faults that belong to no field and no item."""
        faults = [fault for place, fault in enumerate(self._faults) if place not in self._shown]
        return tuple(dict.fromkeys(self._said(fault, ()) for fault in faults))

    def _said(self, fault: Fault, path: KeyPath) -> str:
        """What is wrong; with its place where the field does not say it."""
        if fault.file != self._own or (not path and fault.path):
            return str(fault)
        inside = fault.path[len(path) :]
        if inside and isinstance(inside[0], str):
            return f"{', '.join(str(step) for step in inside)}: {fault.message}"
        return fault.message
