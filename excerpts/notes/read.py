"""Reads an excerpt as lines of events: one line for each voice on each staff."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from fractions import Fraction
from itertools import takewhile
from typing import Final

from lxml import etree

from excerpts.errors import InputError
from excerpts.excerpt import Excerpt
from excerpts.musicxml.elements import Tied
from excerpts.musicxml.format import is_cue
from excerpts.notes.model import Event, Head, Notation, TimedElement, Voice
from excerpts.notes.note_marks import marks_of, pitch_of, printed_of
from excerpts.notes.raw import RawHead, RawNote, RawPart, RawPlaced, staff_of, unreadable, walk_part
from excerpts.notes.read_signs import opaque, read_measure_tag, read_placed, read_score_part
from excerpts.notes.spell_events import groups_shown

_NUMBERED: Final = {"clef": "1", "staff-details": "1", "key": None, "time": None, "transpose": None}
"""Children of `<attributes>` that may belong to one staff, and the staff meant where none is named."""


Graces = dict[tuple[int, Fraction], list[int]]
"""Places in the document of the grace notes at each bar and onset."""


class VoiceError(InputError):
    """More than one voice stands where one is wanted, or a voice is not there."""


def read_lines(excerpt: Excerpt) -> tuple[Voice, ...]:
    """Read every voice of an excerpt, staff by staff, each in the order of its first note."""
    root = excerpt.tree(blanks=False)
    part = walk_part(excerpt, root)
    keys = list(dict.fromkeys((note.staff, note.voice) for note in part.notes))
    keys.sort(key=lambda key: key[0])
    staves = max((staff for staff, _ in keys), default=1)
    for element in root.iter("staves"):
        staves = max(staves, int(element.text or "1"))
    base = _base(excerpt, root)
    return tuple(_line(excerpt, part, key, keys, staves, base) for key in keys or [(1, "1")])


def read_line(excerpt: Excerpt, voice: str | None = None, staff: int | None = None) -> Voice:
    """Read the one voice of an excerpt.

    Args:
        excerpt: Music of one part.
        voice: Which voice, where there are several; voices of rests and cues alone need not be told apart.
        staff: Which staff, likewise.

    Raises:
        VoiceError: Several voices sound, or the one asked for is not there.
    """
    lines = read_lines(excerpt)
    asked = [line for line in lines if _is(line, voice, staff)]
    if not asked:
        raise VoiceError(f"there is no {_asked(voice, staff)} in this passage.", hint=_choices(lines))
    sounding = [line for line in asked if any(not (event.is_rest or event.cue) for event in line.events)]
    if len(sounding) > 1:
        raise VoiceError(f"{len(sounding)} voices sound in this passage.", hint=_choices(sounding))
    return sounding[0] if sounding else asked[0]


def read_field(excerpt: Excerpt, name: str) -> str:
    """The text of a field of the file (`<miscellaneous-field>`); "" where it has none of that name."""
    fields = excerpt.tree().iterfind("identification/miscellaneous/miscellaneous-field")
    return next((element.text or "" for element in fields if element.get("name") == name), "")


def _is(line: Voice, voice: str | None, staff: int | None) -> bool:
    if not line.events:
        return voice is None and staff is None
    event = line.events[0]
    return voice in {None, event.voice} and staff in {None, event.staff}


def _asked(voice: str | None, staff: int | None) -> str:
    names = [f"voice {voice}"] if voice is not None else []
    names += [f"staff {staff}"] if staff is not None else []
    return " on ".join(names) or "music"


def _choices(lines: tuple[Voice, ...] | list[Voice]) -> str:
    staves = {line.events[0].staff for line in lines if line.events}
    names = []
    for event in (line.events[0] for line in lines if line.events):
        names.append(f"--voice {event.voice}" + (f" --staff {event.staff}" if len(staves) > 1 else ""))
    return f"Choose one of: {', '.join(names)}." if names else ""


def _base(excerpt: Excerpt, root: etree._Element) -> Voice:
    """A line without events: what belongs to the whole part."""
    score_part = root.find("part-list/score-part")
    line = Voice(
        events=(),
        bars=excerpt.bars,
        measures=tuple(map(read_measure_tag, root.iterfind("part[1]/measure"))),
        head=tuple(map(opaque, takewhile(lambda child: child.tag != "part-list", root))),
        boxes=excerpt.boxes,
        open_ends=excerpt.open_ends,
        tempo=excerpt.tempo,
        origin=excerpt.origin,
        report=excerpt.report,
    )
    if score_part is None:
        return line
    return replace(line, part=read_score_part(score_part))


def _line(
    excerpt: Excerpt,
    part: RawPart,
    key: tuple[int, str],
    keys: list[tuple[int, str]],
    staves: int,
    base: Voice,
) -> Voice:
    notes = sorted(
        (note for note in part.notes if (note.staff, note.voice) == key),
        key=lambda note: (note.bar, note.onset, note.order),
    )
    graces: Graces = {}
    for note in notes:
        if note.is_grace:
            graces.setdefault((note.bar, note.onset), []).append(note.order)
    others = {voice for staff, voice in keys if staff == key[0]} - {key[1]}
    placed = [
        element
        for raw in part.placed
        if (element := _placed(raw, key[0], others, staves, graces)) is not None
    ]
    placed.sort(key=lambda item: (item.bar, item.onset, item.graces))
    line = replace(base, events=_merge_ties(excerpt, notes), placed=tuple(placed))
    return replace(line, groups=groups_shown(line))


def _placed(raw: RawPlaced, staff: int, others: set[str], staves: int, graces: Graces) -> TimedElement | None:
    """Something that is not a note as this staff and voice see it; None when it is another's."""
    element = raw.element
    if element.tag == "attributes":
        element = deepcopy(element)
        _keep_attributes(element, staff, staves)
        if not len(element):
            return None
    elif element.tag in {"direction", "harmony", "figured-bass"}:
        if staff_of(element) != staff or _is_loudness_of(element, others):
            return None
        if staves > 1:
            element = deepcopy(element)
            for number in element.findall("staff"):
                element.remove(number)
    before = graces.get((raw.bar, raw.onset), ()) if graces else ()
    count = sum(order < raw.order for order in before)
    return TimedElement(raw.bar, raw.onset, read_placed(element), count)


def _is_loudness_of(direction: etree._Element, voices: set[str]) -> bool:
    """Whether a direction is a dynamic or hairpin of one of these other voices."""
    if (direction.findtext("voice") or "").strip() not in voices:
        return False
    return all(
        kind[0].tag in {"dynamics", "wedge"} for kind in direction.findall("direction-type") if len(kind)
    )


def _keep_attributes(element: etree._Element, staff: int, staves: int) -> None:
    """Leave what the writer needs: no divisions, and of several staves only this one's."""
    for child in list(element):
        number = child.get("number", _NUMBERED.get(str(child.tag)))
        elsewhere = child.tag in _NUMBERED and number not in {None, str(staff)}
        if child.tag == "divisions" or (staves > 1 and (elsewhere or child.tag in {"staves", "part-symbol"})):
            element.remove(child)
        elif staves > 1 and child.tag in _NUMBERED:
            child.attrib.pop("number", None)


def _merge_ties(excerpt: Excerpt, notes: list[RawNote]) -> tuple[Event, ...]:
    """Turn notes into events; notes whose heads are all tied become one event."""
    bar = 0
    try:
        groups: list[list[RawNote]] = []
        for note in notes:
            bar = note.bar
            if groups and _goes_on(excerpt, groups[-1][-1], note):
                groups[-1].append(note)
            else:
                groups.append([note])
        events: list[Event] = []
        for group in groups:
            bar = group[0].bar
            events.append(_event(excerpt, group))
    except (ValueError, ZeroDivisionError) as error:
        raise unreadable(excerpt, bar, error) from error
    return tuple(events)


def _start(excerpt: Excerpt, note: RawNote) -> Fraction:
    return excerpt.bars[note.bar].start + note.onset


def _goes_on(excerpt: Excerpt, note: RawNote, after: RawNote) -> bool:
    """Whether every head of a note is tied to the same pitch in the one after it."""
    if note.is_rest or after.is_rest or note.is_grace or after.is_grace:
        return False
    tied = all("start" in head.ties for head in note.heads) and all(
        "stop" in head.ties for head in after.heads
    )
    if not tied or _start(excerpt, note) + note.duration != _start(excerpt, after):
        return False
    if any(head.length != one.duration for one in (note, after) for head in one.heads):
        return False
    starts = [pitch_of(head) for head in note.heads]
    stops = [pitch_of(head) for head in after.heads]
    return None not in starts and sorted(map(str, starts)) == sorted(map(str, stops))


def _event(excerpt: Excerpt, group: list[RawNote]) -> Event:
    first = group[0]
    main = first.heads[0]
    hidden = all(head.element.get("print-object") == "no" for note in group for head in note.heads)
    printed = [printed_of(note.heads[0]) for note in group]
    length = excerpt.bars[first.bar].length
    grace, full = "", False
    rest_marks: list[Notation] = []
    if first.is_rest:
        covers = first.onset == 0 and first.duration == length
        full = covers and (printed[0] is None or main.children["rest"].get("measure") == "yes")
        if full:
            # The event says that a rest fills its bar; its mark need not.
            main.children["rest"].attrib.pop("measure", None)
        rest_marks = marks_of(main, hidden)
    elif first.is_grace:
        slash = "/" if main.children["grace"].get("slash") == "yes" else ""
        grace = slash + (printed[0].type if printed[0] is not None else "eighth")
    return Event(
        onset=_start(excerpt, first),
        duration=first.duration if len(group) == 1 else sum((note.duration for note in group), Fraction(0)),
        heads=()
        if first.is_rest
        else tuple(_head(group, number, hidden) for number in range(len(first.heads))),
        voice=first.voice,
        staff=first.staff,
        segments=() if grace else tuple(note.duration for note in group),
        printed=() if full or None in printed else tuple(how for how in printed if how is not None),
        grace=grace,
        closing=bool(grace) and first.onset == length > 0,
        rest_marks=tuple(rest_marks),
        hidden=hidden,
        cue=is_cue(main.element),
        full_bar=full,
    )


def _head(group: list[RawNote], number: int, hidden: bool) -> Head:
    """One head of an event, with the marks of all its tied segments."""
    own = group[0].heads[number]
    pitch = pitch_of(own)
    marks: list[Notation] = []
    for segment, note in enumerate(group):
        head = next(other for other in note.heads if pitch_of(other) == pitch) if segment else own
        last = segment == len(group) - 1
        place = -1 if last and segment else segment
        marks.extend(marks_of(head, hidden, place))
        if head.ties:
            marks.extend(_loose_ties(head, bool(segment), not last, place))
    if own.length == group[0].duration:
        return Head(pitch, tuple(marks))
    return Head(pitch, tuple(marks), own.length, printed_of(own))


def _loose_ties(head: RawHead, tied_in: bool, tied_out: bool, segment: int) -> list[Notation]:
    """Ties of a head that were not merged into its event."""
    edges = head.ties - ({"stop"} if tied_in else set()) - ({"start"} if tied_out else set())
    return [Notation(Tied(edge), segment) for edge in sorted(edges, reverse=True)]
