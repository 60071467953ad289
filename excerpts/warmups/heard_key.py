"""In which key music is, by its key signature and by its notes, and the note of the drone that goes with it.

The notes are judged by music21's key analysis (correlation of the sounding lengths of the twelve notes with the
profiles of the keys, after Krumhansl 1990); it is imported only when a key is asked for. How sure a judgement is:
margins of our own, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal

from excerpts.excerpt import Excerpt, span_of_boxes
from excerpts.instruments.keys import Key, key_of_fifths, note_name
from excerpts.musicxml.pitch import STEPS
from excerpts.notes import read_lines
from excerpts.notes.in_force import key_at_box, plain_key, signatures_at
from excerpts.notes.model import Voice
from excerpts.variants import parse_variant
from excerpts.warmups.warmup_names import keynote_told
from excerpts.words import Words

if TYPE_CHECKING:
    import music21

How = Literal["agree", "signature", "notes"]
"""Signature and notes agree; the signature decides because the notes leave it open; the notes go elsewhere."""

Sure = Literal["sure", "likely", "unsure"]

_FEWEST_NOTES: Final = 8
"""Notes below which no key is heard."""

_CLEAR: Final = 0.05
_ELSEWHERE: Final = 0.1
_FAR_ELSEWHERE: Final = 0.25
"""Margins between correlations: over the next key, and over the keys of the signature to leave them."""


@dataclass(frozen=True, slots=True)
class HeardKey:
    """The key of some music.

    Attributes:
        key: The key; a minor one as the melodic minor, which is what is practised.
        how: What it was told by.
        sure: How sure that is.
    """

    key: Key
    how: How
    sure: Sure


@lru_cache(maxsize=256)
def heard_key(excerpt: Excerpt) -> HeardKey | None:
    """Tell the key of the boxes of an excerpt, or of all of it where it has none; None where nothing sounds."""
    lines = [line for line in read_lines(excerpt) if line.events]
    notes = [note for line in lines for note in _sounding(line)]
    if not notes:
        return None
    fifths = _signature(lines[0], notes[0][2])
    if len(notes) < _FEWEST_NOTES or len({number % 12 for number, _, _ in notes}) < 3:
        return HeardKey(key_of_fifths(fifths), "signature", "unsure") if fifths is not None else None
    ranking = _ranking([(number, float(length)) for number, length, _ in notes])
    return _judged(ranking, fifths, [number for number, _, _ in notes])


def _sounding(line: Voice) -> Iterator[tuple[int, Fraction, Fraction]]:
    """MIDI number, length and onset in quarter notes of every note in the boxes."""
    start, end = span_of_boxes(line.bars, line.boxes)
    for event in line.events:
        if event.grace or event.hidden or event.cue or not start <= event.onset < end:
            continue
        for head in event.heads:
            if head.pitch is not None:
                yield round(head.pitch.midi), event.duration, event.onset


def _signature(line: Voice, onset: Fraction) -> int | None:
    """The key signature in force at a time; None where there is none as sharps or flats."""
    key = plain_key(signatures_at(line, onset).get("key"))
    return key.fifths if key is not None and abs(key.fifths) <= 7 else None


_Rank = tuple[int, bool, float]
"""A key: its tonic in semitones above C, whether it is minor, how well it agrees with the notes (correlation)."""


def _ranking(notes: list[tuple[int, float]]) -> list[_Rank]:
    """All 24 keys, the one that agrees best with the notes first."""
    import music21

    stream = music21.stream.Stream()
    for number, length in notes:
        stream.append(music21.note.Note(number, quarterLength=length))
    best = stream.analyze("key")
    return [_rank(key) for key in (best, *best.alternateInterpretations)]


def _rank(key: music21.key.Key) -> _Rank:
    return key.tonic.pitchClass, key.mode == "minor", float(key.correlationCoefficient)


def _judged(ranking: list[_Rank], fifths: int | None, heard: Sequence[int]) -> HeardKey:
    """Weigh the keys of the signature against the key that agrees best with the notes, heard as MIDI numbers."""
    best, second = ranking[0], ranking[1]
    margin = best[2] - second[2]
    if fifths is None:
        return HeardKey(_nearest(best, 0), "notes", "likely" if margin >= _CLEAR else "unsure")
    own = _of_signature([rank for rank in ranking if _nearest(rank, fifths).fifths == fifths], best, heard)
    if best in own:
        return HeardKey(_nearest(own[0], fifths), "agree", "sure" if margin >= _CLEAR else "likely")
    lead = best[2] - max(rank[2] for rank in own)
    if lead >= _ELSEWHERE:
        sure: Sure = "likely" if lead < _FAR_ELSEWHERE or margin < _CLEAR else "sure"
        return HeardKey(_nearest(best, fifths), "notes", sure)
    return HeardKey(_nearest(own[0], fifths), "signature", "likely")


def _of_signature(own: list[_Rank], best: _Rank, heard: Sequence[int]) -> list[_Rank]:
    """The keys of a signature, the likelier one first.

    The notes of a scale are those of both, and a box begins and ends anywhere. So unless the major key clearly agrees
    best, the minor one is told by its leading note, or by a beginning and an end on its keynote; without either the
    music is taken as major. Common practice, no source.
    """
    if best == own[0] and not best[1] and best[2] - own[-1][2] >= _CLEAR:
        return own
    sounding, ends = {number % 12 for number in heard}, {heard[0] % 12, heard[-1] % 12}
    shown = any(rank[1] and (ends == {rank[0]} or (rank[0] - 1) % 12 in sounding) for rank in own)
    return sorted(own, key=lambda rank: rank[1] != shown)


def _nearest(rank: _Rank, fifths: int) -> Key:
    """The key of that tonic, spelled as near to a signature as can be."""
    tonic, minor, _ = rank
    keys = [Key(step, alter, "melodic minor" if minor else "major") for step in STEPS for alter in (-1, 0, 1)]
    fitting = [key for key in keys if key.tonic_class == tonic and abs(key.fifths) <= 7]
    return min(fitting, key=lambda key: (abs(key.fifths - fifths), abs(key.fifths)))


def keynote(excerpt: Excerpt) -> Key | None:
    """The key of a passage: as its signature says, else as its notes say; None where they leave it open.

    That of a warm-up of ours whose signature says nothing (a chromatic scale) is written in its file.
    """
    if (named := keynote_told(excerpt)) is not None:
        return named
    key = key_at_box(excerpt)
    if key is not None and key.mode in {"major", "minor"} and abs(key.fifths) <= 7:
        return key_of_fifths(key.fifths, "major" if key.mode == "major" else "minor")
    heard = heard_key(excerpt)
    return None if heard is None or heard.sure == "unsure" else heard.key


def drone_named(instruction: str, variant: str, excerpt: Excerpt, words: Words) -> str:
    """An instruction with the note of its drone in front: "Drone: G. Play …"; any other as it is.

    Args:
        instruction: What to do in the variant.
        variant: The variant, as written.
        excerpt: The passage.
        words: Texts of the player.
    """
    if all(step.variant.info.name != "drone" for step in parse_variant(variant)):
        return instruction
    key = keynote(excerpt)
    return (
        instruction
        if key is None
        else f"{words('variant.drone.note', note=note_name(key, words))} {instruction}"
    )
