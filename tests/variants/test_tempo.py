"""Metronome numbers, tempo steps and slow variants (default tier)."""

from __future__ import annotations

import io
from dataclasses import replace
from fractions import Fraction
from itertools import accumulate

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt, Tempo
from excerpts.sound.midi import write_midi
from excerpts.variants import METRONOME_NUMBERS, slow_start, tempo_steps, vary
from excerpts.variants.tempo_steps import falling_gaps, on_metronome, one_down
from tests.schema import schema_errors
from tests.variants.music import passage


def test_the_list_has_the_published_steps() -> None:
    """The traditional list: 39 numbers, +2 to 60, +3 to 72, +4 to 120, +6 to 144, +8 to 208."""
    assert len(METRONOME_NUMBERS) == 39
    assert (METRONOME_NUMBERS[0], METRONOME_NUMBERS[-1]) == (40, 208)
    for low, high in zip(METRONOME_NUMBERS, METRONOME_NUMBERS[1:], strict=False):
        step = next(step for end, step in ((60, 2), (72, 3), (120, 4), (144, 6), (208, 8)) if low < end)
        assert high - low == step
    for number in METRONOME_NUMBERS:
        if number >= 80:
            assert number // 2 in METRONOME_NUMBERS
        if number <= 104:
            place = METRONOME_NUMBERS.index(number)
            assert METRONOME_NUMBERS[place + 16] == number * 2


@pytest.mark.parametrize(
    ("goal", "unit", "start", "start_unit"),
    [
        (120, Fraction(1), 60, Fraction(1)),
        (108, Fraction(1), 54, Fraction(1)),
        (60, Fraction(1), 60, Fraction(1, 2)),
        (92, Fraction(1), 46, Fraction(1)),
        (80, Fraction(3, 2), 40, Fraction(3, 2)),
        (60, Fraction(3, 2), 88, Fraction(1, 2)),  # 30 dotted crotchets are 90 quavers
        (40, Fraction(1, 2), 40, Fraction(1, 4)),
    ],
)
def test_where_to_start(goal: int, unit: Fraction, start: int, start_unit: Fraction) -> None:
    """Half of the goal rounded down to the list; below 40 in smaller beats (goals 120, 108, 60: worked examples)."""
    assert slow_start(Tempo(Fraction(goal), unit)) == Tempo(Fraction(start), start_unit)


def test_one_number_down() -> None:
    assert one_down(Tempo(Fraction(76))) == Tempo(Fraction(72))
    assert one_down(Tempo(Fraction(76)), 2) == Tempo(Fraction(69))
    assert one_down(Tempo(Fraction(40))) == Tempo(Fraction(76), Fraction(1, 2))


def test_steps_are_wide_at_first_and_narrow_at_the_end() -> None:
    assert [int(tempo.number) for tempo in tempo_steps(60, 120)] == [60, 76, 92, 108, 116, 120]
    assert [int(tempo.number) for tempo in tempo_steps(100, 112)] == [100, 104, 108, 112]
    assert [int(tempo.number) for tempo in tempo_steps(60, 95)][-1] == 95
    assert tempo_steps(60, 120, most=1) == (Tempo(Fraction(120)),)


def test_steps_below_the_list_are_told_in_smaller_beats() -> None:
    steps = tempo_steps(30, 92)
    assert steps[0] == Tempo(Fraction(60), Fraction(1, 2))
    assert steps[-1] == Tempo(Fraction(92))


@given(
    st.integers(20, 208),
    st.integers(0, 150),
    st.sampled_from([Fraction(1), Fraction(3, 2)]),
    st.integers(2, 9),
)
def test_steps_rise_to_the_goal_with_shrinking_gaps(start: int, more: int, unit: Fraction, most: int) -> None:
    """Laws: they rise, start and end where asked, are not too many, and never widen."""
    steps = tempo_steps(start, start + more, unit, most)
    speeds = [tempo.quarters_per_minute for tempo in steps]
    assert speeds == sorted(set(speeds))
    assert speeds[-1] == (start + more) * unit
    assert len(steps) <= most
    if (start + more) / start > 1.03:  # nobody hears less
        assert speeds[0] == start * unit
    else:
        assert len(steps) == 1


@given(st.integers(1, 12), st.integers(0, 60))
def test_gaps_add_up_and_never_grow(count: int, more: int) -> None:
    gaps = falling_gaps(count + more, count)
    assert sum(gaps) == count + more
    assert gaps == sorted(gaps, reverse=True)
    assert min(gaps) >= 1


def test_steps_that_lead_nowhere_are_refused() -> None:
    for start, target, most in ((80, 60, 6), (0, 60, 6), (40, 60, 0)):
        with pytest.raises(ValueError, match="no steps lead"):
            tempo_steps(start, target, most=most)
    with pytest.raises(ValueError, match="too slow"):
        on_metronome(Tempo(Fraction(1), Fraction(1, 8)))


def mark(unit: str, number: str, quarters: str = "", dot: bool = False, words: str = "") -> str:
    """A tempo mark as a `<direction>`."""
    heading = f"<direction-type><words>{words}</words></direction-type>" if words else ""
    sound = f"<sound tempo='{quarters}'/>" if quarters else ""
    return (
        f"<direction placement='above'>{heading}<direction-type><metronome><beat-unit>{unit}</beat-unit>"
        f"{'<beat-unit-dot/>' if dot else ''}<per-minute>{number}</per-minute></metronome></direction-type>"
        f"{sound}</direction>"
    )


BAR = "C4/1 D4 E4 F4"


def source(more: str, tempo: Tempo | None, time: str = "4/4") -> Excerpt:
    """Two bars with a tempo mark in front."""
    bar = BAR if time == "4/4" else "C4/3/2 D4"
    return replace(passage(time, bar, bar, more=more), tempo=tempo)


def metronomes(made: Excerpt) -> list[str]:
    """Every metronome mark as "quarter 60", dots as "."."""
    return [
        f"{m.findtext('beat-unit')}{'.' * len(m.findall('beat-unit-dot'))} {m.findtext('per-minute')}"
        for m in made.tree().iter("metronome")
    ]


def sounds(made: Excerpt) -> list[str]:
    """Every sounding tempo."""
    return [sound.get("tempo", "") for sound in made.tree().iter("sound")]


def test_slow_with_a_number_sets_it_in_the_beat_of_the_mark() -> None:
    made = vary(source(mark("quarter", "120", "120", words="Allegro"), Tempo(Fraction(120))), "slow:60")
    assert metronomes(made) == ["quarter 60"]
    assert sounds(made) == ["60"]
    assert made.tempo == Tempo(Fraction(60))
    assert made.tree().findtext(".//words") == "(Allegro)"
    assert schema_errors(made.xml) == []
    dotted = source(mark("quarter", "80", "120", dot=True), Tempo(Fraction(80), Fraction(3, 2)), "6/8")
    made = vary(dotted, "slow:50")
    assert (metronomes(made), sounds(made)) == (["quarter. 50"], ["75"])


HEADING = (
    "<direction placement='above'><direction-type><words font-weight='bold'>Allegro</words></direction-type>{}"
    "</direction>"
)


@pytest.mark.parametrize(
    "written",
    [
        mark("quarter", "120", "120", words="Allegro"),
        mark("quarter", "120", "120", words="Allegro (").replace(
            "<sound", "<direction-type><words>)</words></direction-type><sound"
        ),
        HEADING.format("") + mark("quarter", "120", "120"),
        mark("quarter", "120", "120") + HEADING.format(""),
        HEADING.format("<sound tempo='120'/>"),
        HEADING.format("") + "<sound tempo='120'/>",
    ],
)
def test_the_slow_tempo_stands_before_the_heading_in_brackets(written: str) -> None:
    made = vary(source(written, Tempo(Fraction(120))), "slow:60")
    measure = made.tree().find("part/measure")
    assert measure is not None
    told = [element for element in measure.iter("words", "metronome")]
    assert [element.tag for element in told] == ["metronome", "words"]
    assert told[0].findtext("per-minute") == "60"
    assert told[1].text == "(Allegro)"
    assert set(sounds(made)) == {"60"}
    assert schema_errors(made.xml) == []


def test_slow_alone_halves_on_the_metronome() -> None:
    made = vary(source(mark("quarter", "108", "108"), Tempo(Fraction(108))), "slow")
    assert (metronomes(made), sounds(made), made.tempo) == (["quarter 54"], ["54"], Tempo(Fraction(54)))
    made = vary(source(mark("quarter", "60", "60"), Tempo(Fraction(60))), "slow")
    assert (metronomes(made), sounds(made)) == (["eighth 60"], ["30"])


def test_later_marks_are_scaled_by_the_same_factor() -> None:
    made = source(mark("quarter", "120", "120"), Tempo(Fraction(120)))
    later = mark("half", "ca. 50", "100").encode()
    second = made.xml.index(b"<measure", made.xml.index(b"</measure>"))
    place = made.xml.index(b">", second) + 1
    made = replace(made, xml=made.xml[:place] + later + made.xml[place:])
    slow = vary(made, "slow:60")
    assert metronomes(slow) == ["quarter 60", "half ca. 25"]
    assert sounds(slow) == ["60", "50"]


def test_a_tempo_that_only_sounds_gets_a_mark() -> None:
    made = vary(source("<sound tempo='120'/>", Tempo(Fraction(80), Fraction(3, 2)), "6/8"), "slow:40")
    assert (metronomes(made), sounds(made)) == (["quarter. 40"], ["60"])
    assert schema_errors(made.xml) == []


def test_without_any_tempo_a_number_is_needed() -> None:
    bare = source("", None)
    with pytest.raises(VariantError, match="no tempo here.*slow:60"):
        vary(bare, "slow")
    made = vary(bare, "slow:60")
    assert (metronomes(made), sounds(made), made.tempo) == (["quarter 60"], ["60"], Tempo(Fraction(60)))
    compound = vary(source("", None, "6/8"), "slow:50")
    assert (metronomes(compound), sounds(compound)) == (["quarter. 50"], ["75"])
    assert schema_errors(compound.xml) == []


def test_a_tempo_that_is_not_slower_is_refused() -> None:
    with pytest.raises(VariantError, match="120 is not slower than the tempo in force, 96"):
        vary(source(mark("quarter", "96", "96"), Tempo(Fraction(96))), "slow:120")


def test_the_tempo_of_the_box_counts_not_that_of_the_context() -> None:
    made = source(mark("quarter", "60", "60"), Tempo(Fraction(60)))
    later = mark("quarter", "120", "120").encode()
    second = made.xml.index(b"<measure", made.xml.index(b"</measure>"))
    place = made.xml.index(b">", second) + 1
    box = replace(made.boxes[0], start=replace(made.boxes[0].start, bar=1))
    made = replace(made, xml=made.xml[:place] + later + made.xml[place:], boxes=(box,))
    slow = vary(made, "slow:80")
    assert metronomes(slow) == ["quarter 40", "quarter 80"]
    assert slow.tempo == Tempo(Fraction(40))


def _struck(file: mido.MidiFile) -> list[tuple[int, int]]:
    """When each note begins, in ticks, and its number; where it ends hangs on the tempo, for a gap lasts no longer."""
    times = accumulate(message.time for message in file.tracks[1])
    timed = zip(times, file.tracks[1], strict=True)
    return [(time, message.note) for time, message in timed if message.type == "note_on"]


@given(st.integers(20, 99), st.sampled_from(["C4/1 D4 E4 F4", "C4/1/2 D4 E4 F4 G4/1 A4/1/3 B4 C5"]))
def test_slow_changes_no_note_and_stretches_time_exactly(number: int, bar: str) -> None:
    """Law: a factor f on the tempo is 1/f on every length in seconds, and every note is the same."""
    first = replace(passage("4/4", bar, more=mark("quarter", "100", "100")), tempo=Tempo(Fraction(100)))
    slow = vary(first, f"slow:{number}")
    before, after = (mido.MidiFile(file=io.BytesIO(write_midi(made))) for made in (first, slow))
    assert _struck(before) == _struck(after)
    assert after.length == pytest.approx(before.length * 100 / number, rel=1e-6)
