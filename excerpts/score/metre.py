"""Time signatures as players count them, for addresses: length of a bar, and where its beats fall.

How notes are split and beamed within the beats is another matter: `excerpts.notes.metre`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import Final

from lxml import etree

from excerpts.musicxml import time_signature

FREE_BEAT: Final = Fraction(1)
"""Beat counted where there is no metre: a quarter note (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Metre:
    """A time signature.

    Attributes:
        text: As it is said: "6/8", "3+2/8"; empty where there is none (or senza misura).
        beats: Lengths of the beats of one bar in quarter notes; empty where there is no metre.
        length: Nominal length of a bar in quarter notes; 0 where there is no metre.
    """

    text: str
    beats: tuple[Fraction, ...]
    length: Fraction = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "length", sum(self.beats, Fraction(0)))  # asked for at every bar

    def beat_start(self, number: Fraction) -> Fraction:
        """Quarter notes from the start of the bar to beat `number` (1 is the first, 1.5 halfway to the next).

        Beats past the last go on in the length of the last, for bars that are longer than their metre.
        """
        lengths = self.beats or (FREE_BEAT,)
        whole, part = divmod(number - 1, 1)
        before = int(whole)
        start = sum(lengths[:before], Fraction(0)) + max(0, before - len(lengths)) * lengths[-1]
        return start + part * lengths[min(before, len(lengths) - 1)]


NO_METRE: Final = Metre("", ())


def metre_of(time: etree._Element | None) -> Metre:
    """Read a `<time>` element.

    Compound metres (6/8, 9/8, 12/8 and the like) count dotted beats; 3/8 counts three; 3+2/8 counts a beat
    of three quavers and one of two (common practice, no source).
    """
    pairs = () if time is None else time_signature(time)
    return _metre(pairs) if pairs else NO_METRE


@lru_cache(maxsize=64)
def _metre(pairs: tuple[tuple[tuple[int, ...], int], ...]) -> Metre:
    texts = [f"{'+'.join(map(str, groups))}/{unit}" for groups, unit in pairs]
    beats = [beat for groups, unit in pairs for beat in _beats(groups, Fraction(4, unit))]
    return Metre(" + ".join(texts), tuple(beats))


def _beats(groups: tuple[int, ...], unit: Fraction) -> list[Fraction]:
    if len(groups) > 1:
        return [group * unit for group in groups]
    count = groups[0]
    if count > 3 and count % 3 == 0 and unit <= Fraction(1, 2):
        return [3 * unit] * (count // 3)
    return [unit] * count
