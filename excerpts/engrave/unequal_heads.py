"""Chords whose heads have unequal written values: each value is given a voice of its own in the private copy.

verovio 6.4.1 draws every head of a chord with the value of the first. Two values at one time have two stems, the upper
one upwards and the lower one downwards (common practice, no source).
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.musicxml.format import (
    NOTE_TYPES,
    child_of_note,
    dotted,
    number_in,
)
from excerpts.musicxml.pitch import STEPS
from excerpts.musicxml.timeline import chords, walk

_Chord = list[etree._Element]
_Value = tuple[str, int, str, str]
"""Type, number of dots, and the two numbers of the time modification."""
_VOICES: Final = tuple(map(str, range(9001, 9100)))
"""Hardly a file has so many of its own; verovio knows voices by number only."""


def part_unequal_heads(measure: etree._Element, divisions: Fraction) -> None:
    """Move the heads that differ in value from the first of their chord to voices of their own; changes the tree.

    While such a head sounds, the notes of the chord's own voice keep their stems on the other side.

    Args:
        measure: A bar.
        divisions: Divisions of a quarter note at its beginning.
    """
    if next(measure.iter("chord"), None) is None:
        return
    free_from: dict[str, Fraction] = {}
    held: dict[str | None, tuple[Fraction, bool]] = {}
    for moments in chords(walk(measure, divisions)):
        at, chord = moments[0].onset, [moment.element for moment in moments]
        own = chord[0].findtext("voice")
        groups: dict[_Value, _Chord] = {}
        for note in chord:
            groups.setdefault(_value(note), []).append(note)
        if len(groups) == 1 or chord[0].find("grace") is not None:
            until, up = held.get(own, (at, True))
            if at < until and chord[0].find("stem") is None:
                _set_stems(chord, up=up)
            continue
        top = max(map(_height, chord))
        for group in groups.values():
            _set_stems(group, up=max(map(_height, group)) == top)
        after = chord[-1]
        for value, group in list(groups.items())[1:]:
            voice = next(name for name in _VOICES if free_from.get(name, at) <= at)
            free_from[voice] = at + _written(value)
            after = _move(group, chord[0], voice, after)
        held[own] = max(free_from.values()), chord[0].findtext("stem") == "up"


def _duration(element: etree._Element) -> Fraction:
    return number_in(element.findtext("duration")) or Fraction(0)


def _value(note: etree._Element) -> _Value:
    ratio = (note.findtext(f"time-modification/{name}-notes") or "1" for name in ("actual", "normal"))
    return ((note.findtext("type") or "").strip(), len(note.findall("dot")), *ratio)  # type: ignore[return-value]


def _written(value: _Value) -> Fraction:
    """Quarter notes of a value."""
    name, dots, actual, normal = value
    ratio = (number_in(normal) or Fraction(1)) / (number_in(actual) or Fraction(1))
    return dotted(NOTE_TYPES.get(name, Fraction(1)), dots) * ratio


def _height(note: etree._Element) -> int:
    """How high a head stands, in steps."""
    step, octave = (
        next((e.text or "" for e in note.iter(name, f"display-{name}")), "") for name in ("step", "octave")
    )
    return int(number_in(octave) or 0) * len(STEPS) + STEPS.find(step.strip())


def _set_stems(group: _Chord, *, up: bool) -> None:
    for note in group:
        stem = child_of_note(note, "stem")
        if (stem.text or "").strip() != "none":
            stem.text = "up" if up else "down"


def _move(group: _Chord, first: etree._Element, voice: str, after: etree._Element) -> etree._Element:
    """Write notes anew behind an element, beginning when `first` begins; gives the last element written."""
    back, on = etree.Element("backup"), etree.Element("forward")
    etree.SubElement(back, "duration").text = first.findtext("duration")
    for place, note in enumerate(group):
        chord = note.find("chord")
        if place == 0 and chord is not None:
            note.remove(chord)
        child_of_note(note, "voice").text = voice
    over = _duration(first) - _duration(group[0])
    on.tag = "forward" if over > 0 else "backup"
    etree.SubElement(on, "duration").text = str(abs(over))
    for element in (back, *group, *([on] if over else [])):
        after.addnext(element)
        after = element
    return after
