"""Keys, times and tempi of a part and where each begins: what a teacher looks up before boxing bars."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from lxml import etree

from excerpts.musicxml.format import number_in
from excerpts.musicxml.metre import metre_of
from excerpts.musicxml.timeline import walk
from excerpts.score.attributes import State
from excerpts.score.bars import Bars
from excerpts.score.limits import shortened

if TYPE_CHECKING:
    from excerpts.words import Words

_MAJORS: Final = "Cb Gb Db Ab Eb Bb F C G D A E B F# C#".split()
_MINORS: Final = "Ab Eb Bb F C G D A E B F# C# G# D# A#".split()
"""Tonics from seven flats to seven sharps."""


@dataclass(frozen=True, slots=True)
class Change:
    """Something that begins at a point of a part.

    Attributes:
        text: What it is ("D major", "6/8", "Allegro, quarter = 120").
        label: Bar number as printed.
        place: Place of the bar in the file, from 1.
        onset: Quarter notes from the start of the bar.
    """

    text: str
    label: str
    place: int
    onset: Fraction


_TELLING: Final = frozenset({"attributes", "direction", "sound"})
"""What says anything about key, time or tempo."""


@dataclass(frozen=True, slots=True)
class Overview:
    """The changes of key, time and tempo in a part, in order."""

    keys: tuple[Change, ...]
    times: tuple[Change, ...]
    tempos: tuple[Change, ...]


def overview(bars: Bars, words: Words | None = None) -> Overview:
    """List the keys, times and tempi of a part; a repetition of what is in force anyway is left out.

    Args:
        bars: The bars of the part.
        words: The words that they are told in; None for the short forms that programs read ("Bb major").
    """
    changes: dict[str, list[Change]] = {"key": [], "time": [], "tempo": []}
    state = State()
    for index, measure in enumerate(bars.measures):
        if not any(child.tag in _TELLING for child in measure):
            continue  # most bars: timing their notes would be most of the work
        time = walk(measure, state.divisions)
        for moment in time.moments:
            for kind, text in _texts(moment.element, words):
                if not changes[kind] or changes[kind][-1].text != text:
                    changes[kind].append(Change(text, bars.labels[index], index + 1, moment.onset))
        state.divisions = time.divisions
    return Overview(tuple(changes["key"]), tuple(changes["time"]), tuple(changes["tempo"]))


def _texts(element: etree._Element, words: Words | None) -> list[tuple[str, str]]:
    texts: list[tuple[str, str]] = []
    if element.tag == "attributes":
        texts += [("key", key_text(key, words)) for key in element.findall("key")[:1]]
        free = words("show.free") if words else "free"
        texts += [("time", metre_of(time).text or free) for time in element.findall("time")[:1]]
    elif element.tag in ("direction", "sound"):
        tempo = _tempo_text(element, words)
        texts += [("tempo", tempo)] if tempo else []
    return texts


def key_text(key: etree._Element, words: Words | None = None) -> str:
    """Name a key signature: "D major", "3 flats" where the mode is not given."""
    return _key_said(key, words) if words else _key_short(key)


def _key_said(key: etree._Element, words: Words) -> str:
    from excerpts.instruments.keys import signature_name

    fifths = number_in(key.findtext("fifths"))
    if fifths is None or abs(fifths) > 7:
        return words("show.key_own")
    return signature_name(int(fifths), (key.findtext("mode") or "").strip(), words)


def _key_short(key: etree._Element) -> str:
    fifths = number_in(key.findtext("fifths"))
    if fifths is None or abs(fifths) > 7:
        return "a key of its own"
    mode = (key.findtext("mode") or "").strip()
    count = int(fifths)
    if mode == "minor":
        return f"{_MINORS[count + 7]} minor"
    if mode == "major":
        return f"{_MAJORS[count + 7]} major"
    if count == 0:
        return "no sharps or flats"
    kind = "sharp" if count > 0 else "flat"
    return f"{abs(count)} {kind}{'s' if abs(count) > 1 else ''}"


def _tempo_text(element: etree._Element, said: Words | None) -> str:
    pieces: list[str] = []
    metronome = element.find("direction-type/metronome")
    sound = element if element.tag == "sound" else element.find("sound")
    tempo = number_in(sound.get("tempo")) if sound is not None else None
    if metronome is None and tempo is None:
        return ""
    for words in element.iterfind("direction-type/words"):
        pieces.append("".join(words.itertext()).strip())
    if metronome is not None:
        number = (metronome.findtext("per-minute") or "").strip()
        pieces.append(f"{_beat_text(metronome, said)} = {number}")
    elif tempo is not None and said:
        pieces.append(said("show.played", beat=said("note.quarter"), number=f"{float(tempo):g}"))
    elif tempo is not None:
        pieces.append(f"quarter = {float(tempo):g} when played")
    return shortened(", ".join(piece for piece in pieces if piece))


def _beat_text(metronome: etree._Element, said: Words | None) -> str:
    """The beat of a metronome mark: "dotted quarter"; a length without a name stays as the file writes it."""
    unit, dots = (metronome.findtext("beat-unit") or "").strip(), len(metronome.findall("beat-unit-dot"))
    if said is None:
        return f"{'dotted ' * min(dots, 3)}{unit}"
    note = said(f"note.{unit}") if unit and said.has(f"note.{unit}") else unit
    for _ in range(min(dots, 3)):
        note = said("note.dotted", note=note)
    return note
