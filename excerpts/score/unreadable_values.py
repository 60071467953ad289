"""Values that nobody can read are taken out of a cut, each with a warning: what works on it need not doubt them.

A source that is wrong may have any text where a number belongs (W3C MusicXML 4.0 names the types). Durations that can
be told otherwise are mended before (`excerpts.score.bar_faults`).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import lru_cache
from typing import Final

from lxml import etree

from excerpts.musicxml.format import drop, number_in
from excerpts.score.bar_faults import MOST_STAVES
from excerpts.score.slice import Slice

_FURTHEST_KEY: Final = 14
"""Sharps or flats of a key: every note doubly so."""
_FURTHEST_ALTER: Final = 4
_MOST_IN_A_TUPLET: Final = 1000
_HIGHEST: Final = 9
"""The highest octave (W3C MusicXML 4.0, octave)."""
_FASTEST: Final = 10_000
_LONGEST: Final = 50
_OF_A_SOUNDING_NOTE: Final = ("tie", "accidental", "stem", "notehead", "beam", "notations")
_STAFF_NUMBER: Final = re.compile(r"[0-9]{1,2}")


def _whole(text: str | None, least: int, most: int) -> bool:
    value = number_in(text)
    return value is not None and value.denominator == 1 and least <= value <= most


def _number(text: str | None, most: int | None = None) -> bool:
    value = number_in(text)
    return value is not None and (most is None or abs(value) <= most)


_Check = Callable[[str | None], bool]

_CHECKS: Final[dict[str, tuple[_Check, str]]] = {
    "fifths": (lambda text: _whole(text, -_FURTHEST_KEY, _FURTHEST_KEY), "key"),
    "key-alter": (lambda text: _number(text, _FURTHEST_ALTER), "key"),
    "chromatic": (lambda text: _number(text, 48), "transpose"),
    "octave-change": (lambda text: _whole(text, -9, 9), "transpose"),
    "diatonic": (lambda text: _whole(text, -48, 48), "transpose"),
    "beats": (lambda text: len(text or "") <= _LONGEST, "time"),
    "beat-type": (lambda text: len(text or "") <= _LONGEST, "time"),
    "actual-notes": (lambda text: _whole(text, 1, _MOST_IN_A_TUPLET), "time-modification"),
    "normal-notes": (lambda text: _whole(text, 1, _MOST_IN_A_TUPLET), "time-modification"),
    "alter": (lambda text: _number(text, _FURTHEST_ALTER), "alter"),
    "staff": (lambda text: _whole(text, 1, MOST_STAVES), "staff"),
    "offset": (_number, "offset"),
    "duration": (lambda text: (number_in(text) or Fraction(-1)) >= 0, "duration"),
}
"""By element: whether its text can be read, and the element that goes where it cannot: it or one around it."""


def drop_unreadable(piece: Slice) -> None:
    """Take out of the copies what has no meaning; the report tells what it was."""
    for k, measure in enumerate(piece.measures):
        dropped = [*_values(measure), *_numbers(measure), *_tempos(measure), *_pitches(measure)]
        for what, detail in dict.fromkeys(dropped):
            piece.note_down("warning", what, piece.first + k, detail)


def _values(measure: etree._Element) -> Iterator[tuple[str, str]]:
    for element in list(measure.iter(*_CHECKS)):
        tag = str(element.tag)
        if _is_readable(tag, element.text):
            continue
        goes = _CHECKS[tag][1]
        target: etree._Element | None = element
        while target is not None and target.tag != goes:
            target = target.getparent()
        if target is None or target is measure or target.getparent() is None:
            continue  # it stands where it means nothing, or has gone with another
        drop(target)
        yield goes, f"'{_short(element.text)}' cannot be read; left out"


@lru_cache(maxsize=512)
def _is_readable(tag: str, text: str | None) -> bool:
    """Whether an element can have this text: a piece has few different ones."""
    return _CHECKS[tag][0](text)


def _numbers(measure: etree._Element) -> Iterator[tuple[str, str]]:
    """Staff numbers of keys, times and clefs."""
    for attributes in measure.iterfind("attributes"):
        for child in attributes.iterchildren():
            number = child.get("number")
            if number is not None and not (
                _STAFF_NUMBER.fullmatch(number) and 1 <= int(number) <= MOST_STAVES
            ):
                del child.attrib["number"]
                yield str(child.tag), f"'{_short(number)}' is not the number of a staff; left out"


def _tempos(measure: etree._Element) -> Iterator[tuple[str, str]]:
    for sound in measure.iter("sound"):
        tempo = sound.get("tempo")
        if tempo is not None and not 0 < (number_in(tempo) or 0) <= _FASTEST:
            del sound.attrib["tempo"]
            yield "tempo", f"'{_short(tempo)}' is not a tempo; left out"


def _pitches(measure: etree._Element) -> Iterator[tuple[str, str]]:
    """A note of no pitch becomes a rest, or goes where it takes no time of its own."""
    for note in list(measure.iterchildren("note")):
        pitch = next(note.iterchildren("pitch"), None)
        if pitch is None:
            continue
        parts = {str(child.tag): child.text for child in pitch.iterchildren(reversed=True)}
        step, octave = (parts.get("step") or "").strip(), parts.get("octave")
        if _is_pitch(step, octave):
            continue
        following = note.getnext()
        if note.find("chord") is not None or note.find("grace") is not None:
            measure.remove(note)
        elif following is not None and (chord := following.find("chord")) is not None:
            following.remove(chord)
            measure.remove(note)
        else:
            _silence(note, pitch)
        yield "note", f"its pitch '{_short(step)}{_short(octave)}' cannot be read; a rest is put there"


@lru_cache(maxsize=128)
def _is_pitch(step: str, octave: str | None) -> bool:
    return step in set("ABCDEFG") and _whole(octave, 0, _HIGHEST)


def _silence(note: etree._Element, pitch: etree._Element) -> None:
    note.replace(pitch, etree.Element("rest"))
    for tag in _OF_A_SOUNDING_NOTE:
        for element in note.findall(tag):
            note.remove(element)


def _short(text: str | None) -> str:
    return (text or "").strip()[:20]
