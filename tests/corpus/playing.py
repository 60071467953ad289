"""How a passage is to be played where it begins, from the independent reading: dynamic, words, held fingers.

A dynamic lasts until the next; one for a single note (sf, fz) changes nothing; after a hairpin or "cresc." nobody
knows. A final barline ends all that was set (common practice, no source).
"""

from __future__ import annotations

import re
from collections import Counter
from fractions import Fraction
from typing import TYPE_CHECKING

from excerpts.excerpt import Excerpt
from tests.corpus.force import closes_movement
from tests.corpus.reading import Bar, Canon, Item, Note, Place

if TYPE_CHECKING:
    from tests.corpus.compare import SourcePart

_SINGLE = {"sf", "fz", "rf", "rfz", "sfz", "sffz"}
_AFTER = {"fp": "p", "pf": "f", "sfp": "p", "sfpp": "pp", "sfzp": "p"}
_LASTS = re.compile(r"n|p{1,6}|f{1,6}|m[pf]")
_LOUDNESS = re.compile(r"\b(cresc|decresc|dim|calando|smorz|morendo|perdendo|rinf|più|meno)", re.IGNORECASE)


def firsts(bars: list[Bar]) -> dict[str, Note]:
    """The first note of each staff that the player plays."""
    found: dict[str, Note] = {}
    for bar in bars:
        for note in bar.notes:
            if note.rest or note.chord or note.cue:
                continue
            known = found.get(note.staff)
            if known is None or (note.place.bar, note.place.onset) < (known.place.bar, known.place.onset):
                found[note.staff] = note
    return found


def added_dynamics(source: SourcePart, first: int, last: int) -> Counter[Item]:
    """The dynamics in brackets that a cut must begin with."""
    bars = source.reading.bars
    found: Counter[Item] = Counter()
    if first == 0:
        return found
    for staff, note in firsts(bars[first : last + 1]).items():
        until = (note.place.bar, note.place.onset)
        own = any(
            (index, onset) <= until and what != "wedge"
            for index in range(first, note.place.bar + 1)
            for onset, _, what in _loudness(bars[index], staff, written=True)
        )
        name = _before(bars, first, staff)
        if name and not own:
            place = Place(note.place.bar - first, note.place.onset, note.place.order)
            found[_bracketed(place, name, note)] += 1
    return found


def _before(bars: list[Bar], first: int, staff: str) -> str:
    """The dynamic in force on a staff before a bar; "" where none is, or none can be known."""
    for bar in reversed(bars[:first]):
        if closes_movement(bar):
            return ""
        for _, _, what in reversed(sorted(_loudness(bar, staff), key=lambda event: event[:2])):
            if what not in _SINGLE:
                name = _AFTER.get(what, what)
                return name if _LASTS.fullmatch(name) else ""
    return ""


def _loudness(bar: Bar, staff: str, *, written: bool = False) -> list[tuple[Fraction, tuple[int, int], str]]:
    """What changes how loud it is: onset, order among equals, and the dynamic, "words" or "wedge".

    With `written`, what is written in front of a note counts from there, wherever an `<offset>` moves it.
    """
    found: list[tuple[Fraction, tuple[int, int], str]] = []
    for end in bar.ends:
        if end.kind == "wedge" and end.staff == staff:
            rank = 0 if end.role == "stop" else 2
            found.append((end.place.onset, (rank, end.place.order), "wedge"))
    for item in bar.items:
        onset = min(item.place.onset, item.cursor) if written else item.place.onset
        for child in (c for kind in item.content for c in kind[3]):
            if item.staff != staff or item.kind != "direction":
                continue
            if child[0] == "dynamics":
                found.append((onset, (1, item.place.order), _name(child)))
            elif child[0] == "words" and _LOUDNESS.search(child[2]):
                found.append((onset, (1, item.place.order), "words"))
    for note in bar.notes:
        if note.staff == staff:
            found.extend(
                (note.place.onset, (1, note.place.order), _name(mark))
                for mark in note.content
                if mark[0] == "dynamics"
            )
    return found


def _name(dynamics: Canon) -> str:
    names = [child[0] for child in dynamics[3]]
    return names[0] if len(names) == 1 else "mixed"


def _bracketed(place: Place, name: str, note: Note) -> Item:
    def kind(inside: Canon) -> Canon:
        return "direction-type", (), "", (inside,)

    head: Canon = ("direction", (("placement", "below"),), "", ())
    if note.voice:
        head = ("direction", (("placement", "below"),), "", (("voice", (), note.voice, ()),))
    content = (
        kind(("words", (), "(", ())),
        kind(("dynamics", (), "", ((name, (), "", ()),))),
        kind(("words", (), ")", ())),
        head,
    )
    return Item(place, "direction", note.staff, content)


def is_state_in_words(source: SourcePart, excerpt: Excerpt, item: Item, first: int) -> bool:
    """Whether an added direction is a state of playing in brackets that the source set before the cut."""
    kinds = [c for c in item.content if c[0] == "direction-type"]
    if item.kind == "sound":
        return first > 0 and [k for k, _ in item.content[0][1]] == ["pizzicato"]
    if item.kind != "direction" or len(kinds) != 1 or kinds[0][3][0][0] != "words":
        return False
    text = kinds[0][3][0][2]
    if not re.fullmatch(r"\(.+\)", text) or not any(text[1:-1] in line.detail for line in excerpt.report):
        return False
    before = [i for bar in source.reading.bars[:first] for i in bar.items if i.staff in (item.staff, "")]
    said = " ".join(str(i.content) for i in before)
    return text[1:-1] in said or (text == "(pizz.)" and "pizzicato" in said)


def is_held(source: SourcePart, excerpt: Excerpt, note: Note, mark: Canon, first: int) -> bool:
    """Whether a finger or string that was added stands on a note of the same height just before the cut."""
    if mark[0] != "technical" or first == 0 or note.place.bar != first or note.place.onset:
        return False
    name = {"fingering": "finger"}.get(mark[3][0][0], mark[3][0][0])
    if not any(line.action == "restated" and line.what == name for line in excerpt.report):
        return False
    return any(
        other.height == note.height and any(m[0] == "technical" and m[3] == mark[3] for m in other.content)
        for other in source.reading.bars[first - 1].notes
    )
