"""Which instrument a name tells of: as it is typed, or as a score prints it over a part."""

from __future__ import annotations

import re
from difflib import get_close_matches
from typing import Final

from excerpts.errors import InputError
from excerpts.instruments.instrument import INSTRUMENTS, Instrument

_NUMBERS = re.compile(
    r"\d+(st|nd|rd|th|er|e|a|o)?|i{1,3}|iv|first|second|third|primo|secondo|prima|seconda|solo|soli|tutti"
)
_ORDINALS: Final = (
    ("i", "first", "primo", "prima", "erste"), ("ii", "second", "secondo", "seconda", "zweite"),
    ("iii", "third", "terzo", "terza", "dritte"), ("iv", "fourth", "quarto", "quarta", "vierte"),
)  # fmt: skip
"""Words for the number of a part, from the first."""

_OTHERS = frozenset((
    "amore", "bassoon", "bastarda", "clarinet", "continuo", "damore", "drum", "electric", "flute",
    "gamba", "gambe", "guitar", "horn", "keyboard", "oboe", "piccolo", "pomposa", "recorder", "sax",
    "saxophone", "singer", "synth", "trombone", "trumpet", "tuba", "voice",
))  # fmt: skip
"""Words that make it another instrument: bass clarinet, alto flute, viola da gamba, basso continuo."""


def is_instrument(name: str) -> bool:
    """Whether there is an instrument of that name."""
    try:
        instrument(name)
    except InputError:
        return False
    return True


def instrument(name: str) -> Instrument:
    """Give the instrument of that name; a name as scores print it ("Violoncello") will do.

    Raises:
        InputError: There is no such instrument.
    """
    player = INSTRUMENTS.get(name.strip().casefold()) or instrument_of_part_name(name)
    if player is None:
        known = {alias: entry.name for entry in INSTRUMENTS.values() for alias in (*entry.names, entry.name)}
        near = get_close_matches(name.strip().casefold(), known, n=1)
        guess = f"Did you mean '{known[near[0]]}'? " if near else ""
        raise InputError(
            f"there is no instrument '{name}'.", hint=f"{guess}There are: {', '.join(INSTRUMENTS)}."
        )
    return player


def instrument_of_part_name(name: str) -> Instrument | None:
    """Tell which instrument a part is for by its printed name ("Violine II", "Vc.", "Kontrabass").

    A part that names two of them ("Violoncello e Contrabbasso") is taken for the first one named.

    Returns:
        The instrument, or None where the name tells of none in the table.
    """
    words = _words(name)
    if _OTHERS.intersection(words):
        return None
    words = [word for word in words if not _NUMBERS.fullmatch(word)]
    named: list[tuple[int, Instrument]] = []
    for entry in INSTRUMENTS.values():
        if " ".join(words) in entry.short_names:
            return entry
        named += [(at, entry) for alias in entry.names if (at := _find(_words(alias), words)) is not None]
    return min(named, key=lambda pair: pair[0])[1] if named else None


def is_called(wanted: str, name: str, *, strictly: bool) -> bool:
    """Whether a part of this printed name may be called that: "Vl. 1" and "Violine I" are "Violin I".

    Args:
        wanted: What it is called.
        name: Its name in the score.
        strictly: Its number is the same; else a part without a number may also be called the first.
    """
    player = instrument_of_part_name(wanted)
    if player is None or player is not instrument_of_part_name(name):
        return False
    number, own = _number(wanted), _number(name)
    return number == own if strictly else number is None or (own is None and number == 1)


def _number(name: str) -> int | None:
    """The number in the name of a part; None where it has none."""
    for word in _words(name):
        if match := re.match(r"\d{1,2}", word):
            return int(match[0])
        for number, begun in enumerate(_ORDINALS, start=1):
            if word in begun:
                return number
    return None


def abbreviated(name: str) -> str:
    """The name of a part with its instrument in the customary short form: "1st Vln."; any other as it is."""
    player = instrument_of_part_name(name)
    if player is None:
        return name
    aliases = sorted((*player.names, *player.short_names), key=len, reverse=True)
    pattern = "|".join(r"[\W_]+".join(_words(alias)) for alias in aliases)
    return re.sub(rf"\b(?:{pattern})\b\.?", player.abbreviation, name, count=1, flags=re.IGNORECASE)


def _words(name: str) -> list[str]:
    return re.findall(r"[^\W_]+", name.casefold())


def _find(alias: list[str], words: list[str]) -> int | None:
    """Index in `words` where the words of `alias` stand one after the other, or None."""
    starts = range(len(words) - len(alias) + 1)
    return next((at for at in starts if words[at : at + len(alias)] == alias), None)
