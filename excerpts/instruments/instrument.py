"""The instruments in one table: everything that differs from one instrument to the next stands in its entry.

A new instrument is one more entry in `INSTRUMENTS` and its name in the words files. Pitches are written ones: a
double bass sounds an octave below its page. Open strings and clefs follow the usual orchestration handbooks; the
top notes are named with their source in the table; the hands are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
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


Form = Mapping[int, tuple[int, ...]]
"""Fingers by semitones from the usual place of the first finger; the usual finger first."""

FIRST_POSITION: Final = 2
"""Semitones from the nut to the usual place of the first finger in first position: a tone."""

THUMB: Final = 5
"""The thumb among the fingers of a form."""

NUMERALS: Final = ("I", "II", "III", "IV", "V")
"""Numerals of the strings, from the highest; MusicXML's `<string>` counts the same way from 1."""


@dataclass(frozen=True, slots=True, eq=False)
class Hand:
    """The left hand on an instrument.

    Attributes:
        forms: Which fingers reach which semitone in each form of the hand, the usual form first.
        reach: Highest semitone above the open string in first position, the stretched finger left out.
        spans: Semitones from the lowest to the highest finger of a double stop, by the semitones from the nut
            to the lower of them.
        highest: How far up the hand goes on each string from the lowest: positions where it goes by letters, else
            semitones from the nut to the first finger or the thumb.
        settled: The positions that are used most, from the lowest; lower strings go no higher without a reason.
        by_letters: The next finger is the next letter, and the fourth finger reaches the next open string.
        thin_top: The highest string sounds thin low down, as the violin's E.
        beyond: Fingers by semitones from the first one beyond the neck, where the fourth is too short; empty where
            the hand is the same everywhere.
        thumb: Fingers by semitones from the thumb where it stops notes too; empty where it never does.
    """

    forms: tuple[Form, ...]
    reach: int
    spans: tuple[tuple[int, int], ...]
    highest: tuple[int, ...]
    settled: tuple[int, ...]
    by_letters: bool = False
    thin_top: bool = False
    beyond: Form = field(default_factory=dict)
    thumb: Form = field(default_factory=dict)

    def span_at(self, lowest: int) -> int:
        """How far the hand spans, in semitones, with its lowest finger so many semitones from the nut."""
        return next(span for start, span in reversed(self.spans) if start <= lowest)


@dataclass(frozen=True, slots=True)
class Instrument:
    """One instrument.

    Attributes:
        name: The name used in week files and commands; also its id in the words file.
        strings: Open strings as written, from the lowest (IV) to the highest (I).
        clefs: Clefs that its music uses, from low to high; the first is the default.
        read_to: How high a warm-up may go in each of them but the last, before the next one is used at all.
        hand: The left hand.
        first_tonics: Where first-year players start these tonics, which is not always the lowest place: on open
            strings and in first position.
        octave_change: MusicXML `<octave-change>` of its `<transpose>`: -1 for the double bass, else 0.
        ranges: One for each level, in the order of `LEVELS`.
        program: General MIDI program, counted from 0.
        names: Names that mean this instrument wherever they stand in a part name, in small letters.
        short_names: Names that mean it only when nothing but numbers stands beside them.
        abbreviation: Its name before a staff of a score.
        extra_string: Some have one more string than `strings` says.
        hands: Other ways in which the hand is taught, by the name that teachers give them.
    """

    name: str
    strings: tuple[Pitch, ...]
    clefs: tuple[Clef, ...]
    read_to: tuple[Pitch, ...]
    hand: Hand
    first_tonics: tuple[Pitch, ...]
    octave_change: int
    ranges: tuple[Range, ...]
    program: int
    names: tuple[str, ...]
    short_names: tuple[str, ...]
    abbreviation: str
    extra_string: bool = False
    hands: tuple[tuple[str, Hand], ...] = ()

    @property
    def clef(self) -> Clef:
        """The clef that its music starts in unless something else is easier to read."""
        return self.clefs[0]

    def clefs_to(self, highest: Pitch) -> tuple[Clef, ...]:
        """The clefs in which music up to that note is written."""
        return self.clefs[: 1 + sum(limit.midi < highest.midi for limit in self.read_to)]

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


def _pitches(names: str) -> tuple[Pitch, ...]:
    return tuple(parse_pitch(name) for name in names.split())


_NARROW: Final[Form] = {-1: (1,), 0: (1, 2), 1: (2,), 2: (2, 3), 3: (3,), 4: (3, 4), 5: (4,), 6: (4,)}
"""Low 1, 1, low 2, 2, 3, high 3 or low 4, 4, and 4 stretched; 2 and 3 lie lower still beside a low 1."""

_FOURTH_HAND: Final = Hand(
    forms=(_NARROW,),  # each finger moves by a semitone inside one form
    reach=7,
    spans=((0, 5),),  # first to fourth finger is a fourth: an octave on two strings
    highest=(9, 9, 10, 15),
    settled=(1, 3),
    by_letters=True,
)
_BEYOND: Final[Form] = {0: (1,), 1: (2,), 2: (2, 3), 3: (3,)}
_THUMB: Final[Form] = {0: (THUMB,), 1: (1,), 2: (1,), 3: (2,), 4: (2, 3), 5: (3,)}
"""The thumb on a note, the others by tones and semitones above it: an octave on two strings with the third."""

_CELLO_HAND: Final = Hand(
    forms=(
        {0: (1,), 1: (2,), 2: (3,), 3: (4,)},  # closed
        {-1: (1,), 1: (2,), 2: (3,), 3: (4,)},  # the first finger stretched back
        {0: (1,), 2: (2,), 3: (3,), 4: (4,)},  # the others stretched forward
    ),
    reach=6,
    spans=((0, 4), (7, 5)),  # a major third with an extension; a fourth from the thumb on
    highest=(14, 16, 19, 28),
    settled=(1, 4),
    beyond=_BEYOND,
    thumb=_THUMB,
)
_BASS_HAND: Final = Hand(
    forms=({0: (1,), 1: (2,), 2: (4,)}, {-1: (1,), 0: (2,), 1: (4,)}),  # third and fourth fingers together
    reach=4,
    spans=((0, 2), (7, 3), (12, 5)),  # a tone, a minor third beyond the neck, a fourth from the thumb on
    highest=(12, 14, 17, 26),
    settled=(0, 1, 2, 3, 4),
    beyond=_BEYOND,
    thumb=_THUMB,
)
BASS_FINGERS: Final = ("1-2-4", "1-3-4")
"""The fingers of the bass below the end of the neck, as one tradition and another have them: common practice."""

_BASS_134: Final = replace(_BASS_HAND, forms=({0: (1,), 1: (3,), 2: (4,)}, {-1: (1,), 0: (3,), 1: (4,)}))

_VIOLIN = Instrument(
    name="violin",
    strings=_pitches("G3 D4 A4 E5"),
    clefs=(TREBLE,),
    read_to=(),
    hand=replace(_FOURTH_HAND, thin_top=True),
    first_tonics=_pitches("G3 D4 A4"),  # open strings; from G3 two octaves in first position
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
    abbreviation="Vln.",
)  # fmt: skip

_VIOLA = Instrument(
    name="viola",
    strings=_pitches("C3 G3 D4 A4"),
    clefs=(ALTO, TREBLE),
    read_to=_pitches("E5"),  # fourth finger in first position
    hand=_FOURTH_HAND,
    first_tonics=_pitches("C3 G3 D4"),  # open strings; from C3 two octaves in first position
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
    abbreviation="Vla.",
)  # fmt: skip

_CELLO = Instrument(
    name="cello",
    strings=_pitches("C2 G2 D3 A3"),
    clefs=(BASS, TENOR, TREBLE),
    read_to=_pitches("G4 G5"),  # common practice: tenor before treble
    hand=_CELLO_HAND,
    first_tonics=_pitches("C2 G2 D3"),  # open strings; from C2 two octaves in first position
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
    abbreviation="Vc.",
)  # fmt: skip

_DOUBLE_BASS = Instrument(
    name="bass",
    strings=_pitches("E2 A2 D3 G3"),
    clefs=(BASS, TENOR, TREBLE),
    read_to=_pitches("D5 G5"),  # common practice: orchestral parts stay in one clef
    hand=_BASS_HAND,
    first_tonics=_pitches("G2 C3 D3"),  # G2 and C3 under the second finger, the open D string
    octave_change=-1,
    ranges=_ranges("E2", (
        ("B3", "fourth finger in first position"),
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
    abbreviation="Db.",
    extra_string=True,
    hands=tuple(zip(BASS_FINGERS, (_BASS_HAND, _BASS_134), strict=True)),
)  # fmt: skip

INSTRUMENTS: Final[dict[str, Instrument]] = {
    entry.name: entry for entry in (_VIOLIN, _VIOLA, _CELLO, _DOUBLE_BASS)
}
"""Every instrument by its name, in score order."""


@lru_cache
def in_hand(player: Instrument, hand: str | None) -> Instrument:
    """An instrument with its hand as it is taught by that name; as it is where none is given.

    Raises:
        InputError: It is not taught so.
    """
    if not hand:
        return player
    hands = dict(player.hands)
    if hand not in hands:
        known = " and ".join(BASS_FINGERS)
        raise InputError(f"on the {player.name} no hand is called {hand}.", hint=f"{known} are for the bass.")
    return replace(player, hand=hands[hand])
