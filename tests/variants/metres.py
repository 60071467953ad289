"""Passages in every kind of metre, one rhythmic cell for each beat, and which stretches of a bar belong together.

The beats stand here as teachers count them, apart from the tables of `musicxml.metre`.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate, pairwise

from hypothesis import strategies as st

from excerpts.excerpt import Excerpt
from tests.variants.music import passage

Q, DQ = Fraction(1), Fraction(3, 2)
METRES = {
    "2/4": [Q] * 2, "3/4": [Q] * 3, "4/4": [Q] * 4, "5/4": [Q] * 5, "2/2": [2 * Q] * 2, "3/2": [2 * Q] * 3,
    "6/4": [2 * DQ] * 2, "3/8": [DQ], "5/8": [Q, DQ], "6/8": [DQ] * 2, "7/8": [Q, Q, DQ], "9/8": [DQ] * 3,
    "12/8": [DQ] * 4, "3/16": [DQ / 2], "6/16": [DQ / 2] * 2, "2+3/4": [Q] * 5, "3+2+2/8": [DQ, Q, Q],
}  # fmt: skip
"""The beats of each metre in quarter notes; those with a factor of three are dotted."""

BINARY = {
    "halves": "1/2 1/2", "quarters": "1/4 1/4 1/4 1/4", "triplet": "1/3 1/3 1/3", "dotted": "3/4 1/4",
    "snap": "1/4 3/4", "long and two": "1/2 1/4 1/4", "two and long": "1/4 1/4 1/2", "syncopation": "1/4 1/2 1/4",
    "one": "1",
}  # fmt: skip
TERNARY = {
    "thirds": "1/3 1/3 1/3", "sixths": "1/6 1/6 1/6 1/6 1/6 1/6", "trochee": "2/3 1/3", "iamb": "1/3 2/3",
    "siciliano": "1/2 1/6 1/3", "one": "1",
}  # fmt: skip
"""Cells as shares of a beat."""

EVEN = {"halves", "quarters", "triplet", "thirds", "sixths"}
NAMES = ["G4", "A4", "B4", "C5", "D5", "E5", "F5"]


def is_dotted(beat: Fraction) -> bool:
    """Whether a beat divides in three."""
    return beat.numerator % 3 == 0


@st.composite
def passages(draw: st.DrawFn, steady: bool = False) -> Excerpt:
    """One to three bars of any metre and an arrival note, with slurs over any notes.

    Args:
        draw: Of hypothesis.
        steady: Each bar goes on in one cell, in which runs are longest.
    """
    time = draw(st.sampled_from(sorted(METRES)))
    bars: list[list[Fraction]] = []
    for _ in range(draw(st.integers(1, 3))):
        lengths: list[Fraction] = []
        rank = draw(st.integers(0, 8))
        for beat in METRES[time]:
            cells = list((TERNARY if is_dotted(beat) else BINARY).values())
            cell = cells[rank % len(cells)] if steady else draw(st.sampled_from(cells))
            lengths += [Fraction(share) * beat for share in cell.split()]
        bars.append(lengths)
    return written(draw, time, bars)


def written(draw: st.DrawFn, time: str, bars: list[list[Fraction]]) -> Excerpt:
    """The bars as music, with some notes slurred, and a box around them."""
    count = sum(map(len, bars))
    cuts = sorted(draw(st.sets(st.integers(0, count - 1), max_size=6)))
    slurs = [(a, b) for a, b in pairwise(cuts) if draw(st.booleans())]
    starts, stops = {a for a, b in slurs if b - 1 > a}, {b - 1 for a, b in slurs if b - 1 > a}
    texts: list[str] = []
    number = 0
    for bar in bars:
        tokens: list[str] = []
        for length in bar:
            name = NAMES[number % len(NAMES)]
            tokens.append(f"{'(' * (number in starts)}{name}/{length}{')' * (number in stops)}")
            number += 1
        texts.append(" ".join(tokens))
    first, *rests = METRES[time]
    arrival = " ".join([f"C5/{first}", *(f"r/{beat}" for beat in rests)])
    return passage(time, *texts, arrival, box=(0, len(bars) - 1))


def belong_together(time: str, start: Fraction, end: Fraction) -> bool:
    """Whether a stretch of a bar is a part of one beat that is felt, a beat, or several beats.

    A beat of two parts is halved again and again, or a triplet; a dotted one has thirds, which are halved.

    Args:
        time: The metre.
        start: In quarter notes from the start of the bar.
        end: Likewise, in the same bar.
    """
    edges = [Fraction(0), *accumulate(METRES[time])]
    if start in edges and end in edges:
        return True
    beat = max(index for index, edge in enumerate(edges) if edge <= start)
    if end > edges[beat + 1]:
        return False
    length, inside, size = METRES[time][beat], start - edges[beat], end - start
    if is_dotted(length):
        third = length / 3
        return _halves(third, size) and inside % size == 0 or (inside % third == 0 and size % third == 0)
    return (_halves(length, size) or _halves(length / 3, size)) and inside % size == 0


def _halves(whole: Fraction, part: Fraction) -> bool:
    number = whole / part
    return number.denominator == 1 and number.numerator & (number.numerator - 1) == 0
