"""The patterns of warm-ups in one table: their notes, layouts, names, signatures and bows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Final

from excerpts.errors import WarmupError
from excerpts.instruments.instrument import LEVELS, Instrument, Level
from excerpts.instruments.keys import CHURCH_MODES, Key, parse_key, parse_root, tonic_name
from excerpts.musicxml.pitch import Pitch
from excerpts.warmups import acceleration_scale as acceleration
from excerpts.warmups import pitches, seven_chords, sevenths, stops, tone
from excerpts.warmups.note_layout import LAYOUTS, Layout, long_notes, seven_arpeggios
from excerpts.warmups.warmup_bows import Bowing

Chord = tuple[Pitch, ...]
"""One note, or the notes of a double stop from the lowest."""


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
        layouts: Ways to lay out so many notes in bars, the best first.
        by_note: It is named by its first note (a chromatic scale on G), not by a key.
        plain: A minor one is in "A minor", whichever minor it is.
        modes: Whether there is one in the church modes.
        signature: Sharps, or flats below zero, and MusicXML's mode ("" for none).
        fixed: It is always one octave.
        bows: Its own bows, by level and octaves, where slurs cannot be chosen.
        chosen_slurs: Whether slurs can be chosen.
    """

    name: str
    notes: Callable[[Asked], tuple[Chord, ...]]
    most: tuple[int, int, int, int, int]
    layouts: Callable[[Level, int, int], tuple[Layout, ...]]
    by_note: bool = False
    plain: bool = False
    modes: bool = True
    signature: Callable[[Key], tuple[int, str]] = lambda key: (key.fifths, key.xml_mode)
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
_NO_SIGNATURE: Final = (0, "")


def _single(run: _Run) -> Callable[[Asked], tuple[Chord, ...]]:
    """Single notes as chords of one."""
    return lambda asked: tuple((pitch,) for pitch in run(asked.key, asked.octave, asked.octaves))


def _laid_out(name: str) -> Callable[[Level, int, int], tuple[Layout, ...]]:
    return lambda level, octaves, count: LAYOUTS[name](level, octaves)


def _run(
    name: str,
    run: _Run,
    most: tuple[int, int, int, int, int],
    *,
    plain: bool = False,
    modes: bool = True,
) -> Pattern:
    return Pattern(name, _single(run), most, _laid_out(name), plain=plain, modes=modes)


def _by_note(
    name: str, run: _Run, signature: Callable[[Key], tuple[int, str]] = lambda key: _NO_SIGNATURE
) -> Pattern:
    return Pattern(name, _single(run), _FEW, _laid_out(name), by_note=True, signature=signature)


def _double(name: str, run: Callable[[Key, int, int], stops.Stops]) -> Pattern:
    return Pattern(
        name, lambda asked: run(asked.key, asked.octave, asked.octaves), _STOPS, _laid_out(name), modes=False
    )


def _dominant_signature(root: Key) -> tuple[int, str]:
    key = sevenths.leads_to(root)
    return max(-7, key.fifths), key.xml_mode


def _seven(name: str, order: tuple[int, ...]) -> Pattern:
    """The arpeggios of seven chords in an order."""
    return Pattern(
        name,
        _single(lambda key, octave, octaves: seven_chords.seven_arpeggios(key, octave, octaves, order)),
        _FEW,
        lambda level, octaves, count: (seven_arpeggios(octaves, order),),
        by_note=True,
        signature=lambda key: _NO_SIGNATURE,
        bows=lambda level, octaves: Bowing(tuple(seven_chords.slurs(octaves, order))),
        chosen_slurs=False,
    )


_ACCELERATION = Pattern(
    "acceleration",
    lambda asked: tuple(
        (pitch,) for pitch in acceleration.acceleration(asked.key, asked.octave, asked.octaves, asked.level)
    ),
    (1, 2, 2, 3, 3),
    _laid_out("acceleration"),
    bows=lambda level, octaves: Bowing(tuple(acceleration.slurs(level, octaves))),
    chosen_slurs=False,
)

_LONG_NOTES = Pattern(
    "long-notes",
    lambda asked: tuple((pitch,) for pitch in tone.long_notes(asked.key, asked.octave, asked.player)),
    (1, 1, 1, 1, 1),
    lambda level, octaves, count: (long_notes(count),),
    fixed=True,
    bows=lambda level, octaves: Bowing(hairpins=("crescendo", "diminuendo"), signs=True),
    chosen_slurs=False,
)

_TUNE = Pattern(
    "tune",
    lambda asked: tuple((pitch,) for pitch in tone.tune(asked.key, asked.octave)),
    (1, 1, 1, 1, 1),
    _laid_out("tune"),
    plain=True,
    fixed=True,
    bows=lambda level, octaves: Bowing(tuple(tone.tune_slurs())),
    chosen_slurs=False,
)


TURNED: Final = _run("scale-with-turn", pitches.scale_with_turn, (3, 3, 3, 3, 3))
"""What `turn` makes of the scale; it has no name of its own on the page."""

PATTERNS: Final[dict[str, Pattern]] = {
    pattern.name: pattern
    for pattern in (
        _run("scale", pitches.scale, _ANY),
        _run("arpeggio", pitches.arpeggio, _ANY, plain=True, modes=False),
        _by_note("chromatic", pitches.chromatic),
        _run("broken-thirds", pitches.broken_thirds, _FEW),
        _by_note("dominant-seventh", sevenths.dominant_seventh, _dominant_signature),
        _by_note("diminished-seventh", sevenths.diminished_seventh),
        _seven(seven_chords.NAME, seven_chords.ORDER),
        _double("thirds", stops.thirds),
        _double("sixths", stops.sixths),
        _double("octaves", stops.octaves),
        _ACCELERATION,
        _LONG_NOTES,
        _TUNE,
    )
}
"""Each pattern by its name."""


def find_pattern(name: str) -> Pattern:
    """Give the pattern of that name; the seven arpeggios may have an order ("seven-arpeggios:2-1-5-3-4-7-6").

    Raises:
        WarmupError: There is none (the nearest are told), or the order is none.
    """
    if name in PATTERNS:
        return PATTERNS[name]
    base, given, order = name.partition(":")
    if given and base.strip() == seven_chords.NAME:
        read = seven_chords.read_order(order)
        return _seven(f"{seven_chords.NAME}:{'-'.join(map(str, read))}", read)
    near = get_close_matches(name, PATTERNS, n=1)
    guess = f"Did you mean '{near[0]}'? " if near else ""
    raise WarmupError(f"there is no pattern '{name}'.", hint=f"{guess}There are: {', '.join(PATTERNS)}.")
