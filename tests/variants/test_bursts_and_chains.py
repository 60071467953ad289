"""Bursts, repeats, accents and chains: worked counts, laws, refusals (default tier)."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.notes import read_line
from excerpts.variants import vary
from tests.schema import schema_errors
from tests.variants.music import lengths, passage, pitches

RUN = "G4/1/4 A4 B4 C5 D5 E5 F5 G5 A5 G5 F5 E5 D5 C5 B4 A4"
EIGHT = "G4/1/4 A4 B4 C5 D5 E5 F5 G5"
NAMES = RUN.replace("/1/4", "").split()


def source(run: str = RUN, time: str = "4/4") -> Excerpt:
    """A run in a box, and the note that it runs into."""
    return passage(time, run, f"C5/{time.split('/')[0]}", box=(0, 0))


def made_of(excerpt: Excerpt) -> list[str]:
    """The pitches in front of the arrival."""
    assert pitches(excerpt)[-1] == "C5"
    return pitches(excerpt)[:-1]


@pytest.mark.parametrize(
    ("variant", "group"),
    [
        ("burst:2", "1/4 1/4 -1/2"),
        ("burst", "1/4 1/4 1/4 1/4 -1"),
        ("burst:8", "1/4 1/4 1/4 1/4 1/4 1/4 1/4 1/4 -2"),
        ("burst:4:stop-first", "5/4 1/4 1/4 1/4"),
        ("burst:2:stop-first", "3/4 1/4"),
        ("burst:4:landing", "1/4 1/4 1/4 1/4 1"),
    ],
)
def test_bursts_take_twice_their_time(variant: str, group: str) -> None:
    """From the table of rhythms: k notes of 1 and a rest of k; k + 1 first; k of 1 and a landing of k."""
    made = vary(source(), variant)
    size = int(variant.split(":")[1]) if ":" in variant else 4
    assert " ".join(lengths(made)[:-1]) == " ".join([group] * (16 // size))
    assert schema_errors(made.xml) == []


def test_a_landing_is_the_next_groups_first_note_and_at_last_the_arrival() -> None:
    """K + 1 notes for each group."""
    made = vary(source(), "burst:4:landing")
    assert made_of(made) == [*NAMES[:5], *NAMES[4:9], *NAMES[8:13], *NAMES[12:], "C5"]


def test_bursts_can_begin_with_another_note_so_that_every_join_is_practised() -> None:
    made = vary(source(), "burst:4:from-3")
    assert lengths(made)[:2] == ["1/4 1/4", "1/4 1/4 1/4 1/4 -1 1/4 1/4 1/4 1/4 -1"]
    assert made_of(made) == NAMES


def test_no_burst_ends_in_a_tie_and_triplets_stay_triplets() -> None:
    """A rest is sooner read than a note tied over the beat, and the notes are as fast as written."""
    made = vary(passage("2/4", "C4/1/3 D4 E4 F4 G4 A4", "C5/2", box=(0, 0)), "burst:3")
    assert lengths(made) == ["1/3 1/3 1/3 -1 1/3 1/3 1/3 -1", "2"]
    assert {ratio.findtext("actual-notes") for ratio in made.tree().iter("time-modification")} == {"3"}
    for variant in ("burst:2", "burst:4", "burst:8"):
        assert not list(vary(source(), variant).tree().iter("tie"))


def test_slurs_are_parted_at_the_stops_and_the_strokes_told_anew() -> None:
    slurred = passage("2/4", "(C4/1/4v D4 E4 F4 G4 A4 B4 C5)", "D5/2^", box=(0, 0))
    made = vary(slurred, "burst:4")
    ends = [[m.edge for h in e.heads for m in h.marks if m.name == "slur"] for e in read_line(made).events]
    assert [edges for edges in ends if edges] == [["start"], ["stop"], ["start"], ["stop"]]
    assert [line.thing for line in made.report if line.action == "dropped"] == ["slur"]


def test_a_burst_that_begins_later_needs_beats_of_one_length() -> None:
    """In 7/8 it would end inside another beat."""
    with pytest.raises(VariantError, match="burst:4:from-3 needs a run"):
        vary(passage("7/8", "D4/1/2 E4 F4 G4 A4 B4 C5", "D4 E4 F4 G4 A4 B4 C5"), "burst:4:from-3")


@pytest.mark.parametrize(
    ("variant", "ending"), [("long-short-short-short", ["12/8"]), ("repeat:3", ["12/16", "3/8"])]
)
def test_a_note_beside_groups_in_dotted_beats_is_no_bar_of_one_beat(variant: str, ending: list[str]) -> None:
    """A rest makes the crotchet a dotted beat too; where a slur goes on after it there is none."""
    bar = "C4/1/4 D4 E4 F4 G4 A4 B4 C5 D5 C5 B4 A4 {}"
    made = vary(passage("4/4", bar.format("G4/1"), "C4/4", box=(0, 0)), variant)
    times = [f"{sign.findtext('beats')}/{sign.findtext('beat-type')}" for sign in made.tree().iter("time")]
    assert times == [*ending, "4/4"]
    assert lengths(made)[-2].endswith("1 -1/2")
    slurred = vary(passage("4/4", bar.format("(G4/1"), "C4/4)", box=(0, 0)), variant)
    assert "-1/2" not in " ".join(lengths(slurred))


@pytest.mark.parametrize(
    ("variant", "each"), [("repeat:2:kept", "1/8"), ("repeat:4:kept", "1/16"), ("repeat:3:kept", "1/12")]
)
def test_notes_share_their_time_when_repeated(variant: str, each: str) -> None:
    """1/r of its own value, r times: 16 notes become 16 r."""
    count = int(Fraction(1, 4) / Fraction(each))
    made = vary(source(), variant)
    assert lengths(made) == [" ".join([each] * 16 * count), "4"]
    assert made_of(made) == [name for name in NAMES for _ in range(count)]


def test_four_times_a_semiquaver_keeps_its_value() -> None:
    made = vary(source(), "repeat:4")
    assert lengths(made) == [*[" ".join(["1/4"] * 16)] * 4, "4"]


@pytest.mark.parametrize(
    ("bar", "variant", "each"),
    [
        ("C4/1/2 D4 E4 F4", "repeat", "1/4"),
        ("C4/1/2 D4 E4 F4", "repeat:4", "1/2"),
        ("C4/1/4 D4 E4 F4 G4 F4 E4 D4", "repeat", "1/4"),
    ],
)
def test_repeated_notes_are_no_shorter_than_semiquavers(bar: str, variant: str, each: str) -> None:
    """What would be demisemiquavers is written in the values of the passage, in more bars. Common practice."""
    made = vary(passage("2/4", bar, "C5/2", box=(0, 0)), variant)
    assert set(" ".join(lengths(made)[:-1]).split()) == {each}


def test_repeated_notes_have_a_stroke_each() -> None:
    made = vary(passage("2/4", "(C4/1/2 D4) E4.^ F4"), "repeat")
    signs = [[f"{m.name} {m.edge}".strip() for h in e.heads for m in h.marks] for e in read_line(made).events]
    assert signs == [[], [], [], [], ["staccato"], ["staccato"], [], []]


def test_the_accent_moves_on() -> None:
    made = vary(source(), "accent")
    where = [
        i for i, e in enumerate(read_line(made).events) if any(m.name == "accent" for m in e.heads[0].marks)
    ]
    assert where == [0, 5, 10, 15]
    fixed = vary(source(), "accent:2")
    where = [
        i for i, e in enumerate(read_line(fixed).events) if any(m.name == "accent" for m in e.heads[0].marks)
    ]
    assert where == [1, 5, 9, 13]
    assert lengths(made) == lengths(source())
    assert vary(fixed, "accent:2").xml == fixed.xml


@pytest.mark.parametrize(
    ("run", "variant", "count"),
    [
        (EIGHT, "add-a-note", 36),
        (RUN, "add-a-note", 136),
        (EIGHT, "backwards", 36),
        (EIGHT, "window:5", 20),
        (RUN, "add-a-beat", 4 * 10),
    ],
)
def test_how_many_notes_a_chain_has(run: str, variant: str, count: int) -> None:
    """N (N + 1) / 2 for N steps (8 → 36, 16 → 136); N - w + 1 windows (8 notes → 4 windows of 5)."""
    made = vary(source(run, "2/4" if run == EIGHT else "4/4"), variant)
    assert len(made_of(made)) == count
    assert schema_errors(made.xml) == []


def test_the_steps_of_each_chain() -> None:
    def names(variant: str) -> str:
        return " ".join(made_of(vary(passage("1/4", "D4/1/4 E4 F4 G4", "C5/1", box=(0, 0)), variant)))

    assert names("add-a-note") == "D4 D4 E4 D4 E4 F4 D4 E4 F4 G4"
    assert names("backwards") == "G4 F4 G4 E4 F4 G4 D4 E4 F4 G4"
    assert names("window:2") == "D4 E4 E4 F4 F4 G4"
    bars = passage("1/4", "D4/1", "E4/1", "F4/1", "C5/1", box=(0, 2))
    assert " ".join(made_of(vary(bars, "add-a-bar"))) == "D4 D4 E4 D4 E4 F4"
    assert " ".join(made_of(vary(bars, "last-bar-first"))) == "F4 E4 F4 D4 E4 F4"


def test_a_step_that_begins_inside_a_beat_has_rests_in_front_and_a_double_bar_after() -> None:
    made = vary(source(EIGHT, "2/4"), "window:5")
    assert lengths(made)[:3] == [
        "1/4 1/4 1/4 1/4 1/4 -1/4 -1/2",
        "-1/4 1/4 1/4 1/4 1/4 1/4 -1/2",
        "-1/2 1/4 1/4 1/4 1/4 1/4 -1/4",
    ]
    assert made.xml.count(b"light-light") == 3


def test_a_note_that_sounds_over_the_end_of_the_box_is_cut_until_the_last_step() -> None:
    tied = passage("2/4", "C4/1 D4", "E4/1 F4~", "~F4/2", box=(0, 1))
    assert lengths(vary(tied, "last-bar-first")) == ["1 1", "1 1", "1 3", ""]
    assert lengths(vary(tied, "backwards"))[:2] == ["1", "1 1"]


@pytest.mark.parametrize(
    ("variant", "message"),
    [
        ("burst:1", "2 to 16 notes"),
        ("burst:4:from-5", "cannot begin with note 5"),
        ("burst:fast", "'fast' in 'burst:fast' makes no sense"),
        ("burst:12", "at least 24 equal notes.*bar 1: the longest run has 16"),
        ("repeat:5", "repeat:2, repeat:3 or repeat:4"),
        ("accent:0", "is not a note of a group"),
        ("accent:7", "groups of 7"),
        ("window:1", "2 to 16"),
        ("window:16", "needs more than 16 notes"),
        ("add-a-bar", "more than the one step.*bar 1"),
        ("add-a-not", "Did you mean 'add-a-note'"),
    ],
)
def test_what_does_not_fit_is_refused(variant: str, message: str) -> None:
    with pytest.raises(VariantError, match=message):
        vary(source(), variant)


def test_a_chain_that_nobody_plays_is_refused() -> None:
    with pytest.raises(VariantError, match="528 notes long; 400 are the most"):
        vary(passage("4/4", RUN, RUN), "add-a-note")


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.sampled_from(["1/4", "1/2", "1", "3/2", "1/3"]), min_size=3, max_size=7),
    st.sampled_from(["4/4", "3/4", "6/8"]),
    st.sampled_from(["add-a-note", "backwards", "window:2", "add-a-beat", "add-a-bar", "last-bar-first"]),
)
def test_laws_of_chains(values: list[str], time: str, variant: str) -> None:
    """Valid, bars full, the arrival last; each step a stretch of the source; counts by the formula."""
    names = ["C4", "D4", "E4", "F4", "G4", "A4", "B4"]
    groups = [
        f"{name}/{v}" if v != "1/3" else f"{name}/1/3 {name} {name}"
        for name, v in zip(names, values, strict=False)
    ]
    first, *_ = time.split("/")
    total = sum((Fraction(1) if v == "1/3" else Fraction(v) for v in values), Fraction(0))
    full = Fraction(int(first) * 4, int(time.split("/")[1]))
    if total > full:
        return
    bar = " ".join(groups) + (
        f" r/{full - total}" if full > total and (full - total) in (1, 2, Fraction(1, 2)) else ""
    )
    try:
        made = vary(passage(time, bar, "C5/1", box=(0, 0)), variant)
    except VariantError:
        return
    line = read_line(made)
    assert schema_errors(made.xml) == []
    assert pitches(made)[-1] == "C5"
    count = len(pitches(passage(time, bar)))
    if variant in {"add-a-note", "backwards"}:
        assert len(pitches(made)) == count * (count + 1) // 2 + 1
    if variant == "window:2":
        assert len(pitches(made)) == 2 * (count - 1) + 1
    assert sum((e.duration for e in line.events), Fraction(0)) == sum(
        (b.length for b in line.bars), Fraction(0)
    )


def test_opening_dynamics_stand_at_the_first_note() -> None:
    """Rests that nobody counts stand before it: under them is under the clef."""
    source = passage("4/4", "r/1/2 C4 D4 E4 F4 G4 A4 B4", "C5/4", box=(0, 0))
    loud = b"<direction><direction-type><dynamics><f/></dynamics></direction-type></direction><note>"
    made = read_line(vary(replace(source, xml=source.xml.replace(b"<note>", loud, 1)), "backwards"))
    (dynamic,) = [one for one in made.placed if any(sign.name == "dynamics" for sign in one.signs)]
    first = next(event for event in made.events if event.heads)
    assert made.events[0].hidden
    assert made.bars[dynamic.bar].start + dynamic.onset == first.onset > 0


def test_a_dynamic_that_is_drawn_back_to_the_first_note_is_its_own() -> None:
    source = passage("4/4", "C4/1 D4 E4 F4", "C5/4", box=(0, 0))
    soft = b"<direction><direction-type><dynamics><p/></dynamics></direction-type><offset>-18</offset></direction>"
    pieces = source.xml.split(b"</note>", 1)
    made = read_line(vary(replace(source, xml=soft.join([pieces[0] + b"</note>", pieces[1]])), "add-a-note"))
    dynamics = [one for one in made.placed if any(sign.name == "dynamics" for sign in one.signs)]
    assert [(one.bar, one.onset) for one in dynamics] == [(0, Fraction(0))]


@pytest.mark.parametrize(
    ("time", "bars", "expected"),
    [
        # a pair is left over in each bar: it shares the bar (5/4), and is not joined over the barline
        (
            "3/4",
            ["C4/3/4 D4/1/4 E4/3/4 F4/1/4 G4/3/4 A4/1/4"] * 2,
            ["3/4 1/4 3/4 1/4 -1 -1 3/4 1/4"] * 2,
        ),
        # nor over a rest
        (
            "4/4",
            ["C4/3/4 D4/1/4 r/1 E4/3/4 F4/1/4 G4/3/4 A4/1/4", "B4/3/4 C5/1/4 D5/3/4 E5/1/4 r/2"],
            ["3/4 1/4 -1", "3/4 1/4 3/4 1/4 -2", "3/4 1/4 3/4 1/4 -2", "-2"],
        ),
    ],
)
def test_figures_of_several_beats_are_joined_inside_a_bar_without_rests(
    time: str, bars: list[str], expected: list[str]
) -> None:
    assert lengths(vary(passage(time, *bars), "burst:4")) == expected


def test_a_note_that_fills_its_beat_alone_is_no_figure_of_a_burst() -> None:
    with pytest.raises(VariantError, match="the longest run has 2 notes"):
        vary(passage("4/4", "C4/1 D4/1/2 E4 F4/1 G4/1/2 A4"), "burst:3")
