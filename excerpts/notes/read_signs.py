"""Reads elements of MusicXML as values (see `musicxml.elements`).

An element of another shape than its class can hold is kept as text.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache
from typing import Final

from lxml import etree

from excerpts.musicxml.elements import (
    Accidental,
    Articulation,
    Barline,
    Beam,
    BeatUnit,
    Bow,
    Clef,
    Direction,
    DirectionType,
    Dynamics,
    Fermata,
    Fingering,
    Glissando,
    Key,
    Leaf,
    Line,
    Look,
    MeasureTag,
    Metronome,
    Notehead,
    Offset,
    Opaque,
    Ornament,
    Rehearsal,
    ScorePart,
    Sign,
    Signatures,
    Slur,
    Sound,
    StringNumber,
    Technical,
    Tied,
    Time,
    TimeModification,
    Transpose,
    TupletBracket,
    Wedge,
    Words,
)

_XML: Final = "{http://www.w3.org/XML/1998/namespace}"
_EDGES: Final = {"start", "stop", "continue"}


def opaque(element: etree._Element) -> Opaque:
    """An element as it stands."""
    edge = element.get("type", "")
    xml = etree.tostring(element, encoding="unicode", with_tail=False)
    return Opaque(str(element.tag), xml, edge if edge in _EDGES else "")


def read_notation(element: etree._Element, holder: str = "") -> Sign:
    """Something that is written at a note.

    Args:
        element: Its element.
        holder: The list that holds it: "articulations", "ornaments" or "technical"; "" for none.
    """
    tag = str(element.tag)
    if tag == "dynamics":
        return _dynamics(element)
    if tag == "tuplet":
        content = tuple(map(opaque, element))
        return TupletBracket(element.get("type", ""), element.get("number", ""), look_of(element), content)
    if len(element):
        return opaque(element)
    return _leaf(holder, tag, element.text or "", look_of(element))


@lru_cache(maxsize=2048)
def _leaf(holder: str, tag: str, text: str, look: Look) -> Sign:
    """An element without children. Cached: a piece has few different ones."""
    if holder == "articulations":
        return Articulation(tag, text, look)
    given = dict(look)
    edge, number = given.get("type", ""), given.get("number", "")
    if tag in _OF_TEXT:
        return _OF_TEXT[tag](text, look)
    if tag == "slur" and edge in _EDGES:
        return Slur(edge, number, look)
    if tag == "tied":
        return Tied(edge, look)
    if tag in {"glissando", "slide"}:
        return Glissando(tag, edge, number, text, look)
    if tag in {"up-bow", "down-bow"} and not text:
        return Bow(tag, look)
    if holder in {"ornaments", "technical"}:
        kind = Ornament if holder == "ornaments" else Technical
        return kind(tag, text, edge if edge in _EDGES else "", number, look)
    return Leaf(tag, text, look)


_OF_TEXT: Final[dict[str, Callable[[str, Look], Sign]]] = {
    "fingering": Fingering,
    "string": StringNumber,
    "fermata": Fermata,
    "accidental": Accidental,
    "notehead": Notehead,
    "words": Words,
    "rehearsal": Rehearsal,
}
"""Classes of a text and a look."""


def read_beam(element: etree._Element) -> Beam:
    """A `<beam>`."""
    return _beam(element.text or "", look_of(element))


@lru_cache(maxsize=256)
def _beam(text: str, look: Look) -> Beam:
    return Beam(text, dict(look).get("number", ""), look)


def read_time_modification(element: etree._Element) -> TimeModification | Opaque:
    """A `<time-modification>`."""
    dots = len(element.findall("normal-dot"))
    numbers = _integer(element.findtext("actual-notes")), _integer(element.findtext("normal-notes"))
    kind = (element.findtext("normal-type") or "").strip()
    if len(element) != 2 + dots + bool(kind) or not (numbers[0] and numbers[1]) or element.keys():
        return opaque(element)
    return TimeModification(numbers[0], numbers[1], kind, dots)


def read_placed(element: etree._Element) -> Sign:
    """Something of a bar that is not a note; lengths in it are quarter notes."""
    return _PLACED.get(str(element.tag), opaque)(element)


def _signatures(element: etree._Element) -> Sign:
    if element.keys():
        return opaque(element)
    return Signatures(tuple(_SIGNATURES.get(str(child.tag), opaque)(child) for child in element))


def _key(element: etree._Element) -> Sign:
    fifths, mode = _integer(element.findtext("fifths")), element.findtext("mode") or ""
    if fifths is None or [child.tag for child in element] != ["fifths", "mode"][: 1 + bool(mode)]:
        return opaque(element)
    return Key(fifths, mode, look_of(element))


def _time(element: etree._Element) -> Sign:
    beats, units = element.findall("beats"), element.findall("beat-type")
    pairs = tuple((a.text or "", b.text or "") for a, b in zip(beats, units, strict=False))
    order = [child.tag for child in element[: 2 * len(pairs)]]
    content = tuple(map(opaque, element[2 * len(pairs) :]))
    if len(beats) != len(units) or order != ["beats", "beat-type"] * len(pairs):
        return opaque(element)
    return Time(pairs, look_of(element), content)


def _clef(element: etree._Element) -> Sign:
    line, octaves = _integer(element.findtext("line")), _integer(element.findtext("clef-octave-change"))
    order = ["sign", *(["line"] if line else []), *(["clef-octave-change"] if octaves else [])]
    if [child.tag for child in element] != order:
        return opaque(element)
    return Clef((element.findtext("sign") or "").strip(), line or 0, octaves or 0, look_of(element))


def _transpose(element: etree._Element) -> Sign:
    diatonic, chromatic, octaves = (
        _integer(element.findtext(name)) for name in ("diatonic", "chromatic", "octave-change")
    )
    given = (("diatonic", diatonic is not None), ("chromatic", True), ("octave-change", bool(octaves)))
    order = [name for name, there in given if there]
    if chromatic is None or [child.tag for child in element[: len(order)]] != order:
        return opaque(element)
    content = tuple(map(opaque, element[len(order) :]))
    return Transpose(chromatic, diatonic, octaves or 0, look_of(element), content)


def _direction(element: etree._Element) -> Sign:
    types = tuple(
        DirectionType(tuple(map(_direction_sign, kind)), look_of(kind))
        for kind in element.iterchildren("direction-type")
    )
    rest = [child for child in element if child.tag != "direction-type"]
    if any(child.tag != "direction-type" for child in element[: len(types)]):
        return opaque(element)
    return Direction(
        types, look_of(element), tuple(_REST.get(str(child.tag), opaque)(child) for child in rest)
    )


def _direction_sign(element: etree._Element) -> Sign:
    tag, text, look = str(element.tag), element.text or "", look_of(element)
    if tag == "dynamics":
        return _dynamics(element)
    if tag == "metronome":
        return _metronome(element)
    if len(element):
        return opaque(element)
    if tag in _OF_TEXT:
        return _OF_TEXT[tag](text, look)
    kind, number = element.get("type", ""), element.get("number", "")
    if tag == "wedge" and not text:
        return Wedge(kind, number, look)
    if tag in {"octave-shift", "dashes", "bracket", "pedal"}:
        return Line(tag, kind, number, text, look)
    return Leaf(tag, text, look)


def _dynamics(element: etree._Element) -> Sign:
    signs = (
        opaque(child) if len(child) or child.text or child.keys() else str(child.tag) for child in element
    )
    return Dynamics(tuple(signs), look_of(element))


def _metronome(element: etree._Element) -> Sign:
    units: list[BeatUnit] = []
    number = None
    for child in element:
        if len(child) or number is not None or (child.keys() and child.tag != "per-minute"):
            return opaque(element)
        if child.tag == "beat-unit" and len(units) < 2:
            units.append(BeatUnit((child.text or "").strip()))
        elif child.tag == "beat-unit-dot" and units:
            units[-1] = BeatUnit(units[-1].type, units[-1].dots + 1)
        elif child.tag == "per-minute" and len(units) == 1 and child.text:
            number = child
        else:
            return opaque(element)
    if len(units) + (number is not None) != 2:
        return opaque(element)
    if number is None:
        return Metronome(units[0], equals=units[1], look=look_of(element))
    return Metronome(units[0], number.text or "", None, look_of(element), look_of(number))


def _sound(element: etree._Element) -> Sign:
    return Sound(element.get("tempo", ""), look_of(element), tuple(map(opaque, element)))


def _offset(element: etree._Element) -> Sign:
    return Offset(Fraction((element.text or "0").strip()), look_of(element))


def _barline(element: etree._Element) -> Sign:
    style = [child for child in element if child.tag == "bar-style"]
    plain = all(child.text and not child.keys() for child in style)
    if len(style) > 1 or not plain or (style and element[0] is not style[0]):
        return opaque(element)
    content = tuple(map(opaque, element[len(style) :]))
    return Barline(style[0].text or "" if style else "", look_of(element), content)


def read_measure_tag(measure: etree._Element) -> MeasureTag:
    """The start tag of a `<measure>`, without the width that it had on the old page."""
    look = tuple((name, value) for name, value in look_of(measure) if name != "width")
    return MeasureTag(measure.get("number", ""), measure.get("implicit") == "yes", look)


def read_score_part(element: etree._Element) -> ScorePart:
    """A `<score-part>`."""
    return ScorePart(element.get("id", "P1"), tuple(map(opaque, element)), look_of(element))


def look_of(element: etree._Element) -> Look:
    """The attributes of an element."""
    return tuple((str(name).replace(_XML, "xml:"), str(value)) for name, value in element.items())


def _integer(text: str | None) -> int | None:
    try:
        return None if text is None else int(text)
    except ValueError:
        return None


_Reader = Callable[[etree._Element], Sign]

_PLACED: Final[dict[str, _Reader]] = {
    "attributes": _signatures, "direction": _direction, "sound": _sound, "barline": _barline,
}  # fmt: skip
_SIGNATURES: Final[dict[str, _Reader]] = {"key": _key, "time": _time, "clef": _clef, "transpose": _transpose}
_REST: Final[dict[str, _Reader]] = {"offset": _offset, "sound": _sound}
