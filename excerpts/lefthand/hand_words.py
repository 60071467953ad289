"""Words for the left hand: a string that holds for a while, a numeral or a position for one note."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from excerpts.instruments.instrument import NUMERALS, Instrument
from excerpts.lefthand.hand_note import Given, HandNote
from excerpts.musicxml.pitch import Pitch
from excerpts.musicxml.playing_words import states_in
from excerpts.notes import Voice

_LASTS: Final = 8
"""Bars that words for a string hold on; further off, the hand has surely moved."""

_NUMERAL: Final = re.compile(r"\(?(I{1,3}|IV|V)[.)]?\)?")
_NUMBER: Final = re.compile(r"\b(IV|I{1,3}|V|\d)")
_LETTER: Final = re.compile(r"\b([A-Ga-g])\b")


@dataclass(frozen=True, slots=True)
class HandWords:
    """Words for the hand: from when until when they hold, and what they say."""

    start: Fraction
    end: Fraction | None
    given: Given


def words_of(line: Voice, player: Instrument) -> list[HandWords]:
    """The words of a part that say a string or a position, in order of time."""
    said_words: list[HandWords] = []
    lasting: list[tuple[Fraction, int | None, int]] = []
    for placed in line.placed:
        at = line.time_of(placed)
        for sign in placed.signs:
            text = " ".join(sign.text.split())
            if _NUMERAL.fullmatch(text):
                string = _string(text, player)
                said_words.append(HandWords(at, at, Given(string=string)))
                continue
            if sign.name in {"bracket", "dashes"} and sign.edge == "stop":
                lasting.append((at, None, placed.bar))
            for said in states_in(text) if sign.name == "words" else ():
                if said.kind == "string":
                    lasting.append((at, _string(said.words, player), placed.bar))
                elif said.kind == "position" and (number := _NUMBER.search(said.words)):
                    said_words.append(HandWords(at, at, Given(position=_value(number[1]))))
    for index, (at, string, bar) in enumerate(lasting):
        if string is not None:
            last = min(bar + _LASTS, len(line.bars) - 1)
            end = line.bars[last].end
            following = [other for other, *_ in lasting[index + 1 :] if other > at]
            said_words.append(HandWords(at, min([end, *following]), Given(string=string)))
    return said_words


def _string(text: str, player: Instrument) -> int | None:
    """The string that words name, by its index from the lowest: "sul G", "IVa corda", "II"."""
    number = _NUMBER.search(text)
    if number is not None:
        index = len(player.strings) - _value(number[1])
        return index if 0 <= index < len(player.strings) else None
    letters = _LETTER.findall(text.replace("sul ", ""))
    wanted = letters[0].upper() if letters else ""
    return next((index for index, open_ in enumerate(player.strings) if open_.step == wanted), None)


def _value(text: str) -> int:
    return int(text) if text.isdecimal() else NUMERALS.index(text) + 1


def with_words(
    notes: Sequence[HandNote], said: Sequence[HandWords], player: Instrument
) -> Iterator[HandNote]:
    """The notes with what the words at or before them say; what stands at a note itself comes first."""
    for note in notes:
        given = list(note.given)
        for words in said:
            if len(given) == 1 and (
                note.onset == words.start or words.start <= note.onset < (words.end or words.start)
            ):
                given[0] = _joined(given[0], words.given, note.pitches[0], player)
        yield replace(note, given=tuple(given))


def _joined(own: Given, words: Given, pitch: Pitch, player: Instrument) -> Given:
    string = words.string
    if string is not None and (own.string is not None or player.strings[string].midi > pitch.midi):
        string = None
    return replace(
        own,
        string=own.string if string is None else string,
        position=own.position if words.position is None else words.position,
    )
