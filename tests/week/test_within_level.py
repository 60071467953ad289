"""What a first-year child is given to practise: nothing that its piece does not ask already (default tier)."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.excerpt import Excerpt
from excerpts.log.offers import other_variants
from excerpts.notes import read_lines
from excerpts.variants import parse_variant, vary
from excerpts.variants.spanning_marks import slurs
from excerpts.week import load_week
from excerpts.week.advice import BY_FAULT
from excerpts.week.orders import BoxOrders, Orders
from excerpts.week.orders.exercises import DrillOrders
from excerpts.week.orders.order import needed

HEAD: Final = """format = 1
[player]
name = "Ida"
instrument = "violin"
level = "{level}"
[week]
start = 2026-11-30
minutes = {{mon = 15}}
[[piece]]
id = "p"
title = "Snail"
composer = "Trad."
[[box]]
id = "b"
piece = "p"
why = [{why}]
"""


def box(folder: Path, abc: str, why: str = "", level: str = "first", more: str = "") -> BoxOrders:
    """The box of a week file: typed in, or on paper where there is no ABC."""
    music = f'abc = """\n{abc}\n"""\n' if abc else 'place = "p. 3"\n'
    (folder / "week.toml").write_text(HEAD.format(level=level, why=why) + music + more)
    return Orders(load_week(folder / "week.toml")).boxes[0]


def asked(music: Excerpt) -> tuple[set[Fraction], set[tuple[Fraction, Fraction]], int]:
    """Values, dotted figures and the longest bow: read from the events, not from the file."""
    values: set[Fraction] = set()
    figures: set[tuple[Fraction, Fraction]] = set()
    bow = 1
    for line in read_lines(music):
        sounding = [event for event in line.events if not event.grace]
        lengths = [(part, not event.is_rest) for event in sounding for part in event.segments]
        values |= {length for length, sounds in lengths if sounds}
        for (one, first), (other, second) in pairwise(lengths):
            if first and second and {3, 7} & {one.numerator, other.numerator}:
                figures.add((one, other))
        bow = max(
            [bow, *(sum(not e.grace for e in line.events[s.start : s.stop + 1]) for s in slurs(line.events))]
        )
    return values, figures, bow


CHILDS = {
    "4/4": ["A8", "A4", "A2", "A2", "(A2 B2)", "A B"],
    "3/4": ["A6", "A4", "A2", "A2", "A B"],
    "2/4": ["A4", "A2", "A2", "A B"],
    "6/8": ["A3", "A3", "A2 B", "A B c", "(A2 B)"],
}
FULL = {"4/4": 8, "3/4": 6, "2/4": 4, "6/8": 6}
LENGTHS = {
    "A8": 8,
    "A6": 6,
    "A4": 4,
    "A2": 2,
    "(A2 B2)": 4,
    "A B": 2,
    "A3": 3,
    "A2 B": 3,
    "A B c": 3,
    "(A2 B)": 3,
}


@st.composite
def tunes(draw: st.DrawFn) -> str:
    metre = draw(st.sampled_from(sorted(CHILDS)))
    bars = []
    for _ in range(3):
        left, bar = FULL[metre], []
        while left:
            fits = [
                one
                for one in CHILDS[metre]
                if LENGTHS[one] <= left and (left - LENGTHS[one]) % 2 * (metre != "6/8") == 0
            ]
            bar.append(draw(st.sampled_from(fits)))
            left -= LENGTHS[bar[-1]]
        bars.append(" ".join(bar))
    return f"X:1\nM:{metre}\nL:1/8\nQ:1/4=60\nK:D\n{' | '.join(bars)} |]"


@given(tune=tunes(), why=st.sampled_from(sorted(BY_FAULT)))
@settings(max_examples=12, deadline=None)
def test_no_variant_asks_more_than_the_piece(tune: str, why: str) -> None:
    """Defaults, and all that `next --change` can offer: values as in the piece, or all of them doubled."""
    with TemporaryDirectory() as folder:
        orders = box(Path(folder), tune, f'"{why}"')
        music = orders.music.made()
        assert music is not None
        values, figures, bow = asked(music)
        for name in {*orders.names(), *other_variants(orders)}:
            steps = parse_variant(name)
            times = 2 if any(step.variant.info.name == "doubled" for step in steps) else 1
            more = asked(vary(music, name if name != "open-strings" else "open-strings:violin"))
            assert more[0] <= values | {times * value for value in values}, name
            assert more[1] <= {(times * one, times * other) for one, other in figures}, name
            assert more[2] <= bow, name
            assert "half" not in name


SIX_EIGHT = "X:1\nM:6/8\nL:1/8\nQ:3/8=50\nK:D\nDEF GAB | ABA GFE | D3 A3 | D6 |]"
CROTCHETS = "X:1\nM:4/4\nL:1/4\nQ:1/4=60\nK:D\nDEFG | AGFE | DFAF | D4 |]"


@pytest.mark.parametrize(
    ("why", "first", "middle"),
    [
        ("tone", ("open-strings", "separate"), ("open-strings", "bow-part:upper-half", "portato:4")),
        ("uneven", ("accent",), ("long-short", "short-long", "long-short-short-short")),
        (
            "bow-distribution",
            ("open-strings", "one-pitch"),
            ("open-strings", "bow-part:lower-half", "one-pitch"),
        ),
    ],
)
def test_the_defaults_of_the_first_year(
    tmp_path: Path, why: str, first: tuple[str, ...], middle: tuple[str, ...]
) -> None:
    assert box(tmp_path, CROTCHETS, f'"{why}"').names() == first
    assert box(tmp_path, CROTCHETS, f'"{why}"', level="middle").names() == middle


def test_no_rounds_at_two_speeds_and_no_bow_in_the_air_in_the_first_year(tmp_path: Path) -> None:
    orders = box(tmp_path, CROTCHETS, '"speed"')
    assert not {"half-and-full", "silent-bow"} & {*orders.names(), *other_variants(orders)}
    assert box(tmp_path, CROTCHETS, '"speed"', level="lower").suits("half-and-full")


@pytest.mark.parametrize(
    ("tune", "level", "slurred"),
    [("A4 E4", "first", False), ("(A4 E4)", "first", True), ("A4 E4", "lower", True)],
)
def test_a_drill_of_the_first_year_has_slurs_if_its_piece_has(
    tmp_path: Path, tune: str, level: str, slurred: bool
) -> None:
    abc = f"X:1\nM:4/4\nL:1/8\nQ:1/4=60\nK:D\n{tune} | {tune} |]"
    box(tmp_path, abc, level=level, more='[[technique]]\ndrill = "b"\nminutes = 3\n')
    (orders,) = Orders(load_week(tmp_path / "week.toml")).technique.values()
    assert isinstance(orders, DrillOrders)
    made = needed(orders.drills)
    assert made
    assert any(b"<slur" in drill.music.xml for drill in made) == slurred


def test_no_portato_by_fours_in_six_eight(tmp_path: Path) -> None:
    orders = box(tmp_path, SIX_EIGHT, '"bow-distribution"')
    assert not any("portato" in name or "slur" in name for name in (*orders.names(), *other_variants(orders)))
    assert not orders.suits("portato:4")
    assert orders.suits("doubled")


def test_doubled_values_are_allowed_by_themselves_only(tmp_path: Path) -> None:
    orders = box(tmp_path, CROTCHETS)
    assert orders.suits("doubled")
    assert not orders.suits("long-short+doubled")


def test_a_figure_that_the_piece_has_is_allowed(tmp_path: Path) -> None:
    dotted = "X:1\nM:4/4\nL:1/8\nQ:1/4=60\nK:D\nD3E F3G | A2G2 F2E2 | D2F2A2F2 | D8 |]"
    assert box(tmp_path, dotted).suits("long-short")
    assert not box(tmp_path, CROTCHETS).suits("long-short")


def test_a_box_on_paper_has_words_alone(tmp_path: Path) -> None:
    orders = box(tmp_path, "", '"rhythm"')
    assert {parse_variant(name)[0].variant.info.spoken for name in other_variants(orders)} == {True}


def test_the_teachers_own_list_is_not_measured(tmp_path: Path) -> None:
    assert box(tmp_path, CROTCHETS, more='variants = ["long-short"]\n').names() == ("long-short",)


def test_what_does_not_fit_gives_way_to_the_next_choice(tmp_path: Path) -> None:
    more = 'variants = ["hooked", "burst:8:stop-first", "separate"]\n'
    orders = box(tmp_path, "X:1\nM:4/4\nL:1/4\nK:D\nDEFG | A4 |]", '"tone"', level="upper", more=more)
    assert orders.names() == ("hooked", "open-strings", "separate")
    assert [order.name for order in orders.variants] == ["hooked", "open-strings", "separate"]
    (told,) = [trouble for order in orders.refused for trouble in order.troubles()]
    assert told.message.endswith("It is left out; 'open-strings' is printed in its place.")
    assert not told.stops
