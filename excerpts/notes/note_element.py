"""Writes one printed note, chord or rest as the text of `<note>` elements.

As text, because to parse a whole bar takes a fraction of the time that it takes to make its elements one by one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import Final

from excerpts.musicxml.elements import HIDDEN, Opaque, TimeModification
from excerpts.musicxml.format import NOTE_ORDER, NOTE_TYPES, dotted
from excerpts.musicxml.pitch import Pitch, Speller
from excerpts.notes.model import Head, Notation
from excerpts.notes.note_marks import CONTAINERS, LOOK
from excerpts.notes.spelling import VALUES, Note, Value
from excerpts.notes.write_signs import leaf, sign_text, tag, time_modification_text

NOTATIONS: Final = (
    "tied", "slur", "tuplet", "glissando", "slide", *CONTAINERS, "dynamics", "fermata", "arpeggiate",
    "non-arpeggiate", "accidental-mark", "other-notation",
)  # fmt: skip
"""Families of marks that are written inside `<notations>`."""

_REPLACED: Final = ("grace", "rest", "unpitched", "note")
"""Families of marks that stand for an element (or attributes) that the writer would make itself."""

_ONCE: Final = {"accidental", "stem", "notehead", "notehead-text", "footnote", "level", "play", "listen"}
"""Families of which the schema wants one at a note."""

_RANKS: Final = {name: rank for rank, name in enumerate(NOTE_ORDER)}

Ticks = Callable[[Fraction], int]

_Children = list[tuple[int, str]]
"""Children of a `<note>` as text, each with its place in the schema's order."""


def note_text(note: Note, ticks: Ticks, speller: Speller) -> str:
    """The `<note>` elements of one printed note: one, or one for each head of a chord."""
    if note.event.is_rest:
        return _element(note, None, 0, ticks, speller)
    sounding = [head for head in note.event.heads if _left(note, head) > 0 or note.event.grace]
    return "".join(_element(note, head, number, ticks, speller) for number, head in enumerate(sounding))


def _left(note: Note, head: Head | None) -> Fraction:
    """Quarter notes that a head goes on from here: to the end of its own length, where it has one."""
    if head is None or head.duration is None:
        return note.duration or Fraction(1)
    return head.duration - note.since


def _length(note: Note, head: Head | None) -> Fraction:
    """Length of a head in quarter notes: one that is longer than its chord goes over the end of the last segment."""
    if head is None or head.duration is None:
        return note.duration
    left = _left(note, head)
    return left if note.last else min(left, note.duration)


def _element(note: Note, head: Head | None, number: int, ticks: Ticks, speller: Speller) -> str:
    event = note.event
    marks = _marks_here(note, event.rest_marks if head is None else head.marks)
    children: _Children = []
    _add_grace(children, note, marks)
    if event.cue:
        _add(children, "cue", "<cue/>")
    if number:
        _add(children, "chord", "<chord/>")
    _add_pitch(children, note, head, marks)
    if not event.grace:
        _add(children, "duration", f"<duration>{ticks(_length(note, head))}</duration>")
    ties = _ties(note, head, marks)
    if not event.cue:
        for kind in ties:
            _add(children, "tie", f'<tie type="{kind}"/>')
    _add(children, "voice", leaf("voice", event.voice))
    _add_value(children, note, head, number == 0)
    for mark in marks:
        if mark.family in _RANKS and mark.family not in _REPLACED:
            _insert(children, mark.family, sign_text(mark.sign))
    if head is not None and head.pitch is not None:
        _add_accidental(children, head.pitch, "stop" in ties, speller)
    if marks or ties or note.tuplet_edges:
        _add_notations(children, note, marks, ties, number == 0)
    return f"{_start_tag(event.hidden, _of(marks, 'note'))}{''.join(text for _, text in children)}</note>"


def _start_tag(hidden: bool, own: list[Notation]) -> str:
    look = dict(HIDDEN) if hidden else {}
    for mark in own:
        look.update(mark.sign.look)
    return tag("note", look)


def _add(children: _Children, name: str, text: str) -> None:
    """Put a child behind all others."""
    children.append((_RANKS[name], text))


def _insert(children: _Children, name: str, text: str) -> None:
    """Put a child where the schema wants it, after others of its own name."""
    rank = _RANKS[name]
    place = next((place for place, (other, _) in enumerate(children) if other > rank), len(children))
    children.insert(place, (rank, text))


def _marks_here(note: Note, marks: Iterable[Notation]) -> list[Notation]:
    """The marks that stand on this segment; those of segments that are gone stand on the last one."""
    here = [
        m for m in marks if m.segment == note.segment or (note.last and not 0 <= m.segment < note.segment)
    ]
    if len({m.segment for m in here}) < 2:
        return here
    # Segments that were tied are one note now, which has each thing once.
    kept: dict[object, Notation] = {}
    for mark in here:
        kept.setdefault(mark.family if mark.family in _ONCE else (mark.family, mark.sign), mark)
    return list(kept.values())


def _of(marks: list[Notation], *families: str) -> list[Notation]:
    return [mark for mark in marks if mark.family in families] if marks else []


def _add_grace(children: _Children, note: Note, marks: list[Notation]) -> None:
    if not note.event.grace:
        return
    own = _of(marks, "grace")
    look = dict(own[0].sign.look) if own else {}
    if note.event.grace.startswith("/"):
        look["slash"] = "yes"
    _add(children, "grace", leaf("grace", "", look))


def _add_pitch(children: _Children, note: Note, head: Head | None, marks: list[Notation]) -> None:
    if head is not None and head.pitch is not None:
        _add(children, "pitch", _pitch(head.pitch))
        return
    replaced = _of(marks, "rest", "unpitched")
    name = replaced[0].family if replaced else "rest" if head is None else "unpitched"
    text = sign_text(replaced[0].sign) if replaced else f"<{name}/>"
    if note.whole_bar and name == "rest":
        start, end = text.split(">", 1)
        text = f'{start.removesuffix("/")} measure="yes"{"/" * start.endswith("/")}>{end}'
    _add(children, name, text)


def _pitch(pitch: Pitch) -> str:
    alter = ""
    if pitch.alter:
        whole = pitch.alter.denominator == 1
        alter = f"<alter>{pitch.alter if whole else float(pitch.alter)}</alter>"
    return f"<pitch>{leaf('step', pitch.step)}{alter}<octave>{pitch.octave}</octave></pitch>"


def _ties(note: Note, head: Head | None, marks: list[Notation]) -> list[str]:
    """Edges of ties on this note, stop before start: its own segments' and those it could not merge."""
    if head is None:
        return []
    edges = {mark.edge for mark in _of(marks, "tied") if mark.edge in {"start", "stop"}}
    if note.segment and not note.event.grace:
        edges.add("stop")
    if not note.last and (head.duration is None or head.duration > note.since + note.duration):
        edges.add("start")
    return sorted(edges, reverse=True)


def _add_value(children: _Children, note: Note, head: Head | None, first: bool) -> None:
    value, modification = _value(note, head)
    if value is not None:
        _add(children, "type", leaf("type", value.type))
        for _ in range(value.dots):
            _add(children, "dot", "<dot/>")
    if modification:
        _add(children, "time-modification", time_modification_text(modification))
    if first:
        for beam in note.beams:
            _add(children, "beam", sign_text(beam))


def _value(note: Note, head: Head | None) -> tuple[Value | None, TimeModification | Opaque | None]:
    """Type and dots of a head, and its tuplet: those of its chord, but for a head of a length of its own."""
    if head is None or head.duration is None or note.event.grace:
        return note.value, note.modification
    if head.printed is not None:
        kind = head.printed
        return (Value(kind.type, kind.dots) if kind.type else None), kind.modification
    length = _length(note, head)
    if note.value is not None and note.modification:
        written = dotted(NOTE_TYPES[note.value.type], note.value.dots)
        inside = VALUES.get(length * written / note.duration)
        if inside is not None:
            return inside, note.modification
    return VALUES.get(length), None


def _add_accidental(children: _Children, pitch: Pitch, tied: bool, speller: Speller) -> None:
    shown = any(rank == _RANKS["accidental"] for rank, _ in children)
    needed = "" if shown or tied else speller.needed(pitch)
    if needed:
        _insert(children, "accidental", f"<accidental>{needed}</accidental>")
    speller.note(pitch, tied=tied and not shown)


def _add_notations(
    children: _Children, note: Note, marks: list[Notation], ties: list[str], first: bool
) -> None:
    written = _tied(marks, ties)
    if first:
        for edge in sorted(note.tuplet_edges):
            bracket = f' bracket="{"yes" if note.bracket else "no"}"' if edge == "start" else ""
            written.append(f'<tuplet type="{edge}"{bracket}/>')
    anew = not (note.kept or note.event.grace)
    containers: dict[str, int] = {}
    inside: dict[str, str] = {}
    for mark in marks:
        family = mark.family
        if family == "tied" or family not in NOTATIONS or (family == "tuplet" and anew):
            continue
        if family not in CONTAINERS:
            written.append(sign_text(mark.sign))
        elif family in containers:
            inside[family] += sign_text(mark.sign)
        else:
            containers[family], inside[family] = len(written), sign_text(mark.sign)
            written.append("")
    for family, place in containers.items():
        written[place] = f"<{family}>{inside[family]}</{family}>"
    if written:
        _insert(children, "notations", f"<notations>{''.join(written)}</notations>")


def _tied(marks: list[Notation], ties: list[str]) -> list[str]:
    """The ends of ties, with the source's own look where it has one, and ties left to ring."""
    looks = {mark.edge: sign_text(mark.sign) for mark in _of(marks, LOOK)}
    written = [looks.get(edge, f'<tied type="{edge}"/>') for edge in ties]
    return written + [
        sign_text(mark.sign) for mark in _of(marks, "tied") if mark.edge not in {"start", "stop"}
    ]
