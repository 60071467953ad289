"""Groups are counted from the beat and within the bar, in every metre: laws on generated passages (default tier)."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import accumulate, pairwise

import pytest
from hypothesis import given, settings

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.notes import Event, Voice, read_line
from excerpts.notes.time_span import is_binary
from excerpts.variants import vary
from excerpts.variants.passage import take_box
from excerpts.variants.spanning_marks import slurs
from tests.notes.lines import values
from tests.variants.laws import VARIANTS, events
from tests.variants.metres import METRES, belong_together, passages
from tests.variants.music import lengths, passage
from tests.variants.test_new_slurs import strokes
from tests.variants.test_tuplet_landings import landings, tuplets

KEPT = (
    "long-short", "short-long", "double-dotted", "triplet-long-short:kept", "rhythm:3-1-1-1:kept", "long-short-short",
    "short-long-short", "short-short-long", "evened", "sharpened", "swapped",
)  # fmt: skip
LONG = {
    "rhythm:3-1:stretched": (2, 0), "burst:2": (2, 1), "long-short-short:stretched": (3, 0), "burst:3": (3, 2),
    "short-short-long:stretched": (3, 2), "burst:3:stop-first": (3, 0), "long-short-short-short": (4, 0),
    "short-short-short-long": (4, 3), "burst": (4, 3), "long-five-short": (6, 0), "burst:8": (8, 7),
}  # fmt: skip
"""Size of a group, and which note of it is long, counted from 0."""
SLURS = {"slur:2": (2,), "slur:3": (3,), "slur:4": (4,), "slur:2-1": (2, 1), "slur:1-3": (1, 3), "portato:2": (2,),
         "portato:4": (4,)}  # fmt: skip


def made_of(source: Excerpt, variant: str) -> tuple[Voice, Voice] | None:
    """The box and what came of it; None where the variant is refused."""
    try:
        return take_box(source), read_line(vary(source, variant))
    except VariantError:
        return None


def time_of(source: Excerpt) -> str:
    return f"{source.tree().findtext('.//beats')}/{source.tree().findtext('.//beat-type')}"


def together(box: Voice, time: str, notes: list[Event]) -> bool:
    """Whether notes fill a stretch of one bar that belongs together."""
    bar = box.bars[box.bar_at(notes[0].onset)]
    start, end = notes[0].onset - bar.start, notes[-1].end - bar.start
    return end <= bar.length and belong_together(time, start, end)


def in_a_figure(source: Excerpt, box: Voice, notes: list[Event]) -> bool:
    """Whether notes of several lengths stand inside one beat."""
    bar, edges = box.bars[box.bar_at(notes[0].onset)], [Fraction(0), *accumulate(METRES[time_of(source)])]
    start, end = notes[0].onset - bar.start, notes[-1].end - bar.start
    inside = any(low <= start and end <= high for low, high in pairwise(edges))
    return inside and len({note.duration for note in notes}) > 1


@pytest.mark.parametrize("variant", KEPT)
@given(source=passages() | passages(steady=True))
@settings(max_examples=15)
def test_what_is_shared_anew_belongs_together(variant: str, source: Excerpt) -> None:
    """Between two onsets that stay, equal notes that move fill a part of a beat, or whole beats; figures one beat."""
    made = made_of(source, variant)
    if made is None or [bar.length for bar in made[0].bars] != [bar.length for bar in made[1].bars]:
        return
    box, line = made
    old, new = events(box), events(line)
    stay = [i for i, (a, b) in enumerate(zip(old, new, strict=True)) if a.onset == b.onset] + [len(old)]
    for first, last in pairwise(stay):
        if last - first > 1:
            assert together(box, time_of(source), old[first:last]) or in_a_figure(
                source, box, old[first:last]
            )


@pytest.mark.parametrize("variant", LONG)
@given(source=passages(steady=True) | passages())
@settings(max_examples=25)
def test_stretched_groups_begin_on_the_beat_and_end_in_the_bar(variant: str, source: Excerpt) -> None:
    """The notes around each long one belong together; barlines stay where they were, and no note goes over one."""
    made = made_of(source, variant)
    if made is None:
        return
    box, line = made
    old, new = events(box), events(line)
    size, place = LONG[variant]
    for number, (before, after) in enumerate(zip(old, new, strict=True)):
        bar = line.bars[line.bar_at(after.onset)]
        assert after.end <= bar.start + bar.length
        assert before.onset not in {b.start for b in box.bars} or after.onset in {b.start for b in line.bars}
        if after.duration > before.duration * Fraction(3, 2):  # a triplet is written in plain values
            assert together(box, time_of(source), old[number - place : number - place + size])


@pytest.mark.parametrize("variant", SLURS)
@given(source=passages(steady=True) | passages())
@settings(max_examples=15)
def test_slurs_begin_at_the_beat_and_printed_ones_are_kept_or_replaced_whole(
    variant: str, source: Excerpt
) -> None:
    made = made_of(source, variant)
    if made is None:
        return
    box, line = made
    old = {(slur.start, slur.stop) for slur in slurs(box.events)}
    pattern, time = SLURS[variant], time_of(source)
    for slur in slurs(line.events):
        if (slur.start, slur.stop) in old:
            continue
        unit = box.events[slur.start].duration
        assert {event.duration for event in box.events[slur.start : slur.stop + 1]} == {unit}
        assert slur.stop - slur.start + 1 in pattern
        before = pattern[0] if len(pattern) > 1 and slur.stop - slur.start + 1 == pattern[1] else 0
        bar = box.bars[box.bar_at(box.events[slur.start].onset)]
        start = box.events[slur.start].onset - bar.start - before * unit
        assert box.events[slur.stop].end <= bar.start + bar.length
        edges = [sum(METRES[time][:n], Fraction(0)) for n in range(len(METRES[time]))]
        inside = start - max(edge for edge in edges if edge <= start)
        assert inside % (unit * sum(pattern)) == 0


@pytest.mark.slow
@pytest.mark.parametrize("variant", VARIANTS)
@given(source=landings() | passages())
@settings(max_examples=6)
@pytest.mark.long
def test_no_variant_writes_a_tuplet_of_one_note(variant: str, source: Excerpt) -> None:
    """Wherever the box begins and ends: each tuplet has two notes or more, and is whole."""
    try:
        made = vary(source, variant)
    except VariantError:
        return
    assert tuplets_are_whole(made)


def tuplets_are_whole(made: Excerpt) -> bool:
    divisions = Fraction(made.tree().findtext(".//divisions") or "1")
    groups = [group for measure in made.tree().iter("measure") for group in tuplets(measure, divisions)]
    return all(len(one) > 1 and is_binary(sum((size for size, _ in one), Fraction(0))) for one in groups)


def beamed(time: str, bar: str, *groups: int, times: int = 1) -> Excerpt:
    """A bar of quavers, beamed in groups of so many, once or more, and the note that it runs into."""
    source = passage(time, *[bar] * times, "C5/1/2 r/1 r/2", box=(0, times - 1))
    parts = source.xml.split(b"</type>", sum(groups) * times)
    roles = [("begin", *["continue"] * (size - 2), "end") for size in groups * times]
    beams = [f'</type><beam number="1">{role}</beam>'.encode() for group in roles for role in group]
    xml = b"".join(part + beam for part, beam in zip(parts, [*beams, b""], strict=True))
    return replace(source, xml=xml)


QUAVERS = "D4/1/2 E4 F4 G4 A4 B4 C5"


@pytest.mark.parametrize(
    ("groups", "variant", "expected"),
    [
        ((3, 2, 2), "long-short", "1/2 1/2 1/2 3/4 1/4 3/4 1/4"),
        ((2, 2, 3), "long-short", "3/4 1/4 3/4 1/4 1/2 1/2 1/2"),
        ((2, 3, 2), "long-short", "3/4 1/4 1/2 1/2 1/2 3/4 1/4"),
    ],
)
def test_irregular_metres_take_the_groups_that_the_beams_show(
    groups: tuple[int, ...], variant: str, expected: str
) -> None:
    assert lengths(vary(beamed("7/8", QUAVERS, *groups), variant))[0] == expected


@pytest.mark.parametrize(
    ("groups", "slurred", "burst"),
    [
        ((3, 2, 2), "oo o oo oo o", ["1/2 1/2 1/2", "1/2 1/2 -1 1/2 1/2 -1"]),
        ((2, 2, 3), "oo oo oo o o", ["1/2 1/2 -1 1/2 1/2 -1", "1/2 1/2 1/2"]),
    ],
)
def test_bowings_and_bursts_begin_at_the_beamed_groups(
    groups: tuple[int, ...], slurred: str, burst: list[str]
) -> None:
    assert strokes(vary(beamed("7/8", QUAVERS, *groups), "slur:2")) == slurred
    assert lengths(vary(beamed("7/8", QUAVERS, *groups), "burst:2"))[:2] == burst


SICILIANO = "C4/3/4 D4/1/4 E4/1/2 F4/3/4 G4/1/4 A4/1/2"
QUAVER_AND_TWO = "C4/1/2 D4/1/4 E4 F4/1/2 G4/1/4 A4"
SYNCOPATED = "C4/1/2 D4/1 E4/1/2 F4 G4/1 A4/1/2"
DOTTED = "C4/3/4 D4/1/4 E4/3/4 F4/1/4"


@pytest.mark.parametrize(
    ("time", "bar", "variant", "figure"),
    [
        ("6/8", SICILIANO, "evened", "1/2 1/2 1/2"),
        ("6/8", SICILIANO, "sharpened", "7/8 1/8 1/2"),
        ("6/8", SICILIANO, "swapped", "1/2 1/4 3/4"),
        ("6/8", SICILIANO, "burst:3", "3/4 1/4 1/2 -3/2"),
        ("2/4", QUAVER_AND_TWO, "evened", "1/3 1/3 1/3"),
        ("2/4", QUAVER_AND_TWO, "sharpened", "3/4 1/8 1/8"),
        ("2/4", QUAVER_AND_TWO, "swapped", "1/4 1/4 1/2"),
        ("2/4", QUAVER_AND_TWO, "short-long-short", "1/4 1/2 1/4"),
        ("2/4", QUAVER_AND_TWO, "short-short-long", "1/4 1/4 1/2"),
        ("2/4", QUAVER_AND_TWO, "burst:3", "1/2 1/4 1/4 -1"),
        ("2/4", QUAVER_AND_TWO, "burst:3:stop-first", "3/2 1/4 1/4"),
        ("4/4", SYNCOPATED, "sharpened", "1/4 3/2 1/4"),
        ("4/4", SYNCOPATED, "burst:3", "1/2 1 1/2 -2"),
        ("4/4", SYNCOPATED, "long-short-short", "1 1/2 1/2"),
        ("2/4", DOTTED, "short-long", "1/4 3/4"),
        ("2/4", DOTTED, "double-dotted", "7/8 1/8"),
        ("2/4", DOTTED, "burst:2", "3/4 1/4 -1"),
        ("2/4", DOTTED + " ", "burst:4", "3/4 1/4 3/4 1/4 -2"),
    ],
)
def test_figures_of_a_beat_are_taken_whole(time: str, bar: str, variant: str, figure: str) -> None:
    """Rhythms keep the time of the figure; a burst stops for as long as the figure lasts."""
    if variant == "burst:4":
        made = vary(passage(time, bar, bar, "C5/2", box=(0, 1)), variant)
    else:
        made = vary(passage(time, bar, f"C5/{'3' if time == '6/8' else time[0]}", box=(0, 0)), variant)
    assert " ".join(lengths(made)[:-1]) == f"{figure} {figure}"
    assert tuplets_are_whole(made)


@pytest.mark.parametrize("bar", ["C4/1/4 D4 E4 F4 G4/1/2", "G4/1/2 C4/1/4 D4 E4 F4"])
def test_a_run_beside_a_longer_note_is_not_sharpened(bar: str) -> None:
    """Nothing there is dotted, and the run would only be twice as fast."""
    with pytest.raises(VariantError, match="figures of long and short notes"):
        vary(passage("6/8", f"{bar} {bar}", "C4/3", box=(0, 0)), "sharpened")


def test_a_note_in_the_middle_of_a_dotted_beat_is_one_note() -> None:
    """Semiquaver, crotchet, semiquaver, as quaver, crotchet, quaver of a minim: nothing is tied inside the beat."""
    made = vary(passage("6/8", "C4/1/2 D4 E4 F4 G4 A4", "C4/3", box=(0, 0)), "short-long-short")
    assert values(made)[0] == "16 4 16 16 4 16"


def test_a_triplet_that_is_even_is_no_figure() -> None:
    with pytest.raises(VariantError, match="figures of long and short notes"):
        vary(passage("2/4", "C4/1/3 D4 E4 F4 G4 A4"), "evened")


@pytest.mark.parametrize(
    ("time", "bar"),
    [("9/8", "C4/1/2 D4 E4 F4 G4 A4 B4 C5 D5"), ("3/4", "C4/1/3 D4 E4 F4 G4 A4 B4 C5 D5")],
)
def test_a_refusal_counts_the_notes_and_says_what_is_wrong_with_them(time: str, bar: str) -> None:
    """Nine notes are more than four: that they go in threes is the reason."""
    told = (
        "at least 4 equal notes, two groups of 2 from the beat; bar 1: the runs there do not divide in groups"
    )
    with pytest.raises(VariantError, match=told):
        vary(passage(time, bar), "hooked")


def test_the_dotted_pair_of_a_siciliano_is_hooked() -> None:
    assert strokes(vary(passage("6/8", SICILIANO), "hooked")) == "oo. o oo. o"


def test_four_quavers_in_one_bow_fill_beats_of_an_irregular_metre() -> None:
    assert strokes(vary(beamed("7/8", QUAVERS, 2, 2, 3), "slur:4")) == "oooo o o o o"
    assert strokes(vary(beamed("7/8", QUAVERS, 3, 2, 2), "slur:4")) == "o o o oooo o"
    with pytest.raises(VariantError, match="no run has as many from a beat on"):
        vary(beamed("7/8", QUAVERS, 2, 3, 2), "slur:4")


@pytest.mark.parametrize(
    ("time", "bar", "strokes_of"),
    [
        ("6/8", "C4/1/2 D4/1 E4/1/2 F4/1", "o.o o.o"),
        ("6/8", "C4/1 D4/1/2 E4/1/2 F4/1/2 G4/1/2", "oo. o o o"),
        ("9/8", "C4/1/2 D4/1/2 E4/1 F4/1/2 G4/1/2 A4/1 B4/1/2", "o o o o o oo."),  # D E go over the beat
        (
            "6/8",
            "r/1/4 D4/3/4 E4/1/4 F4/1/4 G4/1 A4/1/2",
            "o o o oo.",
        ),  # D begins beside the thirds of the beat
        ("4/4", "C4/1 D4/2 E4/1", "o.o o"),  # the minim is hooked already
        ("4/4", "C4/2 D4/1 E4/1", "oo. o"),
    ],
)
def test_a_long_note_and_a_short_one_that_fill_beats_are_hooked(time: str, bar: str, strokes_of: str) -> None:
    assert strokes(vary(passage(time, bar), "hooked")) == strokes_of


@pytest.mark.parametrize(
    ("time", "bar", "variant", "expected"),
    [
        ("6/8", "C4/1/2 D4 E4 F4 G4 A4", "slur:2", "oo o oo o"),
        ("2/4", "C4/1/3 D4 E4 F4 G4 A4", "slur:2", "oo o oo o"),
        ("2/4", "C4/1/6 D4 E4 F4 G4 A4 B4 C5 D5 E5 F5 G5", "slur:2", "oo oo oo oo oo oo"),
        ("3/4", "C4/1/2 D4 E4 F4 G4 A4", "slur:4", "oooo o o"),
    ],
)
def test_what_the_beat_does_not_hold_is_separate(time: str, bar: str, variant: str, expected: str) -> None:
    assert strokes(vary(passage(time, bar), variant)) == expected


def test_a_group_longer_than_a_bar_is_refused() -> None:
    """A barline would stand in the long note."""
    with pytest.raises(VariantError, match="a group of 8 notes would be longer than a bar in bars 1-2"):
        vary(passage("4/4", *["C4/1/2 D4 E4 F4 G4 A4 B4 C5"] * 2), "burst:8:stop-first")
    made = vary(passage("4/4", *["C4/1/2 D4 E4 F4 G4 A4 B4 C5"] * 2), "burst:8")
    assert lengths(made)[:2] == [" ".join(["1/2"] * 8), "-4"]


def test_new_bars_begin_where_the_bars_of_the_score_begin() -> None:
    """The run begins on the third beat; the triplets stay three to a bar when each note is played twice."""
    made = vary(
        passage("4/4", "C4/2 D4/1/4 E4 F4 G4 A4 B4 C5 D5", "E5/1/4 D5 C5 B4 A4 G4 F4 E4 D4/2"), "burst"
    )
    assert [str(bar.length) for bar in made.bars] == ["2", "4", "4", "2"]
    triplets = vary(passage("4/4", "C4/1/3 D4 E4 F4 G4 A4 B4 C5 D5 E5 F5 G5"), "repeat:2:stretched")
    assert [str(bar.length) for bar in triplets.bars] == ["3"] * 4


def test_an_accent_falls_on_its_note_of_each_beat_in_irregular_metres() -> None:
    made = read_line(vary(beamed("7/8", QUAVERS, 3, 2, 2), "accent:2"))
    accented = [any(mark.name == "accent" for mark in event.heads[0].marks) for event in made.events[:7]]
    assert [i for i, one in enumerate(accented) if one] == [1, 4, 6]


def signatures(made: Excerpt) -> list[str]:
    return [f"{sign.findtext('beats')}/{sign.findtext('beat-type')}" for sign in made.tree().iter("time")]


@pytest.mark.parametrize(
    ("source", "variant", "expected"),
    [
        (passage("6/8", SICILIANO, "C5/3", box=(0, 0)), "burst:3", ["12/8", "6/8"]),
        (passage("2/4", "C4/1/3 D4 E4 F4 G4 A4", "C5/2", box=(0, 0)), "burst:3", ["4/4", "2/4"]),
        (passage("5/4", QUAVERS + " D5 E5 F5", "C5/4 r/1", box=(0, 0)), "burst:2", ["2/4", "5/4"]),
        (passage("5/4", QUAVERS + " D5 E5 F5", "C5/4 r/1", box=(0, 0)), "burst:4", ["4/4", "5/4"]),
        (passage("3/4", *["B4/1 G4/1/2 A4 B4 C5"] * 2, "D5/3", box=(0, 1)), "burst:4", ["5/4", "3/4"]),
        (passage("4/4", "C4/1 D4 E4 F4", "G4 A4 B4 C5"), "long-short-short-short", ["3/4"]),
        (passage("4/4", "C4/1 D4 E4 F4", "G4 A4 B4 C5"), "short-long-short-short", ["3/2"]),
        (beamed("7/8", QUAVERS, 2, 2, 3, times=2), "long-short-short:stretched", ["4/4", "7/8"]),
        (beamed("7/8", QUAVERS, 3, 2, 2, times=2), "long-short-short:stretched", ["4/4", "7/8"]),
        (beamed("7/8", QUAVERS, 3, 2, 2, times=2), "long-short-short", ["7/8"]),
    ],
)
def test_new_bars_count_in_the_beats_of_the_score_and_have_one_length(
    source: Excerpt, variant: str, expected: list[str]
) -> None:
    """What stays as written shares its bar with the groups where that can be read."""
    assert signatures(vary(source, variant)) == expected


def test_four_triplet_quavers_are_no_bow() -> None:
    """The second bow would begin inside the next triplet."""
    with pytest.raises(VariantError, match="slur:4 needs a run of at least 4 equal notes"):
        vary(passage("2/4", "C4/1/3 D4 E4 F4 G4 A4"), "slur:4")


def test_a_slur_over_a_landing_goes_since_it_would_look_like_a_tie() -> None:
    source = passage("2/4", "(C4/1/4 D4 E4 F4) (G4 A4 B4 C5", "D5/2)", box=(0, 0))
    assert strokes(vary(source, "burst:4:landing")) == "oooo o o o o o o o"
    assert strokes(vary(source, "burst:4")) == "oooo oooo o"


def test_a_refusal_never_advises_what_it_refuses() -> None:
    """Figures that have the rhythm already take no long-short-short: the hint names other groups only."""
    with pytest.raises(VariantError) as refused:
        vary(passage("2/4", "C4/1/2 D4/1/4 E4 F4/1/2 G4/1/4 A4"), "long-short-short")
    text = str(refused.value)
    assert "figures of 3 notes have this rhythm" in text
    assert "Groups of" not in text
    assert text.count("long-short-short") == 1


def test_a_refusal_says_which_groups_fit() -> None:
    with pytest.raises(VariantError, match="Groups of 3 or 6 notes fit there"):
        vary(passage("2/4", "C4/1/3 D4 E4 F4 G4 A4", "F4/1/3 E4 D4 C4 D4 E4"), "burst:4")


def test_a_double_dotted_note_is_one_note_on_every_dotted_beat() -> None:
    assert values(vary(passage("6/8", SICILIANO), "sharpened")) == ["8.. 32 8 8.. 32 8"]


def test_a_rest_that_is_spelled_anew_leaves_the_bracket_of_the_source() -> None:
    source = passage("2/4", "r/1/3 C4 D4 E4 F4 G4")
    bracketed = source.xml.replace(
        b"</time-modification>", b"</time-modification><notations><tuplet type='start'/></notations>", 1
    )
    made = vary(replace(source, xml=bracketed), "repeat:4:kept")
    assert made.xml.count(b'<tuplet type="start"') == made.xml.count(b'<tuplet type="stop"') > 0


def test_equal_notes_in_a_new_bow_are_parted_by_dashes() -> None:
    """Else the slur would be read as a tie."""
    assert strokes(vary(passage("2/4", "C4/1/2 C4 D4 E4"), "slur:2")) == "o-o- oo"


def test_notes_without_beams_show_the_groups_of_their_bar() -> None:
    """Dotted crotchet, crotchet, crotchet in 7/8 are three and two twos, and no crotchet is parted by a tie."""
    made = vary(passage("7/8", "D4/3/2 E4/1 F4", "G4/3/2 A4/1 B4"), "add-a-bar")
    assert lengths(made) == ["3/2 1 1"] * 3
    assert b"<tie " not in made.xml
