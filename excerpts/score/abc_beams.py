"""Beams of music typed as ABC: notes that are written together share one, and a space ends it.

Source: the ABC standard v2.1, section 4.7. Where no short notes at all are written together, the spaces are only there
for the eye, and the beams stay those of the metre, as the converter made them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from lxml import etree

from excerpts.musicxml.format import NOTE_ORDER, drop, insert_in_order
from excerpts.musicxml.metre import free_metre
from excerpts.notes.beams import LEVELS, Stem, beam_group
from excerpts.score.abc_read import Voice
from excerpts.score.bars import Bars

_Stems = list[tuple[etree._Element, Stem]]


def beam_as_typed(part: etree._Element, voice: Voice) -> None:
    """Beam a converted part as it was typed; changes the tree.

    Args:
        part: The part.
        voice: What was read of it.
    """
    bars = Bars(part)
    measures = part.findall("measure")
    if len(measures) != voice.bars:
        return
    groups = [(place, group) for place in range(len(measures)) for group in _groups(measures, place, voice)]
    if not any(len(group) > 1 for _, group in groups):
        return
    for beam in list(part.iter("beam")):
        drop(beam)
    for place, group in groups:
        stems = [stem for _, stem in group]
        metre = (
            bars.metre(place) if bars.metre(place).length else free_metre(bars.length(place))
        )  # typed without M:
        made = beam_group(stems, metre) if len(group) > 1 else []
        for (note, _), levels in zip(group, made, strict=False):
            for number, text in enumerate(levels, start=1):
                element = etree.Element("beam", number=str(number))
                element.text = text
                insert_in_order(note, element, NOTE_ORDER)


def _groups(measures: Sequence[etree._Element], place: int, voice: Voice) -> Iterator[_Stems]:
    """The short notes of a bar that stand together."""
    gaps = {gap for bar, gap in voice.gaps if bar == place}
    group: _Stems = []
    for note, stem in _stems(measures, place):
        if group and (stem.rest or not stem.levels or stem.onset in gaps):
            yield group
            group = []
        if stem.levels and not stem.rest:
            group.append((note, stem))
    if group:
        yield group


def _stems(measures: Sequence[etree._Element], place: int) -> Iterator[tuple[etree._Element, Stem]]:
    """The notes of a bar; chords by their first note, without grace notes."""
    divisions = [Fraction(text) for measure in measures[: place + 1] for text in _texts(measure)]
    onset = Fraction(0)
    for note in measures[place].iterfind("note"):
        if note.find("chord") is not None or note.find("grace") is not None:
            continue
        end = onset + Fraction(note.findtext("duration") or 0) / (divisions[-1] if divisions else 1)
        yield (
            note,
            Stem(onset, end, LEVELS.get(note.findtext("type") or "", 0), note.find("rest") is not None),
        )
        onset = end


def _texts(measure: etree._Element) -> list[str]:
    return [element.text or "1" for element in measure.iterfind("attributes/divisions")]
