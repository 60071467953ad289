"""The notes of each pattern, up and down with the top note once.

Every function takes the key (or the major key of the first note), the octave number of the first tonic, and how many
octaves to climb. Which chords and tunes: common practice, no source, or our own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Final

from excerpts.errors import WarmupError
from excerpts.instruments.instrument import Instrument, Level
from excerpts.instruments.keys import Key
from excerpts.instruments.staff import parse_pitch, staff_place
from excerpts.musicxml.pitch import STEPS, Pitch

_SHARPS: Final = "C C# D D# E F F# G G# A A# B".split()
_FLATS: Final = "C Db D Eb E F Gb G Ab A Bb B".split()
"""The twelve notes going up and coming down: no E-sharp, B-sharp, C-flat or F-flat (common practice)."""

Interval = tuple[int, int]
"""Letters and semitones above the first note."""

Stops = tuple[tuple[Pitch, Pitch], ...]
"""Double stops in order, the lower note first."""


def _up_and_down(top: int) -> list[tuple[int, bool]]:
    """Degrees up to the top and back, and whether each is played coming down."""
    return [(number, False) for number in range(top)] + [(number, True) for number in range(top, -1, -1)]


def scale(key: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """A scale, 14 notes an octave and the last one; a melodic minor comes down as the natural one."""
    return tuple(key.degree(number, octave, down=down) for number, down in _up_and_down(7 * octaves))


def scale_with_turn(key: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """A scale with the turn at the bottom (tonic, third, second): 3 notes more each way.

    Three octaves then have 24 notes before the top note, and groups of 2, 3, 4, 6, 8 and 12 come out.
    """
    tonic, second, third = (key.degree(number, octave) for number in range(3))
    low_second, low_third = (key.degree(number, octave, down=True) for number in (1, 2))
    return (tonic, third, second, *scale(key, octave, octaves), low_second, low_third, tonic)


def arpeggio(key: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """The broken triad of a key, 6 notes an octave and the last one; the three minors share theirs."""
    up = [key.degree(7 * turn + place, octave) for turn in range(octaves) for place in (0, 2, 4)]
    return (*up, key.degree(7 * octaves, octave), *reversed(up))


def broken_thirds(key: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """A scale in broken thirds: 28 notes an octave less two, the top tonic once.

    Going up each note is followed by its third, and the way up passes the tonic's second (G B A C … F# A G);
    coming down each note is followed by the third below it, and the last third ends on the tonic.
    """
    top = 7 * octaves
    up = [key.degree(number + step, octave) for number in range(top) for step in (0, 2)]
    down = [key.degree(number - step, octave, down=True) for number in range(top, 1, -1) for step in (0, 2)]
    return (*up, *down)


def chromatic(root: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """All twelve notes, 24 an octave and the last one.

    Sharps going up, flats coming down; the note it starts on keeps its name wherever it comes.

    Raises:
        WarmupError: It starts on C-flat, which no chromatic scale is written with.
    """
    start = root.tonic(octave)
    if str(start)[:-1] not in {*_SHARPS, *_FLATS}:
        raise WarmupError("a chromatic scale does not start on C-flat.", hint="The usual name is B.")

    def named(semitones: int, names: list[str]) -> Pitch:
        octaves_up, rest = divmod(semitones, 12)
        if not rest:
            return root.tonic(octave + octaves_up)
        midi = int(start.midi) + semitones
        return parse_pitch(f"{names[midi % 12]}{midi // 12 - 1}")

    return tuple(named(number, _FLATS if down else _SHARPS) for number, down in _up_and_down(12 * octaves))


# Double stops


def thirds(key: Key, octave: int, octaves: int) -> Stops:
    """A scale in thirds; the lower notes are the scale, 14 stops an octave and the last one."""
    return _in_stops(key, octave, octaves, 0, 2)


def sixths(key: Key, octave: int, octaves: int) -> Stops:
    """A scale in sixths; the upper notes are the scale, so that it begins and ends in the tonic chord."""
    return _in_stops(key, octave, octaves, -5, 0)


def in_octaves(key: Key, octave: int, octaves: int) -> Stops:
    """A scale in octaves; the lower notes are the scale."""
    return _in_stops(key, octave, octaves, 0, 7)


def _in_stops(key: Key, octave: int, octaves: int, low: int, high: int) -> Stops:
    return tuple(
        (key.degree(number + low, octave, down=down), key.degree(number + high, octave, down=down))
        for number, down in _up_and_down(7 * octaves)
    )


# Chords of sevenths, which are named by their first note

DOMINANT: Final = ((2, 4), (4, 7), (6, 10))
"""The dominant seventh above its first note."""
_DIMINISHED: Final = (
    ((2, 3), (4, 6), (6, 9)),  # in thirds, as the chord is built: G Bb Db Fb
    ((2, 3), (4, 6), (5, 9)),  # the first note as the third of the chord: C Eb Gb A
    ((2, 3), (3, 6), (5, 9)),  # as its fifth: Eb Gb A C
    ((1, 3), (3, 6), (5, 9)),  # as its seventh: Db E G Bb
)
"""The same twelve semitones divided by three, as each of the four notes of the chord would spell them."""


def dominant_seventh(root: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """The dominant seventh built on a note, 8 notes an octave and the last one.

    It is named by its own first note, not by the key that it leads to: on G it is G B D F.
    """
    return _broken_chord(root, DOMINANT, octave, octaves)


def diminished_seventh(root: Key, octave: int, octaves: int) -> tuple[Pitch, ...]:
    """The diminished seventh built on a note, 8 notes an octave and the last one.

    It is spelled in thirds where that needs no double flat, else as the same chord of another of its notes.
    """
    return _broken_chord(root, _diminished(root.tonic(octave)), octave, octaves)


def leads_to(root: Key) -> Key:
    """The key of a dominant seventh: a fourth above, major where there is such a key, else minor."""
    fourth = root.degree(3, 4)
    major = Key(fourth.step, int(fourth.alter), "major")
    minor = Key(fourth.step, int(fourth.alter), "harmonic minor")
    return minor if abs(major.fifths) > 7 >= abs(minor.fifths) else major


def _broken_chord(root: Key, chord: Sequence[Interval], octave: int, octaves: int) -> tuple[Pitch, ...]:
    up = [pitch for turn in range(octaves) for pitch in _chord(root.tonic(octave + turn), chord)]
    return (*up, root.tonic(octave + octaves), *reversed(up))


def _chord(first: Pitch, chord: Sequence[Interval]) -> list[Pitch]:
    return [first, *(_above(first, *interval) for interval in chord)]


def _above(pitch: Pitch, letters: int, semitones: int) -> Pitch:
    octave, letter = divmod(staff_place(pitch) + letters, 7)
    natural = Pitch(STEPS[letter], octave)
    return Pitch(natural.step, octave, pitch.midi + semitones - natural.midi)


def _diminished(first: Pitch) -> tuple[Interval, ...]:
    """The diminished seventh above a note: in thirds without double flats, else with the fewest accidentals."""

    def strain(chord: Sequence[Interval]) -> tuple[int, int]:
        notes = _chord(first, chord)
        double = sum(abs(note.alter) > 1 for note in notes)
        white = sum(str(note)[:-1] in {"Cb", "Fb", "E#", "B#"} for note in notes)
        return double, white + sum(note.alter != 0 for note in notes)

    in_thirds = _DIMINISHED[0]
    return in_thirds if not strain(in_thirds)[0] else min(_DIMINISHED, key=strain)


# Seven arpeggios that share their lowest note

SEVEN_ARPEGGIOS: Final = "seven-arpeggios"

_DOMINANT: Final = 6
_DIMINISHED_SEVENTH: Final = 7
_TRIADS: Final[dict[int, tuple[Interval, ...]]] = {
    1: ((2, 4), (4, 7)),  # the major of the first note
    2: ((2, 3), (4, 7)),  # its minor
    3: ((3, 5), (5, 9)),  # the major of the fourth
    4: ((3, 5), (5, 8)),  # the minor of the fourth
    5: ((2, 4), (5, 9)),  # the minor of the sixth
}
CHORD_ORDER: Final = (1, 2, 3, 4, 5, _DOMINANT, _DIMINISHED_SEVENTH)
"""The chords by their numbers in our own order, which goes by pairs: major and minor, both of the fourth, the minor of
the sixth, the two chords of sevenths. The order is a matter of taste, and every method has its own."""


def read_chord_order(text: str) -> tuple[int, ...]:
    """Read an order of the seven chords: "2-1-5-3-4-7-6".

    Raises:
        WarmupError: It does not have each of the seven numbers once.
    """
    parts = [part.strip() for part in text.split("-")]
    if sorted(parts) != [str(number) for number in CHORD_ORDER]:
        raise WarmupError(
            f"'{text}' in '{SEVEN_ARPEGGIOS}:{text}' is not an order of the seven chords.",
            hint=f"Write each number from 1 to 7 once, like {SEVEN_ARPEGGIOS}:2-1-5-3-4-7-6. 1 is the major and 2 the "
            "minor chord of the note, 3 the major and 4 the minor of the fourth, 5 the minor of the sixth, 6 the "
            "dominant and 7 the diminished seventh.",
        )
    return tuple(int(part) for part in parts)


def seven_arpeggios(
    root: Key, octave: int, octaves: int, order: tuple[int, ...] = CHORD_ORDER
) -> tuple[Pitch, ...]:
    """The seven arpeggios, one after the other, in an order of their numbers.

    Each comes back to the first note, which is where the next one starts: 46 notes an octave and the last.
    """
    chords = {**_TRIADS, _DOMINANT: DOMINANT, _DIMINISHED_SEVENTH: _diminished(root.tonic(octave))}
    runs = [_broken_chord(root, chords[number], octave, octaves) for number in order]
    return (*(pitch for run in runs for pitch in run[:-1]), root.tonic(octave))


def seven_arpeggios_beats(octaves: int, order: tuple[int, ...]) -> list[int]:
    """Notes in each beat: triads in threes, sevenths in fours, so that every arpeggio has as many beats."""
    return [3 if number in _TRIADS else 4 for number in order for _ in range(2 * octaves)]


# A scale again and again in one tempo, each time with more notes to a beat

_TO_A_BEAT: Final = (1, 2, 3, 4, 6, 8)
_MOST_TO_A_BEAT: Final[dict[Level, int]] = {"first": 2, "lower": 4, "middle": 4, "upper": 6, "advanced": 8}


def passes(level: Level, octaves: int) -> tuple[int, ...]:
    """Notes to a beat of each pass: all that divide its notes, so that every pass begins on a beat."""
    notes = _notes_of_a_pass(octaves)
    return tuple(count for count in _TO_A_BEAT if count <= _MOST_TO_A_BEAT[level] and notes % count == 0)


def acceleration(key: Key, octave: int, octaves: int, level: Level) -> tuple[Pitch, ...]:
    """The notes of all passes and the last tonic.

    Three octaves come with the turn: a pass then has 48 notes, which every number of notes to a beat divides.
    """
    run = (scale_with_turn if octaves == 3 else scale)(key, octave, octaves)
    return run[:-1] * len(passes(level, octaves)) + run[-1:]


def acceleration_beats(level: Level, octaves: int) -> list[int]:
    """Notes in each beat."""
    notes = _notes_of_a_pass(octaves)
    return [count for count in passes(level, octaves) for _ in range(notes // count)]


def _notes_of_a_pass(octaves: int) -> int:
    return 48 if octaves == 3 else 14 * octaves


# For the sound

_TUNE: Final = (
    ((0, 2), (1, 1)), ((2, 2), (4, 1)), ((3, 1), (2, 1), (1, 1)), ((2, 3),),
    ((4, 2), (5, 1)), ((4, 1), (3, 1), (2, 1)), ((3, 1), (1, 1), (2, 1)), ((1, 3),),
    ((0, 2), (1, 1)), ((2, 2), (4, 1)), ((5, 1), (7, 1), (5, 1)), ((4, 3),),
    ((3, 2), (5, 1)), ((4, 1), (2, 1), (0, 1)), ((1, 1), (2, 1), (1, 1)), ((0, 3),),
)  # fmt: skip
"""Bars of the tune in three-four: degree above the tonic, and length in beats."""

TUNE_LENGTHS: Final = tuple(Fraction(length) for bar in _TUNE for _, length in bar)
"""Length of each note of the tune in beats."""
TUNE_BARS: Final = tuple(len(bar) for bar in _TUNE)
"""Notes in each bar of the tune."""


def tune(key: Key, octave: int) -> tuple[Pitch, ...]:
    """A slow tune of our own within an octave; the seventh, where the minors differ, does not come."""
    return tuple(key.degree(degree, octave, down=True) for bar in _TUNE for degree, _ in bar)


def long_notes(key: Key, octave: int, player: Instrument) -> tuple[Pitch, ...]:
    """The notes of one octave of a scale that ring, each one twice: a bow that grows, a bow that fades.

    A note rings when it is an open string or an octave or two above one. Where the key has fewer than two
    besides the tonic, all its notes are taken.
    """
    notes = [key.degree(number, octave, down=True) for number in range(8)]
    rings = {string.midi % 12 for string in player.strings}
    ringing = [note for note in notes if note.midi % 12 in rings]
    others = {note.midi % 12 for note in ringing} - {notes[0].midi % 12}
    chosen = [note for note in notes if note in ringing or note in {notes[0], notes[-1]}]
    return tuple(note for note in (chosen if len(others) > 1 else notes) for _ in range(2))


# Groups of notes


def slurs(groups: Iterable[int]) -> tuple[tuple[int, int], ...]:
    """First and last note of a slur over each group of so many notes; a single note has a bow of its own."""
    slurred: list[tuple[int, int]] = []
    first = 0
    for count in groups:
        if count > 1:
            slurred.append((first, first + count - 1))
        first += count
    return tuple(slurred)
