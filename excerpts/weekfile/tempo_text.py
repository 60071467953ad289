"""Tempo marks as a musician says them: "dotted crotchet = 92", "quarter = 92", "♩. = 60".

Names of the note values, UK and US: trade words, common practice. Signs: Unicode's Musical Symbols.
"""

from __future__ import annotations

import difflib
import re
from fractions import Fraction
from functools import lru_cache
from typing import Final

from excerpts.excerpt import Tempo
from excerpts.musicxml.format import NOTE_TYPES, dotted
from excerpts.words import Words, other_languages

_NAMES: Final[dict[str, str]] = {
    "breve": "breve",
    "double whole": "breve",
    "semibreve": "whole",
    "whole": "whole",
    "minim": "half",
    "half": "half",
    "crotchet": "quarter",
    "quarter": "quarter",
    "quaver": "eighth",
    "eighth": "eighth",
    "8th": "eighth",
    "semiquaver": "16th",
    "sixteenth": "16th",
    "16th": "16th",
    "demisemiquaver": "32nd",
    "thirty second": "32nd",
    "32nd": "32nd",
    "\U0001d15d": "whole",
    "\U0001d15e": "half",
    "\u2669": "quarter",
    "\U0001d15f": "quarter",
    "\u266a": "eighth",
    "\U0001d160": "eighth",
    "\U0001d161": "16th",
    "\U0001d162": "32nd",
}
"""Every name or sign of a beat that is read, and the MusicXML note type it means."""

SLOWEST: Final = 10
FASTEST: Final = 600
_DOTTED: Final = ("plan.plain", "note.dotted", "plan.double_dotted")
_DOTS: Final = re.compile(r"[.·\U0001d16d]+$")
_EXAMPLE: Final = 'Write it like "crotchet = 92", "dotted quarter = 60" or "♩. = 60".'


def parse_tempo(text: str) -> Tempo:
    """Read a tempo mark in UK or US words, or with note signs.

    Args:
        text: "dotted crotchet = 92", "quarter note = 92", "♩ = 92", "♩. = 60".

    Raises:
        ValueError: It is no tempo mark; the message says what is wrong and how to write it.
    """
    beat, sign, number = text.partition("=")
    if not sign:
        raise ValueError(f'"{text.strip()}" is not a tempo. {_EXAMPLE}')
    return Tempo(parse_number(number), _parse_beat(beat))


def parse_number(text: str) -> Fraction:
    """Read the number of beats a minute: 92, or 92.5.

    Raises:
        ValueError: It is no number, or no tempo that a metronome can give.
    """
    cleaned = text.strip().replace(",", ".")
    if not re.fullmatch(r"\d{1,4}(\.\d{1,2})?", cleaned):
        raise ValueError(f'"{text.strip()}" is not a number of beats a minute. {_EXAMPLE}')
    number = Fraction(cleaned)
    if not SLOWEST <= number <= FASTEST:
        raise ValueError(f"{cleaned} beats a minute is not between {SLOWEST} and {FASTEST}.")
    return number


def _parse_beat(text: str) -> Fraction:
    plain = re.sub(r"[\s-]+", " ", text.strip().lower())
    dots = 0
    if match := _DOTS.search(plain):
        dots = len(match.group())
        plain = plain[: match.start()].strip()
    for words, count in (("double dotted ", 2), ("dotted ", 1)):
        if plain.startswith(words):
            plain, dots = plain[len(words) :], count
            break
    plain = re.sub(r" notes?$", "", plain)
    name = plain if plain in _NAMES else plain.removesuffix("s")
    if name not in _NAMES:
        if unit := _other_beats().get(_stem(text if not dots else plain)):
            return dotted(unit, min(dots, 2))
        near = difflib.get_close_matches(name, [key for key in _NAMES if key.isascii()], 1)
        hint = f'Did you mean "{near[0]}"?' if near else _EXAMPLE
        raise ValueError(f'"{text.strip()}" is not the name of a note length. {hint}')
    return dotted(NOTE_TYPES[_NAMES[name]], min(dots, 2))


@lru_cache(maxsize=1)
def _other_beats() -> dict[str, Fraction]:
    """The beats by their names in every other language that has a words file."""
    units = [dotted(length, dots) for length in NOTE_TYPES.values() for dots in range(3)]
    return {
        _stem(name): unit
        for words in other_languages()
        for unit in units
        if (name := _name_or_none(unit, words))
    }


def _name_or_none(unit: Fraction, words: Words) -> str:
    try:
        return beat_name(unit, words)
    except ValueError:
        return ""


def _stem(text: str) -> str:
    """A name without the endings that its words take: "punktiertes Viertel", "Halben", "Achtelnote"."""
    words = re.split(r"[\s-]+", text.strip().casefold())
    return " ".join(re.sub(r"noten?$", "", word).rstrip("ersn") for word in words)


def beat_name(unit: Fraction, words: Words) -> str:
    """Name of a beat that is `unit` quarter notes long: "dotted crotchet", "dotted quarter note".

    Raises:
        ValueError: No note of at most two dots has this length.
    """
    for kind in ("breve", "whole", "half", "quarter", "eighth", "16th", "32nd", "64th"):
        for dots in range(3):
            if dotted(NOTE_TYPES[kind], dots) == unit:
                return words(_DOTTED[dots], note=words(f"note.{kind}"))
    raise ValueError(f"no note is {unit} quarter notes long")


def number_text(number: Fraction) -> str:
    """Beats a minute as they are printed: whole, or with up to two decimals."""
    if number.denominator == 1:
        return str(number.numerator)
    hundredths = round(number * 100)
    return f"{hundredths // 100}.{hundredths % 100:02d}".rstrip("0").rstrip(".")


def tempo_text(tempo: Tempo, words: Words) -> str:
    """The mark in the player's words: "dotted crotchet = 92"."""
    return f"{beat_name(tempo.unit, words)} = {number_text(tempo.number)}"
