"""Sets another tempo in an excerpt's MusicXML: every tempo mark is scaled, no note is touched.

"Allegro" over a passage that is to be played at 60 misleads where it comes first: the number stands before it, "♩ = 60
(Allegro)".
"""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from fractions import Fraction

from lxml import etree

from excerpts.excerpt import Excerpt, ReportLine, Tempo
from excerpts.musicxml.elements import BeatUnit, Direction, Metronome, Sound
from excerpts.musicxml.format import serialise
from excerpts.musicxml.metre import metre_of
from excerpts.musicxml.playing_words import names_tempo
from excerpts.notes.in_force import NUMBER, TempoPlace, box_start, tempo_place_at_box, tempo_places
from excerpts.notes.write_signs import sign_text


def first_beat(excerpt: Excerpt) -> Fraction:
    """The beat of the first time signature; a quarter note where there is none or beats differ."""
    return metre_of(excerpt.tree().find("part/measure/attributes/time")).beat


def retempo(excerpt: Excerpt, new: Tempo) -> Excerpt:
    """Give the box another tempo, and scale all other marks with it.

    Args:
        excerpt: The music; its context stays.
        new: The tempo, in the beat of the tempo in force at the box.
    """
    root = excerpt.tree()
    places = tempo_places(excerpt, root)
    place = tempo_place_at_box(excerpt, places)
    old = place.printed if place is not None else excerpt.tempo
    if old is None or place is None:
        _mark_start(root, new)
    factor = None if old is None else new.quarters_per_minute / old.quarters_per_minute
    if factor is not None:
        for other in places:
            _scale(other, factor, new if other is place else None)
    label = excerpt.bars[box_start(excerpt).bar].label
    return replace(
        excerpt,
        xml=serialise(root),
        tempo=_tempo_at_start(excerpt.tempo, old, new, factor),
        report=(*excerpt.report, ReportLine("restated", "tempo", label, "slower for practice")),
    )


def _tempo_at_start(first: Tempo | None, old: Tempo | None, new: Tempo, factor: Fraction | None) -> Tempo:
    if first is None or factor is None or first == old:
        return new
    return Tempo(first.number * factor, first.unit)


def _scale(place: TempoPlace, factor: Fraction, new: Tempo | None) -> None:
    """Scale what a mark says; `new` is what it must say exactly, None where only the factor counts."""
    for sound in place.element.iter("sound"):
        if sound.get("tempo"):
            sound.set("tempo", _decimal(Fraction(str(sound.get("tempo"))) * factor))
    metronomes = [m for m in place.element.iter("metronome") if m.find("per-minute") is not None]
    for metronome in metronomes:
        if new is None:
            number = metronome.find("per-minute")
            if number is not None:
                number.text = NUMBER.sub(
                    lambda m: str(max(1, round(Fraction(m.group()) * factor))), number.text or ""
                )
        else:
            _write(metronome, new)
    if new is None:
        return
    _number_first(place.element if metronomes else _print_tempo(place.element, new))


def _print_tempo(element: etree._Element, tempo: Tempo) -> etree._Element:
    """Show a tempo at an element that only lets it sound; the direction that shows it."""
    if element.tag == "sound":
        direction = _direction(tempo, sounding=False)
        element.addprevious(direction)
        return direction
    kind = etree.Element("direction-type")
    kind.append(etree.fromstring(sign_text(_mark(tempo))))
    element.insert(len(element.findall("direction-type")), kind)
    return element


def _mark_start(root: etree._Element, tempo: Tempo) -> None:
    """Put a tempo mark in front of the first thing that happens."""
    measure = root.find("part/measure")
    if measure is None:
        return
    place = 0
    for index, child in enumerate(measure):
        if child.tag not in {"print", "attributes"} and child.get("location") != "left":
            break
        place = index + 1
    measure.insert(place, _direction(tempo, sounding=True))


def _direction(tempo: Tempo, *, sounding: bool) -> etree._Element:
    """A metronome mark as a direction, with or without the tempo that it sounds at."""
    sound = Sound(_decimal(tempo.quarters_per_minute)) if sounding else None
    return etree.fromstring(sign_text(Direction.of(_mark(tempo), sound=sound)))


def _mark(tempo: Tempo) -> Metronome:
    return Metronome(BeatUnit.of(tempo.unit), beats_text(tempo.number))


def _write(metronome: etree._Element, tempo: Tempo) -> None:
    """Make a metronome mark say a tempo, with the looks it has."""
    metronome[:] = list(etree.fromstring(sign_text(_mark(tempo))))


def beats_text(number: Fraction) -> str:
    """A number of beats as printed: at most two decimals."""
    return f"{float(round(number, 2)):.2f}".rstrip("0").rstrip(".")


def _decimal(number: Fraction) -> str:
    """A number of quarter notes a minute as a decimal: exact where it can be, else to a millionth."""
    millionths = round(number * 10**6)
    whole, rest = divmod(millionths, 10**6)
    return f"{whole}.{rest:06d}".rstrip("0").rstrip(".")


_BRACKETS = " ()[]"
_PLACES = ("id", "default-x", "default-y", "relative-x", "relative-y")


def _number_first(direction: etree._Element) -> None:
    """Put a metronome mark before the words that stand with it, and the words in brackets.

    Args:
        direction: A `<direction>` with a metronome mark, in a measure. Words in it, and the heading in a direction
            right before or behind it, get a direction of their own after it.
    """
    words = _taken(direction)
    for beside in (direction.getprevious(), direction.getnext()):
        if beside is not None and beside.tag == "direction" and any(map(names_tempo, beside.iter("words"))):
            words += _taken(beside)
    for metronome in direction.iter("metronome"):
        metronome.attrib.pop("parentheses", None)
    text = " ".join(filter(None, (_text_of(word).strip(_BRACKETS) for word in words)))
    if not text:
        return
    heading = deepcopy(words[0])
    heading.text, heading.tail = f"({text})", None
    for name in _PLACES:
        heading.attrib.pop(name, None)
    heading.set("font-style", words[0].get("font-style", "normal"))
    behind = etree.Element("direction", dict(direction.attrib))
    behind.attrib.pop("id", None)
    etree.SubElement(behind, "direction-type").append(heading)
    behind.extend(deepcopy(child) for child in direction if child.tag in {"offset", "voice", "staff"})
    direction.addnext(behind)


def _taken(direction: etree._Element) -> list[etree._Element]:
    """The words of a direction, taken out of it; a direction that has nothing else goes too."""
    words: list[etree._Element] = []
    for kind in direction.findall("direction-type"):
        if kind.find("words") is not None and len(kind.findall("words")) == len(kind):
            words += kind.findall("words")
            direction.remove(kind)
    parent = direction.getparent()
    if direction.find("direction-type") is None and parent is not None:
        sound = direction.find("sound")
        if sound is not None:
            direction.addnext(sound)
        parent.remove(direction)
    return words


def _text_of(words: etree._Element) -> str:
    return " ".join("".join(words.itertext()).split())
