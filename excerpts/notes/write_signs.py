"""Writes the values of `musicxml.elements` as the text of MusicXML elements.

As text, because to parse a whole document takes a fraction of the time that it takes to make its elements one by one.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from functools import lru_cache, singledispatch
from html import escape
from typing import Final

from excerpts.musicxml.elements import (
    HIDDEN,
    Barline,
    BeatUnit,
    Clef,
    Direction,
    Dynamics,
    Key,
    Look,
    MeasureTag,
    Metronome,
    Offset,
    Opaque,
    ScorePart,
    Sign,
    Signatures,
    Sound,
    Time,
    TimeModification,
    Transpose,
    TupletBracket,
)
from excerpts.musicxml.format import SOFTWARE

_LENGTH: Final = re.compile(r"(<(?:offset|duration)(?: [^>]*)?>)([^<]*)(?=</)")
"""A length in the text of an `Opaque`."""

Ticks = Callable[[Fraction], int]
"""From quarter notes to divisions."""


def leaf(name: str, text: str, look: Look | Mapping[str, str] = ()) -> str:
    """An element of text and attributes alone."""
    return node(name, escape(text, quote=False), look)


def node(name: str, inside: str, look: Look | Mapping[str, str] = ()) -> str:
    """An element around the text of others."""
    start = tag(name, look)
    return f"{start}{inside}</{name}>" if inside else f"{start[:-1]}/>"


def tag(name: str, look: Look | Mapping[str, str] = ()) -> str:
    """A start tag."""
    pairs = look.items() if isinstance(look, Mapping) else look
    texts = (f' {key}="{escape(value)}"' for key, value in pairs)
    return f"<{name}{''.join(texts)}>"


def _with(look: Look, **own: str) -> dict[str, str]:
    """Attributes in the order of the source, and those that have a field as the field says."""
    merged = {**dict(look), **own}
    return {name: value for name, value in merged.items() if value or name not in own}


def lengths_in(sign: Sign) -> Iterator[Fraction]:
    """All lengths in quarter notes in something that stands in a bar."""
    match sign:
        case Offset():
            yield sign.length
        case Opaque():
            for match in _LENGTH.finditer(sign.xml):
                yield Fraction(match[2] or "0")
        case Direction():
            for inner in (*sign.rest, *sign.signs):
                yield from lengths_in(inner)
        case Signatures() | Sound() | Barline():
            for inner in sign.content:
                yield from lengths_in(inner)


def placed_text(sign: Sign, ticks: Ticks) -> str:
    """Something that stands in a bar, with its lengths in divisions."""
    text = sign_text(sign)
    if not any(lengths_in(sign)):
        return text
    return _LENGTH.sub(lambda match: f"{match[1]}{ticks(Fraction(match[2] or '0'))}", text)


@lru_cache(maxsize=4096)
def sign_text(sign: Sign) -> str:
    """An element as text; lengths in it stay quarter notes. Cached: a piece has few different ones."""
    return _text(sign)


@singledispatch
def _text(sign: Sign) -> str:
    own = {"type": getattr(sign, "type", sign.edge), "number": sign.number}
    look = {**dict(sign.look), **{name: value for name, value in own.items() if value}}
    return leaf(sign.name, sign.text, look)


@_text.register
def _opaque(sign: Opaque) -> str:
    return sign.xml


@_text.register
def _tuplet(sign: TupletBracket) -> str:
    look = _with(sign.look, type=sign.edge, number=sign.number)
    return node("tuplet", "".join(map(sign_text, sign.content)), look)


@_text.register
def _dynamics(sign: Dynamics) -> str:
    inside = (f"<{one}/>" if isinstance(one, str) else one.xml for one in sign.signs)
    return node("dynamics", "".join(inside), sign.look)


@_text.register
def _key(sign: Key) -> str:
    mode = leaf("mode", sign.mode) if sign.mode else ""
    return node("key", f"<fifths>{sign.fifths}</fifths>{mode}", sign.look)


@_text.register
def _time(sign: Time) -> str:
    pairs = "".join(leaf("beats", beats) + leaf("beat-type", unit) for beats, unit in sign.pairs)
    return node("time", pairs + "".join(map(sign_text, sign.content)), sign.look)


@_text.register
def _clef(sign: Clef) -> str:
    line = f"<line>{sign.line}</line>" if sign.line else ""
    octaves = f"<clef-octave-change>{sign.octave_change}</clef-octave-change>" if sign.octave_change else ""
    return node("clef", leaf("sign", sign.sign) + line + octaves, sign.look)


@_text.register
def _transpose(sign: Transpose) -> str:
    diatonic = "" if sign.diatonic is None else f"<diatonic>{sign.diatonic}</diatonic>"
    octaves = f"<octave-change>{sign.octave_change}</octave-change>" if sign.octave_change else ""
    inside = f"{diatonic}<chromatic>{sign.chromatic}</chromatic>{octaves}"
    return node("transpose", inside + "".join(map(sign_text, sign.content)), sign.look)


@_text.register
def _signatures(sign: Signatures) -> str:
    return node("attributes", "".join(map(sign_text, sign.content)))


@_text.register
def _direction(sign: Direction) -> str:
    types = (node("direction-type", "".join(map(sign_text, kind.signs)), kind.look) for kind in sign.types)
    return node("direction", "".join(types) + "".join(map(sign_text, sign.rest)), sign.look)


@_text.register
def _metronome(sign: Metronome) -> str:
    if sign.equals is not None:
        other = _beat(sign.equals)
    else:
        other = leaf("per-minute", sign.per_minute, sign.number_look)
    return node("metronome", _beat(sign.unit) + other, sign.look)


def _beat(unit: BeatUnit) -> str:
    return leaf("beat-unit", unit.type) + "<beat-unit-dot/>" * unit.dots


@_text.register
def _sound(sign: Sound) -> str:
    return node("sound", "".join(map(sign_text, sign.content)), _with(sign.look, tempo=sign.tempo))


@_text.register
def _offset(sign: Offset) -> str:
    return leaf("offset", str(sign.length), sign.look)


@_text.register
def _barline(sign: Barline) -> str:
    style = leaf("bar-style", sign.style) if sign.style else ""
    return node("barline", style + "".join(map(sign_text, sign.content)), sign.look)


@lru_cache(maxsize=256)
def time_modification_text(modification: TimeModification | Opaque) -> str:
    """How a note of a tuplet is counted."""
    if isinstance(modification, Opaque):
        return modification.xml
    kind = leaf("normal-type", modification.normal_type) if modification.normal_type else ""
    return (
        f"<time-modification><actual-notes>{modification.actual}</actual-notes>"
        f"<normal-notes>{modification.normal}</normal-notes>"
        f"{kind}{'<normal-dot/>' * modification.normal_dots}</time-modification>"
    )


def measure_start(measure: MeasureTag) -> str:
    """The start tag of a bar."""
    counted = dict(measure.look).get("implicit", "")
    implicit = "yes" if measure.implicit else counted if counted != "yes" else ""
    return tag("measure", _with(measure.look, number=measure.number, implicit=implicit))


def score_part_text(part: ScorePart) -> str:
    """A `<score-part>`."""
    return node("score-part", "".join(map(sign_text, part.content)), _with(part.look, id=part.id))


def new_part(
    name: str,
    program: int,
    *,
    part_id: str = "P1",
    channel: int = 1,
    instrument: str = "",
    shown: bool = True,
) -> ScorePart:
    """The part of new music in the list of parts.

    Args:
        name: Name of the part.
        program: MIDI program from 0; MusicXML counts from 1.
        part_id: Its id.
        channel: MIDI channel from 1.
        instrument: Name of the instrument; "" for that of the part.
        shown: Whether the name is printed before the first system.
    """
    played = f'id="{part_id}-I1"'
    return ScorePart(
        part_id,
        (
            Opaque("part-name", leaf("part-name", name, () if shown else HIDDEN)),
            Opaque(
                "score-instrument",
                f"<score-instrument {played}>{leaf('instrument-name', instrument or name)}</score-instrument>",
            ),
            Opaque(
                "midi-instrument",
                f"<midi-instrument {played}><midi-channel>{channel}</midi-channel>"
                f"<midi-program>{program + 1}</midi-program></midi-instrument>",
            ),
        ),
    )


def new_heading(title: str, said: Mapping[str, str]) -> tuple[Opaque, ...]:
    """What stands before new music: its title, the sign by which the program knows its own files, further fields.

    Args:
        title: The title; "" for none.
        said: Fields by name; those without text are left out.
    """
    fields = "".join(leaf("miscellaneous-field", text, {"name": name}) for name, text in said.items() if text)
    made_by = node("encoding", leaf("software", SOFTWARE))
    inside = made_by + (node("miscellaneous", fields) if fields else "")
    named = (Opaque("movement-title", leaf("movement-title", title)),) if title else ()
    return (*named, Opaque("identification", node("identification", inside)))
