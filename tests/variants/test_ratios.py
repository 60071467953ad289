"""Rhythms by ratio, kept and stretched: the table of worked ratios, laws, refusals (default tier)."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.errors import VariantError
from excerpts.variants import vary
from tests.notes.lines import beams, values
from tests.schema import schema_errors
from tests.variants.music import lengths, passage, pitches

RUN = "G4/1/4 A4 B4 C5 D5 E5 F5 G5 A5 G5 F5 E5 D5 C5 B4 A4"
TRIPLETS = "G4/1/3 A4 B4 C5 D5 E5"


@pytest.mark.parametrize(
    ("variant", "group", "count"),
    [
        ("rhythm:3-1:kept", "3/8 1/8", 8),
        ("rhythm:1-3:kept", "1/8 3/8", 8),
        ("double-dotted:kept", "7/16 1/16", 8),
        ("triplet-long-short:kept", "1/3 1/6", 8),
        ("triplet-short-long:kept", "1/6 1/3", 8),
        ("long-short-short-short:kept", "1/2 1/6 1/6 1/6", 4),
        ("short-long-short-short:kept", "1/6 1/2 1/6 1/6", 4),
        ("short-short-long-short:kept", "1/6 1/6 1/2 1/6", 4),
        ("short-short-short-long:kept", "1/6 1/6 1/6 1/2", 4),
        ("long-short-short-long:kept", "1/3 1/6 1/6 1/3", 4),
        ("short-long-long-short:kept", "1/6 1/3 1/3 1/6", 4),
        ("long-long-short-short:kept", "1/3 1/3 1/6 1/6", 4),
        ("short-short-long-long:kept", "1/6 1/6 1/3 1/3", 4),
    ],
)
def test_the_kept_ratios_in_a_crotchet_of_semiquavers(variant: str, group: str, count: int) -> None:
    """Fractions of the group's time from the table of rhythms: 3/4 1/4, 7/8 1/8, 2/3 1/3, and so on."""
    assert lengths(vary(passage("4/4", RUN), variant)) == [" ".join([group] * count)]


@pytest.mark.parametrize(
    ("variant", "group"),
    [
        ("long-short-short", "1/2 1/4 1/4"),
        ("short-long-short", "1/4 1/2 1/4"),
        ("short-short-long", "1/4 1/4 1/2"),
    ],
)
def test_groups_of_three_take_triplets_and_need_none(variant: str, group: str) -> None:
    """1/2 1/4 1/4 of a crotchet of triplet quavers: a quaver and two semiquavers."""
    made = vary(passage("2/4", TRIPLETS), variant)
    assert lengths(made) == [f"{group} {group}"]
    assert b"time-modification" not in made.xml


@pytest.mark.parametrize(
    ("variant", "group", "time"),
    [
        ("rhythm:3-1:stretched", "3/4 1/4", "4/4"),
        ("long-short-short-short", "3/4 1/4 1/4 1/4", "12/8"),
        ("short-short-short-long", "1/4 1/4 1/4 3/4", "12/8"),
        ("rhythm:5-1-1-1", "5/4 1/4 1/4 1/4", "4/4"),
        ("long-short-short-long", "1/2 1/4 1/4 1/2", "12/8"),
        ("long-five-short", "3/4 1/4 1/4 1/4 1/4 1/4", "4/4"),
    ],
)
def test_stretched_short_notes_keep_their_value(variant: str, group: str, time: str) -> None:
    """Totals of 4 for 2, 6 and 8 for 4, 8 for 6 (source unit 1), so that bars of twos or threes hold them."""
    sixes = variant == "long-five-short"
    source = passage("6/8", " ".join(RUN.split()[:12])) if sixes else passage("4/4", RUN)
    made = vary(source, variant)
    assert " ".join(lengths(made)).startswith(f"{group} {group}")
    beats, unit = time.split("/")
    assert f"<beats>{beats}</beats>".encode() in made.xml
    assert f"<beat-type>{unit}</beat-type>".encode() in made.xml
    assert b"time-modification" not in made.xml


@pytest.mark.parametrize(
    ("time", "music", "long"), [("6/8", "C4/1/2 D4 E4 F4 G4 A4", "1"), ("3/4", "C4/1 D4 E4", "2")]
)
def test_threes_of_a_dotted_beat_or_a_bar_stay_in_it_in_plain_notes(time: str, music: str, long: str) -> None:
    """Crotchet and two semiquavers fill a dotted crotchet, minim and two quavers a bar of 3/4."""
    short = str(Fraction(long) / 4)
    source = passage(time, music, music)
    for variant, places in (
        ("long-short-short", [long, short, short]),
        ("short-long-short", [short, long, short]),
        ("short-short-long", [short, short, long]),
    ):
        made = vary(source, variant)
        groups = 2 if time == "6/8" else 1
        assert lengths(made) == [" ".join(places * groups)] * 2
        assert made.xml.count(b"<time") == 1
        assert b"time-modification" not in made.xml


def test_a_ratio_that_was_typed_is_kept_exactly() -> None:
    assert lengths(vary(passage("6/8", "C4/1/2 D4 E4 F4 G4 A4"), "rhythm:2-1-1"))[0].startswith("1 1/2 1/2")


def test_triplets_of_a_pair_stay_in_their_beat() -> None:
    """Other notes stand in the same bar, and the beat stays the metronome's."""
    made = vary(passage("3/4", "B4/1 G4/1/2 A4 B4 C5", "D5/3"), "triplet-long-short")
    assert lengths(made) == ["1 2/3 1/3 2/3 1/3", "3"]
    assert made.xml.count(b"<time>") == 1


def test_pairs_that_are_longer_than_a_beat_make_bars_of_three() -> None:
    assert lengths(vary(passage("4/4", "C4/1 D4 E4 F4"), "triplet-long-short")) == ["2 1", "2 1"]


def test_groups_of_four_are_stretched_because_kept_needs_tuplets() -> None:
    made = vary(passage("4/4", RUN), "rhythm:3-1-1-1")
    assert values(made) == [" ".join(["8. 16 16 16"] * 4)]
    assert beams(made) == [" ".join(["[ -[ -- ]]"] * 4)]


def test_a_triplet_run_is_stretched_in_its_written_values() -> None:
    made = vary(passage("2/4", TRIPLETS), "long-short-short:stretched")
    assert lengths(made) == ["1 1/2 1/2 1 1/2 1/2"]
    assert b"time-modification" not in made.xml


def test_only_the_run_of_a_mixed_passage_is_varied_and_the_rest_is_as_written() -> None:
    source = passage("4/4", "C4/1 r/1 G4/1/4 A4 B4 C5 D5 E5 F5 G5", "A4/1/2 B4/1 C5/1/2 D5/2")
    made = vary(source, "rhythm:3-1-1-1")
    assert lengths(made) == ["1 -1", "3/4 1/4 1/4 1/4 3/4 1/4 1/4 1/4", "1/2 1 1/2 2"]
    assert [ref.label for ref in made.bars] == ["1", "1", "2"]
    assert pitches(made) == pitches(source)
    assert schema_errors(made.xml) == []


def test_what_is_left_over_keeps_its_value() -> None:
    made = vary(passage("4/4", "C4/1/4 D4 E4 F4 G4 A4 B4 C5 D5 E5 F5 r r/1"), "rhythm:3-1-1-1")
    assert lengths(made) == ["3/4 1/4 1/4 1/4 3/4 1/4 1/4 1/4", "1/4 1/4 1/4 -1/4 -1"]


def test_the_arrival_stands_after_stretched_groups() -> None:
    made = vary(passage("4/4", RUN, "C5/4", box=(0, 0)), "rhythm:3-1-1-1")
    assert lengths(made)[-1] == "4"
    assert pitches(made)[-1] == "C5"
    assert (made.boxes[0].end.bar, made.boxes[0].end.onset) == (0, Fraction(6))


@pytest.mark.parametrize(
    ("variant", "message"),
    [
        ("rhythm:3-0", "cannot be 0 long"),
        ("rhythm:3--1", "not a ratio of whole numbers"),
        ("rhythm:-3-1", "not a ratio of whole numbers"),
        ("rhythm:a-b", "not a ratio of whole numbers.*rhythm:3-1"),
        ("rhythm:3", "not a ratio of whole numbers"),
        ("rhythm:1.5-1", "not a ratio"),
        ("rhythm:99-1", "none over 16"),
        ("rhythm:3-1:swung", "not a form of a rhythm.*kept"),
        ("double-dotted:3", "not a form of a rhythm"),
        ("rythm:3-1", "Did you mean 'rhythm'"),
        ("long-short-shrt", "Did you mean 'long-short"),
        ("rhythm:1-1-1-1-1-1-1-1-1-1", "at least 20 equal notes.*bar 1: the longest run has 16 notes"),
        (
            "rhythm:2-1-1:kept",
            "two groups of 3 from the beat; bar 1: the runs there do not divide in groups of 3",
        ),
    ],
)
def test_what_makes_no_sense_is_refused(variant: str, message: str) -> None:
    with pytest.raises(VariantError, match=message) as caught:
        vary(passage("4/4", RUN), variant)
    assert caught.value.exit_status == 2


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.integers(1, 8), min_size=2, max_size=6),
    st.sampled_from(["4/4", "3/4", "6/8", "2/4"]),
    st.sampled_from(["", ":kept", ":stretched"]),
    st.sampled_from([Fraction(1, 2), Fraction(1, 4), Fraction(1, 3)]),
    st.integers(2, 3),
)
def test_laws_of_ratios(ratio: list[int], time: str, form: str, unit: Fraction, bars: int) -> None:
    """The same pitches in the same order; kept bars as long as before; valid."""
    beats, beat = map(int, time.split("/"))
    count = int(Fraction(4 * beats, beat) / unit)
    names = [f"{letter}{octave}" for octave in (4, 5) for letter in "CDEFGAB"] * 4
    bar = f"{names[0]}/{unit} " + " ".join(names[1:count])
    source = passage(time, *[bar] * bars)
    try:
        made = vary(source, "rhythm:" + "-".join(map(str, ratio)) + form)
    except VariantError:
        return
    assert pitches(made) == pitches(source)
    assert schema_errors(made.xml) == []
    if form == ":kept":
        assert [ref.length for ref in made.bars] == [ref.length for ref in source.bars]
