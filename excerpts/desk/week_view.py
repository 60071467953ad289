"""What the week page says of a form: labels, help, units and choices of its fields, and what its items are called."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from excerpts.desk.week_fields import REFERENCES
from excerpts.desk.week_form import FormField, FormItem, WeekForm
from excerpts.errors import InputError
from excerpts.variants import title as variant_title
from excerpts.warmups import short_name
from excerpts.week.bars_in_words import bars_text
from excerpts.weekfile.lines import KeyPath
from excerpts.words import Words

MAIN: Final[Mapping[str, tuple[str, ...]]] = {
    "box": ("piece", "bars", "why", "target", "note"),
    "piece": ("title", "score", "part", "status", "date"),
    "warmup": ("key", "pattern", "octaves"),
    "technique": (),
    "retired": ("piece", "bars", "retired", "checks"),
    "parked": ("piece", "bars", "why", "target", "note"),
}
"""The fields of an item that stand open; the others are behind a fold, unless the file says something there that tells
what the item is."""

_TELLING: Final = ("text", "piece", "bars", "drill", "key", "pattern", "place", "page", "abc", "goal")
"""Fields that stand open where the file says something there."""

HEAD: Final = ("focus", "notes", "private", "start", "until")
"""The fields of the week that stand open, besides the minutes."""

LAST: Final = ("goal", "place", "page", "abc", "since", "id")
"""The fields behind a fold that are wanted least."""

IN_ORDER: Final = (("plan", "order"), ("plan", "programme"))
"""Fields whose choices stand in an order."""

_ELSEWHERE: Final = {
    "instrument": "instrument",
    "why": "fault.short",
    "status": "workbook.status",
    "order": "plan.section",
}
"""Choices that have words of their own already."""


@dataclass(frozen=True)
class WeekView:
    """The words of one form.

    Attributes:
        form: The form.
        words: The words of the page.
        scores: The names of the studio's score files.
        pages: The names of the printed pages in the folder of the scores.
        inbox: The names of photos and scans that have come in.
        parts: The parts of each piece's score, by the piece's place: value and name.
    """

    form: WeekForm
    words: Words
    scores: Sequence[str] = ()
    pages: Sequence[str] = ()
    inbox: Sequence[str] = ()
    parts: Mapping[int, Sequence[tuple[str, str]]] = field(default_factory=dict)

    def label(self, path: KeyPath) -> str:
        """What a field is called; its key, where no words are there for it yet."""
        return self._of("field", path) or str(path[-1]).replace("_", " ").capitalize()

    def help(self, path: KeyPath) -> str:
        """A line below a field; empty for none."""
        return self._of("help", path)

    def unit(self, path: KeyPath) -> str:
        """What its number counts; empty for none."""
        return self._of("unit", path)

    def _of(self, what: str, path: KeyPath) -> str:
        key, table = str(path[-1]), str(path[0]) if len(path) > 1 else "top"
        for name in (f"{table}_{key}", key):
            if self.words.has(f"desk.week.{what}.{name}"):
                return self.words(f"desk.week.{what}.{name}")
        return ""

    def choice(self, key: str, value: str) -> str:
        """A word of the file as it is shown; itself, where no words are there for it yet."""
        for table in (f"desk.week.choice.{key}", _ELSEWHERE.get(key, "")):
            message = f"{table}.{value.replace(' ', '_')}"
            if table and self.words.has(message):
                return self.words(message)
        return value

    def options(self, one: FormField) -> list[tuple[str, str]]:
        """What may be chosen in a field, value and word; what the file says stands among it, whatever it is."""
        options = self._options(one)
        given = one.value if isinstance(one.value, list) else [one.value]
        return options + [(value, value) for value in given if value and value not in dict(options)]

    def _options(self, one: FormField) -> list[tuple[str, str]]:
        key, table = str(one.path[-1]), str(one.path[0])
        if refers := REFERENCES.get((table, key)):
            titles = self.form.titles(refers)
            if refers == "box":
                titles = {str(item.value("id")): self.title(item) for item in self.form.items["box"]}
            return list(titles.items())
        if (table, key) == ("piece", "score"):
            return [(name, name) for name in self.scores]
        if (table, key) == ("piece", "part"):
            return list(self.parts.get(int(one.path[1]), ()))
        return [(value, self.choice(key, value)) for value in one.field.choices]

    def chosen_from(self, one: FormField) -> bool:
        """Whether the values of a field are chosen, not typed."""
        table, key = str(one.path[0]), str(one.path[-1])
        if (table, key) == ("piece", "part"):
            return int(one.path[1]) in self.parts
        return one.field.kind == "choice" or (table, key) in (*REFERENCES, ("piece", "score"))

    def in_order(self, one: FormField) -> bool:
        """Whether the values of a field stand in an order."""
        return (one.path[0], one.path[-1]) in IN_ORDER

    def usual(self, one: FormField) -> str:
        """What an empty field means, in words."""
        default = one.field.default
        if (one.path[0], one.path[-1]) == ("piece", "part") and self.chosen_from(one):
            return self.words("desk.week.choose")
        if one.field.needed or one.field.kind in ("date", "text") or default in (None, (), ""):
            return self.words("desk.week.choose" if one.field.needed else "desk.week.as_usual")
        many = isinstance(default, tuple)
        said = [self.choice(str(one.path[-1]), str(value)) for value in (default if many else (default,))]
        return self.words("desk.week.as_usual_is", value=", ".join(said))

    def main(self, item: FormItem) -> list[FormField]:
        """The fields of an item that stand open."""
        table = str(item.path[0])
        keys = MAIN[table] if not (table == "warmup" and item.value("text")) else ()
        shown = [one for one in item.fields.values() if one.field.key in keys or self._tells(table, one)]
        minutes = item.fields.get("minutes")
        if minutes and item.value("text") and minutes not in shown:
            shown.append(minutes)
        order = {key: place for place, key in enumerate(keys)}
        return sorted(shown, key=lambda one: order.get(one.field.key, len(order)))

    def _tells(self, table: str, one: FormField) -> bool:
        return one.given and one.field.key in _TELLING and (table, one.field.key) != ("piece", "piece")

    def folded(self, item: FormItem) -> list[FormField]:
        """The fields of an item behind the fold."""
        shown = [one.path for one in self.main(item)]
        folded = [one for one in item.fields.values() if one.path not in shown]
        return sorted(folded, key=lambda one: LAST.index(one.field.key) if one.field.key in LAST else -1)

    def given(self, fields: Sequence[FormField]) -> str:
        """What the file says in folded fields, in a line."""
        return " · ".join(
            f"{self.label(one.path)}: {self.said(one)}"
            for one in fields
            if one.given and one.field.key != "id"
        )

    def line(self, item: FormItem) -> str:
        """What the file says in an item besides its title, in a line."""
        keys = (
            "why",
            "target",
            "goal",
            "note",
            "octaves",
            "minutes",
            "part",
            "status",
            "date",
            "retired",
            "checks",
        )
        fields = [item.fields[key] for key in keys if key in item.fields]
        return " · ".join(self.said(one) for one in fields if one.given)

    def said(self, one: FormField) -> str:
        """What a field says, in a few words."""
        value: Any = one.value
        if isinstance(value, bool):
            return self.words("desk.week.yes" if value else "desk.week.no")
        named = dict(self.options(one)) if self.chosen_from(one) else {}
        if one.field.key == "variants":
            named = {name: self._variant(name) for name in value}
        text = ", ".join(
            str(named.get(each, each)) for each in (value if isinstance(value, list) else [value])
        )
        text = f"{text} {self.unit(one.path)}".strip()
        if one.field.key == "octaves" and self.words.has(f"warmup.octaves_{text}"):
            text = self.words(f"warmup.octaves_{text}")
        return text if len(text) <= 60 else f"{text[:57]}…"

    def title(self, item: FormItem) -> str:
        """What an item is called on the page, with its number."""
        table, number = str(item.path[0]), item.place + 1
        what = self._what(item)
        if table in ("box", "warmup", "technique"):
            plain = "desk.week.box_plain" if table == "box" and not what else f"desk.week.{table}_title"
            return self.words(plain, number=number, what=what)
        return what or str(item.value("id") or number)

    def _what(self, item: FormItem) -> str:
        table = str(item.path[0])
        if table == "piece":
            return str(item.value("title") or "")
        if drill := item.value("drill"):
            boxes = {one.value("id"): self.title(one) for one in self.form.items["box"]}
            return self.words("desk.week.drill_on", box=boxes.get(drill, drill))
        if item.value("key"):
            return self._scale(str(item.value("key")), item.value("pattern") or None)
        piece = self.form.titles("piece").get(str(item.value("piece") or ""), str(item.value("piece") or ""))
        bars = str(item.value("bars") or "")
        parts = [piece, str(item.value("place") or ""), bars_text(bars, self.words) if bars else ""]
        said = (
            ", ".join(part for part in parts if part)
            or str(item.value("text") or "").strip().partition("\n")[0]
        )
        return said if len(said) <= 70 else f"{said[:67]}…"

    def _variant(self, name: str) -> str:
        try:
            return variant_title(name, self.words)
        except InputError:
            return name  # its fault stands beside it

    def _scale(self, key: str, pattern: str | None) -> str:
        try:
            return short_name(key, pattern, self.words, whole=True)
        except InputError:
            return key  # its fault stands beside it
