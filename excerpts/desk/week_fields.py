"""The keys of a week file as fields of a form: which there are, of what kind, and what may be chosen.

All of it is read from the models that check a week file, so that a new key needs no second list. The words of a field
stand in `templates/words` under `desk.week.field`; one that has none yet goes by its key.
"""

from __future__ import annotations

import re
import types
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin, get_type_hints

from pydantic import BaseModel

from excerpts.excerpt import Tempo
from excerpts.instruments.instrument import INSTRUMENTS
from excerpts.warmups import PATTERNS
from excerpts.weekfile.item_values import InstrumentName
from excerpts.weekfile.lines import KeyPath
from excerpts.weekfile.model import Days, WeekFile
from excerpts.weekfile.scale_items import ScaleFields
from excerpts.weekfile.studio_folder import PlayerWords
from excerpts.weekfile.text_kinds import AbcText, Prose
from excerpts.words import choices

Kind = Literal["text", "prose", "number", "yes", "date", "tempo", "choice", "days", "group", "items", "kept"]
"""What a field holds: a line, several lines, a number, yes or no, a day, a tempo, one of some words, minutes by day,
a table of fields, items with fields of their own; or numbers that are measured and not typed."""

REFERENCES: Final = {
    ("box", "piece"): "piece", ("parked", "piece"): "piece", ("retired", "piece"): "piece",
    ("technique", "piece"): "piece", ("technique", "drill"): "box", ("technique", "check"): "retired",
    ("plan", "programme"): "piece", ("week", "began"): "piece",
}  # fmt: skip
"""Keys that hold the id of an item, with the table of that item."""


@dataclass(frozen=True, slots=True)
class Field:
    """One key of a table.

    Attributes:
        key: As it stands in the file.
        kind: What it holds.
        many: Whether it holds a list of that.
        choices: What may be chosen, where it is one of some words.
        low: The least number.
        high: The greatest number.
        needed: Whether the file cannot do without it.
        default: What holds where it is left out.
        inside: The fields of the table or of the items that it holds.
    """

    key: str
    kind: Kind
    many: bool = False
    choices: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    needed: bool = False
    default: Any = None
    inside: tuple[Field, ...] = ()


@lru_cache(maxsize=32)
def fields_of(model: type[BaseModel] = WeekFile) -> tuple[Field, ...]:
    """The fields of a table, in the order of the model; those of a whole week file when it is left out."""
    hints = get_type_hints(model, include_extras=True)
    fields = []
    for name, info in model.model_fields.items():
        required = info.is_required()
        fields.append(_field(info.alias or name, hints[name], required, None if required else info.default))
    return tuple(fields)


def field_at(path: KeyPath) -> Field | None:
    """The field of a key path ("box", 2, "note"); None for a key that is not known, and for a place of a list."""
    fields, reached = fields_of(), None
    for step in path:
        if isinstance(step, int):
            continue
        if reached is not None and reached.kind == "days":
            return Field(step, "number", low=0, high=1440)
        reached = next((field for field in fields if field.key == step), None)
        if reached is None:
            return None
        fields = reached.inside
    return reached


def _field(key: str, hint: Any, needed: bool, default: Any) -> Field:
    """A field of what a model says of a key."""
    bases: list[Any] = []
    marks: list[Any] = []
    many = False
    while True:
        origin = get_origin(hint)
        if origin is Annotated:
            hint, *inner = get_args(hint)
            marks += _single(inner)
            bases.append(tuple(inner))
        elif origin in (Union, types.UnionType):
            (hint,) = (one for one in get_args(hint) if one is not type(None))
        elif origin is tuple and get_args(hint)[-1] is ...:
            many, marks, bases, hint = True, [], [], get_args(hint)[0]
        else:
            break
    low, high = (_bound(marks, name) for name in ("ge", "le"))
    if isinstance(hint, type) and issubclass(hint, BaseModel):
        return Field(key, "items" if many else "group", needed=needed, inside=fields_of(hint))
    kind, chosen = _kind(hint, bases)
    return Field(key, kind, many, chosen, low, high, needed, default)


def _single(marks: list[Any]) -> list[Any]:
    """The marks of an annotation, those inside of a `Field` too."""
    return [one for mark in marks for one in (mark, *getattr(mark, "metadata", ()))]


def _bound(marks: list[Any], name: str) -> float | None:
    bounds = [getattr(mark, name) for mark in marks if hasattr(mark, name)]
    return float(bounds[0]) if bounds else None


def _kind(hint: Any, bases: list[Any]) -> tuple[Kind, tuple[str, ...]]:
    if get_origin(hint) is Literal:
        return "choice", tuple(str(one) for one in get_args(hint))
    for alias, among in _CHOSEN:
        if _is(alias, bases):
            return "choice", among()
    if any(_is(alias, bases) for alias in (Prose, AbcText)):
        return "prose", ()
    if get_origin(hint) is dict:
        counts = get_args(get_type_hints(Days, include_extras=True)["minutes"])[0]
        return "days" if hint == counts else "kept", ()
    if get_origin(hint) is tuple:
        return "kept", ()
    return _PLAIN.get(hint, "text"), ()


def _is(alias: Any, bases: list[Any]) -> bool:
    """Whether a value is of an annotated kind."""
    return any(base == get_args(alias)[1:] for base in bases)


_PLAIN: Final[dict[Any, Kind]] = {
    bool: "yes", int: "number", float: "number", date: "date", Tempo: "tempo", Tempo | None: "tempo",
}  # fmt: skip

_CHOSEN: Final[tuple[tuple[Any, Callable[[], tuple[str, ...]]], ...]] = (
    (InstrumentName, lambda: tuple(INSTRUMENTS)),
    (PlayerWords, choices),
    (get_args(get_type_hints(ScaleFields, include_extras=True)["pattern"])[0], lambda: tuple(PATTERNS)),
)
"""Kinds of text of which only some are right, and which those are."""

_WHOLE: Final = re.compile(r"[-+]?\d{1,9}")
_DECIMAL: Final = re.compile(r"[-+]?\d{1,9}[.,]\d{1,6}")


def typed_value(field: Field | None, typed: Any) -> Any:
    """What goes into the file for what was typed; None for nothing. What cannot be right stays as it was typed.

    Args:
        field: The field; None for a key that is not known.
        typed: A text, true or false, a number, a list of these, or a table.
    """
    if isinstance(typed, list):
        items = [value for one in typed if (value := _one(field, one)) is not None]
        return items or None
    if isinstance(typed, dict):
        inside = {one.key: one for one in field.inside} if field else {}
        day = Field("", "number") if field and field.kind == "days" else None
        table = {key: typed_value(inside.get(key, day), one) for key, one in typed.items()}
        return {key: one for key, one in table.items() if one is not None} or None
    return _one(field, typed)


def _one(field: Field | None, typed: Any) -> Any:
    if not isinstance(typed, str):
        return typed
    text = typed.replace("\r\n", "\n")
    plain = text.strip()
    kind = field.kind if field else "text"
    if not plain:
        return None
    if kind == "date" and re.fullmatch(r"\d{4}-\d\d-\d\d", plain):
        try:
            return date.fromisoformat(plain)
        except ValueError:
            return plain
    if kind in ("number", "tempo") and _WHOLE.fullmatch(plain):
        return int(plain)
    if kind == "number" and _DECIMAL.fullmatch(plain):
        return float(plain.replace(",", "."))
    if kind == "yes" and plain in ("true", "false"):
        return plain == "true"
    return text if kind == "prose" else plain
