"""How written signs are played: all the rules of a performance in one place.

Common practice, no source, unless a line says otherwise. Levels are decibels from mezzo forte; speeds are seconds,
so that a trill or a gap between two notes is as long at every tempo.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

F = Fraction


@dataclass(frozen=True, slots=True)
class Touch:
    """How long a note sounds of the time that it has.

    Attributes:
        share: The part of its time that is silent at its end.
        most: The longest that this silence may be, in seconds; None for any.
    """

    share: Fraction
    most: Fraction | None = None

    def gap(self, length: Fraction, quarters_per_minute: Fraction) -> Fraction:
        """The silence at the end of a note, in quarter notes, as its length is."""
        gap = length * self.share
        return gap if self.most is None else min(gap, self.most * quarters_per_minute / 60)


TOUCHES: Final = {
    "separate": Touch(F(1, 10), F(1, 20)),
    "slurred": Touch(F(0)),
    "tenuto": Touch(F(1, 20), F(1, 40)),
    "portato": Touch(F(1, 4)),
    "staccato": Touch(F(1, 2)),
    "spiccato": Touch(F(1, 2)),
    "staccatissimo": Touch(F(3, 4)),
    "breath": Touch(F(1, 4), F(1, 4)),
    "repeated": Touch(F(1, 10), F(1, 50)),
}
"""How each articulation sounds. "Repeated" are the strokes of a tremolo."""

ACCENTS: Final = {"accent": 4.0, "strong-accent": 6.0, "soft-accent": 2.0, "stress": 2.0}
"""Decibels that an accent adds to the start of its note."""

ACCENT_TIME: Final = F(1, 2)
"""The part of its note in which an accent fades, to the note's own level."""

STEP: Final = 4.0
"""Decibels from one dynamic to the next, and of a hairpin that leads to none."""

DYNAMICS: Final = {
    "n": -6 * STEP, **{"p" * n: -(n + 1) * STEP for n in range(1, 5)}, "mp": -STEP, "mf": 0.0,
    **{"f" * n: n * STEP for n in range(1, 5)},
}  # fmt: skip
"""Level of each dynamic; more than four letters are as four."""

FALLING: Final = {
    "fp": ("f", "p"),
    "ffp": ("ff", "p"),
    "pf": ("p", "f"),
    "sfp": ("f", "p"),
    "sfpp": ("f", "pp"),
    "sfzp": ("f", "p"),
}
"""Two dynamics in one sign: the note begins in the first and goes on in the second."""

FALL_TIME: Final = F(1, 2)
"""Quarter notes from the first to the second of them."""

SFORZATO: Final = {"sf": 6.0, "fz": 6.0, "sfz": 6.0, "sffz": 8.0, "rf": 4.0, "rfz": 4.0}
"""Decibels that these add to the start of the note that they stand at."""

FERMATAS: Final = {"": F(2), "normal": F(2), "angled": F(3, 2), "square": F(3)}
"""How many times its length a note under a pause is held, by the shape of the pause."""

TRILL: Final = F(1, 12)
"""Length of a note of a trill, a mordent or a turn, in seconds."""

TEMPO_CHANGES: Final = re.compile(
    r"\b(?:rit|ritard\w*|ritenuto|rall\w*|allarg\w*|accel\w*|string\w*|slentando)\b", re.IGNORECASE
)
"""Words for a tempo that changes little by little: how much, only numbers in the file can say."""

CHANGE_WITHIN: Final = F(8)
"""Quarter notes in which a file that says how a tempo changes does so."""

TREMOLO_FASTEST: Final = F(1, 16)
"""Shortest stroke of a tremolo, in seconds: faster ones are played at half the speed."""

UNMEASURED: Final = 3
"""Strokes through the stem of a tremolo that does not say how many."""

HARMONICS: Final = {3: 31, 4: 28, 5: 24, 7: 19, 9: 28, 12: 12, 16: 28, 19: 19, 24: 24}
"""Semitones that a harmonic sounds above its string or stopped note, by the semitones at which it is touched.

Physics of the string: touched at a third, a quarter, a fifth of its length it sounds that partial.
"""
