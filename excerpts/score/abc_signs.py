"""The fields of ABC (key, metre, length of a note, clef), and the signs of a line of music with how long they last.

Source: the ABC standard 2.1 (https://abcnotation.com/wiki/abc:standard:v2.1), sections 3.1.6, 3.1.7, 3.1.14 and 4
(4 from memory). A clef says where the notes stand and not how high they are: C is middle C in every clef.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

from excerpts.musicxml.pitch import STEPS

_CLEF: Final = re.compile(r"(?:clef\s*=\s*)?(treble|alto|tenor|bass)([1-5])?([+-]8)?", re.IGNORECASE)
_NAMED: Final = re.compile(r"(clef|middle|m|transpose|octave|stafflines)\s*=\s*(\S*)", re.IGNORECASE)
_PIECE: Final = re.compile(r'[A-Za-z]+\s*=\s*(?:"[^"]*"|\S*)|"[^"]*"|\S+')
_TONIC: Final = re.compile(r"([A-G])([#b]?)\s*([A-Za-z]*)(.*)", re.DOTALL)
_METRE: Final = re.compile(r"(\d{1,3})/(1|2|4|8|16|32|64)")
_USUAL_LENGTH: Final = re.compile(r"1/(1|2|4|8|16|32|64|128)|1")
_FIFTHS: Final = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
_MODES: Final = {
    "": 0,
    "maj": 0,
    "ion": 0,
    "m": -3,
    "min": -3,
    "aeo": -3,
    "mix": -1,
    "dor": -2,
    "phr": -4,
    "lyd": 1,
}
"""Modes by their first letters, and how many fifths they stand from the major key of their tonic."""
_SIGNS: Final = {"treble": "G", "alto": "C", "tenor": "C", "bass": "F"}
_LINES: Final = {"treble": 2, "alto": 3, "tenor": 4, "bass": 4}
_PLACES: Final = {"G": 32, "C": 28, "F": 24}
"""The note that stands on the line of each sign, in letters from C0."""


@dataclass(frozen=True, slots=True)
class AbcClef:
    """A clef asked for in ABC.

    Attributes:
        sign: MusicXML `<sign>`.
        line: Its line, from the bottom.
        octave_change: -1 or 1 for a clef with an 8 under or over it.
        shift: Octaves by which the notes are moved from how they are typed.
    """

    sign: str
    line: int
    octave_change: int = 0
    shift: int = 0


@dataclass(frozen=True, slots=True)
class Field:
    """What a K: or V: field says.

    Attributes:
        rest: The field without what it says of its staff.
        clef: The clef; None where it names none.
        faults: What in it cannot be used, in sentences.
    """

    rest: str
    clef: AbcClef | None
    faults: tuple[str, ...]


def read_staff(text: str) -> Field:
    """Part a K: or V: field into what it says of the staff and the rest."""
    kept: list[str] = []
    named: dict[str, str] = {}
    clef: re.Match[str] | None = None
    faults: list[str] = []
    for word in _PIECE.findall(text):
        if (match := _CLEF.fullmatch(word)) is not None:
            clef = match
        elif (value := _NAMED.fullmatch(word)) is not None:
            named[value[1].lower()] = value[2]
        else:
            kept.append(word)
    if "clef" in named:
        faults.append(f'There is no clef "{named["clef"]}" here: write treble, alto, tenor or bass.')
    if named.get("transpose", "0") != "0" or named.get("stafflines", "5") != "5":
        faults.append("transpose= and stafflines= are not read: take them out.")
    made, wrong = _clef(clef, named)
    return Field(" ".join(kept), made, (*faults, *wrong))


def _clef(match: re.Match[str] | None, named: dict[str, str]) -> tuple[AbcClef | None, tuple[str, ...]]:
    octave = named.get("octave", "0")
    middle = named.get("middle", named.get("m", ""))
    if not re.fullmatch(r"[+-]?\d", octave):
        return None, (f"octave={octave} is not a number of octaves: write octave=-1, for instance.",)
    if match is None:
        wrong = ("middle= needs a clef: write clef=bass middle=d, for instance.",) if middle else ()
        return (AbcClef("", 0, 0, int(octave)) if int(octave) else None), wrong
    name, line, eighth = match[1].lower(), match[2], match[3]
    sign, change = _SIGNS[name], int(f"{eighth[0]}1") if eighth else 0
    at = int(line) if line else _LINES[name]
    usual = _PLACES[sign] + 2 * (3 - at)
    letters = _letters(middle) if middle else usual
    steps = usual - letters if letters is not None else 1
    if steps % 7:
        return None, (
            f"middle={middle} puts the clef on another line: name the line, as in clef={name}{at}.",
        )
    return AbcClef(sign, at, change, int(octave) + change + steps // 7), ()


def _letters(note: str) -> int | None:
    """A note of ABC in letters from C0."""
    match = re.fullmatch(r"([A-Ga-g])([,']*)", note)
    if match is None:
        return None
    octave = (4 if match[1].isupper() else 5) + match[2].count("'") - match[2].count(",")
    return 7 * octave + STEPS.index(match[1].upper())


def key_fault(text: str) -> str:
    """What is wrong with the key of a K: field, once the clef is out of it; "" where nothing is."""
    if text in ("", "none", "HP", "Hp"):
        return ""
    match = _TONIC.fullmatch(text)
    mode = _MODES.get(match[3].lower()[:3]) if match else None
    if match is None or mode is None:
        return f'"K:{text}" is not a key. Write for example K:D, K:Bb, K:F#m or K:A dorian.'
    if match[4].strip():
        return f'"{match[4].strip()}" after the key is not read: write the accidentals before their notes.'
    fifths = _FIFTHS[match[1]] + 7 * {"#": 1, "b": -1, "": 0}[match[2]] + mode
    return (
        ""
        if -7 <= fifths <= 7
        else f'"K:{text}" would have {abs(fifths)} sharps or flats: there is no such key.'
    )


def read_metre(text: str) -> tuple[Fraction, int] | None | str:
    """Length of a bar in quarter notes and the lower figure of an M: field; None for free time; or what is wrong."""
    plain = {"C": "4/4", "C|": "2/2"}.get(text, text)
    if plain in ("", "none"):
        return None
    match = _METRE.fullmatch(plain)
    if match is None or int(match[1]) == 0:
        return f'"M:{text}" is not a metre. Write for example M:4/4, M:6/8, M:C or M:none.'
    return Fraction(int(match[1]) * 4, int(match[2])), int(match[2])


def read_length(text: str) -> Fraction | str:
    """The length that a note without a number has, in quarter notes, of an L: field; or what is wrong."""
    match = _USUAL_LENGTH.fullmatch(text)
    if match is None:
        return f'"L:{text}" is not a note length. Write for example L:1/8 for quavers, L:1/4 for crotchets.'
    return Fraction(4, int(match[1] or 1))


_LENGTH: Final = r"\d{0,4}(?:/{1,9}\d{0,4})?(?![\d/])"
_NOTE: Final = rf"(?:\^{{1,2}}|_{{1,2}}|=)?[A-Ga-g][,']*{_LENGTH}"
_TOKEN: Final = re.compile(
    rf"""(?P<blank>[\s`]+|y\d*|\\\s*$)
    |(?P<field>\[[A-Za-z]:[^\]]*\])
    |(?P<text>"[^"]*")
    |(?P<sign>![^!\s]{{1,40}}!|\+[^+\s]{{1,40}}\+|[.~HLMOPSTuv]|\.?-)
    |(?P<grace>\{{/?(?:{_NOTE}|\s)*\}})
    |(?P<chord>\[(?:{_NOTE}|[.~HLMOPSTuv-]|![^!\s]{{1,40}}!|\s)+\]{_LENGTH})
    |(?P<note>{_NOTE})
    |(?P<rest>[zx]{_LENGTH})
    |(?P<bar>\.?(?:\[\||\|\||\||::?)[|:\]]*(?:\[?\d[\d,.-]*)?|\[\d[\d,.-]*)
    |(?P<tuplet>\(\d(?::\d?){{0,2}})
    |(?P<slur>[()])
    |(?P<broken><+|>+)""",
    re.VERBOSE,
)
_SHOWN: Final = 40
"""Letters of what is no music that are told."""
_WORD: Final = re.compile(r"[^\s|]+")
_HEAD: Final = re.compile(rf"(?:\^{{1,2}}|_{{1,2}}|=)?[A-Ga-gzx][,']*({_LENGTH})")
_USUAL: Final = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
"""In the time of how many notes a tuplet stands that does not say so; 5, 7 and 9 go by the metre."""


@dataclass(frozen=True, slots=True)
class Token:
    """A sign: its kind ("note", "bar" …) and its text; kind "" is for text that is not ABC."""

    kind: str
    text: str


def tokens(line: str) -> Iterator[Token]:
    """The signs of a line of music, up to the first text that is not ABC."""
    at = 0
    while at < len(line):
        match = _TOKEN.match(line, at)
        if match is None:
            start = max(line.rfind(" ", 0, at), line.rfind("|", 0, at)) + 1
            word = _WORD.match(line, start)
            stray = word[0] if word else line[at]
            yield Token("", stray if len(stray) <= _SHOWN else f"{stray[:_SHOWN]}…")
            return
        yield Token(str(match.lastgroup), match[0])
        at = match.end()


def times(text: str) -> Fraction:
    """How many times as long as the usual note: "3/2", "/", "//", "" for once."""
    number, slash, below = text.partition("/")
    value = Fraction(int(number or 1))
    if not slash:
        return value
    more = below.count("/")
    digits = below.lstrip("/")
    if digits:
        return value / int(digits) if int(digits) else value
    return value / (1 << (more + 1))


@lru_cache(maxsize=1024)
def length_of(text: str, usual: Fraction) -> Fraction:
    """How long a note, rest or chord (as its first note) lasts; `usual` is a note without a number."""
    if text.startswith("["):
        inside, _, after = text.rpartition("]")
        first = _HEAD.search(re.sub(r"![^!]*!", "", inside[1:]))
        return usual * times(first[1] if first else "") * times(after)
    head = _HEAD.match(text)
    return usual * times(head[1] if head else "")


def tuplet(token: Token, compound: bool) -> tuple[int, Fraction]:
    """How many notes a tuplet takes in, and how much of their length each has."""
    notes, *more = token.text[1:].split(":")
    count = int(notes)
    usual = _USUAL.get(count, 3 if compound else 2)
    time = int(more[0]) if more and more[0] else usual
    over = int(more[1]) if len(more) > 1 and more[1] else count
    return over, Fraction(time, count) if count else Fraction(1)


def broken(token: Token) -> tuple[Fraction, Fraction]:
    """The factors by which ">" and "<" change the lengths of the notes before and after them."""
    short = Fraction(1, 1 << len(token.text))
    return (2 - short, short) if token.text[0] == ">" else (short, 2 - short)
