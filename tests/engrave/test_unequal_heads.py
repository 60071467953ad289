"""Chords whose heads have unequal values: each head is drawn with its own (default tier)."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.engrave import Engraving, engrave
from excerpts.engrave.svg.ink import Ink
from tests.engrave.test_complete import CROTCHETS, STYLE, THIRD, beam, ink, music, one

TICKS = {"eighth": 4, "quarter": 8, "half": 16, "whole": 32}


def inks(drawn: Engraving, kind: str) -> dict[str, Ink]:
    """The last ink of a kind at each note."""
    return {
        mark.owner.note: mark for system in drawn.systems for mark in system.music if mark.owner.kind == kind
    }


@cache
def head_of(kind: str) -> object:
    """The outline of the head of a single note."""
    (head,) = inks(engrave(music(one("D", TICKS[kind], kind)), STYLE), "notehead").values()
    return head.outline


def test_the_values_have_heads_that_differ() -> None:
    """Quavers and crotchets share the black head, which minims and semibreves have not."""
    assert len({id(head_of(kind)) for kind in TICKS}) == 3


VALUES = st.tuples(st.sampled_from(sorted(TICKS)), st.booleans())
CHORDS = st.dictionaries(st.sampled_from("CDEFGAB"), VALUES, min_size=1)


@settings(max_examples=40, deadline=None)
@given(st.lists(CHORDS, min_size=1, max_size=3))
def test_every_head_has_its_own_value_and_dot(chords: list[dict[str, tuple[str, bool]]]) -> None:
    written = [(kind, dotted) for chord in chords for kind, dotted in chord.values()]
    bars = [
        "".join(
            one(pitch, TICKS[kind] * 3 // 2 if dotted else TICKS[kind], kind, chord=place > 0, inside="<dot/>" * dotted)
            for place, (pitch, (kind, dotted)) in enumerate(chord.items())
        )
        for chord in chords
    ]  # fmt: skip
    drawn = engrave(music(*bars), STYLE)
    heads = inks(drawn, "notehead")
    assert [heads[f"note{place}"].outline for place in range(len(written))] == [
        head_of(kind) for kind, _ in written
    ]
    assert ink(drawn, "dots") == sum(dotted for _, dotted in written)
    assert drawn.missing == ()


@pytest.mark.parametrize("upper_first", [True, False])
def test_a_minim_above_a_crotchet_has_a_stem_up_and_stands_over_it(upper_first: bool) -> None:
    minim, crotchet = ("B", 16, "half"), ("D", 8, "quarter")
    first, second = (minim, crotchet) if upper_first else (crotchet, minim)
    back = "<backup><duration>8</duration></backup>" if upper_first else ""
    chord = one(*first) + one(*second, chord=True) + back + one("E", 8, "quarter") + one("D", 16, "half")
    drawn = engrave(music(chord), STYLE)
    heads, stems = inks(drawn, "notehead"), inks(drawn, "stem")
    upper, lower = ("note0", "note1") if upper_first else ("note1", "note0")
    assert heads[upper].rect.left == pytest.approx(heads[lower].rect.left, abs=0.2)
    assert stems[upper].rect.bottom < heads[upper].rect.bottom
    assert stems[lower].rect.bottom > stems["note2"].rect.top > heads[upper].rect.bottom
    assert drawn.missing == ()


def test_a_tie_from_such_a_head_is_drawn() -> None:
    start, stop = (f'<notations><tied type="{kind}"/></notations>' for kind in ("start", "stop"))
    held = one("D", 8, "quarter") + one("B", 16, "half", chord=True, inside=start) + one("E", 8, "quarter")
    drawn = engrave(music(held + one("D", 16, "half") + one("B", 16, "half", chord=True, inside=stop)), STYLE)
    (tie,) = inks(drawn, "tie").values()
    heads = inks(drawn, "notehead")
    assert heads["note1"].rect.left < tie.rect.left < tie.rect.right < heads["note4"].rect.right
    assert drawn.missing == ()


def test_a_held_head_over_a_triplet_and_a_beam_loses_nothing() -> None:
    marks = (
        '<notations><tuplet type="start"/></notations>',
        "",
        '<notations><tuplet type="stop"/></notations>',
    )
    triplet = [
        one("D", 4, "eighth", inside=THIRD + beam(kind) + mark)
        for kind, mark in zip(("begin", "continue", "end"), marks, strict=True)
    ]
    drawn = engrave(music(triplet[0] + one("B", 32, "whole", chord=True) + "".join(triplet[1:])), STYLE)
    assert inks(drawn, "notehead")["note1"].outline is head_of("whole")
    assert (ink(drawn, "beam"), ink(drawn, "tupletNum")) == (1, 1)
    assert drawn.missing == ()


def test_chords_of_one_value_stay_on_one_stem() -> None:
    pair = one("D", 8, "quarter") + one("B", 8, "quarter", chord=True)
    assert ink(engrave(music(pair * 4, CROTCHETS), STYLE), "stem") == 8
