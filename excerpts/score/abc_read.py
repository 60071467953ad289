"""Reads ABC before it is converted: what is wrong in it, by line, and the clefs, which the converter gets wrong."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from excerpts.score.abc_signs import (
    AbcClef,
    Token,
    broken,
    key_fault,
    length_of,
    read_length,
    read_metre,
    read_staff,
    tokens,
    tuplet,
)

_FIELD: Final = re.compile(r"\s*([A-Za-z+]):(.*)", re.DOTALL)
_COMMENT: Final = re.compile(r"(?<!\\)%.*")
_LONGEST: Final = 64
"""The longest note that is read, in quarter notes: sixteen semibreves."""
_NAMES: Final = {
    1: "semibreve",
    2: "minim",
    4: "crotchet",
    8: "quaver",
    16: "semiquaver",
    32: "demisemiquaver",
}


@dataclass(frozen=True, slots=True)
class AbcFault:
    """Something wrong in ABC.

    Attributes:
        line: Its line, from 1.
        message: What was found and what would be right, in sentences.
    """

    line: int
    message: str


@dataclass
class Voice:
    """What is known of a voice while it is read.

    Attributes:
        clefs: Its clefs, each with the number of bars before it.
        bars: How many bars have ended.
        length: Length of the bar so far, in quarter notes.
        factor: Factor by which a sign of broken rhythm changes the length of the next note.
        last: Length of the last note.
        in_tuplet: Notes that are still to come in a tuplet.
        tuplet: Factor by which the tuplet changes their lengths.
        before: The barline before the bar.
        short: Line and fault of the last bar, if that is short and it is not yet known whether it ends the voice.
        pick_up: It begins with a pick-up.
        first: Length of its first bar.
        gaps: Where spaces stand between notes: bars that have ended, and length of the bar so far.
    """

    clefs: list[tuple[int, AbcClef]] = field(default_factory=list)
    bars: int = 0
    length: Fraction = Fraction(0)
    factor: Fraction = Fraction(1)
    last: Fraction = Fraction(0)
    in_tuplet: int = 0
    tuplet: Fraction = Fraction(1)
    before: str = ""
    short: tuple[int, str] | None = None
    pick_up: bool = False
    first: Fraction = Fraction(0)
    gaps: set[tuple[int, Fraction]] = field(default_factory=set)

    def add(self, length: Fraction) -> None:
        """A note or a rest."""
        if self.factor != 1:
            length *= self.factor
            self.factor = Fraction(1)
        if self.in_tuplet:
            length *= self.tuplet
            self.in_tuplet -= 1
        self.last = length
        self.length += length

    def dot(self, token: Token) -> None:
        """A sign that makes the note before it longer and the next shorter, or the other way round."""
        behind, self.factor = broken(token)
        self.length += self.last * (behind - 1)


class AbcReader:
    """Reads ABC line by line.

    Args:
        text: The ABC, with or without its header.

    Attributes:
        faults: What is wrong in it, in the order of its lines.
        plain: The same ABC, line for line, without what it says of staves and clefs.
        has_metre: Some line gives a metre.
    """

    def __init__(self, text: str) -> None:
        self.faults: list[AbcFault] = []
        self._line = 0
        self._usual = Fraction(1, 2)
        self.has_metre = False
        self._metre: tuple[Fraction, int] | None = None
        self._head = Voice()
        self._by_name: dict[str, Voice] = {}
        self._order: list[str] = []
        self._now = self._head
        rows = [self._row(number, row) for number, row in enumerate(text.splitlines(), start=1)]
        self.plain = "\n".join(rows)
        for voice in self._voices():
            self._end(voice, "|]")
        self.faults.sort(key=lambda one: one.line)

    @property
    def parts(self) -> tuple[Voice, ...]:
        """The voices that the converter makes parts of: those with a number in V: where there are several, else one."""
        numbered = [name for name in self._order if name[:1].isdigit()]
        if len(numbered) <= 1:
            return (next((voice for voice in self._voices() if voice.bars), self._head),)
        return tuple(self._by_name[name] for name in numbered)

    @property
    def bar_of_no_metre(self) -> Fraction:
        """Length in quarter notes of the only bar, where no metre is given; else 0."""
        part = self.parts[0]
        return Fraction(0) if self.has_metre or part.bars != 1 else part.first

    def _voices(self) -> list[Voice]:
        return [self._head, *self._by_name.values()]

    def _say(self, message: str, line: int | None = None) -> None:
        self.faults.append(AbcFault(line or self._line, message))

    def _row(self, number: int, row: str) -> str:
        self._line = number
        if row.lstrip().startswith("%"):
            return row
        match = _FIELD.fullmatch(row)
        if match is not None:
            return f"{match[1]}:{self._field(match[1], _COMMENT.sub('', match[2]).strip())}"
        made: list[str] = []
        for token in tokens(_COMMENT.sub("", row)):
            made.append(self._token(token))
            if not token.kind:
                return row
        self._gap()
        return "".join(made)

    def _gap(self) -> None:
        """A space, or the end of a line: no beam goes over it."""
        self._now.gaps.add((self._now.bars, self._now.length))

    def _field(self, letter: str, text: str) -> str:
        """Take in a field, and give it without what it says of the staff."""
        if letter == "M":
            metre = read_metre(text)
            self._metre = self._metre if isinstance(metre, str) else metre
            self.has_metre = self.has_metre or self._metre is not None
            self._told(metre)
            return text or "none"
        if letter == "L":
            length = read_length(text)
            self._usual = self._usual if isinstance(length, str) else length
            self._told(length)
        if letter == "V":
            self._voice(text.split(maxsplit=1)[0] if text else "")
        return self._staff(letter, text) if letter in "KV" else text

    def _told(self, value: object) -> None:
        if isinstance(value, str):
            self._say(value)

    def _voice(self, name: str) -> None:
        self._order.append(name)
        if name not in self._by_name:
            self._by_name[name] = Voice(clefs=list(self._head.clefs))
        self._now = self._by_name[name]

    def _staff(self, letter: str, text: str) -> str:
        said = read_staff(text)
        for fault in said.faults:
            self._say(fault)
        if letter == "K" and (wrong := key_fault(said.rest)):
            self._say(wrong)
        if said.clef is not None:
            if self._now.length:
                self._say("A clef changes at a barline here, not inside a bar.")
            self._now.clefs.append((self._now.bars, said.clef))
        return said.rest

    def _token(self, token: Token) -> str:
        now = self._now
        if token.kind == "field":
            letter, text = token.text[1], token.text[3:-1].strip()
            rest = self._field(letter, text)
            return f"[{letter}:{rest}]" if rest else ""
        if token.kind in ("note", "rest", "chord"):
            length = length_of(token.text, self._usual)
            if length > _LONGEST:
                self._say(f'"{token.text}" would last {length / 4} semibreves: no note is that long.')
            now.add(length)
        elif token.kind == "tuplet":
            compound = self._metre is not None and (self._metre[0] * self._metre[1] / 4) % 3 == 0
            now.in_tuplet, now.tuplet = tuplet(token, compound)
        elif token.kind == "broken":
            now.dot(token)
        elif token.kind == "bar":
            self._end(now, token.text)
        elif token.kind == "blank" and token.text.strip("`"):  # back quotes part notes for the eye alone
            self._gap()
        elif not token.kind:
            self._say(
                f'"{token.text}" is not music in ABC: notes are the letters A to G and a to g, rests z.'
            )
        return token.text

    def _end(self, voice: Voice, barline: str) -> None:
        """A barline, or the end of all."""
        length, voice.length, voice.factor, voice.in_tuplet = voice.length, Fraction(0), Fraction(1), 0
        if not length:
            voice.before = barline
            return
        if voice.short is not None:  # not the last bar, and no repeat or double bar beside it
            self._say(voice.short[1], voice.short[0])
            voice.short = None
        if self._metre is not None and length != self._metre[0]:
            self._wrong(voice, length, barline)
        voice.bars += 1
        voice.first = voice.first or length
        voice.before = barline

    def _wrong(self, voice: Voice, length: Fraction, barline: str) -> None:
        assert self._metre is not None
        full, unit = self._metre
        first = voice.bars == 0
        voice.pick_up = voice.pick_up or (first and length < full)
        number = voice.bars + (0 if voice.pick_up else 1)
        message = f"Bar {number} has {_counted(length, unit)}, where the metre takes {full * unit / 4}."
        if length > full:
            self._say(message)
        elif not first and not _divides(voice.before) and not _divides(barline):
            voice.short = (self._line, message)


def _divides(barline: str) -> bool:
    """Whether a bar may be split there: a repeat, a double bar or an ending."""
    return len(barline) > 1


def _counted(length: Fraction, unit: int) -> str:
    number = length * unit / 4
    whole, rest = divmod(number, 1)
    text = str(whole) if not rest else f"{whole} {rest}" if whole else str(rest)
    name = _NAMES.get(unit, "note")
    return f"{text} {name}" if number == 1 else f"{text} {name}s"
