"""The tones that sound in a line, and the MIDI program of its instrument.

As printed: trills and arpeggios plain, grace notes short at the front of their note, pitches as they sound.
Program numbers: General MIDI level 1, counted from 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from excerpts.excerpt import Excerpt
from excerpts.instruments.instrument import INSTRUMENTS, instrument_of_part_name
from excerpts.musicxml.elements import Signatures, Transpose
from excerpts.notes import Voice
from excerpts.sound.graces import Sounding, sounding, tied

_DEFAULT_PROGRAM: Final = INSTRUMENTS["violin"].program


@dataclass(frozen=True, slots=True)
class Tone:
    """A sounding tone: times in quarter notes from the start of the excerpt, and the MIDI number."""

    start: Fraction
    end: Fraction
    number: int


def program(excerpt: Excerpt) -> int:
    """General MIDI program of the part, from 0: by the instrument's name, else as the file says, else violin."""
    score_part = excerpt.tree().find("part-list/score-part")
    if score_part is None:
        return _DEFAULT_PROGRAM
    paths = ("score-instrument/instrument-name", "score-instrument/instrument-sound", "part-name")
    for path in paths:
        player = instrument_of_part_name(score_part.findtext(path) or "")
        if player is not None:
            return player.program
    number = (score_part.findtext("midi-instrument/midi-program") or "").strip()
    known = number.isdecimal() and len(number) < 4 and 1 <= int(number) <= 128
    return int(number) - 1 if known else _DEFAULT_PROGRAM


def tones(lines: Sequence[Voice]) -> list[list[Tone]]:
    """The sounding tones of each line, ties joined, grace notes taking a little from their notes."""
    return [_tones(line, heard) for line, heard in zip(lines, sounding(lines), strict=True)]


def _tones(line: Voice, heard: list[Sounding]) -> list[Tone]:
    transpositions = _transpositions(line)
    result: list[Tone] = []
    open_ties: dict[int, int] = {}
    for one in heard:
        event = one.event
        shift = next((by for time, by in reversed(transpositions) if time <= event.onset), Fraction(0))
        still_open = dict(open_ties) if event.grace else {}
        for head in event.heads:
            if head.pitch is None:
                continue
            number = round(head.pitch.midi + shift)
            stop = one.end if head.duration is None else event.onset + head.duration
            place = open_ties.get(number) if tied(head, "stop") else None
            if place is not None and result[place].end == one.start:
                result[place] = Tone(result[place].start, stop, number)
            else:
                place = len(result)
                result.append(Tone(one.start, stop, number))
            if tied(head, "start"):
                still_open[number] = place
        open_ties = still_open
    return result


def _transpositions(line: Voice) -> list[tuple[Fraction, Fraction]]:
    """Semitones from written to sounding pitch, with the time from which they hold.

    W3C MusicXML 4.0: `<chromatic>` does not hold the octaves of `<octave-change>`.
    """
    transpositions: list[tuple[Fraction, Fraction]] = []
    for placed in line.placed:
        for sign in placed.sign.of("transpose") if isinstance(placed.sign, Signatures) else ():
            if isinstance(sign, Transpose):
                time = line.bars[placed.bar].start + placed.onset
                transpositions.append((time, Fraction(sign.chromatic + 12 * sign.octave_change)))
    return transpositions
