"""The four instruments in one table: tuning, clefs, transposition, ranges by level, MIDI program and names.

Pitches are written ones: a double bass sounds an octave below its page. Open strings and clefs follow the
usual orchestration handbooks; the top notes are named with their source in the table.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Final, Literal, get_args

from excerpts.errors import InputError
from excerpts.instruments.staff import ALTO, BASS, TENOR, TREBLE, Clef, parse_pitch
from excerpts.musicxml.pitch import Pitch

Level = Literal["first", "lower", "middle", "upper", "advanced"]
LEVELS: Final[tuple[Level, ...]] = get_args(Level)
"""From a first-year player to a player of concertos."""


@dataclass(frozen=True, slots=True)
class Range:
    """What a player of one level is asked to reach, as written notes.

    Attributes:
        level: The level.
        low: The lowest note.
        top: The highest note.
        why: Where the top note comes from.
    """

    level: Level
    low: Pitch
    top: Pitch
    why: str

    def holds(self, pitch: Pitch) -> bool:
        """Whether the note lies in the range."""
        return self.low.midi <= pitch.midi <= self.top.midi


@dataclass(frozen=True, slots=True)
class Instrument:
    """One instrument.

    Attributes:
        name: The name used in week files and commands; also its id in the words file.
        strings: Open strings as written, from the lowest (IV) to the highest (I).
        clefs: Clefs that its music uses, from low to high; the first is the default.
        octave_change: MusicXML `<octave-change>` of its `<transpose>`: -1 for the double bass, else 0.
        ranges: One for each level, in the order of `LEVELS`.
        program: General MIDI program, counted from 0.
        names: Names that mean this instrument wherever they stand in a part name, in small letters.
        short_names: Names that mean it only when nothing but numbers stands beside them.
    """

    name: str
    strings: tuple[Pitch, ...]
    clefs: tuple[Clef, ...]
    octave_change: int
    ranges: tuple[Range, ...]
    program: int
    names: tuple[str, ...]
    short_names: tuple[str, ...]

    @property
    def clef(self) -> Clef:
        """The clef that its music starts in unless something else is easier to read."""
        return self.clefs[0]

    @property
    def sounding_strings(self) -> tuple[Pitch, ...]:
        """Open strings as they sound, from the lowest to the highest."""
        return tuple(Pitch(p.step, p.octave + self.octave_change, p.alter) for p in self.strings)

    def range_at(self, level: Level) -> Range:
        """The range of a level."""
        return self.ranges[LEVELS.index(level)]


_GUIDE = "orchestration handbooks"
_OWN = "common practice, no source"


def _ranges(low: str, tops: tuple[tuple[str, str], ...]) -> tuple[Range, ...]:
    return tuple(
        Range(level, parse_pitch(low), parse_pitch(top), why)
        for level, (top, why) in zip(LEVELS, tops, strict=True)
    )


def _strings(names: str) -> tuple[Pitch, ...]:
    return tuple(parse_pitch(name) for name in names.split())


_VIOLIN = Instrument(
    name="violin",
    strings=_strings("G3 D4 A4 E5"),
    clefs=(TREBLE,),
    octave_change=0,
    ranges=_ranges("G3", (
        ("B5", "fourth finger in first position; a violin positions page"),
        ("D6", f"fourth finger in third position: two octaves in C, G and D; {_OWN}"),
        ("E6", _OWN),
        ("E7", f"orchestral parts; {_GUIDE}"),
        ("A7", f"solo parts; {_GUIDE}"),
    )),
    program=40,
    names=(
        "violin", "violins", "violine", "violinen", "violino", "violini", "violon", "violons", "violín",
        "fiddle", "geige", "geigen", "vln", "vlns", "viool",
    ),
    short_names=("vl", "vn", "vno", "vni", "viol"),
)  # fmt: skip

_VIOLA = Instrument(
    name="viola",
    strings=_strings("C3 G3 D4 A4"),
    clefs=(ALTO, TREBLE),
    octave_change=0,
    ranges=_ranges("C3", (
        ("E5", "fourth finger in first position"),
        ("G5", f"fourth finger in third position: two octaves in C, G and D; {_OWN}"),
        ("A5", _OWN),
        ("E6", f"orchestral parts; {_GUIDE}"),
        ("B6", f"three octaves in every key; {_OWN}"),
    )),
    program=41,
    names=("viola", "violas", "viole", "violen", "bratsche", "bratschen", "vla", "vlas", "altviool"),
    short_names=("alto", "altos", "va", "vle", "br"),
)  # fmt: skip

_CELLO = Instrument(
    name="cello",
    strings=_strings("C2 G2 D3 A3"),
    clefs=(BASS, TENOR, TREBLE),
    octave_change=0,
    ranges=_ranges("C2", (
        ("D4", "fourth finger in first position; a cello positions page"),
        ("G4", f"two octaves in C, G and D; {_OWN}"),
        ("A4", f"the octave harmonic of the A string; {_OWN}"),
        ("A5", f"orchestral parts; {_GUIDE}"),
        ("E6", f"solo parts; {_GUIDE}"),
    )),
    program=42,
    names=(
        "cello", "cellos", "celli", "violoncello", "violoncellos", "violoncelli", "violoncelle",
        "violoncelles", "violonchelo", "vc", "vcl", "vlc", "vcs", "vcll",
    ),
    short_names=(),
)  # fmt: skip

_DOUBLE_BASS = Instrument(
    name="bass",
    strings=_strings("E2 A2 D3 G3"),
    clefs=(BASS, TENOR, TREBLE),
    octave_change=-1,
    ranges=_ranges("E2", (
        ("Eb4", f"one octave on any tonic: C and D, asked of beginners, leave first position; {_OWN}"),
        ("G4", "two octaves in G; a youth orchestra's list"),
        ("Ab4", "two octaves from E to A flat; a county orchestra's list"),
        ("A4", f"orchestral parts; {_GUIDE}"),
        ("G5", f"solo parts; {_OWN}"),
    )),
    program=43,
    names=(
        "contrabass", "contrabasses", "contrabassi", "contrabbasso", "contrabbassi", "contrabasso",
        "contrebasse", "contrebasses", "contrabajo", "contrabas", "kontrabass", "kontrabässe", "kontrabasse",
        "double bass", "double basses", "doublebass", "string bass", "upright bass", "acoustic bass",
    ),
    short_names=("bass", "basses", "basso", "bassi", "cb", "kb", "db", "d b", "c b", "bässe"),
)  # fmt: skip

INSTRUMENTS: Final[dict[str, Instrument]] = {
    entry.name: entry for entry in (_VIOLIN, _VIOLA, _CELLO, _DOUBLE_BASS)
}
"""Every instrument by its name, in score order."""

_NUMBERS = re.compile(
    r"\d+(st|nd|rd|th|er|e|a|o)?|i{1,3}|iv|first|second|third|primo|secondo|prima|seconda|solo|soli|tutti"
)
_OTHERS = frozenset((
    "amore", "bassoon", "bastarda", "clarinet", "continuo", "damore", "drum", "electric", "flute",
    "gamba", "gambe", "guitar", "horn", "keyboard", "oboe", "piccolo", "pomposa", "recorder", "sax",
    "saxophone", "singer", "synth", "trombone", "trumpet", "tuba", "voice",
))  # fmt: skip
"""Words that make it another instrument: bass clarinet, alto flute, viola da gamba, basso continuo."""


def instrument(name: str) -> Instrument:
    """Give the instrument of that name; a name as scores print it ("Violoncello") will do.

    Raises:
        InputError: There is no such instrument.
    """
    found = INSTRUMENTS.get(name.strip().casefold()) or instrument_of_part_name(name)
    if found is None:
        known = {alias: entry.name for entry in INSTRUMENTS.values() for alias in (*entry.names, entry.name)}
        near = get_close_matches(name.strip().casefold(), known, n=1)
        guess = f"Did you mean '{known[near[0]]}'? " if near else ""
        raise InputError(
            f"there is no instrument '{name}'.", hint=f"{guess}There are: {', '.join(INSTRUMENTS)}."
        )
    return found


def instrument_of_part_name(name: str) -> Instrument | None:
    """Tell which instrument a part is for by its printed name ("Violine II", "Vc.", "Kontrabass").

    A part that names two of them ("Violoncello e Contrabbasso") is taken for the first one named.

    Returns:
        The instrument, or None where the name tells of none of the four.
    """
    words = re.findall(r"[^\W_]+", name.casefold())
    if _OTHERS.intersection(words):
        return None
    words = [word for word in words if not _NUMBERS.fullmatch(word)]
    found: list[tuple[int, Instrument]] = []
    for entry in INSTRUMENTS.values():
        if " ".join(words) in entry.short_names:
            return entry
        found += [(at, entry) for alias in entry.names if (at := _find(alias.split(), words)) is not None]
    return min(found, key=lambda pair: pair[0])[1] if found else None


def _find(alias: list[str], words: list[str]) -> int | None:
    """Index in `words` where the words of `alias` stand one after the other, or None."""
    starts = range(len(words) - len(alias) + 1)
    return next((at for at in starts if words[at : at + len(alias)] == alias), None)
