"""What is in force at a point of a part, worked out from the independent reading."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

from lxml import etree

from tests.corpus.reading import Bar, Canon, Place, Reading, Tempo, canon, number

Force = dict[tuple[str, str], object]
"""By name and staff ("1", "2" …): what is in force there."""


class _Running:
    """Values by name, then by staff number (None = all staves)."""

    def __init__(self) -> None:
        self.values: dict[str, dict[str | None, object]] = {}
        self.staves = 1

    def take(self, attributes: etree._Element) -> None:
        for child in attributes:
            staff, name = child.get("number"), str(child.tag)
            table = self.values.setdefault(name, {})
            if name in ("key", "time", "transpose"):
                if staff is None:
                    table.clear()
                table[staff] = _bare(child)
            elif name == "clef" and child.get("additional") != "yes":
                table[staff or "1"] = _bare(child)
            elif name == "staves":
                self.staves = int(number(child.text) or 1)
            elif name == "staff-details":
                merged = dict(table.get(staff or "1") or {})  # type: ignore[call-overload]
                merged.update(_details(child))
                table[staff or "1"] = merged
            elif name == "measure-style":
                for style in child.findall("slash"):
                    self.values.setdefault("slash", {})[staff] = style.get("type") == "start"
            elif name in ("part-symbol", "instruments"):
                table[staff] = _bare(child)

    def now(self) -> Force:
        force: Force = {("staves", ""): self.staves}
        for name, table in self.values.items():
            for staff in map(str, range(1, self.staves + 1)):
                value = table.get(staff, table.get(None))
                if value:
                    force[name, staff] = value
        return force


def _bare(element: etree._Element) -> Canon:
    name, attributes, text, children = canon(element, ("id", "number", "after-barline"))
    return name, attributes, text, tuple(child for child in children if child[0] != "cancel")


def _details(element: etree._Element) -> dict[object, object]:
    found: dict[object, object] = {("@", k): v for k, v in element.attrib.items() if k != "number"}
    for child in element:
        key = str(child.tag)
        if key in ("line-detail", "staff-tuning"):
            key += child.get("line") or ""
        found[key] = canon(child)
    return found


def ordered(bar: Bar) -> list[tuple[Place, etree._Element]]:
    """The changes of a bar by time; in document order where times are equal."""
    return sorted(bar.changes, key=lambda change: change[0].onset)


def in_force(reading: Reading) -> list[Force]:
    """For each bar what is in force at its start, what it says at onset 0 itself included."""
    running = _Running()
    found: list[Force] = []
    for bar in reading.bars:
        later = []
        for place, element in ordered(bar):
            if place.onset == 0:
                running.take(element)
            else:
                later.append(element)
        found.append(running.now())
        for element in later:
            running.take(element)
    found.append(running.now())
    return found


def changes(bar: Bar, first: int) -> Counter[tuple[int, Fraction, int, Canon]]:
    """What a bar changes, as it is written, with its place; bars counted from `first`."""
    return Counter(
        (place.bar - first, place.onset, place.order, canon(child, ("id",)))
        for place, element in bar.changes
        for child in element
        if child.tag != "divisions"
    )


def key_alter(force: Force, staff: str, step: str) -> Fraction:
    """Semitones by which the key in force alters a letter."""
    key = force.get(("key", staff))
    if not isinstance(key, tuple):
        return Fraction(0)
    children: tuple[Canon, ...] = key[3]
    letters = "FCGDAEB"
    pending = ""
    for name, _, text, _ in children:
        if name == "fifths":
            count = int(text)
            if count > 0:
                return Fraction(int(step in letters[:count]))
            return Fraction(-int(step in letters[count:])) if count else Fraction(0)
        if name == "key-step":
            pending = text
        if name == "key-alter" and pending == step:
            return Fraction(text)
    return Fraction(0)


def tempo_line(
    parts: list[Reading], part: int, first: int, last: int
) -> list[tuple[int, Fraction, Fraction | None]]:
    """The tempo at the start of bar `first`, then each change up to bar `last`: bar, onset, quarters a minute.

    All parts count; where several have a mark at one time, the part itself, else the first that has one. None
    where the tempo is named but nothing tells its number.
    """
    line: list[tuple[int, Fraction, Fraction | None]] = []
    now: Fraction | None = None
    opening: Fraction | None = None
    ended: list[int] = [i for i, bar in enumerate(parts[part].bars) if closes_movement(bar)]
    since = -1
    for (bar, onset), marks in _by_time(parts, part, last):
        movement = sum(end < bar for end in ended)
        fresh = movement != since
        now = _next_tempo(marks, now, opening, fresh=fresh)
        if fresh:
            opening, since = now, movement
        at = max((bar, onset), (first, Fraction(0)))
        if line and line[-1][:2] == (at[0] - first, at[1]):
            line.pop()
        if now != (line[-1][2] if line else None):
            line.append((at[0] - first, at[1], now))
    return line


def tempo_marks(parts: list[Reading], part: int, first: int, last: int) -> set[tuple[int, Fraction, object]]:
    """How each tempo with a number is written: bar, onset, what is printed and whether it is played back."""
    found: dict[tuple[int, Fraction], object] = {}
    for (bar, onset), marks in _by_time(parts, part, last):
        at = max((bar, onset), (first, Fraction(0)))
        told = next((mark for mark in marks if mark.quarters is not None), None)
        found.pop((at[0] - first, at[1]), None)
        if told is not None:
            found[at[0] - first, at[1]] = (told.printed, told.played)
    return {(bar, onset, what) for (bar, onset), what in found.items()}


def _by_time(parts: list[Reading], part: int, last: int) -> list[tuple[tuple[int, Fraction], list[Tempo]]]:
    at: dict[tuple[int, Fraction], list[Tempo]] = {}
    order = [part, *(index for index in range(len(parts)) if index != part)]
    for index in order:
        for bar in parts[index].bars[: last + 1]:
            for tempo in bar.tempos:
                at.setdefault((tempo.place.bar, tempo.place.onset), []).append(tempo)
    return sorted(at.items())


def _next_tempo(
    marks: list[Tempo], now: Fraction | None, opening: Fraction | None, *, fresh: bool
) -> Fraction | None:
    numbers = [mark.quarters for mark in marks if mark.quarters is not None]
    if numbers:
        return numbers[0]
    for mark in marks:
        if mark.ratio is not None and now is not None:
            return now / mark.ratio[0] * mark.ratio[1]
        if mark.first:
            return None if fresh else opening
    return None


def closes_movement(bar: Bar) -> bool:
    """Whether a movement ends with a bar: a final barline, and no repeat."""
    for name, attributes, _, children in bar.barlines:
        inside = {child[0]: child[2] for child in children}
        right = dict(attributes).get("location", "right") == "right"
        if (
            name == "barline"
            and right
            and inside.get("bar-style") == "light-heavy"
            and "repeat" not in inside
        ):
            return True
    return False
