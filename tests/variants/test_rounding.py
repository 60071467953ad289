"""Rounded durations: what an exporter rounds to whole divisions is read as what it means."""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.notes import read_line, read_lines
from excerpts.notes.rounding import unrounded
from excerpts.variants import variants, vary
from tests.score.cutting import cut

F = Fraction
_NAMES = ("C5", "D5", "E5", "F5", "G5", "A5", "B5")


def note(name: str, ticks: int, kind: str, ratio: tuple[int, int] = (1, 1), voice: int = 1) -> str:
    """A note of so many divisions, with a type and a tuplet ratio."""
    actual, normal = ratio
    told = f"<actual-notes>{actual}</actual-notes><normal-notes>{normal}</normal-notes>"
    return (
        f"<note><pitch><step>{name[0]}</step><octave>{name[1]}</octave></pitch><duration>{ticks}</duration>"
        f"<voice>{voice}</voice><type>{kind}</type>"
        f"{f'<time-modification>{told}</time-modification>' if actual > 1 else ''}</note>"
    )


def score(divisions: int, *bars: str) -> bytes:
    """A part of bars in 4/4."""
    first = (
        f"<attributes><divisions>{divisions}</divisions><key><fifths>0</fifths></key>"
        "<time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>"
    )
    measures = "".join(
        f'<measure number="{number}">{"" if number > 1 else first}{bar}</measure>'
        for number, bar in enumerate(bars, 1)
    )
    return (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Violin</part-name></score-part>'
        f'</part-list><part id="P1">{measures}</part></score-partwise>'
    ).encode()


def triplets(*ticks: int) -> str:
    """A crotchet of triplet quavers."""
    return "".join(note(name, count, "eighth", (3, 2)) for name, count in zip(_NAMES, ticks, strict=False))


def passage(divisions: int, *ticks: int) -> Excerpt:
    """Two bars of triplets, one of quavers, and the note that they lead to."""
    quavers = "".join(note("A4", divisions // 2, "eighth") for _ in range(8))
    bars = (triplets(*ticks) * 4, quavers, triplets(*ticks) * 4, note("C5", divisions * 4, "whole"))
    return cut(score(divisions, *bars), "1-3", 1)


def result(excerpt: Excerpt, variant: str) -> object:
    """The bars and events of a variant, or why it does not fit."""
    try:
        line = read_line(vary(excerpt, variant))
    except VariantError as refusal:
        return refusal.what
    events = [(one.onset, one.duration, [str(head.pitch) for head in one.heads]) for one in line.events]
    return [bar.length for bar in line.bars], events


@pytest.mark.slow
@pytest.mark.parametrize(
    "ticks",
    [
        (85, 85, 86),
        pytest.param((85, 86, 85), marks=pytest.mark.long),
        pytest.param((85, 85, 85), marks=pytest.mark.long),
    ],
)
def test_every_variant_is_that_of_the_exact_durations(ticks: tuple[int, ...]) -> None:
    """Three times 85 is a bar of 255/64 too: 22 of the variants ended in an error of arithmetic."""
    exact, rounded = passage(252, 84, 84, 84), passage(256, *ticks)
    for info in variants():
        for name in info.examples:
            if info.kind != "tempo" and not info.spoken and not info.same_notes:
                assert result(rounded, name) == result(exact, name), name


_TUPLETS = st.sampled_from([((3, 2), 3), ((5, 4), 5), ((6, 4), 6), ((7, 4), 7)])


@given(
    tuplets=st.lists(_TUPLETS, min_size=4, max_size=4),
    divisions=st.sampled_from([64, 100, 128, 256, 480, 768, 1024]),
    way=st.sampled_from(["down", "nearest", "running"]),
)
def test_rounding_is_undone(tuplets: list[tuple[tuple[int, int], int]], divisions: int, way: str) -> None:
    """Rounded down, to the nearest, or so that the sum comes right: the notes are where they are meant to be."""
    bar, meant = "", [F(0)]
    for (actual, normal), count in tuplets:
        kind = {2: "eighth", 4: "16th"}[normal]
        exact = F(divisions, actual)
        ends = [round(exact * n) for n in range(count + 1)]
        running = [b - a for a, b in zip(ends, ends[1:], strict=False)]
        ticks = {"down": [int(exact)] * count, "nearest": [round(exact)] * count, "running": running}[way]
        bar += "".join(
            note(name, one, kind, (actual, normal)) for name, one in zip(_NAMES, ticks, strict=False)
        )
        meant += [meant[-1] + length for length in accumulate([F(1, actual)] * count)]
    made = unrounded(cut(score(divisions, bar, note("C5", divisions * 4, "whole")), "1", 1))
    assert [event.onset for event in read_line(made).events] == meant
    assert [one.length for one in made.bars] == [4, 4]
    assert made.boxes[0].end.onset == 4


def test_a_second_voice_stays_beside_the_first() -> None:
    low = "".join(note("C4", 256, "quarter", voice=2) for _ in range(4))
    for ticks, back in (((85, 85, 85), 1020), ((85, 85, 86), 1024), ((85, 85, 85), 1024)):
        bar = f"{triplets(*ticks) * 4}<backup><duration>{back}</duration></backup>{low}"
        made = unrounded(cut(score(256, bar), "1"))
        upper, lower = read_lines(made)
        assert [event.onset for event in upper.events] == [F(n, 3) for n in range(12)]
        assert [event.onset for event in lower.events] == [0, 1, 2, 3]
        assert made.bars[0].length == 4


def test_what_is_not_rounded_stays_as_it_is() -> None:
    exact = passage(252, 84, 84, 84)
    assert unrounded(exact) is exact
    contradicting = cut(score(256, note("C5", 512, "quarter") * 2), "1")  # longer by far than its type says
    assert unrounded(contradicting) is contradicting
    swing = cut(score(2, (note("C5", 1, "quarter") + note("D5", 3, "half")) * 2), "1")
    assert unrounded(swing) is swing


def test_it_is_told() -> None:
    told = [
        (line.action, line.what, line.bar, line.detail) for line in unrounded(passage(256, 85, 85, 86)).report
    ]
    assert ("repaired", "rounded durations", "1", "12 notes") in told
