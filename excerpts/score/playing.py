"""How a part is played where a cut begins: dynamic, pizzicato, mute, string, position, a finger that stays.

What was set before the cut is put at its first note, in brackets as an editor would, unless the cut says it
there itself. A hairpin or "cresc." since the last dynamic leaves the dynamic unknown, and nothing is claimed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.musicxml.format import is_cue
from excerpts.musicxml.playing_words import KINDS, LOUDNESS_CHANGES, Kind, Said, states_in
from excerpts.musicxml.timeline import Moment, walk
from excerpts.score.bars import Bars
from excerpts.score.lines_of_words import lines_of_words
from excerpts.score.slice import Slice, staff_of

_LASTING: Final = {
    **{name: name for name in ("n", "mp", "mf", *("p" * n for n in range(1, 7)), *("f" * n for n in range(1, 7)))},
    "fp": "p", "pf": "f", "sfp": "p", "sfpp": "pp", "sfzp": "p",
}  # fmt: skip
"""How loud it is after a dynamic mark; marks for a single note (sf, fz …) are not here and change nothing."""

_MOMENTARY: Final = frozenset({"sf", "fz", "rf", "rfz", "sfz", "sffz"})
_NEAR: Final = 8
"""Bars back that a string or a position is looked for; further off, the hand has surely moved."""

_EVENTS: Final = ("dynamics", "words", "wedge", "string-mute", "sound", "string", "dashes", "bracket")
_UNKNOWN: Final = "?"


@dataclass(frozen=True, slots=True)
class _Event:
    """Something in a bar that bears on the state, in order of time."""

    element: etree._Element
    holder: etree._Element
    onset: Fraction


@dataclass(slots=True)
class _StateBefore:
    """What holds before the cut, by staff; looking backwards, what is met first is in force."""

    dynamic: dict[str, tuple[str, int]] = field(default_factory=dict)
    words: dict[tuple[str, Kind], tuple[str, int, etree._Element | None]] = field(default_factory=dict)
    stopped: set[tuple[str, str]] = field(default_factory=set)


def restate_playing(cut: Slice) -> None:
    """Write the state of playing at the first note of each staff."""
    firsts = _first_notes(cut)
    if cut.first == 0 or not firsts:
        return
    state = _look_back(cut, len(firsts))
    for staff, (index, first) in firsts.items():
        own = _own_states(cut, staff, index, first)
        target = cut.copies[first.element]
        for kind in KINDS:
            text, bar, sound = state.words.get((staff, kind), ("", 0, None))
            if text and kind not in own:
                _insert(target, _in_brackets(text, staff, first.element, sound))
                cut.note_down("restated", kind, index, f"{text}, from bar {cut.label(bar)}")
        name, bar = state.dynamic.get(staff, (_UNKNOWN, 0))
        if name != _UNKNOWN and "dynamic" not in own:
            _insert(target, _dynamic(name, staff, first.element))
            cut.note_down("restated", "dynamic", index, f"{name}, from bar {cut.label(bar)}")


def _first_notes(cut: Slice) -> dict[str, tuple[int, Moment]]:
    """The first note of each staff that is not a cue; where several begin together, the first written."""
    firsts: dict[str, tuple[int, Moment]] = {}
    for index, moment in cut.moments():
        children = moment.children
        if moment.element.tag != "note" or "rest" in children or "chord" in children:
            continue
        if is_cue(moment.element):
            continue
        staff = moment.staff
        known = firsts.get(staff)
        if known is None or (index, moment.onset) < (known[0], known[1].onset):
            firsts[staff] = (index, moment)
    return firsts


def _look_back(cut: Slice, staves: int) -> _StateBefore:
    state = _StateBefore()
    for index, events in cut.bars.once(_EventsOfBars).before(cut.first):
        for event in reversed(events):
            _take(state, event, index, near=cut.first - index <= _NEAR)
        if len(state.dynamic) >= staves and all(
            (staff, k) in state.words for staff in state.dynamic for k in KINDS
        ):
            break
    return state


def ends_movement(measure: etree._Element) -> bool:
    """Whether a bar closes a movement: a final barline without a repeat."""
    for barline in measure.iterfind("barline"):
        if (barline.findtext("bar-style") or "").strip() == "light-heavy" and barline.find("repeat") is None:
            return barline.get("location", "right") == "right"
    return False


class _EventsOfBars:
    """What bears on the state in the bars of a part: looked for once for all its cuts."""

    def __init__(self, bars: Bars) -> None:
        self._measures = bars.measures
        self._elements: dict[int, list[tuple[etree._Element, etree._Element]]] = {}
        for index, holder, element in bars.every(*_EVENTS):
            self._elements.setdefault(index, []).append((element, holder))
        styled = dict.fromkeys(index for index, _, _ in bars.every("bar-style"))
        self._ends = [index for index in styled if ends_movement(bars.measures[index])]
        self._events: dict[int, list[_Event]] = {}

    def before(self, first: int) -> Iterator[tuple[int, list[_Event]]]:
        """The bars before one that have anything, from the last back to the start of the movement, in order of time."""
        start = max((end + 1 for end in self._ends if end < first), default=0)
        for index in reversed(self._elements):
            if start <= index < first:
                if index not in self._events:
                    self._events[index] = _events(self._measures[index], self._elements[index])
                yield index, self._events[index]


def _events(measure: etree._Element, elements: list[tuple[etree._Element, etree._Element]]) -> list[_Event]:
    """What bears on the state, in order of time; a hairpin's end stands before a dynamic, its start behind."""
    holders = dict.fromkeys(holder for _, holder in elements)
    onsets = {holder: Fraction(place) for place, holder in enumerate(holders)}
    if len(onsets) > 1 and _is_out_of_order(measure):
        # Only the order in time is wanted: what a quarter note is plays no part in it.
        onsets = {moment.element: moment.onset for moment in walk(measure, Fraction(1)).moments}
    events = [_Event(e, h, onsets.get(h, Fraction(0))) for e, h in elements]
    return sorted(events, key=lambda event: (event.onset, _order(event.element)))


def _is_out_of_order(measure: etree._Element) -> bool:
    """Whether the order in the file may not be the order in time, or hairpins and dynamics may meet."""
    return any(measure.find(path) is not None for path in ("backup", "direction/offset", ".//wedge"))


def _order(element: etree._Element) -> int:
    if element.tag == "wedge":
        return 0 if element.get("type") == "stop" else 2
    return 1


def _take(state: _StateBefore, event: _Event, index: int, *, near: bool) -> None:
    element, staff = event.element, staff_of(event.holder)
    match element.tag:
        case "dynamics":
            _take_dynamic(state, element, staff, index)
        case "wedge":
            state.dynamic.setdefault(staff, (_UNKNOWN, index))
        case "words":
            _take_words(state, event, index, near=near)
        case "string-mute":
            words = "con sord." if element.get("type") == "on" else ""
            state.words.setdefault((staff, "mute"), (words, index, None))
        case "sound":
            _take_sound(state, event, index)
        case "dashes" | "bracket":
            if element.get("type") == "stop":
                state.stopped.add((str(element.tag), element.get("number") or "1"))
        case "string":
            state.words.setdefault((staff, "string"), ("", index, None))


def _take_sound(state: _StateBefore, event: _Event, index: int) -> None:
    """How it is to be played back tells the state too, where no words beside it do."""
    pizzicato = event.element.get("pizzicato")
    if pizzicato is not None and not any(said.kind == "plucking" for said in _said_by(event.holder)):
        words = "pizz." if pizzicato == "yes" else ""
        state.words.setdefault((staff_of(event.holder), "plucking"), (words, index, event.element))


def _take_dynamic(state: _StateBefore, dynamics: etree._Element, staff: str, index: int) -> None:
    names = [str(child.tag) for child in dynamics]
    if not names or (len(names) == 1 and names[0] in _MOMENTARY):
        return
    state.dynamic.setdefault(
        staff, (_LASTING.get(names[-1], _UNKNOWN) if len(names) == 1 else _UNKNOWN, index)
    )


def _take_words(state: _StateBefore, event: _Event, index: int, *, near: bool) -> None:
    text, staff = "".join(event.element.itertext()), staff_of(event.holder)
    if LOUDNESS_CHANGES.search(text):
        state.dynamic.setdefault(staff, (_UNKNOWN, index))
    lines = [(str(line.tag), line.get("number") or "1") for line in lines_of_words(event.holder)]
    ended = any(line in state.stopped for line in lines)
    for said in states_in(text):
        far = said.kind in ("string", "position") and not near
        words = "" if ended or far else said.words
        sound = event.holder.find("sound[@pizzicato]") if said.kind == "plucking" else None
        state.words.setdefault((staff, said.kind), (words, index, sound))
    state.stopped.difference_update(lines)


def _said_by(holder: etree._Element) -> Iterator[Said]:
    for words in holder.iterfind("direction-type/words"):
        yield from states_in("".join(words.itertext()))


def _own_states(cut: Slice, staff: str, last: int, first: Moment) -> set[str]:
    """The kinds of state that the cut itself sets up to and at its first note."""
    own: set[str] = set()
    for index, moment in cut.moments():
        if index > last:
            break
        holder = moment.element
        if staff_of(holder) != staff or not _is_of(first, moment, later=index == last):
            continue
        if holder.find(".//dynamics") is not None:
            own.add("dynamic")
        if holder.find("direction-type/string-mute") is not None:
            own.add("mute")
        if holder.find("notations/technical/string") is not None:
            own.add("string")
        if holder.find("sound[@pizzicato]") is not None:
            own.add("plucking")
        for words in holder.iterfind("direction-type/words"):
            text = "".join(words.itertext())
            own.update(said.kind for said in states_in(text))
            if LOUDNESS_CHANGES.search(text):
                own.add("dynamic")
    return own


def _is_of(first: Moment, moment: Moment, *, later: bool) -> bool:
    """Whether something comes no later than the first note.

    A direction in front of it is at that note, though an <offset> moves it on a little; a dynamic that hangs on the
    next note and is drawn back by its <offset> is that of the first.
    """
    drawn_back = (
        moment.onset < min(moment.cursor, first.end) and moment.element.find("*/dynamics") is not None
    )
    return not later or min(moment.onset, moment.cursor) <= first.onset or drawn_back


def _in_brackets(text: str, staff: str, note: etree._Element, sound: etree._Element | None) -> etree._Element:
    direction = etree.Element("direction", placement="above")
    kind = etree.SubElement(direction, "direction-type")
    etree.SubElement(kind, "words", {"font-style": "italic"}).text = f"({text})"
    _place(direction, staff, note)
    if sound is not None:
        etree.SubElement(direction, "sound", pizzicato=str(sound.get("pizzicato")))
    return direction


def _dynamic(name: str, staff: str, note: etree._Element) -> etree._Element:
    """A dynamic between words of one bracket each: how MusicXML writes an editor's dynamic."""
    direction = etree.Element("direction", placement="below")
    etree.SubElement(etree.SubElement(direction, "direction-type"), "words").text = "("
    etree.SubElement(etree.SubElement(etree.SubElement(direction, "direction-type"), "dynamics"), name)
    etree.SubElement(etree.SubElement(direction, "direction-type"), "words").text = ")"
    _place(direction, staff, note)
    return direction


def _place(direction: etree._Element, staff: str, note: etree._Element) -> None:
    for tag, value in (("voice", note.findtext("voice")), ("staff", note.findtext("staff") and staff)):
        if value:
            etree.SubElement(direction, tag).text = value.strip()


def _insert(note: etree._Element, direction: etree._Element) -> None:
    parent = note.getparent()
    if parent is not None:
        parent.insert(parent.index(note), direction)
