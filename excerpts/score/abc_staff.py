"""Puts into music that was ABC what its converter loses: clefs, octaves, and the numbers of bars."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from lxml import etree

from excerpts.musicxml.format import ATTRIBUTES_ORDER, insert_in_order
from excerpts.score.abc_fields import AbcClef
from excerpts.score.abc_read import Voice
from excerpts.score.bars import Bars


def set_staves(root: etree._Element, voices: Sequence[Voice], usual: AbcClef | None) -> None:
    """Set the clefs and octaves of each part as its voice asks for them.

    Args:
        root: The converted score.
        voices: Its voices as they were read, one for each part.
        usual: The clef of a voice that asks for none; None leaves it the one that the converter chose.
    """
    parts = root.findall("part")
    if len(parts) != len(voices):
        return
    for part, voice in zip(parts, voices, strict=True):
        _set_part(part, voice, usual)


def _set_part(part: etree._Element, voice: Voice, usual: AbcClef | None) -> None:
    measures = part.findall("measure")
    begun = [(0, usual)] if usual is not None else []
    changes = dict([*begun, *((place, clef) for place, clef in voice.clefs if place < len(measures))])
    places = sorted(changes)
    for place, end in pairwise([*places, len(measures)]):
        clef = changes[place]
        if clef is None:
            continue
        if clef.sign or usual is not None:
            _set_clef(measures[place], clef if clef.sign else usual or clef)
        for octave in (o for measure in measures[place:end] for o in measure.iterfind("note/pitch/octave")):
            octave.text = str(int(octave.text or 0) + clef.shift)


def _set_clef(measure: etree._Element, clef: AbcClef) -> None:
    attributes = measure.find("attributes")
    if attributes is None:
        attributes = etree.Element("attributes")
        measure.insert(0, attributes)
    for old in attributes.findall("clef"):
        attributes.remove(old)
    new = etree.Element("clef")
    etree.SubElement(new, "sign").text = clef.sign
    etree.SubElement(new, "line").text = str(clef.line)
    if clef.octave_change:
        etree.SubElement(new, "clef-octave-change").text = str(clef.octave_change)
    insert_in_order(attributes, new, ATTRIBUTES_ORDER)


def number_bars(root: etree._Element) -> None:
    """Number a full first bar 1: only a pick-up is bar 0, and the converter calls both so."""
    for part in root.findall("part"):
        measures = part.findall("measure")
        if len(measures) < 2 or measures[0].get("number") != "0" or measures[0].get("implicit") == "yes":
            continue
        bars = Bars(part)
        if bars.length(0) == bars.metre(0).length:
            for number, measure in enumerate(measures, start=1):
                measure.set("number", str(number))
        else:
            measures[0].set("implicit", "yes")
