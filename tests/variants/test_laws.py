"""The laws of the variants on generated passages (default tier)."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.notes import read_line
from excerpts.notes.write_signs import sign_text
from excerpts.variants import variants, vary
from tests.variants import metres
from tests.variants.laws import VARIANTS, faults, names_of
from tests.variants.music import passage

NAMES = [f"{step}{octave}" for octave in (4, 5) for step in "CDEFGAB"] + ["F#4", "Bb4", "C#5", "Eb5"]
CELLS = {
    "run": "1/4 1/4 1/4 1/4",
    "quavers": "1/2 1/2",
    "triplet": "1/3 1/3 1/3",
    "dotted": "3/4 1/4",
    "snap": "1/4 3/4",
    "long": "1",
    "mixed": "1/2 1/4 1/4",
}
"""Beats of one crotchet; runs come often, so that most rhythms fit something."""


@st.composite
def passages(draw: st.DrawFn) -> Excerpt:
    """One to three bars of 2/4, 3/4 or 4/4 and an arrival note, with slurs, rests, chords, dots and grace notes."""
    beats = draw(st.sampled_from([2, 3, 4]))
    kinds = st.sampled_from(
        ["run"] * 4 + ["quavers"] * 2 + [kind for kind in CELLS if kind not in {"run", "quavers"}]
    )
    bars: list[str] = []
    steady = draw(st.none() | kinds)
    for _ in range(draw(st.integers(1, 3))):
        tokens: list[str] = []
        for _ in range(beats):
            lengths = CELLS[steady or draw(kinds)].split()
            slurred = len(lengths) > 1 and draw(st.booleans())
            for place, length in enumerate(lengths):
                tokens.append(_token(draw, length, slurred, place, len(lengths)))
        bars.append(" ".join(tokens))
    arrival = draw(st.sampled_from([f"{NAMES[7]}/{beats}", f"r/{beats}"]))
    return passage(f"{beats}/4", *bars, arrival, box=(0, len(bars) - 1), fifths=draw(st.integers(-3, 3)))


def _token(draw: st.DrawFn, length: str, slurred: bool, place: int, count: int) -> str:
    first, last = place == 0, place == count - 1
    opens, closes = "(" * (slurred and first), ")" * (slurred and last)
    rare = draw(st.integers(0, 19))
    if rare == 0 and not slurred:
        return f"r/{length}"
    name = draw(st.sampled_from(NAMES))
    if rare == 1:
        name = "G3+D4"
    grace = f"g:{draw(st.sampled_from(NAMES))}/1/2 " if rare == 2 and not slurred else ""
    sign = {3: ".", 4: "^", 5: "v", 6: "!"}.get(rare, "")
    return f"{grace}{opens}{name}/{length}{sign}{closes}"


def test_every_variant_stands_under_a_law() -> None:
    assert names_of(VARIANTS) == {info.name for info in variants()}


@pytest.mark.parametrize("variant", VARIANTS)
@given(source=passages() | metres.passages(steady=True))
@settings(max_examples=6)
def test_the_laws_hold(variant: str, source: Excerpt) -> None:
    """Which notes, bars exactly full, valid, engraved without a complaint."""
    assert faults(source, variant) in ([], ["refused"])


def written(excerpt: Excerpt) -> list[tuple[object, ...]]:
    """The events with the marks of each note, whatever the order that they stand in."""
    return [
        (
            e.onset,
            e.duration,
            e.grace,
            [(str(h.pitch), sorted(sign_text(m.sign) for m in h.marks)) for h in e.heads],
        )
        for e in read_line(excerpt).events
    ]


@pytest.mark.slow
@given(source=passages())
@settings(max_examples=10)
def test_what_is_done_twice_is_done_once(source: Excerpt) -> None:
    for variant in (
        "separate",
        "slur:2",
        "hooked",
        "stop-before-shift",
        "ringing:violin",
        "one-pitch",
        "accent",
    ):
        try:
            once = vary(source, variant)
        except VariantError:
            continue
        assert written(vary(once, variant)) == written(once), variant


@given(source=passages())
@settings(max_examples=10)
def test_the_same_input_gives_the_same_bytes(source: Excerpt) -> None:
    for variant in ("long-short", "burst", "add-a-beat"):
        try:
            assert vary(source, variant).xml == vary(source, variant).xml
        except VariantError:
            continue


@pytest.mark.long
@pytest.mark.slow
def test_the_generated_passages_are_worth_it() -> None:
    """Every variant is made of some of them: the laws above are not held to refusals alone."""
    made: Counter[str] = Counter()

    @given(source=passages() | metres.passages(steady=True))
    @settings(max_examples=30, database=None)
    def collect(source: Excerpt) -> None:
        for variant in VARIANTS:
            try:
                vary(source, variant)
            except VariantError:
                continue
            made[variant] += 1

    collect()
    never = {variant for variant in VARIANTS if not made[variant]}
    assert never <= {"stop-before-shift", "open-strings", "ringing", "slow:20"}
