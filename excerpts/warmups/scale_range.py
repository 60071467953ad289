"""Where a warm-up starts and how many octaves it climbs, so that it fits the instrument and the level."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from excerpts.errors import WarmupError
from excerpts.instruments.instrument import LEVELS, Instrument, Level, Range
from excerpts.instruments.keys import Key
from excerpts.instruments.staff import parse_pitch
from excerpts.musicxml.pitch import Pitch

USUAL_LEVEL: Final[Level] = "middle"
"""The level taken when none is given, unless what is asked for needs a higher one."""

_NUMBER_WORDS = ("no octaves", "one octave", "two octaves", "three octaves", "four octaves")


@dataclass(frozen=True, slots=True)
class ScaleRange:
    """What fits.

    Attributes:
        start: The lowest tonic.
        octaves: Octaves above it.
        level: The player's level, which tempo and layout follow.
        within: The level whose range holds it: the player's own, or a higher one.
        beyond: It goes beyond the range of the level that was asked for.
    """

    start: Pitch
    octaves: int
    level: Level
    within: Level
    beyond: bool = False


@dataclass(frozen=True, slots=True)
class Need:
    """What a pattern needs beside the octaves from tonic to tonic.

    Attributes:
        name: What messages call it: "G-flat major", "G-flat major in thirds".
        below: Semitones below the lowest tonic.
        above: Semitones above the highest tonic.
        most: Octaves that are taken by themselves at a level, at most.
        why_not: Why so many octaves from a start cannot be played although they are in range; "" if they can.
    """

    name: str
    below: int = 0
    above: int = 0
    most: Callable[[Level], int] = lambda level: len(_NUMBER_WORDS) - 1
    why_not: Callable[[Pitch, int], str] = lambda start, octaves: ""

    def octaves_above(self, start: Pitch, reach: Range) -> int:
        """How many whole octaves can be played above a tonic; 0 where it lies too low."""
        if start.midi - self.below < reach.low.midi:
            return 0
        most = max(0, int(reach.top.midi - self.above - start.midi) // 12)
        return next((count for count in range(most, 0, -1) if not self.why_not(start, count)), 0)


def choose_span(
    key: Key,
    instrument: Instrument,
    level: Level | None,
    octaves: int | None,
    start: str | None,
    need: Need | None = None,
) -> ScaleRange:
    """Choose start and octaves.

    Args:
        key: The key.
        instrument: The instrument.
        level: The player's level, or None for the usual one. What its range does not hold is taken in that of the
            next level which does: what a teacher asks for is made.
        octaves: How many; None takes the most that fit the level.
        start: The note to start on ("A3"); None takes what teachers start on (first level), else the lowest
            tonic that fits.
        need: What the pattern needs beside the octaves; None for a scale.

    Raises:
        WarmupError: It does not fit, or the start is not the tonic.
    """
    if octaves is not None and octaves < 1:
        raise WarmupError(f"{octaves} octaves cannot be played.", hint="Ask for 1 or more.")
    asked = need or Need(str(key))
    first = _checked_start(key, start, asked) if start else None
    own = level or USUAL_LEVEL
    levels = LEVELS[LEVELS.index(own) :]
    for candidate in levels:
        # Beyond the player's own range one octave will do.
        wanted = octaves or (None if candidate == own else 1)
        span = _fit(key, instrument, candidate, wanted, first, asked)
        if span:
            beyond = level is not None and candidate != own
            return ScaleRange(span.start, span.octaves, own, candidate, beyond)
    raise _refusal(key, instrument, levels[-1], octaves, first, asked)


def _fit(
    key: Key, instrument: Instrument, level: Level, octaves: int | None, first: Pitch | None, need: Need
) -> ScaleRange | None:
    """The span at one level, or None where it does not fit."""
    reach = instrument.range_at(level)
    starts = [first] if first else list(_starts(key, instrument, reach, need))
    if octaves is not None:
        fitting = [start for start in starts if need.octaves_above(start, reach) >= octaves]
        return ScaleRange(fitting[0], octaves, level, level) if fitting else None
    if level == "first" and not first and starts:
        start = starts[0]
        most = min(need.most(level), _first_year_octaves(start, instrument, reach, need))
        return ScaleRange(start, most, level, level)
    best = max(
        starts, key=lambda start: min(need.most(level), need.octaves_above(start, reach)), default=None
    )
    most = min(need.most(level), need.octaves_above(best, reach)) if best else 0
    return ScaleRange(best, most, level, level) if best and most else None


def _starts(key: Key, instrument: Instrument, reach: Range, need: Need) -> Iterator[Pitch]:
    """Tonics with at least an octave above them in the range: the teachers' choice first, then upwards."""
    usual = instrument.first_tonics if reach.level == "first" else ()
    preferred = next((tonic for tonic in usual if tonic == key.tonic(tonic.octave)), None)
    if preferred and need.octaves_above(preferred, reach):
        yield preferred
    for octave in range(reach.low.octave - 1, reach.top.octave + 1):
        tonic = key.tonic(octave)
        if need.octaves_above(tonic, reach) and tonic != preferred:
            yield tonic


def _first_year_octaves(start: Pitch, instrument: Instrument, reach: Range, need: Need) -> int:
    """One octave in the first year; two from the lowest open string, where they need no shift."""
    return min(need.octaves_above(start, reach), 2 if start == instrument.strings[0] else 1)


def _checked_start(key: Key, text: str, need: Need) -> Pitch:
    """The start as the key spells it."""
    pitch = parse_pitch(text)
    if pitch.midi % 12 != key.tonic_class:
        raise WarmupError(
            f"{need.name} does not start on {pitch}.", hint=f"Its tonic is {str(key.tonic(4))[:-1]}."
        )
    octaves = (pitch.octave - 1, pitch.octave, pitch.octave + 1)
    return next(key.tonic(octave) for octave in octaves if key.tonic(octave).midi == pitch.midi)


def _refusal(
    key: Key, instrument: Instrument, level: Level, octaves: int | None, first: Pitch | None, need: Need
) -> WarmupError:
    """Say how many octaves do fit, and from which note."""
    reach = instrument.range_at(level)
    asked = f"{_count(octaves)} of {need.name}" if octaves else f"a whole octave of {need.name}"
    origin = f" from {first}" if first else ""
    verb = "do" if (octaves or 1) > 1 else "does"
    where = f"the {instrument.name} at level '{level}' (written {reach.low} to {reach.top})"
    what = f"{asked}{origin} {verb} not fit {where}."
    starts = [first] if first and need.octaves_above(first, reach) else []
    starts = starts or list(_starts(key, instrument, reach, need))
    best = max(starts, key=lambda start: need.octaves_above(start, reach), default=None)
    reason = need.why_not(first or best or _lowest(key, instrument, need), octaves or 1)
    if reason:
        what = f"{what} {reason}"
    if best is None:
        return WarmupError(what, hint="No octave of it can be played there.")
    most = need.octaves_above(best, reach)
    return WarmupError(
        what, hint=f"{_count(most).capitalize()} {'fit' if most > 1 else 'fits'}, from {best}."
    )


def _lowest(key: Key, instrument: Instrument, need: Need) -> Pitch:
    """The lowest tonic that the instrument has, all notes of the pattern with it."""
    string = instrument.strings[0]
    tonics = (key.tonic(string.octave + octave) for octave in range(3))
    return next(tonic for tonic in tonics if tonic.midi - need.below >= string.midi)


def _count(octaves: int) -> str:
    return _NUMBER_WORDS[octaves] if octaves < len(_NUMBER_WORDS) else f"{octaves} octaves"
