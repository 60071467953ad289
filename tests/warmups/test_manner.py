"""Slurs, the acceleration scale and tone exercises. Default tier."""

from __future__ import annotations

import io
from fractions import Fraction

import mido
import pytest

from excerpts.errors import WarmupError
from excerpts.excerpt import Tempo
from excerpts.instruments.instrument import INSTRUMENTS, Level
from excerpts.instruments.keys import parse_key
from excerpts.sound.midi import write_midi
from excerpts.warmups import Manner, plan_warmup, warmup, warmup_line
from excerpts.warmups.drone import drone_of, with_drone_part, with_drone_track
from excerpts.warmups.pattern_notes import TUNE_LENGTHS, long_notes, passes, tune
from tests.schema import schema_errors


@pytest.mark.parametrize(
    ("octaves", "turn", "pattern", "sizes"),
    [
        (1, False, "scale", {2}),
        (2, False, "scale", {2, 4}),
        (3, False, "scale", {2, 3, 6}),
        (3, True, "scale", {2, 3, 4, 6, 8, 12, 24}),
        (4, False, "scale", {2, 4, 8}),
        (2, False, "arpeggio", {2, 3, 4, 6, 12}),
        (1, False, "chromatic", {2, 3, 4, 6, 8, 12, 24}),
        (2, False, "dominant-seventh", {2, 4, 8}),
    ],
)
def test_sizes_that_divide(octaves: int, turn: bool, pattern: str, sizes: set[int]) -> None:
    """14n, 42 + 6, 6n, 24n and 8n notes before the last: every group starts on a beat."""
    fitting = set()
    for size in (2, 3, 4, 5, 6, 8, 12, 24):
        try:
            plan = plan_warmup(
                "G", octaves=octaves, pattern=pattern, level="advanced", manner=Manner(turn=turn, slur=size)
            )
        except WarmupError:
            continue
        fitting.add(size)
        assert [last - first + 1 for first, last in plan.bowing.slurs] == [size] * (len(plan.notes) // size)
        layout = plan.layouts[0]
        assert all(layout.onsets[first] % layout.beat == 0 for first, _ in plan.bowing.slurs)
    assert fitting == sizes


def test_a_size_that_does_not_divide_is_answered_with_those_that_do() -> None:
    with pytest.raises(WarmupError) as caught:
        plan_warmup("G", octaves=3, manner=Manner(slur=8))
    assert str(caught.value) == (
        "bows of 8 do not divide the 42 notes of G major scale, three octaves (the last note stands alone). "
        "Sizes that do: 2, 3, 6. With the turn at the bottom: 2, 3, 4, 6, 8, 12, 24."
    )


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        ({"manner": Manner(turn=True), "octaves": 2}, "the turn at the bottom is for three octaves."),
        ({"manner": Manner(turn=True), "pattern": "arpeggio"}, "the arpeggio pattern has no turn."),
        ({"manner": Manner(slur=4), "pattern": "tune"}, "the tune pattern has its own bows."),
        ({"octaves": 2, "pattern": "long-notes"}, "the long-notes pattern has one octave."),
        ({"manner": Manner(slur=5), "octaves": 1}, "bows of 5 do not divide the 14 notes"),
    ],
)
def test_what_does_not_go_together(asked: dict[str, object], message: str) -> None:
    with pytest.raises(WarmupError) as caught:
        plan_warmup("G", **asked)  # type: ignore[arg-type]
    assert str(caught.value).startswith(message)


def test_slurs_in_the_file() -> None:
    excerpt = warmup("G", octaves=2, manner=Manner(slur=4))
    assert schema_errors(excerpt.xml) == []
    edges = [slur.get("type") for slur in excerpt.tree().iter("slur")]
    assert edges == ["start", "stop"] * 7
    assert warmup_line(excerpt) == "4 notes to a bow."


@pytest.mark.parametrize(
    ("level", "octaves", "counts"),
    [
        ("advanced", 3, (1, 2, 3, 4, 6, 8)),
        ("middle", 3, (1, 2, 3, 4)),
        ("upper", 2, (1, 2, 4)),
        ("first", 1, (1, 2)),
        ("advanced", 4, (1, 2, 4, 8)),
    ],
)
def test_passes_of_the_acceleration_scale(level: Level, octaves: int, counts: tuple[int, ...]) -> None:
    assert passes(level, octaves) == counts


def test_the_acceleration_scale_keeps_its_beat() -> None:
    """48 notes a pass divided by each number of notes to a beat: whole beats, so each pass starts on one."""
    plan = plan_warmup("G", pattern="acceleration", octaves=3, level="advanced")
    layout = plan.layouts[0]
    beats = [48 // count for count in (1, 2, 3, 4, 6, 8)]
    assert sum(layout.lengths[:-1]) == sum(beats) == 114
    assert [layout.onsets[48 * index] for index in range(6)] == [sum(beats[:index]) for index in range(6)]
    assert sum(layout.lengths) % 4 == 0
    excerpt = warmup("G", pattern="acceleration", octaves=3, level="advanced")
    assert schema_errors(excerpt.xml) == []
    assert warmup_line(excerpt) == "The beat stays the same: 1, 2, 3, 4, 6, 8 notes to a beat."
    assert excerpt.tempo == Tempo(Fraction(60))


def test_long_notes_ring_with_an_open_string() -> None:
    """The violin's G, D, A and E in the octave of D major; in D flat, where none is, the whole scale."""
    violin = INSTRUMENTS["violin"]
    assert [str(p) for p in long_notes(parse_key("D"), 4, violin)[::2]] == ["D4", "E4", "G4", "A4", "D5"]
    assert len(long_notes(parse_key("Db"), 4, violin)) == 16


def test_long_notes_grow_and_fade_over_a_bow_each() -> None:
    tree = warmup("D", pattern="long-notes").tree()
    assert [wedge.get("type") for wedge in tree.iter("wedge")][:4] == [
        "crescendo",
        "stop",
        "diminuendo",
        "stop",
    ]
    assert {note.findtext("type") for note in tree.iter("note")} == {"whole"}
    assert [e.tag for e in tree.iter("down-bow", "up-bow")] == ["down-bow", "up-bow"]


def test_the_tune_fills_sixteen_bars_within_an_octave() -> None:
    notes = tune(parse_key("G minor"), 4)
    assert sum(TUNE_LENGTHS) == 48
    assert max(note.midi for note in notes) - min(note.midi for note in notes) == 12
    assert str(notes[0]) == str(notes[-1]) == "G4"
    assert {str(note)[:-1] for note in notes} <= {"G", "A", "Bb", "C", "D", "Eb"}


def test_the_drone_sounds_as_long_as_the_scale() -> None:
    excerpt = warmup("D", instrument="bass", octaves=1, start="D3", manner=Manner(drone=True))
    drone = drone_of(excerpt)
    assert str(drone) == "D2"
    assert drone is not None
    file = mido.MidiFile(file=io.BytesIO(with_drone_track(write_midi(excerpt), drone)))
    on, off = (message for message in file.tracks[-1] if message.type in {"note_on", "note_off"})
    assert (on.note, off.time) == (38, 16 * file.ticks_per_beat)
    assert warmup_line(excerpt) == "Drone: D."


@pytest.mark.parametrize("key", ["D", "F# minor", "Ab"])
def test_the_drone_is_a_second_part_of_the_music_file(key: str) -> None:
    import music21

    excerpt = warmup(key, pattern="long-notes")
    drone = drone_of(excerpt)
    assert drone is not None
    data = with_drone_part(excerpt, drone)
    assert schema_errors(data) == []
    parts = music21.converter.parseData(data.decode()).parts
    assert [part.duration.quarterLength for part in parts] == [4 * len(excerpt.bars)] * 2
    assert {note.pitch.midi for note in parts[1].recurse().notes} == {int(drone.midi)}
    assert drone_of(warmup(key)) is None


def test_a_tempo_of_the_teachers() -> None:
    excerpt = warmup("D", octaves=1, manner=Manner(tempo=Tempo(Fraction(50), Fraction(2))))
    assert excerpt.tempo == Tempo(Fraction(50), Fraction(2))
    assert excerpt.tree().findtext(".//beat-unit") == "half"


# Equal temperament from A4 = 440 Hz (ISO 16:1975): f = 440 * 2 ** ((m - 69) / 12); rounded to a thousandth.
@pytest.mark.parametrize(
    ("instrument", "key", "octaves", "low", "top"),
    [
        ("bass", "E", 1, 41.203, 82.407),
        ("cello", "C", 2, 65.406, 261.626),
        ("viola", "C", 2, 130.813, 523.251),
        ("violin", "G", 2, 195.998, 783.991),
        ("violin", "E", 3, 329.628, 2637.020),
    ],
)
def test_frequencies(instrument: str, key: str, octaves: int, low: float, top: float) -> None:
    plan = plan_warmup(key, instrument=instrument, octaves=octaves)
    sounding = [int(chord[0].midi) + 12 * plan.instrument.octave_change for chord in plan.notes]
    found = [round(440 * 2 ** ((number - 69) / 12), 3) for number in (min(sounding), max(sounding))]
    assert found == [low, top]


@pytest.mark.parametrize("size", [0, -1, 5, 1000])
def test_sizes_that_no_bow_has_are_refused_with_those_that_do(size: int) -> None:
    with pytest.raises(WarmupError, match=r"Sizes that do: .*2, 4"):
        warmup("D", octaves=2, manner=Manner(slur=size))


def test_a_slur_of_one_note_is_said_as_separate_bows() -> None:
    said = warmup_line(warmup("D", manner=Manner(slur=1)))
    assert said == "Separate bows."
