"""Notes of a few words, and fingerings of them as text.

Notes "D4 F#4 C5+E5" are crotchets of half a second, every other one on a beat. A fingering is told note by note as
string (1 the highest) and finger, "3:1", chords from the lowest note up with "+".
"""

from __future__ import annotations

from collections.abc import Sequence

from excerpts.instruments.instrument import INSTRUMENTS, THUMB
from excerpts.instruments.staff import parse_pitch
from excerpts.lefthand.fingering import FingeredNote, finger_notes
from excerpts.lefthand.hand_note import Given, HandNote
from excerpts.lefthand.path import NO_WISHES, Wishes
from excerpts.lefthand.read_part import PartNotes, read_part
from excerpts.score import score_from_bytes
from tests.music import FIRST, part, score


def notes(text: str, seconds: float = 0.5, slurred: bool = False) -> list[HandNote]:
    found = []
    for index, word in enumerate(text.split()):
        pitches = tuple(parse_pitch(name) for name in word.split("+"))
        found.append(
            HandNote(
                pitches,
                (Given(),) * len(pitches),
                time=index * seconds,
                seconds=seconds,
                on_beat=index % 2 == 0,
                slurred=slurred and index > 0,
            )
        )
    return found


def told(found: Sequence[FingeredNote], player: str = "violin") -> str:
    count = len(INSTRUMENTS[player].strings)
    words = []
    for one in found:
        stops = one.place.stops if one.place else ()
        fingers = ("T" if stop.finger == THUMB else str(stop.finger) for stop in stops)
        pairs = (f"{count - stop.string}:{finger}" for stop, finger in zip(stops, fingers, strict=True))
        words.append("+".join(pairs) or "-")
    return " ".join(words)


def fingers(
    text: str,
    player: str = "violin",
    wishes: Wishes = NO_WISHES,
    seconds: float = 0.5,
    slurred: bool = False,
) -> str:
    return told(finger_notes(notes(text, seconds, slurred), INSTRUMENTS[player], wishes), player)


def positions(
    text: str, player: str = "violin", wishes: Wishes = NO_WISHES, seconds: float = 0.5
) -> list[int]:
    found = finger_notes(notes(text, seconds), INSTRUMENTS[player], wishes)
    return [one.place.hand.position for one in found if one.place]


def reading(*bars: str, name: str = "Violin", marks: Sequence[str] = ()) -> PartNotes:
    first, *others = bars
    opened = score_from_bytes(score(part([f"{FIRST} {first}", *others]), names=(name,)), "test")
    return read_part(opened.part(), marks=marks)
