"""Characters that no face has, told in a sentence: which one, and where it stands."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Final

from lxml import etree

from excerpts.excerpt import BarRef, bar_name

_TOLD: Final = re.compile(r"no font has .{1,3} \(U\+([0-9A-F]{4,6})\)", re.DOTALL)
_LONGEST: Final = 40
"""Letters of a text that are told."""


def sentence(character: str, text: str = "", where: str = "") -> str:
    """What is said of a character that no face has.

    Args:
        character: The character.
        text: The text that it stands in, "" where that is not known.
        where: The bar or the page.
    """
    flat = " ".join(text.split())
    shown = flat if len(flat) <= _LONGEST else f"{flat[:_LONGEST]}…"
    place = ", ".join(part for part in (f'"{shown}"' if shown else "", where) if part)
    inside = f", in {place}" if place else ""
    return f'no font has "{character}" (U+{ord(character):04X}){inside}: it may print as an empty box.'


def character_of(line: str) -> str:
    """The character that such a sentence is about; "" for any other line."""
    match = _TOLD.match(line)
    return chr(int(match[1], 16)) if match else ""


def sentences(characters: Iterable[str], root: etree._Element, bars: Sequence[BarRef]) -> tuple[str, ...]:
    """A sentence for each character of some music that no shipped face has.

    Args:
        characters: The characters.
        root: The music.
        bars: Its bars.
    """
    return tuple(sentence(one, *_place(one, root, bars)) for one in sorted(set(characters)))


def _place(character: str, root: etree._Element, bars: Sequence[BarRef]) -> tuple[str, str]:
    """The first text with a character, and its bar."""
    for part in root.iterfind("part"):
        for index, measure in zip(range(len(bars)), part.iterfind("measure"), strict=False):
            for element in measure.iter():
                if character in (element.text or ""):
                    return element.text or "", bar_name(bars, index)
    return next((element.text or "" for element in root.iter() if character in (element.text or "")), ""), ""
