"""A box at each of its tempo steps as the page plays it: notes and clicks in seconds."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any, Final

from excerpts.errors import InputError
from excerpts.excerpt import Excerpt, Tempo
from excerpts.notes.spell_events import bar_metres
from excerpts.sound.perform import perform
from excerpts.sound.performance import Performance, Struck, Take
from excerpts.sound.playback import Playback, course, drone_note
from excerpts.weekfile.tempo_text import beat_name, number_text, tempo_text
from excerpts.words import Words

LONGEST: Final = 240
"""Seconds of a step that the page may play: what is longer is heard from a sound file."""

_DIGITS: Final = 4


def steps(
    music: Excerpt | None, tempos: Sequence[Tempo], words: Words, *, upper_trills: bool = False
) -> list[dict[str, Any]]:
    """The tempo steps of a box; one without a tempo where its goal is in words.

    Args:
        music: Its music; None for a box on paper only.
        tempos: Its tempos.
        words: Texts of the player.
        upper_trills: Trills begin with the note above.
    """
    made = perform(music, upper_trills=upper_trills) if music is not None else None
    return [_step(made, tempo, words) for tempo in tempos or (None,)]


def drone(music: Excerpt | None) -> int | None:
    """MIDI number of the tonic as a drone; None where there is no key."""
    if music is None:
        return None
    try:
        return int(drone_note(music, "").midi)
    except InputError:
        return None


def _step(made: Performance | None, tempo: Tempo | None, words: Words) -> dict[str, Any]:
    file_words = Words("us" if words.column == "us" else "uk")
    step: dict[str, Any] = {
        "label": tempo_text(tempo, words) if tempo else "",
        "number": number_text(tempo.number) if tempo else "",
        "unit": beat_name(tempo.unit, file_words) if tempo else "",
        "bpm": float(tempo.number) if tempo else 0,
        "bar": _beats(made, tempo) if made and tempo else 0,
        "length": 0,
        "notes": [],
        "clicks": [],
    }
    if made is None:
        return step
    take = made.at(tempo)
    length = take.tempos.seconds(take.length)
    if length > LONGEST:
        return step
    plan = course(made, take, tempo, Playback(click="every", count_in=1))
    begin = plan.spans[0].at
    return step | {
        "length": _round(length),
        "notes": [_note(take, note) for note in take.notes],
        "clicks": [[_round(time - begin), strong] for time, strong in plan.clicks],
    }


def _note(take: Take, note: Struck) -> list[Any]:
    start = take.tempos.seconds(note.onset)

    def after(time: Fraction) -> float:
        return _round(take.tempos.seconds(note.onset + time) - start)

    levels: Any = [[after(time), round(level, 1)] for time, level in note.levels]
    return [
        _round(start), after(note.length), _round(note.pitch), levels if len(levels) > 1 else levels[0][1],
        int(note.kind == "plucked"),
    ]  # fmt: skip


def _beats(made: Performance, tempo: Tempo) -> int:
    """How many beats of a tempo a bar has, where all bars of the box have the same whole number; else 0."""
    line = made.line
    if line is None:
        return 0
    first, last = line.bar_at(made.start), line.bar_at(made.start + made.length - Fraction(1, 1000))
    lengths = {metre.length for metre, _ in bar_metres(line)[first : last + 1]}
    beats = lengths.pop() / tempo.unit if len(lengths) == 1 else Fraction(0)
    return int(beats) if beats.denominator == 1 else 0


def _round(number: Fraction) -> float:
    """A number as JSON holds it, whole numbers without a point."""
    rounded = round(float(number), _DIGITS)
    return int(rounded) if rounded == int(rounded) else rounded
