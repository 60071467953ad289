"""The signs of a line of music in ABC, and how long they last.

Source: the ABC standard 2.1 (https://abcnotation.com/wiki/abc:standard:v2.1), section 4, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

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
    """A sign: its kind ("note", "bar" …) and its text; kind "" is for what is none."""

    kind: str
    text: str


def tokens(line: str) -> Iterator[Token]:
    """The signs of a line of music; after something that is none it stops."""
    at = 0
    while at < len(line):
        match = _TOKEN.match(line, at)
        if match is None:
            start = max(line.rfind(" ", 0, at), line.rfind("|", 0, at)) + 1
            word = _WORD.match(line, start)
            found = word[0] if word else line[at]
            yield Token("", found if len(found) <= _SHOWN else f"{found[:_SHOWN]}…")
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
    """How long a note, rest or chord lasts; a chord as its first note.

    Args:
        text: The note.
        usual: Length of a note without a number.
    """
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
    """What ">" and "<" make of the notes before and behind them."""
    short = Fraction(1, 1 << len(token.text))
    return (2 - short, short) if token.text[0] == ">" else (short, 2 - short)
