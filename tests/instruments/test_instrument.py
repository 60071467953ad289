"""Facts of the four instruments against published figures. Default tier."""

from __future__ import annotations

from dataclasses import replace

import pytest

from excerpts import vary, warmup
from excerpts.errors import InputError, VariantError
from excerpts.instruments.instrument import INSTRUMENTS, LEVELS, Instrument, Range
from excerpts.instruments.instrument_names import abbreviated, instrument, instrument_of_part_name
from excerpts.instruments.staff import parse_pitch
from excerpts.sound.perform import program
from excerpts.warmups import Manner
from excerpts.words import Words


def hertz(midi: float) -> float:
    """Equal temperament from A4 = 440 Hz (ISO 16:1975)."""
    return float(440.0 * 2.0 ** ((midi - 69) / 12))


@pytest.mark.parametrize(
    ("name", "frequencies"),
    # Open strings as they sound, lowest first: the usual tables of equal-tempered pitch at A4 = 440 Hz.
    [
        ("violin", (195.998, 293.665, 440.0, 659.255)),
        ("viola", (130.813, 195.998, 293.665, 440.0)),
        ("cello", (65.406, 97.999, 146.832, 220.0)),
        ("bass", (41.203, 55.0, 73.416, 97.999)),
    ],
)
def test_open_strings_sound_at_their_published_frequencies(name: str, frequencies: tuple[float, ...]) -> None:
    sounding = [hertz(float(pitch.midi)) for pitch in INSTRUMENTS[name].sounding_strings]
    assert sounding == pytest.approx(frequencies, abs=0.001)


@pytest.mark.parametrize(("name", "step"), [("violin", 7), ("viola", 7), ("cello", 7), ("bass", 5)])
def test_strings_are_a_fifth_apart_and_on_the_bass_a_fourth(name: str, step: int) -> None:
    midi = [pitch.midi for pitch in INSTRUMENTS[name].strings]
    assert [high - low for low, high in zip(midi, midi[1:], strict=False)] == [step] * 3


def test_only_the_bass_is_written_an_octave_above_its_sound() -> None:
    assert {name: entry.octave_change for name, entry in INSTRUMENTS.items()} == {
        "violin": 0,
        "viola": 0,
        "cello": 0,
        "bass": -1,
    }


@pytest.mark.parametrize(
    ("name", "program", "sound"),
    # General MIDI Level 1 sound set, counted from 0 (printed from 1 in the standard: 41 to 44).
    [
        ("violin", 40, "Violin"),
        ("viola", 41, "Viola"),
        ("cello", 42, "Violoncello"),
        ("bass", 43, "Contrabass"),
    ],
)
def test_midi_programs_agree_with_music21(name: str, program: int, sound: str) -> None:
    import music21

    assert INSTRUMENTS[name].program == program
    assert getattr(music21.instrument, sound)().midiProgram == program


@pytest.mark.parametrize("name", list(INSTRUMENTS))
def test_every_level_reaches_at_least_as_high_as_the_one_below(name: str) -> None:
    entry = INSTRUMENTS[name]
    assert tuple(reach.level for reach in entry.ranges) == LEVELS
    tops = [reach.top.midi for reach in entry.ranges]
    assert tops == sorted(tops)
    assert all(reach.low == entry.strings[0] for reach in entry.ranges)


@pytest.mark.parametrize(("name", "top"), [("violin", "B5"), ("viola", "E5"), ("cello", "D4")])
def test_first_level_is_first_position(name: str, top: str) -> None:
    """The fourth finger in first position: a fifth above the top string, a fourth on the cello."""
    entry = INSTRUMENTS[name]
    assert str(entry.range_at("first").top) == top
    assert entry.range_at("first").top.midi - entry.strings[-1].midi == (5 if name == "cello" else 7)


@pytest.mark.parametrize(
    ("printed", "name"),
    [
        ("Violin I", "violin"),
        ("Violine II", "violin"),
        ("1st Violin", "violin"),
        ("VIOLINO PRIMO", "violin"),
        ("Vl. 2", "violin"),
        ("Vln.", "violin"),
        ("Viola", "viola"),
        ("Bratsche", "viola"),
        ("Alto", "viola"),
        ("Vla", "viola"),
        ("Violoncello", "cello"),
        ("Violoncelle 2", "cello"),
        ("Vc.", "cello"),
        ("Cello (solo)", "cello"),
        ("Violoncello e Contrabbasso", "cello"),
        ("Contrabass", "bass"),
        ("Kontrabass", "bass"),
        ("Kontrabässe", "bass"),
        ("Contrebasse", "bass"),
        ("Double bass", "bass"),
        ("D.B.", "bass"),
        ("Cb.", "bass"),
        ("Basso", "bass"),
    ],
)
def test_names_that_scores_print(printed: str, name: str) -> None:
    found = instrument_of_part_name(printed)
    assert found is not None
    assert found.name == name


@pytest.mark.parametrize(
    "printed",
    ["", "Piano", "Alto Saxophone", "Alto Flute", "Bass Clarinet", "Viola da gamba", "Basso continuo",
     "Electric Bass", "Contrabassoon", "Cl.", "1", "MusicXML Part"],
)  # fmt: skip
def test_other_instruments_are_left_alone(printed: str) -> None:
    assert instrument_of_part_name(printed) is None


def test_an_unknown_instrument_is_answered_with_the_list() -> None:
    with pytest.raises(InputError) as caught:
        instrument("violn")
    assert str(caught.value) == (
        "there is no instrument 'violn'. Did you mean 'violin'? There are: violin, viola, cello, bass."
    )


def test_an_instrument_is_found_by_a_printed_name_too() -> None:
    assert instrument("Violoncello") is INSTRUMENTS["cello"]
    assert instrument("double bass") is INSTRUMENTS["bass"]


def five_string_cello() -> Instrument:
    """A cello with an E string above the A string."""
    cello = INSTRUMENTS["cello"]
    top = parse_pitch("E4")
    return replace(
        cello,
        name="five-string-cello",
        strings=(*cello.strings, top),
        ranges=tuple(Range(reach.level, reach.low, parse_pitch("A5"), "a test") for reach in cello.ranges),
        program=110,
        names=("five-string cello",),
        short_names=(),
        abbreviation="Vc. picc.",
    )


def test_one_entry_makes_a_new_instrument(monkeypatch: pytest.MonkeyPatch) -> None:
    """Warm-ups, fingers, strings, the name on a staff and the sound come from the entry alone."""
    name = "five-string-cello"
    monkeypatch.setitem(INSTRUMENTS, name, five_string_cello())
    music = warmup("C", instrument=name, octaves=1, manner=Manner(fingerings="V 0134 IV 0134"))
    numbers = [element.text for element in music.tree().iterfind(".//string")]
    assert numbers == ["5", "4", "5"]
    assert program(music) == 110
    by_rule = warmup("E", instrument=name, octaves=1, start="E4", manner=Manner(fingerings="open"))
    assert by_rule.tree().findtext(".//fingering") == "0"
    assert vary(music, f"open-strings:{name}:V").tree().findtext(".//pitch/step") == "C"
    with pytest.raises(VariantError, match="cello has 4 strings"):
        vary(music, "open-strings:cello:V")
    assert abbreviated("Five-String Cello II") == "Vc. picc. II"


@pytest.mark.parametrize("name", list(INSTRUMENTS))
def test_every_instrument_has_its_printed_word(name: str) -> None:
    assert f"instrument.{name}" in Words("uk")
