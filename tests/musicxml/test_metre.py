"""Metre: the beats that players count, and the groups that notes are beamed, split and varied by."""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from excerpts.musicxml.format import time_signature
from excerpts.musicxml.metre import NO_METRE, Metre, free_metre, metre_of, metre_of_pairs
from excerpts.notes import read_line, write_line
from excerpts.notes.spell_events import bar_metres
from excerpts.score.bars import BarRange
from excerpts.sound.midi import write_midi
from excerpts.variants import vary
from tests.music import FIRST, part, score
from tests.notes.lines import beams, line
from tests.score.cutting import cut
from tests.score.test_address import find
from tests.sound.test_clicks import tracks

F = Fraction


def time(text: str) -> etree._Element:
    """A `<time>` of pairs: "3+2/8 2/4"."""
    pairs = "".join(
        "<beats>{}</beats><beat-type>{}</beat-type>".format(*pair.split("/")) for pair in text.split()
    )
    return etree.fromstring(f"<time>{pairs}</time>")


TABLE = {
    # signature: counts and groups, each in notes of the lower figure (of the last pair)
    "2/2": ((1, 1), (1, 1)),
    "3/2": ((1, 1, 1), (1, 1, 1)),
    "2/4": ((1, 1), (1, 1)),
    "3/4": ((1, 1, 1), (1, 1, 1)),
    "4/4": ((1, 1, 1, 1), (1, 1, 1, 1)),
    "5/4": ((1, 1, 1, 1, 1), (1, 1, 1, 1, 1)),
    "6/4": ((1, 1, 1, 1, 1, 1), (3, 3)),
    "3/8": ((1, 1, 1), (3,)),
    "6/8": ((3, 3), (3, 3)),
    "9/8": ((3, 3, 3), (3, 3, 3)),
    "12/8": ((3, 3, 3, 3), (3, 3, 3, 3)),
    "3/16": ((1, 1, 1), (3,)),
    "6/16": ((3, 3), (3, 3)),
    "9/16": ((3, 3, 3), (3, 3, 3)),
    "5/8": ((1, 1, 1, 1, 1), (2, 3)),
    "7/8": ((1, 1, 1, 1, 1, 1, 1), (2, 2, 3)),
    "2+3/4": ((1, 1, 1, 1, 1), (1, 1, 1, 1, 1)),
    "3+2/8": ((1, 1, 1, 1, 1), (3, 2)),
    "2+3/8": ((1, 1, 1, 1, 1), (2, 3)),
    "3+2+2/8": ((1, 1, 1, 1, 1, 1, 1), (3, 2, 2)),
    "2+2+2+3/8": ((1,) * 9, (2, 2, 2, 3)),
    "3/4 3/8": ((2, 2, 2, 1, 1, 1), (2, 2, 2, 3)),
    "6/8 2/4": ((F(3, 2), F(3, 2), 1, 1), (F(3, 2), F(3, 2), 1, 1)),
}
"""The rules of one metre and two questions as a table: common practice, no source."""


@pytest.mark.parametrize("text", TABLE)
def test_counts_and_groups(text: str) -> None:
    """Counts for addresses, count-in and metronome; groups for beams and variants."""
    unit = F(4, int(text.rpartition("/")[2]))
    counts, groups = (tuple(size * unit for size in sizes) for sizes in TABLE[text])
    metre = metre_of(time(text))
    assert metre.counts == counts
    assert metre.groups == groups
    assert metre.text == text.replace(" ", " + ")


@pytest.mark.parametrize(
    ("text", "beat"),
    [
        ("4/4", 1),
        ("2/2", 2),
        ("6/8", F(3, 2)),
        ("6/4", 1),
        ("3/8", F(1, 2)),
        ("5/8", F(1, 2)),
        ("3/4 3/8", 1),
    ],
)
def test_the_note_that_a_metronome_counts(text: str, beat: Fraction) -> None:
    assert metre_of(time(text)).beat == beat


@pytest.mark.parametrize("text", ["0/4", "4/0", "-3/4", "x/4", "4/x", "3+/4", "1000000000/4", "4/-4"])
def test_a_signature_that_makes_no_sense_is_none(text: str) -> None:
    assert time_signature(time(text)) == ()
    assert metre_of(time(text)) == NO_METRE


def test_senza_misura_is_no_metre() -> None:
    assert metre_of(etree.fromstring("<time><senza-misura/></time>")) == NO_METRE
    assert metre_of(None) == NO_METRE


_PAIR = st.tuples(
    st.lists(st.integers(1, 15), min_size=1, max_size=4).map(tuple), st.sampled_from([1, 2, 4, 8, 16, 32])
)
_METRES = st.lists(_PAIR, min_size=1, max_size=3).map(lambda pairs: metre_of_pairs(tuple(pairs)))


@given(pairs=st.lists(_PAIR, min_size=1, max_size=3).map(tuple))
def test_counts_and_groups_each_add_up_to_the_bar(pairs: tuple[tuple[tuple[int, ...], int], ...]) -> None:
    metre = metre_of_pairs(pairs)
    length = sum((F(4 * sum(terms), unit) for terms, unit in pairs), F(0))
    assert metre.length == sum(metre.counts) == sum(metre.groups) == length
    assert len(metre.groups) == len(metre.ternary)


@given(metre=_METRES)
def test_every_group_begins_on_a_count(metre: Metre) -> None:
    starts = {F(0), *accumulate(metre.groups)}
    assert starts <= {F(0), *accumulate(metre.counts)}
    assert set(metre.halves) <= starts


@given(data=st.data(), upper=st.sampled_from([5, 7, 11, 13]), lower=st.sampled_from([8, 16, 32]))
def test_beams_that_show_groups_are_read_back(data: st.DataObject, upper: int, lower: int) -> None:
    """Whatever way an open metre is grouped in, beams of that way show it, and it adds up."""
    metre = metre_of(time(f"{upper}/{lower}"))
    threes = data.draw(st.sampled_from([n for n in range(upper // 3 + 1) if (upper - 3 * n) % 2 == 0]))
    sizes = data.draw(st.permutations([3] * threes + [2] * ((upper - 3 * threes) // 2)))
    groups = tuple(size * metre.part for size in sizes)
    edges = [F(0), *accumulate(groups)]
    assert metre.as_beamed(zip(edges, edges[1:], strict=False)) == groups
    assert metre.grouped(groups).groups == groups
    assert metre.grouped(groups).length == metre.length


def test_beams_of_single_quavers_show_nothing() -> None:
    metre = metre_of(time("5/8"))
    assert metre.as_beamed([]) is None
    assert metre.as_beamed([(F(0), F(5, 2))]) is None
    assert metre.as_beamed([(F(n, 2), F(n + 1, 2)) for n in range(5)]) is None
    assert metre_of(time("3+2/8")).as_beamed([(F(0), F(1)), (F(1), F(5, 2))]) is None


@pytest.mark.parametrize(
    ("beats", "address", "start", "end"),
    [
        ("2+3/4", "2:5", F(4), F(5)),
        ("6/4", "2:6", F(5), F(6)),
        ("3/8", "2:3", F(1), F(3, 2)),
        ("7/8", "2:7", F(3), F(7, 2)),
        ("3+2+2/8", "2:7", F(3), F(7, 2)),
        ("6/8", "2:2", F(3, 2), F(3)),
    ],
)
def test_addresses_count(beats: str, address: str, start: Fraction, end: Fraction) -> None:
    upper, lower = beats.split("/")
    first = FIRST.replace("<beats>4</beats><beat-type>4", f"<beats>{upper}</beats><beat-type>{lower}")
    assert find(score(part([f"{first} C5:6", "C5:6"])), address) == BarRange(1, start, 1, end)


@pytest.mark.parametrize(
    ("beats", "number"),
    [("6/4", 6), ("3/8", 3), ("5/8", 5), ("7/8", 7), ("3/16", 3), ("2+3/4", 5), ("6/8", 2)],
)
def test_a_count_in_clicks_what_addresses_count(beats: str, number: int) -> None:
    upper, lower = beats.split("/")
    full = F(4 * sum(map(int, upper.split("+"))), int(lower))
    *_, clicks = tracks(write_midi(write_line(line(beats, [full])), count_in=1))
    assert [at for at, _ in clicks] == [full / number * n for n in range(number)]


def _five(groups: str) -> str:
    """Five quavers as beamed: "2+3"."""
    sizes = [int(size) for size in groups.split("+")]
    roles = [["begin", *["continue"] * (size - 2), "end"] for size in sizes]
    return " ".join(
        f'{name}4:1/2[<beam number="1">{role}</beam>]'
        for name, role in zip("CDEFG", [role for one in roles for role in one], strict=True)
    )


@pytest.mark.parametrize("way", ["2+3", "3+2"])
def test_variants_group_as_the_source_beams(way: str) -> None:
    """The notes of a variant keep the groups that the source shows, though none of its beams is left."""
    first = FIRST.replace("<beats>4</beats><beat-type>4", "<beats>5</beats><beat-type>8")
    excerpt = cut(score(part([f"{first} {_five(way)}", _five(way)])), "1-2")
    read = read_line(excerpt)
    wanted = tuple(F(int(size), 2) for size in way.split("+"))
    assert [metre.groups for metre, _ in bar_metres(read)] == [wanted, wanted]
    made = vary(excerpt, "repeat:2:kept")
    semis = {"2+3": ("[[ -- -- ]]", "[[ -- -- -- -- ]]"), "3+2": ("[[ -- -- -- -- ]]", "[[ -- -- ]]")}[way]
    assert beams(made)[0] == " ".join(semis)


@given(length=st.fractions(F(0), F(12), max_denominator=48))
def test_a_bar_without_a_metre_is_as_long_as_what_is_in_it(length: Fraction) -> None:
    metre = free_metre(length)
    assert metre.length == sum(metre.counts) == (length or 1)
    assert max(metre.groups) <= 1


def test_a_bar_of_millions_of_beats_takes_no_memory() -> None:
    metre = free_metre(Fraction(200_000_000))
    assert metre.length == 200_000_000
    assert len(metre.counts) == 1
