"""Keys, times and tempi of a part and where each begins: what a teacher looks up before boxing bars."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.metre import metre_of
from excerpts.musicxml import number_in
from excerpts.score.bars import Bars
from excerpts.score.limits import shortened
from excerpts.score.state import State
from excerpts.score.timeline import walk

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


def overview(bars: Bars) -> Overview:
    """List the keys, times and tempi of a part; a repetition of what is in force anyway is left out."""
    found: dict[str, list[Change]] = {"key": [], "time": [], "tempo": []}
    state = State()
    for index, measure in enumerate(bars.measures):
        if not any(child.tag in _TELLING for child in measure):
            continue  # most bars: timing their notes would be most of the work
        time = walk(measure, state.divisions)
        for moment in time.moments:
            for kind, text in _texts(moment.element):
                if not found[kind] or found[kind][-1].text != text:
                    found[kind].append(Change(text, bars.labels[index], index + 1, moment.onset))
        state.divisions = time.divisions
    return Overview(tuple(found["key"]), tuple(found["time"]), tuple(found["tempo"]))


def _texts(element: etree._Element) -> list[tuple[str, str]]:
    texts: list[tuple[str, str]] = []
    if element.tag == "attributes":
        texts += [("key", key_text(key)) for key in element.findall("key")[:1]]
        texts += [("time", metre_of(time).text or "free") for time in element.findall("time")[:1]]
    elif element.tag in ("direction", "sound"):
        tempo = _tempo_text(element)
        texts += [("tempo", tempo)] if tempo else []
    return texts


def key_text(key: etree._Element) -> str:
    """Name a key signature: "D major", "3 flats" where the mode is not given."""
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


def _tempo_text(element: etree._Element) -> str:
    pieces: list[str] = []
    metronome = element.find("direction-type/metronome")
    sound = element if element.tag == "sound" else element.find("sound")
    tempo = number_in(sound.get("tempo")) if sound is not None else None
    if metronome is None and tempo is None:
        return ""
    for words in element.iterfind("direction-type/words"):
        pieces.append("".join(words.itertext()).strip())
    if metronome is not None:
        dots = "dotted " * min(len(metronome.findall("beat-unit-dot")), 3)
        number = (metronome.findtext("per-minute") or "").strip()
        pieces.append(f"{dots}{(metronome.findtext('beat-unit') or '').strip()} = {number}")
    elif tempo is not None:
        pieces.append(f"quarter = {float(tempo):g} when played")
    return shortened(", ".join(piece for piece in pieces if piece))
