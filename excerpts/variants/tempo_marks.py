"""Sets another tempo in an excerpt's MusicXML: every tempo mark is scaled, no note is touched."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from lxml import etree

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt, ReportLine, Tempo
from excerpts.musicxml.format import SINGLE_NOTES, serialise
from excerpts.musicxml.metre import metre_of
from excerpts.notes.in_force import box_start, tempo_place_at_box
from excerpts.notes.tempos import NUMBER, TempoPlace, tempo_places
from excerpts.variants.passage import where
from excerpts.variants.tempo_heading import number_first
from excerpts.variants.tempo_steps import slow_start


def retempo(excerpt: Excerpt, number: Fraction | None) -> Excerpt:
    """Give the box another tempo, and scale all other marks with it.

    Args:
        excerpt: The music; its context stays.
        number: Beats a minute, in the beat of the tempo in force at the box; None takes half of that tempo,
            rounded down to the metronome.

    Raises:
        VariantError: There is no tempo to halve, or the number is not slower than the tempo in force.
    """
    root = excerpt.tree()
    places = tempo_places(excerpt, root)
    start = box_start(excerpt)
    place = tempo_place_at_box(excerpt, places)
    old = place.printed if place is not None else excerpt.tempo
    new = _new_tempo(excerpt, root, old, number)
    if old is None or place is None:
        _mark_start(root, new)
    factor = None if old is None else new.quarters_per_minute / old.quarters_per_minute
    if factor is not None:
        for other in places:
            _scale(other, factor, new if other is place else None)
    report = ReportLine("restated", "tempo", excerpt.bars[start.bar].label, "slower for practice")
    return replace(
        excerpt,
        xml=serialise(root),
        tempo=_tempo_at_start(excerpt.tempo, old, new, factor),
        report=(*excerpt.report, report),
    )


def _tempo_at_start(first: Tempo | None, old: Tempo | None, new: Tempo, factor: Fraction | None) -> Tempo:
    if first is None or factor is None or first == old:
        return new
    return Tempo(first.number * factor, first.unit)


def _new_tempo(excerpt: Excerpt, root: etree._Element, old: Tempo | None, number: Fraction | None) -> Tempo:
    if number is None:
        if old is None:
            raise VariantError(
                "the score gives no tempo here, so there is none to halve.",
                where=where(excerpt),
                hint="Say how slow: slow:60.",
            )
        try:
            return slow_start(old)
        except ValueError as error:
            raise VariantError(
                f"the tempo, {_text(old.number)} beats a minute, is too slow to be halved.",
                where=where(excerpt),
            ) from error
    if old is None:
        return Tempo(number, _beat(root))
    if number >= old.number:
        raise VariantError(
            f"{_text(number)} is not slower than the tempo in force, {_text(old.number)}.",
            where=where(excerpt),
            hint=f"Give a number below {_text(old.number)}.",
        )
    return Tempo(number, old.unit)


def _beat(root: etree._Element) -> Fraction:
    """The beat of the first time signature; a quarter note where there is none or beats differ."""
    return metre_of(root.find("part/measure/attributes/time")).beat


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
    number_first(place.element if metronomes else _print_tempo(place.element, new))


def _print_tempo(element: etree._Element, tempo: Tempo) -> etree._Element:
    """Show a tempo at an element that only lets it sound; the direction that shows it."""
    if element.tag == "sound":
        direction = tempo_direction(tempo, sounding=False)
        element.addprevious(direction)
        return direction
    kind = etree.Element("direction-type")
    kind.append(_metronome(tempo))
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
    measure.insert(place, tempo_direction(tempo, sounding=True))


def tempo_direction(tempo: Tempo, sounding: bool) -> etree._Element:
    """A metronome mark as a direction, with or without the tempo that it sounds at."""
    direction = etree.Element("direction", placement="above")
    etree.SubElement(direction, "direction-type").append(_metronome(tempo))
    if sounding:
        etree.SubElement(direction, "sound", tempo=_decimal(tempo.quarters_per_minute))
    return direction


def _metronome(tempo: Tempo) -> etree._Element:
    metronome = etree.Element("metronome")
    _write(metronome, tempo)
    return metronome


def _write(metronome: etree._Element, tempo: Tempo) -> None:
    """Make a metronome mark say a tempo, with the looks it has."""
    for child in list(metronome):
        metronome.remove(child)
    for child in beat_elements(tempo.unit):
        metronome.append(child)
    etree.SubElement(metronome, "per-minute").text = _text(tempo.number)


def beat_elements(unit: Fraction) -> list[etree._Element]:
    """A note value as the beat of a metronome mark.

    Args:
        unit: Its length in quarter notes.

    Raises:
        ArithmeticError: No note of at most two dots has this length.
    """
    if unit not in SINGLE_NOTES:
        raise ArithmeticError(f"no note is {unit} quarter notes long")
    name, dots = SINGLE_NOTES[unit]
    beat = etree.Element("beat-unit")
    beat.text = name
    return [beat, *(etree.Element("beat-unit-dot") for _ in range(dots))]


def _text(number: Fraction) -> str:
    """A number of beats as printed: at most two decimals."""
    return f"{float(round(number, 2)):.2f}".rstrip("0").rstrip(".")


def _decimal(number: Fraction) -> str:
    """A number of quarter notes a minute as a decimal: exact where it can be, else to a millionth."""
    millionths = round(number * 10**6)
    whole, rest = divmod(millionths, 10**6)
    return f"{whole}.{rest:06d}".rstrip("0").rstrip(".")
