"""Where warm-ups start and how far they go. Default tier."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.errors import InputError, WarmupError
from excerpts.instruments.instrument import INSTRUMENTS, LEVELS, Level
from excerpts.instruments.keys import Key, parse_key
from excerpts.instruments.staff import parse_pitch
from excerpts.warmups import plan_warmup, warmup
from excerpts.warmups.scale_range import choose_span
from tests.instruments.test_keys import KEYS


@pytest.mark.parametrize(
    ("instrument", "key", "start", "octaves"),
    [
        ("violin", "D", "D4", 1),
        ("violin", "A", "A4", 1),
        ("violin", "G", "G3", 2),
        ("violin", "A minor", "A4", 1),
        ("violin", "E minor", "E4", 1),
        ("viola", "G", "G3", 1),
        ("viola", "D", "D4", 1),
        ("viola", "C", "C3", 2),
        ("cello", "G", "G2", 1),
        ("cello", "D", "D3", 1),
        ("cello", "C", "C2", 2),
        ("bass", "G", "G2", 1),
        ("bass", "C", "C3", 1),
        ("bass", "D", "D3", 1),
    ],
)
def test_beginners_start_where_teachers_start_them(
    instrument: str, key: str, start: str, octaves: int
) -> None:
    """Open strings and first-position tonics: a youth orchestra's list; A on the violin common practice."""
    span = plan_warmup(key, instrument=instrument, level="first").span
    assert (str(span.start), span.octaves) == (start, octaves)


# Which tonics fit n octaves: smallest tonic at or above the lowest string, plus 12n semitones.
TONICS = ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"]


@pytest.mark.parametrize(
    ("instrument", "level", "octaves", "fitting"),
    [
        ("violin", "first", 2, "G Ab A Bb B"),
        ("violin", "middle", 2, "G Ab A Bb B C Db D Eb E"),
        ("violin", "upper", 2, " ".join(TONICS)),
        ("violin", "upper", 3, "G Ab A Bb B C Db D Eb E"),
        ("violin", "advanced", 3, " ".join(TONICS)),
        ("violin", "advanced", 4, "G Ab A"),
        ("viola", "first", 2, "C Db D Eb E"),
        ("viola", "middle", 2, "C Db D Eb E F F# G Ab A"),
        ("viola", "upper", 3, "C Db D Eb E"),
        ("viola", "advanced", 3, " ".join(TONICS)),
        ("cello", "first", 2, "C Db D"),
        ("cello", "middle", 2, "C Db D Eb E F F# G Ab A"),
        ("cello", "upper", 3, "C Db D Eb E F F# G Ab A"),
        ("cello", "advanced", 4, "C Db D Eb E"),
        ("bass", "middle", 2, "E F F# G Ab"),
        ("bass", "upper", 2, "E F F# G Ab A"),
        ("bass", "advanced", 2, " ".join(TONICS)),
        ("bass", "advanced", 3, "E F F# G"),
    ],
)
def test_tonics_that_fit(instrument: str, level: Level, octaves: int, fitting: str) -> None:
    """Ranges of the usual orchestration handbooks; arithmetic checked by hand."""
    found = []
    for tonic in TONICS:
        try:
            span = choose_span(parse_key(tonic), INSTRUMENTS[instrument], level, octaves, None)
        except WarmupError:
            continue
        if not span.beyond:
            found.append(tonic)
    assert found == sorted(fitting.split(), key=TONICS.index)


@pytest.mark.parametrize("instrument", list(INSTRUMENTS))
@pytest.mark.parametrize("level", LEVELS)
def test_every_key_fits_every_level_and_has_no_octave_more(instrument: str, level: Level) -> None:
    player = INSTRUMENTS[instrument]
    reach = player.range_at(level)
    for key in KEYS:
        span = choose_span(key, player, level, None, None)
        top = span.start.midi + 12 * span.octaves
        assert reach.low.midi <= span.start.midi
        assert (top > reach.top.midi) == span.beyond
        assert span.octaves >= 1
        if span.beyond:
            assert (instrument, level, span.octaves) == ("bass", "first", 1)
        elif level != "first":
            try:
                assert choose_span(key, player, level, span.octaves + 1, None).beyond
            except WarmupError:
                assert (
                    key.tonic(span.start.octave).midi + 12 * (span.octaves + 1) > player.ranges[-1].top.midi
                )


def test_from_note_chooses_the_start() -> None:
    assert plan_warmup("A", level="first", start="A3").span.octaves == 2
    assert str(plan_warmup("Ab", start="g#4").span.start) == "Ab4"
    assert str(plan_warmup("Cb", start="B3").span.start) == "Cb4"


def test_what_is_asked_for_is_made_beyond_the_level_and_told() -> None:
    """A teacher who asks for it knows why; tempo and layout stay those of the player's level."""
    plan = plan_warmup("B minor", instrument="cello", level="middle", octaves=2)
    assert (plan.span.level, plan.span.within, plan.span.octaves) == ("middle", "upper", 2)
    assert [
        line.detail for line in warmup("B minor", instrument="cello", level="middle", octaves=2).report
    ] == ["it goes up to B4, beyond the cello at level 'middle' (written C2 to A4)."]
    assert not warmup("G", octaves=3).report  # nobody named a level


@pytest.mark.parametrize("tonic", ["C", "Db", "D", "Eb"])
def test_a_first_year_bass_stays_in_first_position_or_is_told(tonic: str) -> None:
    """No octave of these lies in first position, which ends at B on the G string."""
    (line,) = warmup(tonic, instrument="bass", level="first").report
    assert "beyond the bass at level 'first' (written E2 to B3)" in line.detail
    assert all(not warmup(other, instrument="bass", level="first").report for other in "E F G A B".split())


@pytest.mark.parametrize("instrument", list(INSTRUMENTS))
@pytest.mark.parametrize("level", [None, *LEVELS])
@pytest.mark.parametrize("octaves", [None, 1, 2, 3])
def test_a_harder_key_is_never_faster(instrument: str, level: Level | None, octaves: int | None) -> None:
    asked = {"instrument": instrument, "level": level, "octaves": octaves}
    tempos = set()
    for tonic in TONICS:
        try:
            plan = plan_warmup(tonic, **asked)  # type: ignore[arg-type]
        except WarmupError:
            continue
        tempos.add(plan.tempo(plan.layouts[0]).quarters_per_minute)
    assert len(tempos) <= 1


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            {"key": "D", "level": "lower", "octaves": 4},
            "four octaves of D major do not fit the violin at level 'advanced' (written G3 to A7). "
            "Three octaves fit, from D4.",
        ),
        (
            {"key": "Eb", "instrument": "bass", "level": "first", "octaves": 3},
            "three octaves of E-flat major do not fit the bass at level 'advanced' (written E2 to G5). "
            "Two octaves fit, from Eb3.",
        ),
        (
            {"key": "D", "octaves": 9},
            "9 octaves of D major do not fit the violin at level 'advanced' (written G3 to A7). "
            "Three octaves fit, from D4.",
        ),
        (
            {"key": "A", "start": "A4", "octaves": 4},
            "four octaves of A major from A4 do not fit the violin at level 'advanced' (written G3 to A7). "
            "Three octaves fit, from A4.",
        ),
        (
            {"key": "A", "start": "A2"},
            "a whole octave of A major from A2 does not fit the violin at level 'advanced' "
            "(written G3 to A7). Four octaves fit, from A3.",
        ),
        ({"key": "D", "start": "A3"}, "D major does not start on A3. Its tonic is D."),
        ({"key": "D", "start": "low D"}, "'low D' is not a note. Write a letter, # or b, and an octave"),
        ({"key": "D", "octaves": 0}, "octaves is a whole number, 1 or more, and 0 is not one."),
        ({"key": "D", "octaves": -1}, "octaves is a whole number, 1 or more, and -1 is not one."),
        (
            {"key": "D", "level": "expert"},
            "there is no level 'expert'. There are: first, lower,",
        ),
        ({"key": "D", "pattern": "scales"}, "there is no pattern 'scales'. Did you mean 'scale'?"),
        (
            {"key": "D", "instrument": "flute"},
            "there is no instrument 'flute'. There are: violin,",
        ),
        ({"key": "G#"}, "G-sharp major would need 8 sharps. The usual name is A-flat major."),
    ],
)
def test_refusals_say_what_would_be_right(arguments: dict[str, object], message: str) -> None:
    with pytest.raises(InputError) as caught:
        plan_warmup(**arguments)  # type: ignore[arg-type]
    assert str(caught.value).startswith(message)
    assert caught.value.exit_status == 2


@given(st.sampled_from(KEYS), st.sampled_from(list(INSTRUMENTS)), st.integers(1, 5), st.sampled_from(LEVELS))
def test_what_a_refusal_offers_can_be_had(key: Key, instrument: str, octaves: int, level: Level) -> None:
    player = INSTRUMENTS[instrument]
    try:
        span = choose_span(key, player, level, octaves, None)
    except WarmupError as refusal:
        count, _, start = refusal.hint.removesuffix(".").partition(", from ")
        number = ("No", "One", "Two", "Three", "Four").index(count.split()[0])
        offered = choose_span(key, player, level, number, start)
        assert offered.octaves == number < octaves
        assert offered.start == parse_pitch(start)
    else:
        assert span.octaves == octaves
