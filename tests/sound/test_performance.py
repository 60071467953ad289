"""How signs are played: lengths, levels, ornaments, pauses, plucks; MIDI read by mido and music21 (default tier)."""

from __future__ import annotations

import io
import json
import warnings
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.excerpt import Excerpt, Tempo
from excerpts.score import score_from_bytes
from excerpts.sound.levels import level_at
from excerpts.sound.midi import write_midi
from excerpts.sound.perform import perform
from excerpts.sound.performance import Struck, TempoMap
from excerpts.sound.playing_rules import DYNAMICS, STEP, TOUCHES
from tests.music import bars_of, part, score
from tests.score.random_scores import FEATURES, make_score
from tests.sound.test_midi import read

F = Fraction
AT_60 = Tempo(F(60))


def cut(*bars: str) -> Excerpt:
    """All bars of a violin part in D major and 4/4."""
    return score_from_bytes(bars_of(*bars), "test").part("#1").passage(f"@1-@{len(bars)}").cut(0)


def notations(inside: str) -> str:
    return f"[<notations>{inside}</notations>]"


def articulated(name: str) -> str:
    return notations(f"<articulations><{name}/></articulations>")


def ornamented(inside: str) -> str:
    return notations(f"<ornaments>{inside}</ornaments>")


def said(inside: str, more: str = "") -> str:
    return f"<direction><direction-type>{inside}</direction-type>{more}</direction>"


def dynamic(name: str) -> str:
    return said(f"<dynamics><{name}/></dynamics>")


def sounding(excerpt: Excerpt, tempo: Tempo | None = AT_60) -> tuple[Struck, ...]:
    return perform(excerpt).at(tempo).notes


def pitches(notes: Sequence[Struck]) -> list[int]:
    return [int(note.pitch) for note in notes]


@pytest.mark.parametrize(
    ("marks", "expected", "articulation"),
    [
        ("", F(19, 20), "separate"),
        (articulated("staccato"), F(1, 2), "staccato"),
        (articulated("staccatissimo"), F(1, 4), "staccatissimo"),
        (articulated("tenuto"), F(39, 40), "tenuto"),
        (articulated("detached-legato"), F(3, 4), "portato"),
        (articulated("breath-mark"), F(3, 4), "breath"),
    ],
)
def test_how_long_a_crotchet_sounds_at_sixty(marks: str, expected: Fraction, articulation: str) -> None:
    """A separate note is a tenth short, at most 50 milliseconds: at sixty a twentieth of a quarter note."""
    first, *_ = sounding(cut(f"D4:1{marks} E4:1 F#4:1 G4:1"))
    assert (first.length, first.articulation) == (expected, articulation)


def test_gaps_are_as_long_at_every_tempo() -> None:
    excerpt = cut("D4:1 E4:1 F#4:2")
    for number in (30, 60, 120):
        first, *_ = sounding(excerpt, Tempo(F(number)))
        assert (1 - first.length) * 60 / number == min(F(1, 20), F(6, number))


def test_slurred_notes_are_joined_and_the_last_of_them_is_not() -> None:
    start, stop = (notations(f'<slur number="1" type="{edge}"/>') for edge in ("start", "stop"))
    notes = sounding(cut(f"D4:1{start} E4:1 F#4:1{stop} G4:1"))
    assert [note.articulation for note in notes] == ["slurred", "slurred", "separate", "separate"]
    assert [note.length for note in notes[:2]] == [1, 1]


def test_dots_under_a_slur_are_portato() -> None:
    start = notations('<slur number="1" type="start"/><articulations><staccato/></articulations>')
    stop = notations('<slur number="1" type="stop"/><articulations><staccato/></articulations>')
    assert [note.articulation for note in sounding(cut(f"D4:2{start} E4:2{stop}"))] == ["portato", "staccato"]


@pytest.mark.parametrize("name", ["pp", "p", "mp", "mf", "f", "ff"])
def test_dynamics_hold_until_the_next(name: str) -> None:
    notes = sounding(cut(f"{dynamic(name)} D4:2 E4:2", f"F#4:2 {dynamic('mf')} G4:2"))
    assert [note.levels for note in notes] == [((F(0), DYNAMICS[name]),)] * 3 + [((F(0), 0.0),)]


def test_a_hairpin_leads_to_the_dynamic_behind_it() -> None:
    """From p to f along three notes in a straight line of decibels."""
    wedges = said('<wedge type="crescendo"/>'), said('<wedge type="stop"/>')
    notes = sounding(cut(f"{dynamic('p')} {wedges[0]} D4:2 E4:1 F#4:1 {wedges[1]}", f"{dynamic('f')} G4:4"))
    low, high = DYNAMICS["p"], DYNAMICS["f"]
    assert [level_at(note.levels, F(0)) for note in notes] == pytest.approx(
        [low, low + (high - low) / 2, low + (high - low) * 3 / 4, high]
    )
    assert notes[2].levels[-1][1] == pytest.approx(high)


def test_a_hairpin_to_nowhere_changes_by_one_dynamic() -> None:
    wedges = said('<wedge type="diminuendo"/>'), said('<wedge type="stop"/>')
    notes = sounding(cut(f"{wedges[0]} D4:4 {wedges[1]}", "E4:4"))
    assert notes[0].levels == ((F(0), 0.0), (F(4), -STEP))
    assert notes[1].levels == ((F(0), -STEP),)


def test_words_lead_to_the_next_dynamic() -> None:
    words = said("<words>cresc.</words>")
    notes = sounding(cut(f"{dynamic('p')} {words} D4:4", "E4:4", f"{dynamic('f')} F#4:4"))
    assert level_at(notes[1].levels, F(0)) == pytest.approx(-2.0)


def test_accents_are_louder_at_the_start_alone() -> None:
    accented, plain, struck = sounding(cut(f"D4:1{articulated('accent')} E4:1 {dynamic('sfz')} F#4:2"))
    assert accented.levels[0] == (F(0), 4.0)
    assert accented.levels[-1] == (F(1, 2), 0.0)
    assert plain.levels == ((F(0), 0.0),)
    assert struck.levels[0] == (F(0), 6.0)


def test_fp_is_loud_and_then_soft() -> None:
    note, after = sounding(cut(f"{dynamic('fp')} D4:2 E4:2"))
    assert [level for _, level in note.levels] == [DYNAMICS["f"], DYNAMICS["p"], DYNAMICS["p"]]
    assert after.levels == ((F(0), DYNAMICS["p"]),)


@pytest.mark.parametrize(
    ("ornament", "expected"),
    [
        ("<mordent/>", [62, 61, 62]),
        ("<inverted-mordent/>", [62, 64, 62]),
        ("<turn/>", [64, 62, 61, 62]),
        ("<inverted-turn/>", [61, 62, 64, 62]),
        ("<delayed-turn/>", [62, 64, 62, 61, 62]),
        ("<turn/><accidental-mark>flat</accidental-mark>", [63, 62, 61, 62]),
    ],
)
def test_short_ornaments(ornament: str, expected: list[int]) -> None:
    """In D major the notes beside D are E and C#."""
    notes = sounding(cut(f"D4:4{ornamented(ornament)}"))
    assert pitches(notes) == expected
    assert notes[0].onset == 0
    assert 4 - F(1, 20) <= notes[-1].onset + notes[-1].length < 4
    assert all(a.onset + a.length == b.onset for a, b in zip(notes, notes[1:], strict=False))


@pytest.mark.parametrize("number", [40, 60, 120])
def test_a_trill_begins_and_ends_on_its_note_at_one_speed(number: int) -> None:
    notes = sounding(cut(f"D4:4{ornamented('<trill-mark/>')}"), Tempo(F(number)))
    assert set(pitches(notes[::2])) == {62}
    assert set(pitches(notes[1::2])) == {64}
    assert len(notes) % 2 == 1
    assert 9 < number / 60 / float(notes[0].length) < 16  # notes a second


def test_a_trill_from_above_where_the_teacher_says_so() -> None:
    excerpt = cut(f"D4:4{ornamented('<trill-mark/>')}")
    notes = perform(excerpt, upper_trills=True).at(AT_60).notes
    assert pitches(notes[:3]) == [64, 62, 64]
    assert pitches(notes)[-1] == 62


def test_a_trill_takes_an_accidental_of_its_bar() -> None:
    assert pitches(sounding(cut(f"Eb4:1 D4:3{ornamented('<trill-mark/>')}")))[1:3] == [62, 63]


def test_a_tremolo_is_as_many_strokes_as_are_written() -> None:
    three = ornamented('<tremolo type="single">2</tremolo>')
    notes = sounding(cut(f"D4:1{three} E4:3"))
    assert pitches(notes) == [62] * 4 + [64]
    assert {note.articulation for note in notes[:3]} == {"repeated"}


def test_a_tremolo_of_two_notes_alternates() -> None:
    start, stop = (ornamented(f'<tremolo type="{edge}">2</tremolo>') for edge in ("start", "stop"))
    notes = sounding(cut(f"D4:1{start} F#4:1{stop} E4:2"))
    assert pitches(notes) == [62, 66] * 4 + [64]


def test_plucked_until_bowed() -> None:
    pizz, arco = (said(f"<words>{text}</words>") for text in ("pizz.", "arco"))
    excerpt = cut(f"D4:1 {pizz} E4:1 F#4:1 {arco} G4:1")
    assert [note.kind for note in sounding(excerpt)] == ["bowed", "plucked", "plucked", "bowed"]
    changes = [message.program for message in read(write_midi(excerpt)) if message.type == "program_change"]
    assert changes == [40, 45, 40]  # General MIDI, counted from 0: violin, pizzicato strings, violin


@pytest.mark.parametrize(("part_name", "kind"), [("Violin", "plucked"), ("Horn in F", "bowed")])
def test_a_cross_is_the_left_hand_of_a_string_player_and_no_horns(part_name: str, kind: str) -> None:
    excerpt = cut("D4:4[<notations><technical><stopped/></technical></notations>]")
    named = replace(
        excerpt, xml=excerpt.xml.replace(b"<part-name>Violin<", f"<part-name>{part_name}<".encode())
    )
    assert [note.kind for note in sounding(named)] == [kind]


def test_a_pause_holds_its_note_twice_as_long() -> None:
    excerpt = replace(cut(f"D4:2 E4:2{notations('<fermata/>')}", "F#4:4"), tempo=AT_60)
    tempos = perform(excerpt).tempos
    assert [tempos.seconds(F(time)) for time in (2, 4, 8)] == [2, 6, 10]
    assert perform(excerpt).at(Tempo(F(120))).tempos.seconds(F(8)) == 5


def test_a_ritardando_is_played_as_the_file_says_or_told() -> None:
    words, slower = said("<words>poco rit.</words>"), said("<words>x</words>", '<sound tempo="50"/>')
    told = perform(cut("D4:4", f"E4:2 {words} F#4:2")).unplayed
    assert told == ('bar 2: "poco rit." is not played; the file does not say how slow or fast',)
    played = perform(cut("D4:4", f"E4:1 {words} F#4:1 {slower} G4:2"))
    assert played.unplayed == ()
    assert played.tempos.changes[1] == (F(6), F(50))


def test_a_tempo_of_a_first_note_under_a_pause_is_the_one_asked_for() -> None:
    take = perform(cut(f"D4:2{notations('<fermata/>')} E4:2")).at(AT_60)
    assert take.tempos.changes == ((F(0), F(30)), (F(2), F(60)))


@pytest.mark.parametrize(
    ("token", "expected"),
    [
        ("A5:4[<notations><technical><harmonic><natural/></harmonic></technical></notations>]", [81]),
        ("D5:4[<notehead>diamond</notehead>]", [93]),  # a fourth above the string A: two octaves above it
        ("E5:4[<notehead>diamond</notehead>]", [88]),  # a fifth above it: an octave and a fifth
    ],
)
def test_natural_harmonics_at_their_sound(token: str, expected: list[int]) -> None:
    assert pitches(sounding(cut(token))) == expected


def test_an_artificial_harmonic_sounds_two_octaves_above_its_stopped_note() -> None:
    excerpt = cut("A4+D5:4[<notations><technical><harmonic><artificial/></harmonic></technical></notations>]")
    assert pitches(sounding(excerpt)) == [69 + 24]


def test_the_json_form_has_fractions_and_one_tempo() -> None:
    plain = json.loads(json.dumps(perform(cut(f"{dynamic('p')} D4:1/3 E4:2/3 F#4:3")).at(AT_60).as_json()))
    assert plain["format"] == 1
    assert plain["tempos"] == [{"onset": "0", "quarters": "60"}]
    assert plain["notes"][0] == {
        "player": 0, "onset": "0", "length": "3/10", "key": 62, "cents": 0.0, "levels": [["0", -8.0]],
        "kind": "bowed", "articulation": "separate",
    }  # fmt: skip


@given(
    st.lists(st.tuples(st.fractions(F(1, 4), 4), st.fractions(20, 300)), min_size=1, max_size=5),
    st.fractions(0, 20),
)
def test_seconds_add_up_along_the_tempos(changes: list[tuple[Fraction, Fraction]], time: Fraction) -> None:
    """Law: the time to a point is the sum of the pieces of constant tempo before it."""
    starts = [sum((length for length, _ in changes[:place]), F(0)) for place in range(len(changes))]
    tempos = TempoMap(
        tuple((start, number) for start, (_, number) in zip(starts, changes, strict=True)), changes[0][1]
    )
    edges = [*(start for start in starts if start < time), time]
    slow = sum((b - a) * 60 / tempos.at(a) for a, b in zip(edges, edges[1:], strict=False))
    assert tempos.seconds(time) == slow


@given(st.sampled_from(sorted(TOUCHES)), st.fractions(F(1, 16), 8), st.fractions(20, 300))
def test_no_note_loses_more_than_three_quarters_of_its_time(
    name: str, length: Fraction, quarters: Fraction
) -> None:
    assert 0 <= TOUCHES[name].gap(length, quarters) <= length * 3 / 4


def test_midi_tells_levels_by_velocity_and_controller_11() -> None:
    """General MIDI level 2: 40 log10 of the value; the controller falls where the note does."""
    wedges = said('<wedge type="diminuendo"/>'), said('<wedge type="stop"/>')
    excerpt = cut(f"{dynamic('f')} {wedges[0]} D4:4 {wedges[1]}", f"{dynamic('p')} E4:4")
    messages = list(read(write_midi(excerpt)))
    velocities = [m.velocity for m in messages if m.type == "note_on" and m.velocity]
    assert velocities == [round(80 * 10 ** (DYNAMICS[name] / 40)) for name in ("f", "p")]
    values = [m.value for m in messages if m.type == "control_change" and m.control == 11]
    assert values[:-1] == sorted(values[:-1], reverse=True)
    assert values[-2:] == [round(127 * 10 ** ((DYNAMICS["p"] - DYNAMICS["f"]) / 40)), 127]


def test_music21_reads_the_same_midi(tmp_path: Path) -> None:
    """Outside check: pitches, onsets and velocities as music21 reads the file."""
    from music21 import converter

    excerpt = cut(f"{dynamic('f')} D4:1 F#4:1 {dynamic('p')} A4:1 D5:1")
    (tmp_path / "a.mid").write_bytes(write_midi(excerpt))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        notes = list(converter.parse(tmp_path / "a.mid").flatten().notes)
    assert [note.pitch.midi for note in notes] == [62, 66, 69, 74]
    assert [note.offset for note in notes] == [0, 1, 2, 3]
    assert notes[0].volume.velocity > notes[2].volume.velocity


def test_all_parts_have_a_track_each_with_its_name() -> None:
    first = "<attributes><divisions>24</divisions><time><beats>2</beats><beat-type>4</beat-type></time></attributes>"
    data = score(
        part([f"{first} D5:2", "E5:2"]),
        part([f"{first} D3:1 A3:1", "E3:2"], part_id="P2"),
        names=("Violin", "Cello"),
    )
    from excerpts.score.whole import whole_passage

    whole = whole_passage(score_from_bytes(data, "duo"), "1-2").cut(0)
    file = mido.MidiFile(file=io.BytesIO(write_midi(whole)))
    numbers = [[m.note for m in track if m.type == "note_on" and m.velocity] for track in file.tracks[1:]]
    assert numbers == [[74, 76], [50, 57, 52]]
    assert [one.part for one in perform(whole).players] == ["Violin", "Cello"]


@settings(max_examples=40, deadline=None)
@given(
    features=st.frozensets(st.sampled_from(FEATURES), max_size=8),
    bars=st.integers(1, 4),
    seed=st.integers(0, 10_000),
    tempo=st.sampled_from([None, 20, 66, 300]),
)
def test_what_sounds_lies_inside_the_music_at_every_tempo(
    features: frozenset[str], bars: int, seed: int, tempo: int | None
) -> None:
    """Law: each note has a length, ends in time, and its levels go on in order; each struck note sounds."""
    excerpt = (
        score_from_bytes(make_score(seed, bars, features), "random").part("#1").passage(f"@1-@{bars}").cut(0)
    )
    performance = perform(excerpt)
    take = performance.at(Tempo(F(tempo)) if tempo else None)
    assert {note.onset for note in performance.notes} <= {note.onset for note in take.notes}
    assert [note.onset for note in performance.notes] == sorted(note.onset for note in performance.notes)
    for note in take.notes:
        assert 0 <= note.onset < note.onset + note.length <= take.length
        times = [time for time, _ in note.levels]
        assert times[0] == 0
        assert times == sorted(times)
        assert all(DYNAMICS["n"] - 12 <= level <= DYNAMICS["ffff"] + 12 for _, level in note.levels)
    assert json.loads(json.dumps(take.as_json()))["notes"]
