"""Keys as musicians write them, and the spelling of their scales. Default tier."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.errors import WarmupError
from excerpts.instruments.keys import CHURCH_MODES, MODES, Key, key_name, key_of_fifths, parse_key, parse_root
from excerpts.words import Words, choices

KEYS = [
    Key(step, alter, mode)
    for mode in MODES
    for step in "CDEFGAB"
    for alter in (-1, 0, 1)
    if abs(Key(step, alter, mode).fifths) <= 7
]
MODAL = [
    Key(step, alter, mode)
    for mode in CHURCH_MODES
    for step in "CDEFGAB"
    for alter in (-1, 0, 1)
    if abs(Key(step, alter, mode).fifths) <= 7
]
MAJORS = [key for key in KEYS if key.mode == "major"]


def test_there_are_fifteen_keys_in_every_mode() -> None:
    """Seven sharps, seven flats and none: the circle of fifths as every theory book has it."""
    assert len(KEYS) == 15 * 4


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("D", Key("D", 0, "major")),
        ("Bb", Key("B", -1, "major")),
        ("B♭", Key("B", -1, "major")),
        ("B flat", Key("B", -1, "major")),
        ("E-flat", Key("E", -1, "major")),
        ("F# minor", Key("F", 1, "melodic minor")),
        ("F♯ minor", Key("F", 1, "melodic minor")),
        ("F-sharp-minor", Key("F", 1, "melodic minor")),
        ("A-flat melodic minor", Key("A", -1, "melodic minor")),
        ("c minor", Key("C", 0, "melodic minor")),
        ("C MINOR", Key("C", 0, "melodic minor")),
        ("bb harmonic minor", Key("B", -1, "harmonic minor")),
        ("b minor", Key("B", 0, "melodic minor")),
        ("A natural minor", Key("A", 0, "natural minor")),
        ("A minor (x)", None),
        ("Dm", Key("D", 0, "melodic minor")),
        ("  g   minor ", Key("G", 0, "melodic minor")),
        ("a major", Key("A", 0, "major")),
        ("A harmonic", Key("A", 0, "harmonic minor")),
        ("D dorian", Key("D", 0, "dorian")),
        ("f# Phrygian", Key("F", 1, "phrygian")),
        ("E ionian", Key("E", 0, "major")),
        ("E aeolian", Key("E", 0, "natural minor")),
        ("H-Dur", Key("B", 0, "major")),
        ("B-Dur", Key("B", -1, "major")),
        ("d-moll", Key("D", 0, "melodic minor")),
        ("Cis-Moll harmonisch", Key("C", 1, "harmonic minor")),
        ("es moll", Key("E", -1, "melodic minor")),
        ("As-Dur", Key("A", -1, "major")),
        ("e phrygisch", Key("E", 0, "phrygian")),
    ],
)
def test_keys_as_musicians_say_them(text: str, key: Key | None) -> None:
    if key is None:
        with pytest.raises(WarmupError):
            parse_key(text)
    else:
        assert parse_key(text) == key


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("G#", "G-sharp major would need 8 sharps. The usual name is A-flat major."),
        ("D# major", "D-sharp major would need 9 sharps. The usual name is E-flat major."),
        ("Fb", "F-flat major would need 8 flats. The usual name is E major."),
        ("Db minor", "D-flat melodic minor would need 8 flats. The usual name is C-sharp melodic minor."),
        (
            "B# harmonic minor",
            "B-sharp harmonic minor would need 9 sharps. The usual name is C harmonic minor.",
        ),
        ("a", "'a' could be major or minor. Write 'A major' or 'A minor'."),
        ("f#", "'f#' could be major or minor. Write 'F-sharp major' or 'F-sharp minor'."),
        ("DM", "'DM' could be read as major or minor."),
        ("H major", "there is no H in English: 'H major' is the German name. German H is B"),
        ("Hm", "there is no H in English"),
        ("J", "'J' is not a key."),
        ("", "'' is not a key."),
        ("hello", "'hello' is not a key. Write it as D, Bb, 'F# minor' or 'A-flat harmonic minor'."),
        ("D upside", "'D upside' is not a key."),
        ("Db locrian", "D-flat locrian would need 10 flats. The usual name is C-sharp locrian."),
    ],
)
def test_what_is_no_key_is_answered_with_what_would_be(text: str, message: str) -> None:
    with pytest.raises(WarmupError) as caught:
        parse_key(text)
    assert str(caught.value).startswith(message)


@pytest.mark.parametrize("choice", choices())
def test_every_name_of_a_key_that_is_printed_is_read(choice: str) -> None:
    for key in KEYS:
        assert parse_key(key_name(key, Words(choice))) == key


@pytest.mark.parametrize("key", KEYS, ids=str)
def test_signature_agrees_with_music21(key: Key) -> None:
    import music21

    tonic = key.step + {-1: "-", 0: "", 1: "#"}[key.alter]
    reference = music21.key.Key(
        tonic if not key.is_minor else tonic.lower(), "minor" if key.is_minor else "major"
    )
    assert key.fifths == reference.sharps


@given(st.sampled_from(KEYS))
def test_a_key_reads_its_own_name(key: Key) -> None:
    assert parse_key(str(key)) == key
    assert parse_key(key_name(key, Words("uk"))) == key


@given(st.integers(-7, 7), st.sampled_from(["major", "minor"]))
def test_a_signature_names_a_key_with_that_signature(fifths: int, mode: str) -> None:
    key = key_of_fifths(fifths, "minor" if mode == "minor" else "major")
    assert key.fifths == fifths
    assert key.is_minor == (mode == "minor")


@pytest.mark.parametrize("fifths", [-8, 8])
def test_a_signature_of_eight_is_refused(fifths: int) -> None:
    with pytest.raises(WarmupError, match="no key signature of 8"):
        key_of_fifths(fifths)


@given(st.sampled_from(KEYS), st.integers(1, 5), st.integers(0, 28), st.booleans())
def test_one_letter_a_degree(key: Key, octave: int, number: int, down: bool) -> None:
    letters = "CDEFGAB"
    pitch = key.degree(number, octave, down=down)
    assert letters.index(pitch.step) == (letters.index(key.step) + number) % 7
    assert abs(pitch.alter) <= 2
    octave_above = key.degree(number + 7, octave, down=down)
    assert (octave_above.step, octave_above.alter) == (pitch.step, pitch.alter)
    assert octave_above.midi - pitch.midi == 12
    assert 1 <= key.degree(number + 1, octave, down=down).midi - pitch.midi <= 3


@given(st.sampled_from(MAJORS), st.integers(0, 6))
def test_a_major_scale_needs_no_accidental_beside_its_signature(key: Key, number: int) -> None:
    sharps = "FCGDAEB"
    pitch = key.degree(number, 4)
    place = sharps.index(pitch.step)
    assert pitch.alter == (place < key.fifths) - (6 - place < -key.fifths)


@pytest.mark.parametrize(
    ("text", "full", "plain"),
    [
        ("F#", "F-sharp major", "F-sharp major"),
        ("Bb minor", "B-flat melodic minor", "B-flat minor"),
        ("A harmonic minor", "A harmonic minor", "A minor"),
        ("D natural minor", "D natural minor", "D minor"),
    ],
)
def test_printed_names(text: str, full: str, plain: str) -> None:
    assert key_name(parse_key(text), Words("uk")) == full
    assert key_name(parse_key(text), Words("us"), plain=True) == plain


@pytest.mark.parametrize(
    ("text", "fifths"),
    [("D dorian", 0), ("E phrygian", 0), ("F lydian", 0), ("G mixolydian", 0), ("B locrian", 0)],
)
def test_the_church_modes_are_the_white_keys(text: str, fifths: int) -> None:
    """As every theory book has them: the octaves of the natural notes from D, E, F, G and B."""
    key = parse_key(text)
    assert key.fifths == fifths
    assert {key.degree(number, 4).alter for number in range(7)} == {0}


def test_a_mode_has_its_printed_name_and_reads_it() -> None:
    assert key_name(parse_key("f# dorian"), Words("uk")) == "F-sharp Dorian"
    for key in MODAL:
        assert parse_key(key_name(key, Words("us"))) == key
    assert len(MODAL) == 15 * len(CHURCH_MODES)


@pytest.mark.parametrize(
    ("text", "name"), [("G#", "G#"), ("eb", "Eb"), ("F# minor", "F#"), ("A#", "A#"), ("Cb", "Cb"), ("d", "D")]
)
def test_a_first_note_needs_no_key(text: str, name: str) -> None:
    assert str(parse_root(text).tonic(4)) == f"{name}4"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("E#", "no scale starts on E-sharp. The usual name is F."),
        ("Fb", "no scale starts on F-flat. The usual name is E."),
        ("Bbb", "no scale starts on B-double-flat. The usual name is A."),
        ("H", "there is no H in English"),
        ("G sideways", "'G sideways' is not a key."),
        ("Q", "'Q' is not a key."),
    ],
)
def test_what_is_no_first_note(text: str, message: str) -> None:
    with pytest.raises(WarmupError) as caught:
        parse_root(text)
    assert str(caught.value).startswith(message)
