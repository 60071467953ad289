"""A second reader of MusicXML, for holding the cutter to account: it shares no code with `excerpts.score`.

Written from the W3C MusicXML 4.0 specification (https://www.w3.org/2021/06/musicxml40/): cursor, backup and
forward, chords, grace notes, divisions, attributes and directions. All times are quarter notes from the start
of the bar.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from io import BytesIO
from pathlib import Path

from lxml import etree

Canon = tuple[str, tuple[tuple[str, str], ...], str, tuple["Canon", ...]]
"""An element as a value: name, attributes, text, children."""

_PAGE = {"default-x", "default-y", "relative-x", "relative-y"}
_UNORDERED = {"pitch", "unpitched", "clef", "transpose", "time-modification"}
_NOTE_SPANS = {"slur", "tuplet", "glissando", "slide", "wavy-line", "hammer-on", "pull-off", "tremolo"}
_DIRECTION_SPANS = {"wedge", "octave-shift", "pedal", "dashes", "bracket", "principal-voice"}
_BEGINNINGS = {"start", "crescendo", "diminuendo", "up", "down", "sostenuto", "resume"}
_MIDDLES = {"continue", "change"}
_STATE = ("key", "time", "clef", "transpose", "staves", "staff-details", "part-symbol", "instruments")
_DROPPED_SOUND = {"dacapo", "dalsegno", "segno", "coda", "tocoda", "fine", "forward-repeat"}
_PRINTED = {"measure-numbering", "part-name-display", "part-abbreviation-display"}


@dataclass(frozen=True)
class Place:
    """A point of a part: bar by place from 0, onset in it, and how many notes stand before it in the bar."""

    bar: int
    onset: Fraction
    order: int


@dataclass(frozen=True)
class Note:
    place: Place
    duration: Fraction
    voice: str
    staff: str
    pitch: Canon | None
    chord: bool
    grace: bool
    rest: bool
    content: tuple[Canon, ...]
    """Everything else that is written on it, in order, except the ends of spans, ties, beams, accidental."""
    accidental: Canon | None
    beams: tuple[Canon, ...]
    sounding: frozenset[str]
    drawn: frozenset[str]
    """The ends of ties that it has, as they sound (`tie`) and as they are drawn (`tied`)."""

    @property
    def ties(self) -> frozenset[str]:
        return self.sounding | self.drawn

    @property
    def end(self) -> Fraction:
        return self.place.onset + self.duration

    @property
    def cue(self) -> bool:
        """It is another player's, told by `cue` or by the size of its value."""
        sizes = {size for name, head, _, _ in self.content if name == "type" for _, size in head}
        if any(name == "cue" for name, _, _, _ in self.content) or "grace-cue" in sizes:
            return True
        return "cue" in sizes and not self.grace

    @property
    def height(self) -> Fraction | None:
        """Semitones above C0 as written, enharmonic spellings alike."""
        if self.pitch is None:
            return None
        inside = {child[0]: child[2] for child in self.pitch[3]}
        steps = dict(zip("CDEFGAB", (0, 2, 4, 5, 7, 9, 11), strict=True))
        return 12 * Fraction(inside["octave"]) + steps[inside["step"]] + Fraction(inside.get("alter") or 0)


@dataclass(frozen=True)
class End:
    """One end of a span (or a point in the middle, for `continue` and `change`)."""

    kind: str
    number: str
    role: str
    detail: str
    place: Place
    voice: str
    staff: str
    on_note: bool
    element: Canon


@dataclass(frozen=True)
class Item:
    """A direction, harmony, figured bass, sound or print that is not a note."""

    place: Place
    kind: str
    staff: str
    content: tuple[Canon, ...]
    cursor: Fraction = field(default=Fraction(0), compare=False)
    """Where it stands in the file, which an `<offset>` moves it away from."""


@dataclass(frozen=True)
class Tempo:
    """A tempo mark: where, and what it says.

    It gives quarter notes a minute; or two note values that are to be equal ("quarter = half"), old and new; or
    it calls back the first tempo; or it only names a tempo, whose number nobody knows.
    """

    place: Place
    quarters: Fraction | None = None
    printed: Fraction | None = None
    ratio: tuple[Fraction, Fraction] | None = None
    first: bool = False
    played: bool = False


@dataclass
class Bar:
    label: str
    implicit: bool
    length: Fraction = Fraction(0)
    attributes: dict[str, str] = field(default_factory=dict)
    notes: list[Note] = field(default_factory=list)
    items: list[Item] = field(default_factory=list)
    barlines: list[Canon] = field(default_factory=list)
    endings: list[tuple[str, str, str]] = field(default_factory=list)
    changes: list[tuple[Place, etree._Element]] = field(default_factory=list)
    ends: list[End] = field(default_factory=list)
    tempos: list[Tempo] = field(default_factory=list)


@dataclass
class Reading:
    """A part as read."""

    bars: list[Bar]


def documents(path: Path) -> etree._Element:
    """The root of the score in a file, compressed or not."""
    data = path.read_bytes()
    if data[:2] == b"PK":
        with zipfile.ZipFile(BytesIO(data)) as box:
            data = box.read(_first_root(box))
    return document(data)


def _first_root(box: zipfile.ZipFile) -> str:
    names = box.namelist()
    if "META-INF/container.xml" in names:
        for found in etree.fromstring(box.read("META-INF/container.xml")).iter("{*}rootfile"):
            if found.get("full-path") in names:
                return str(found.get("full-path"))
    return next(name for name in names if name.endswith((".xml", ".musicxml")) and "META-INF" not in name)


def document(data: bytes) -> etree._Element:
    """Parse bytes, without comments and without fetching anything."""
    return etree.fromstring(
        data, etree.XMLParser(remove_comments=True, remove_pis=True, no_network=True, load_dtd=False)
    )


def canon(element: etree._Element, without: Iterable[str] = ()) -> Canon:
    """The element as a value, without its place on a page and without the named attributes.

    The children of some elements mean the same in any order, and a cut puts them into that of the schema: bar 38 of
    the second violin in haydn/opus1no1/movement1.mxl (line 7209) has a pitch with its octave before its alter.
    """
    leave = _PAGE | set(without)
    children = sorted(element, key=lambda child: str(child.tag)) if element.tag in _UNORDERED else element
    return (
        str(element.tag),
        tuple(sorted((k, v) for k, v in element.attrib.items() if k not in leave)),
        (element.text or "").strip(),
        tuple(canon(child) for child in children),
    )


def number(text: str | None) -> Fraction | None:
    try:
        return Fraction((text or "").strip())
    except (ValueError, ZeroDivisionError):
        return None


def read_part(part: etree._Element) -> Reading:
    """Read all bars of a `<part>`; the instruments of notes are told by their place in the list of the part."""
    # What is written before the first divisions counts in them too: nothing else could be meant.
    told = (number(element.text) for element in part.iter("divisions"))
    divisions = next((value for value in told if value is not None and value > 0), Fraction(1))
    bars: list[Bar] = []
    root = part.getparent()
    listed = [] if root is None else [s for s in root.iter("score-part") if s.get("id") == part.get("id")]
    names = [i.get("id") for s in listed for i in s.findall("score-instrument")]
    instruments = {str(name): str(place) for place, name in reversed(list(enumerate(names)))}
    for index, measure in enumerate(part.findall("measure")):
        reader = _BarReader(index, measure, divisions, instruments)
        bars.append(reader.read())
        divisions = reader.divisions
    return Reading(bars)


class _BarReader:
    def __init__(
        self, index: int, measure: etree._Element, divisions: Fraction, instruments: dict[str, str]
    ) -> None:
        self.index = index
        self.instruments = instruments
        self.measure = measure
        self.divisions = divisions
        self.now = Fraction(0)
        self.chord_at = Fraction(0)
        self.bar = Bar((measure.get("number") or "").strip(), measure.get("implicit") == "yes")
        self.bar.attributes = {
            k: v for k, v in measure.attrib.items() if k not in ("number", "implicit", "width")
        }

    def read(self) -> Bar:
        for child in self.measure:
            handler = getattr(self, "_" + str(child.tag).replace("-", "_"), self._anything)
            handler(child)
        return self.bar

    def _place(self, onset: Fraction | None = None) -> Place:
        return Place(self.index, self.now if onset is None else onset, len(self.bar.notes))

    def _ticks(self, element: etree._Element) -> Fraction:
        ticks = number(element.findtext("duration"))
        return max(ticks, Fraction(0)) / self.divisions if ticks is not None else Fraction(0)

    def _reach(self, point: Fraction) -> None:
        self.bar.length = max(self.bar.length, point)

    def _backup(self, element: etree._Element) -> None:
        self.now = max(self.now - self._ticks(element), Fraction(0))

    def _forward(self, element: etree._Element) -> None:
        self.now += self._ticks(element)
        self._reach(self.now)

    def _attributes(self, element: etree._Element) -> None:
        told = number(element.findtext("divisions"))
        if told is not None and told > 0:
            self.divisions = told
        self.bar.changes.append((self._place(), element))

    def _note(self, element: etree._Element) -> None:
        grace, chord = element.find("grace") is not None, element.find("chord") is not None
        duration = Fraction(0) if grace else self._ticks(element)
        onset = self.chord_at if chord else self.now
        place = self._place(onset)
        voice = (element.findtext("voice") or "").strip()
        staff = (element.findtext("staff") or "1").strip()
        note = _note(element, place, duration, voice, staff)
        played = [self.instruments.get(i.get("id") or "") for i in element.findall("instrument")]
        told = tuple(("instrument", (), name, ()) for name in played if name is not None)
        self.bar.notes.append(replace(note, content=note.content + told))
        for end in _note_ends(element):
            self.bar.ends.append(_end(end, place, voice, staff, on_note=True))
        self._reach(onset + duration)
        if not chord:
            self.chord_at = onset
            self.now += duration

    def _direction(self, element: etree._Element) -> None:
        place = self._place(self.now + self._offset(element))
        voice = (element.findtext("voice") or "").strip()
        staff = (element.findtext("staff") or "1").strip()
        kept: list[Canon] = []
        for kind in element.findall("direction-type"):
            spans = [child for child in kind if child.tag in _DIRECTION_SPANS and child.get("type")]
            for child in spans:
                self.bar.ends.append(_end(child, place, voice, staff, on_note=False))
            left = [canon(child, ("id",)) for child in kind if child not in spans and child.tag != "image"]
            if left:
                kept.append(("direction-type", (), "", tuple(left)))
        if kept:
            head = tuple(sorted((k, v) for k, v in element.attrib.items() if k not in ("id",)))
            kept.append(("direction", head, "", tuple(canon(c) for c in element.findall("voice"))))
            self.bar.items.append(Item(place, "direction", staff, tuple(kept), self.now))
        for sound in element.findall("sound"):
            self._sounding(sound, place)
        self._tempo_of(element, place)

    def _sound(self, element: etree._Element) -> None:
        place = self._place(self.now + self._offset(element))
        self._sounding(element, place)
        self._tempo_of(element, place)

    def _sounding(self, sound: etree._Element, place: Place) -> None:
        kept = canon(sound, _DROPPED_SOUND)
        kept = (kept[0], kept[1], kept[2], tuple(child for child in kept[3] if child[0] != "offset"))
        if kept[1] or kept[3]:
            self.bar.items.append(Item(place, "sound", "", (kept,)))

    def _offset(self, element: etree._Element) -> Fraction:
        return (number(element.findtext("offset")) or Fraction(0)) / self.divisions

    def _tempo_of(self, element: etree._Element, place: Place) -> None:
        sounds = [element] if element.tag == "sound" else element.findall("sound")
        told = next((t for s in sounds if (t := number(s.get("tempo"))) is not None), None)
        printed = next((p for m in element.iter("metronome") if (p := _printed(m)) is not None), None)
        ratio = next((r for m in element.iter("metronome") if (r := _ratio(m)) is not None), None)
        words = ["".join(w.itertext()).strip() for w in element.iterfind("direction-type/words")]
        first = any(text[:1].isupper() and _CALLED_BACK.match(text) for text in words)
        if told is not None and told > 0:
            self.bar.tempos.append(Tempo(place, told, printed, played=True))
        elif printed is not None:
            self.bar.tempos.append(Tempo(place, printed, printed))
        elif ratio is not None or first or any(t[:1].isupper() and _NAMED.match(t) for t in words):
            self.bar.tempos.append(Tempo(place, ratio=ratio, first=first))

    def _harmony(self, element: etree._Element) -> None:
        inside = tuple(canon(child) for child in element if child.tag not in ("offset", "staff"))
        head: Canon = ("harmony", canon(element)[1], "", inside)
        staff = (element.findtext("staff") or "1").strip()
        self.bar.items.append(Item(self._place(self.now + self._offset(element)), "harmony", staff, (head,)))

    def _figured_bass(self, element: etree._Element) -> None:
        inside = tuple(canon(child) for child in element if child.tag != "duration")
        length: Canon = ("duration", (), str(self._ticks(element)), ())
        self.bar.items.append(
            Item(self._place(), "figured-bass", "", (("figured-bass", canon(element)[1], "", inside), length))
        )

    def _print(self, element: etree._Element) -> None:
        kept = tuple(canon(child) for child in element if child.tag in _PRINTED)
        if kept:
            self.bar.items.append(Item(self._place(), "print", "", kept))

    def _barline(self, element: etree._Element) -> None:
        for ending in element.findall("ending"):
            self.bar.endings.append(
                (ending.get("type") or "", ending.get("number") or "", (ending.text or "").strip())
            )
        name, attributes, text, children = canon(element)
        children = tuple(child for child in children if child[0] != "ending")
        if children:
            self.bar.barlines.append((name, attributes, text, children))

    def _link(self, element: etree._Element) -> None:
        """Links lead out of the file and are left behind."""

    def _anything(self, element: etree._Element) -> None:
        self.bar.items.append(Item(self._place(), str(element.tag), "", (canon(element),)))


def _note(element: etree._Element, place: Place, duration: Fraction, voice: str, staff: str) -> Note:
    apart = {"duration", "voice", "staff", "tie", "beam", "accidental", "notations", "chord", "pitch", "rest"}
    apart |= {"lyric", "instrument"}
    content = [canon(child) for child in element if child.tag not in apart]
    content.extend(lyric for child in element.findall("lyric") if (lyric := _syllable(child))[3])
    rest = element.find("rest")
    if rest is not None:
        content.append(canon(rest))
    head = tuple(sorted((k, v) for k, v in element.attrib.items() if k not in _PAGE))
    content.append(("note", head, "", ()))
    content.extend(_marks(element))
    pitch, accidental = element.find("pitch"), element.find("accidental")
    return Note(
        place=place,
        duration=duration,
        voice=voice,
        staff=staff,
        pitch=canon(pitch) if pitch is not None else None,
        chord=element.find("chord") is not None,
        grace=element.find("grace") is not None,
        rest=rest is not None,
        content=tuple(content),
        accidental=canon(accidental) if accidental is not None else None,
        beams=tuple(canon(beam) for beam in element.findall("beam")),
        sounding=_ties(element.findall("tie")),
        drawn=_ties(element.findall("notations/tied")),
    )


def _ties(elements: list[etree._Element]) -> frozenset[str]:
    return frozenset(str(e.get("type")) for e in elements if e.get("type") in ("start", "stop"))


def _marks(note: etree._Element) -> Iterator[Canon]:
    """All that stands in `<notations>` but the ends of spans and ties; groups opened, in order."""
    for notations in note.findall("notations"):
        hidden = notations.get("print-object")
        for child in notations:
            if child.tag in ("ornaments", "technical", "articulations"):
                for mark in child:
                    if not _is_span(mark):
                        yield (str(child.tag), (("print", hidden or ""),), "", (canon(mark, ("id",)),))
            elif not _is_span(child) and not (child.tag == "tied" and child.get("type") in ("start", "stop")):
                yield canon(child, ("id",))


def _syllable(lyric: etree._Element) -> Canon:
    """A syllable without the typed ends of the line behind it, which are spans."""
    name, attributes, text, children = canon(lyric, ("id",))
    kept = tuple(c for c in children if c[0] != "extend" or "type" not in dict(c[1]))
    return name, attributes, text, kept


def _is_span(element: etree._Element) -> bool:
    if element.tag == "tremolo":
        return element.get("type") in ("start", "stop")
    return element.tag in _NOTE_SPANS and element.get("type") is not None


def _note_ends(note: etree._Element) -> Iterator[etree._Element]:
    for notations in note.findall("notations"):
        for element in notations.iter(*_NOTE_SPANS):
            if _is_span(element):
                yield element
    for extend in note.iterfind("lyric/extend"):
        if extend.get("type") is not None:
            yield extend


def _end(element: etree._Element, place: Place, voice: str, staff: str, *, on_note: bool) -> End:
    kind = element.get("type") or ""
    role = "start" if kind in _BEGINNINGS else "middle" if kind in _MIDDLES else "stop"
    return End(
        kind=str(element.tag),
        number=_number_of(element),
        role=role,
        detail=kind,
        place=place,
        voice=voice,
        staff=staff,
        on_note=on_note,
        element=canon(element, ("id",)),
    )


def _number_of(element: etree._Element) -> str:
    """The number of a span; of the line behind a syllable, that of the verse."""
    parent = element.getparent()
    if element.tag == "extend" and parent is not None:
        return parent.get("number") or "1"
    return element.get("number") or "1"


_UNITS = {"long": Fraction(16), "breve": Fraction(8), "whole": Fraction(4), "half": Fraction(2)}
_UNITS |= {"quarter": Fraction(1), "eighth": Fraction(1, 2), "16th": Fraction(1, 4), "32nd": Fraction(1, 8)}
_CALLED_BACK = re.compile(r"(tempo\s*(i|1)\b|tempo\s*1?\s*(mo|primo))", re.IGNORECASE)
_NAMED = re.compile(
    r"(?:(?:molto|poco|più|meno|quasi|assai|un poco|ben|très|sehr|ziemlich|nicht zu|etwas)\s+)*"
    r"(allegr[oa]|allegretto|andant|adagi|larg|lent|prest|viva|moderato|grave|maestoso|mosso|tempo di |langsam"
    r"|schnell|lebhaft|mäßig|mässig|rasch|vif|vite|modéré|animé|slow|fast|lively|quick)",
    re.IGNORECASE,
)


def _printed(metronome: etree._Element) -> Fraction | None:
    """Quarter notes a minute of a metronome mark that gives a number."""
    unit = _UNITS.get((metronome.findtext("beat-unit") or "").strip())
    text = "".join(c if c.isdigit() or c == "." else " " for c in metronome.findtext("per-minute") or "")
    told = next((n for word in text.split() if (n := number(word.strip("."))) is not None), None)
    if unit is None or told is None or told <= 0:
        return None
    dots = len(metronome.findall("beat-unit-dot"))
    return told * unit * (2 - Fraction(1, 2**dots))


def _ratio(metronome: etree._Element) -> tuple[Fraction, Fraction] | None:
    """The two note values of "quarter = half"."""
    units: list[list[Fraction]] = []
    for child in metronome:
        if child.tag == "beat-unit":
            unit = _UNITS.get((child.text or "").strip(), Fraction(0))
            units.append([unit])
        elif child.tag == "beat-unit-dot" and units:
            units[-1].append(units[-1][-1] / 2)
    lengths = [sum(unit, Fraction(0)) for unit in units]
    if len(lengths) == 2 and all(lengths) and metronome.find("per-minute") is None:
        return lengths[0], lengths[1]
    return None
