"""A few bars typed as ABC, the open text notation, opened like any other score."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from lxml import etree

from excerpts.errors import ArgumentError, ScoreError
from excerpts.musicxml.format import ATTRIBUTES_ORDER, drop, insert_in_order
from excerpts.score.abc_beams import beam_as_typed
from excerpts.score.abc_read import Voice
from excerpts.score.abc_signs import AbcClef
from excerpts.score.bars import Bars
from excerpts.score.opening import ABC, convert, tidy_conversion
from excerpts.score.parse import parse_score
from excerpts.score.score import Score

if TYPE_CHECKING:
    from excerpts.instruments.staff import Clef
    from excerpts.score.abc_read import AbcFault

LONGEST: Final = 4_000
"""Most characters of ABC that are read: some hundred bars."""

_EXAMPLE: Final = 'Write for example "M:4/4", "K:D" and then "D2 F2 A2 d2 |".'


def abc_faults(text: str) -> tuple[AbcFault, ...]:
    """What is wrong in ABC, by line.

    Unknown signs, keys, metres and clefs; bars that are too long or too short.
    """
    from excerpts.score.abc_read import AbcReader

    return tuple(AbcReader(text).faults)


def from_abc(text: str, *, name: str = "the typed bars", clef: Clef | None = None) -> Score:
    """Open music typed as ABC.

    Args:
        text: ABC with or without its header; `X:`, `L:` and `K:` are put in where they are missing
            (quavers, C major).
        name: What to call it in messages.
        clef: The clef where the text asks for none: that of the player's instrument; treble if left out.

    Raises:
        ScoreError: The text is too long, or is not music in ABC.
        ArgumentError: It is no text.
    """
    from excerpts.score.abc_read import AbcReader
    from excerpts.score.abc_signs import AbcClef

    if not isinstance(text, str):
        raise ArgumentError(f"ABC is a text, and this is of type {type(text).__name__}.")
    if len(text) > LONGEST:
        raise ScoreError(
            f"the ABC is longer than {LONGEST:,} characters.", where=name, hint="Use a score file."
        )
    read = AbcReader(text)
    if read.faults:
        raise _wrong(read.faults, name)
    try:
        data, _ = convert(_with_header(read.plain, read.bar_of_no_metre), ABC, name, numbered=False)
    except ScoreError as error:
        raise ScoreError(error.what, where=name, hint=_EXAMPLE) from error
    root = parse_score(data, name)
    _keep_only_music(root)
    if not read.has_metre:
        _without_metre(root)
    number_bars(root)
    set_staves(root, read.parts, AbcClef(clef.sign, clef.line) if clef is not None else AbcClef("G", 2))
    if not root.findall(".//note"):
        raise ScoreError(
            "there are no notes in the ABC.", where=name, hint='Write for example "D2 F2 A2 d2 |".'
        )
    return Score(root, name)


def _wrong(faults: list[AbcFault], name: str) -> ScoreError:
    first, more = faults[0], len(faults) - 1
    others = (
        f"({more} more thing{'s' if more > 1 else ''} in it {'are' if more > 1 else 'is'} wrong.)"
        if more
        else ""
    )
    return ScoreError(first.message, where=f"{name}, line {first.line} of the ABC", hint=others)


def _without_metre(root: etree._Element) -> None:
    """Take out the metre that the converter makes up."""
    for time in root.findall("part/measure/attributes/time"):
        drop(time)


def _with_header(text: str, bar: Fraction) -> str:
    """ABC with a whole header; the converter splits a bar alone that has no metre, unless it gets one that fits."""
    lines = [line.strip() for line in text.strip().splitlines() if line.strip()]
    fields = {line[0] for line in lines if len(line) > 1 and line[1] == ":" and line[0].isalpha()}
    front = [default for default in ("X:1", "L:1/8") if default[0] not in fields]
    sixteenths = bar * 4
    if sixteenths and sixteenths.denominator == 1:
        lines = [line for line in lines if not line.startswith("M:")]
        front.append(f"M:{sixteenths}/16")
    if "K" not in fields:
        body = next((i for i, line in enumerate(lines) if not (len(line) > 1 and line[1] == ":")), len(lines))
        lines.insert(body, "K:C")
    x_first = sorted(front + lines, key=lambda line: not line.startswith("X:"))
    return "\n".join(x_first) + "\n"


def _keep_only_music(root: etree._Element) -> None:
    """Take out what the conversion adds of its own, and names that belong to no bars typed in passing."""
    tidy_conversion(root)
    for tag in ("work", "movement-number", "movement-title", "identification"):
        for element in root.findall(tag):
            root.remove(element)
    for name in root.iterfind("part-list/score-part/part-name"):
        name.text = ""


def set_staves(root: etree._Element, voices: Sequence[Voice], usual: AbcClef | None) -> None:
    """Set the clefs, octaves and beams of each part as its voice asks for them.

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
        beam_as_typed(part, voice)


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
    """Number a full first bar 1. The converter numbers every first bar 0; only a pick-up should be."""
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
