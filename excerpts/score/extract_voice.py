"""One voice or one staff of a part, taken out as if the part had nothing else.

Where the chosen voice is silent, rests stand for it.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.errors import PartError
from excerpts.musicxml.format import NOTE_TYPES
from excerpts.musicxml.timeline import MOVES, Moment, PlacedElement, placed, plain, walk, write_measure
from excerpts.score.bars import Bars
from excerpts.score.score import Part, Score
from excerpts.score.slice import staff_of, voice_of

_OF_A_STAFF: Final = ("key", "time", "clef", "staff-details", "transpose", "for-part", "measure-style")
_OF_STAVES: Final = ("staves", "part-symbol")
_PLACED: Final = ("direction", "harmony", "figured-bass")
_SMALLEST: Final = Fraction(1, 32)


def extract_voice(part: Part, voice: str | None = None, staff: int | None = None) -> Part:
    """The part with nothing but one voice, one staff, or one voice of one staff; the part given is not changed.

    Raises:
        PartError: The part has no such voice or staff; the message lists what it has.
    """
    if voice is None and staff is None:
        return part
    chosen = None if staff is None else str(staff)
    _check(part, voice, chosen)
    root = part.score.mended()
    copy = root.findall("part")[part.index]
    _reduce(copy, part.bars, voice, chosen)
    return Part(Score(root, part.score.name, part.score.warnings), part.index)


def _check(part: Part, voice: str | None, staff: str | None) -> None:
    streams: dict[tuple[str, str], None] = {}
    for measure in part.bars.measures:
        for note in measure.iterfind("note"):
            streams.setdefault((voice_of(note), staff_of(note)))
    staves = sorted({s for _, s in streams})
    if staff is not None and staff not in staves:
        raise PartError(
            f"the part has no staff {staff}.", where=part.where, hint=f"It has staff {' and '.join(staves)}."
        )
    voices = sorted({v for v, s in streams if staff in (None, s)})
    if voice is not None and voice not in voices:
        place = f"staff {staff}" if staff is not None else "the part"
        listed = ", ".join(v or "(none named)" for v in voices)
        raise PartError(f"{place} has no voice {voice}.", where=part.where, hint=f"It has voice {listed}.")


def _reduce(part: etree._Element, bars: Bars, voice: str | None, staff: str | None) -> None:
    """Take everything of other voices and staves out of a part; `bars` times it before that."""
    for index, measure in enumerate(part.findall("measure")):
        divisions = bars.state(index).divisions
        time = walk(measure, divisions)
        kept = [moment for moment in time.moments if _stays(moment.element, voice, staff)]
        for moment in kept:
            _without_staff(moment.element, staff)
        if voice is None or _divides_anew(kept):
            elements = [placed(moment) for moment in kept]
        else:
            elements = _one_voice(kept, voice, time.length, divisions)
        write_measure(measure, elements, divisions, time.length)


def _stays(element: etree._Element, voice: str | None, staff: str | None) -> bool:
    if element.tag in MOVES:
        return False
    if element.tag == "note":
        return voice in (None, voice_of(element)) and staff in (None, staff_of(element))
    if element.find("direction-type/rehearsal") is not None:
        return True  # a bar is found by it, whatever voice or staff it stands at
    if element.tag in _PLACED:
        return voice_of(element) in ("", voice or voice_of(element)) and staff in (None, staff_of(element))
    return True


def _without_staff(element: etree._Element, staff: str | None) -> None:
    """Write what belonged to one of several staves as that of the only one."""
    if staff is None:
        return
    for number in element.findall("staff"):
        element.remove(number)
    if element.tag != "attributes":
        return
    for child in list(element):
        other = child.tag in _OF_A_STAFF and child.get("number", staff) != staff
        first = child.tag in ("clef", "staff-details") and child.get("number") is None and staff != "1"
        if child.tag in _OF_STAVES or other or first:
            element.remove(child)
        elif child.tag in _OF_A_STAFF:
            child.attrib.pop("number", None)


def _divides_anew(kept: list[Moment]) -> bool:
    """Whether the divisions change inside the bar: rests could not be counted in either then."""
    return any(moment.cursor > 0 and moment.element.find("divisions") is not None for moment in kept)


def _one_voice(kept: list[Moment], voice: str, length: Fraction, divisions: Fraction) -> list[PlacedElement]:
    """The elements of a bar in order of time, rests where the voice is silent.

    Chord notes stay with their main note; at one point of time what is not a note comes first.
    """
    groups: list[list[Moment]] = []
    for moment in kept:
        if moment.element.find("chord") is not None and groups:
            groups[-1].append(moment)
        else:
            groups.append([moment])
    ordered = sorted(
        groups, key=lambda group: (_edge(group[0]), group[0].cursor, group[0].element.tag == "note")
    )
    written: list[PlacedElement] = []
    at = Fraction(0)
    for group in ordered:
        first = group[0]
        if first.duration and first.cursor > at:
            written += _rests(at, first.cursor, length, voice, divisions)
        written += [PlacedElement(moment.element, first.cursor, moment.moves) for moment in group]
        at = max(at, first.cursor + first.duration) if first.element.tag == "note" else at
    if at < length:
        closing = next((n for n, item in enumerate(written) if _is_closing(item.element)), len(written))
        written[closing:closing] = _rests(at, length, length, voice, divisions)
    return written


def _edge(moment: Moment) -> int:
    """Barlines stand where they belong whatever the cursor says."""
    if _is_closing(moment.element):
        return 1
    return -1 if moment.element.tag == "barline" and moment.element.get("location") == "left" else 0


def _is_closing(element: etree._Element) -> bool:
    return element.tag == "barline" and element.get("location", "right") == "right"


def _rests(
    start: Fraction, end: Fraction, length: Fraction, voice: str, divisions: Fraction
) -> list[PlacedElement]:
    if start == 0 and end == length:
        rest = _rest(end, voice, divisions, "")
        rest[0].set("measure", "yes")
        return [PlacedElement(rest, start, end)]
    rests: list[PlacedElement] = []
    at = start
    while at < end:
        step, name = _written(at, end)
        rests.append(PlacedElement(_rest(step, voice, divisions, name), at, step))
        at += step
    return rests


def _written(at: Fraction, end: Fraction) -> tuple[Fraction, str]:
    """The longest written value that begins on a multiple of itself; the whole rest where none does."""
    for name, value in NOTE_TYPES.items():
        if _SMALLEST <= value <= end - at and at % value == 0:
            return value, name
    return end - at, ""


def _rest(length: Fraction, voice: str, divisions: Fraction, name: str) -> etree._Element:
    note = etree.Element("note")
    etree.SubElement(note, "rest")
    etree.SubElement(note, "duration").text = plain(length * divisions)
    if voice:
        etree.SubElement(note, "voice").text = voice
    if name:
        etree.SubElement(note, "type").text = name
    return note
