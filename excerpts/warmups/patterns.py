"""The patterns of warm-ups in one table: their notes, layouts, names, signatures and bows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import partial
from typing import Final

from excerpts.errors import WarmupError
from excerpts.instruments.instrument import LEVELS, Instrument, Level
from excerpts.instruments.keys import CHURCH_MODES, Key, parse_key, parse_root, tonic_name
from excerpts.musicxml.pitch import Pitch
from excerpts.warmups import note_layout
from excerpts.warmups import pattern_notes as notes
from excerpts.warmups.manner import Bowing
from excerpts.warmups.note_layout import Layout

Chord = tuple[Pitch, ...]
"""One note, or the notes of a double stop from the lowest."""

Layouts = Callable[[Level, int, int], tuple[Layout, ...]]
"""Ways to lay out a pattern in bars, the best first, by level, octaves and number of notes."""

Signature = Callable[[Key], tuple[int, str]]
"""Sharps, or flats below zero, and MusicXML's mode ("" for none)."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What the notes of a pattern depend on.

    Attributes:
        key: The key, or the major key of the first note where the pattern is named by that.
        octave: Octave number of the first tonic.
        octaves: How many octaves up.
        level: The level.
        player: The instrument.
    """

    key: Key
    octave: int
    octaves: int
    level: Level
    player: Instrument


@dataclass(frozen=True, slots=True)
class Pattern:
    """One pattern.

    Attributes:
        name: As teachers type it; also its id in the words file, where a dash is an underscore.
        notes: Its notes in order.
        most: Octaves that are taken by themselves at each level, at most; more can be asked for.
        layouts: Its layouts.
        by_note: It is named by its first note (a chromatic scale on G), not by a key.
        plain: A minor one is in "A minor", whichever minor it is.
        modes: Whether there is one in the church modes.
        signature: Its key signature.
        fixed: It is always one octave.
        bows: Its own bows, by level and octaves, where slurs cannot be chosen.
        chosen_slurs: Whether slurs can be chosen.
    """

    name: str
    notes: Callable[[Asked], tuple[Chord, ...]]
    most: tuple[int, int, int, int, int]
    layouts: Layouts
    by_note: bool = False
    plain: bool = False
    modes: bool = True
    signature: Signature = lambda key: (key.fifths, key.xml_mode)
    fixed: bool = False
    bows: Callable[[Level, int], Bowing] = lambda level, octaves: Bowing()
    chosen_slurs: bool = True

    @property
    def words_id(self) -> str:
        """Its id under `[warmup]` in the words file."""
        return self.name.partition(":")[0].replace("-", "_")

    def key(self, text: str) -> Key:
        """Read what is asked for: a key, or a first note.

        Raises:
            WarmupError: There is no such key, or the pattern has none in that mode.
        """
        if self.by_note:
            return parse_root(text)
        key = parse_key(text)
        if key.mode in CHURCH_MODES and not self.modes:
            tonic = tonic_name(key)
            raise WarmupError(
                f"the {self.name} pattern is major or minor, not {key.mode}.",
                hint=f"Write '{tonic} major' or '{tonic} minor'.",
            )
        return key

    def most_octaves(self, level: Level) -> int:
        """Octaves that are taken by themselves at a level, at most."""
        return self.most[LEVELS.index(level)]


_Run = Callable[[Key, int, int], Sequence[Pitch]]
_ANY: Final = (4, 4, 4, 4, 4)
_FEW: Final = (1, 1, 2, 2, 3)
_STOPS: Final = (1, 1, 1, 2, 2)
_ONE: Final = (1, 1, 1, 1, 1)


def _single(run: _Run) -> Callable[[Asked], tuple[Chord, ...]]:
    """Single notes as chords of one."""
    return lambda asked: tuple((pitch,) for pitch in run(asked.key, asked.octave, asked.octaves))


def _no_signature(key: Key) -> tuple[int, str]:
    return 0, ""


def _dominant_signature(root: Key) -> tuple[int, str]:
    key = notes.leads_to(root)
    return max(-7, key.fifths), key.xml_mode


def _by_note(name: str, run: _Run, layouts: Layouts, signature: Signature = _no_signature) -> Pattern:
    return Pattern(name, _single(run), _FEW, layouts, by_note=True, signature=signature)


def _double(name: str, run: Callable[[Key, int, int], notes.Stops]) -> Pattern:
    return Pattern(
        name,
        lambda asked: run(asked.key, asked.octave, asked.octaves),
        _STOPS,
        note_layout.double_stops,
        modes=False,
    )


def _seven(name: str, order: tuple[int, ...]) -> Pattern:
    """The arpeggios of seven chords in an order."""
    return Pattern(
        name,
        _single(partial(notes.seven_arpeggios, order=order)),
        _FEW,
        lambda level, octaves, count: note_layout.by_beats(
            notes.seven_arpeggios_beats(octaves, order), two=octaves % 2 == 1
        ),
        by_note=True,
        signature=_no_signature,
        bows=lambda level, octaves: Bowing(notes.slurs(notes.seven_arpeggios_beats(octaves, order))),
        chosen_slurs=False,
    )


TURNED: Final = Pattern(
    "scale-with-turn", _single(notes.scale_with_turn), (3, 3, 3, 3, 3), note_layout.scale_with_turn
)
"""What `turn` makes of the scale; it has no name of its own on the page."""

_PATTERNS: Final = (
    Pattern("scale", _single(notes.scale), _ANY, note_layout.scale),
    Pattern("arpeggio", _single(notes.arpeggio), _ANY, note_layout.arpeggio, plain=True, modes=False),
    _by_note("chromatic", notes.chromatic, note_layout.chromatic),
    Pattern("broken-thirds", _single(notes.broken_thirds), _FEW, note_layout.broken_thirds),
    _by_note("dominant-seventh", notes.dominant_seventh, note_layout.seventh, _dominant_signature),
    _by_note("diminished-seventh", notes.diminished_seventh, note_layout.seventh),
    _seven(notes.SEVEN_ARPEGGIOS, notes.CHORD_ORDER),
    _double("thirds", notes.thirds),
    _double("sixths", notes.sixths),
    _double("octaves", notes.in_octaves),
    Pattern(
        "acceleration",
        lambda asked: _single(partial(notes.acceleration, level=asked.level))(asked),
        (1, 2, 2, 3, 3),
        lambda level, octaves, count: note_layout.by_beats(notes.acceleration_beats(level, octaves)),
        bows=lambda level, octaves: Bowing(notes.slurs(notes.acceleration_beats(level, octaves))),
        chosen_slurs=False,
    ),
    Pattern(
        "long-notes",
        lambda asked: tuple((pitch,) for pitch in notes.long_notes(asked.key, asked.octave, asked.player)),
        _ONE,
        note_layout.long_notes,
        fixed=True,
        bows=lambda level, octaves: Bowing(hairpins=("crescendo", "diminuendo"), signs=True),
        chosen_slurs=False,
    ),
    Pattern(
        "tune",
        lambda asked: tuple((pitch,) for pitch in notes.tune(asked.key, asked.octave)),
        _ONE,
        lambda level, octaves, count: note_layout.in_three(notes.TUNE_LENGTHS),
        plain=True,
        fixed=True,
        bows=lambda level, octaves: Bowing(notes.slurs(notes.TUNE_BARS)),
        chosen_slurs=False,
    ),
)
PATTERNS: Final[dict[str, Pattern]] = {pattern.name: pattern for pattern in _PATTERNS}
"""Each pattern by its name."""


def find_pattern(name: str) -> Pattern:
    """Give the pattern of that name; the seven arpeggios may have an order ("seven-arpeggios:2-1-5-3-4-7-6").

    Raises:
        WarmupError: There is none (the nearest are told), or the order is none.
    """
    if name in PATTERNS:
        return PATTERNS[name]
    base, given, order = name.partition(":")
    if given and base.strip() == notes.SEVEN_ARPEGGIOS:
        read = notes.read_chord_order(order)
        return _seven(f"{notes.SEVEN_ARPEGGIOS}:{'-'.join(map(str, read))}", read)
    near = get_close_matches(name, PATTERNS, n=1)
    guess = f"Did you mean '{near[0]}'? " if near else ""
    raise WarmupError(f"there is no pattern '{name}'.", hint=f"{guess}There are: {', '.join(PATTERNS)}.")
