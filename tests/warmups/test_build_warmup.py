"""Whole warm-ups as files: valid, in range, rightly signed. Default tier, the full sweep slow."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from lxml import etree

from excerpts.errors import WarmupError
from excerpts.excerpt import Excerpt, Tempo
from excerpts.instruments.fingerboard import place_stop
from excerpts.instruments.instrument import INSTRUMENTS, LEVELS, Level
from excerpts.instruments.keys import Key, key_name, parse_key
from excerpts.musicxml.pitch import STEP_SEMITONES
from excerpts.warmups import PATTERNS, Manner, Plan, plan_warmup, warmup, warmup_title
from excerpts.words import Words
from tests.instruments.test_keys import KEYS, MODAL
from tests.schema import schema_errors

SHARPS = "FCGDAEB"


def midi(note: etree._Element) -> int:
    step, octave = note.findtext("pitch/step") or "", int(note.findtext("pitch/octave") or "0")
    return 12 * (octave + 1) + STEP_SEMITONES[step] + int(note.findtext("pitch/alter") or "0")


def check(excerpt: Excerpt, fifths: int, instrument: str, level: Level) -> None:
    """What must hold for every warm-up, read from the written file."""
    tree = excerpt.tree()
    assert schema_errors(excerpt.xml) == []
    assert [element.text for element in tree.iter("fifths")] == [str(fifths)]
    player = INSTRUMENTS[instrument]
    beyond = any(line.thing == "range" for line in excerpt.report)  # made all the same, and told
    reach = player.range_at("advanced" if beyond else level)
    notes = list(tree.iter("note"))
    assert all(reach.low.midi <= midi(note) <= reach.top.midi for note in notes)
    assert [element.text for element in tree.iter("octave-change")] == (
        ["-1"] if instrument == "bass" else []
    )
    assert tree.findtext(".//midi-program") == str(player.program + 1)
    divisions = int(tree.findtext(".//divisions") or "0")
    for bar, ref in zip(tree.iter("measure"), excerpt.bars, strict=True):
        assert bar.get("number") == ref.label
        written = sum(
            int(note.findtext("duration") or "0") for note in bar.iter("note") if note.find("chord") is None
        )
        assert Fraction(written, divisions) == ref.length
    assert not list(tree.iter("tie", "rest", "backup", "forward"))
    assert_accidentals_tell_the_pitch(tree, fifths)


def assert_accidentals_tell_the_pitch(tree: etree._Element, fifths: int) -> None:
    """Read the page as a player does: signature, then accidentals to the end of the bar."""
    alters = {"flat-flat": -2, "flat": -1, "natural": 0, "sharp": 1, "double-sharp": 2}
    signature = {step: (place < fifths) - (6 - place < -fifths) for place, step in enumerate(SHARPS)}
    for bar in tree.iter("measure"):
        shown: dict[str, int] = {}
        for note in bar.iter("note"):
            step, octave = note.findtext("pitch/step") or "", note.findtext("pitch/octave")
            accidental = note.findtext("accidental")
            if accidental:
                shown[f"{step}{octave}"] = alters[accidental]
            assert shown.get(f"{step}{octave}", signature[step]) == int(note.findtext("pitch/alter") or "0")


@pytest.mark.parametrize("instrument", list(INSTRUMENTS))
@pytest.mark.parametrize("level", LEVELS)
def test_a_sample_of_keys(instrument: str, level: Level) -> None:
    offset = 3 * list(INSTRUMENTS).index(instrument) + LEVELS.index(level)
    for key in KEYS[offset % 17 :: 17]:
        for pattern in ("scale", "arpeggio"):
            plan = plan_warmup(key, instrument=instrument, level=level, pattern=pattern)
            made = warmup(key, instrument=instrument, level=level, pattern=pattern)
            check(made, key.fifths, instrument, plan.span.within)
            assert [line.action for line in made.report] == ["warning"] * plan.span.beyond


def planned(key: Key, instrument: str, pattern: str, octaves: int) -> Plan | None:
    """Plan one of the table and hold it to what must hold; None where it is refused with a reason."""
    try:
        plan = plan_warmup(str(key), instrument=instrument, pattern=pattern, octaves=octaves)
    except WarmupError:
        return None  # what refusals say is held in test_span.py and test_stops.py
    check_plan(plan)
    return plan


def check_file(plan: Plan) -> None:
    """The same as a file."""
    octaves, name = plan.span.octaves, plan.instrument.name
    excerpt = warmup(plan.key, instrument=name, pattern=plan.pattern.name, octaves=octaves)
    check(excerpt, plan.fifths, name, plan.span.within)


def check_plan(plan: Plan) -> None:
    """Up and down, from tonic to tonic, a letter a degree, and each double stop under the hand."""
    name = plan.pattern.name
    reach = plan.instrument.range_at(plan.span.within)
    assert all(reach.holds(pitch) for chord in plan.notes for pitch in chord)
    assert abs(plan.fifths) <= 7
    scale_line = [chord[-1] if name == "sixths" else chord[0] for chord in plan.notes]
    assert scale_line[0] == scale_line[-1] or name == "long-notes"
    top = max(pitch.midi for pitch in scale_line)
    if name not in {"broken-thirds", "long-notes", "tune"}:
        assert top == scale_line[0].midi + 12 * plan.span.octaves
    if name in {"scale", "thirds", "sixths", "octaves"}:
        assert [pitch.midi for pitch in scale_line].count(top) == 1
        letters = [7 * pitch.octave + "CDEFGAB".index(pitch.step) for pitch in scale_line]
        steps = [after - before for before, after in pairwise(letters)]
        assert steps == [1] * (7 * plan.span.octaves) + [-1] * (7 * plan.span.octaves)
    for chord in plan.notes:
        assert len(chord) == 1 or place_stop(plan.instrument, chord[0], chord[1]) is not None


def table(pattern: str) -> list[tuple[Key, int]]:
    """Every key of a pattern with 1 to 4 octaves; where it goes by its first note, a key for each of them."""
    kind = PATTERNS[pattern]
    keys = [*KEYS, *(MODAL if kind.modes and not kind.by_note else ())]
    return [(key, octaves) for key in keys for octaves in ((1,) if kind.fixed else (1, 2, 3, 4))]


@pytest.mark.parametrize("instrument", list(INSTRUMENTS))
@pytest.mark.parametrize("pattern", list(PATTERNS))
def test_a_sample_of_every_pattern(instrument: str, pattern: str) -> None:
    offset = list(INSTRUMENTS).index(instrument) + 4 * list(PATTERNS).index(pattern)
    rows = [row for row in table(pattern) if row[1] < 3][offset % 37 :: 37]
    plans = [plan for key, octaves in rows if (plan := planned(key, instrument, pattern, octaves))]
    for plan in plans[:2]:
        check_file(plan)
    assert plans or (instrument, pattern) in NEVER


NEVER = {("bass", "sixths"), ("bass", "octaves")}
"""What the bass has in few keys, or in none: its hand spans a tone."""


def sweep(instrument: str, pattern: str, every: int) -> None:
    """Plan the whole table, and make a file of every so many rows."""
    plans = [plan for row in table(pattern) if (plan := planned(row[0], instrument, pattern, row[1]))]
    for plan in plans[::every]:
        check_file(plan)
    print(instrument, pattern, len(plans), "made,", len(table(pattern)) - len(plans), "refused")  # noqa: T201
    assert plans or (instrument, pattern) in NEVER


@pytest.mark.slow
@pytest.mark.parametrize("instrument", list(INSTRUMENTS))
@pytest.mark.parametrize("pattern", list(PATTERNS))
def test_every_key_pattern_and_octave(instrument: str, pattern: str) -> None:
    """Slow tier: the whole table of keys, modes and octaves planned, and every fortieth of it as a file."""
    sweep(instrument, pattern, every=40)


@pytest.mark.corpus
@pytest.mark.parametrize("instrument", list(INSTRUMENTS))
@pytest.mark.parametrize("pattern", list(PATTERNS))
def test_every_key_pattern_and_octave_as_a_file(instrument: str, pattern: str) -> None:
    """Corpus tier: the whole table as files, some ten thousand of them."""
    sweep(instrument, pattern, every=1)


@pytest.mark.parametrize("instrument", list(INSTRUMENTS))
@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("pattern", ["scale", "arpeggio"])
def test_every_key_at_its_own_octaves(instrument: str, level: Level, pattern: str) -> None:
    """Every third of 60 keys, from another one for each instrument, level and pattern."""
    offset = list(INSTRUMENTS).index(instrument) + LEVELS.index(level)
    for key in KEYS[offset % 3 :: 3]:
        made = warmup(key, instrument=instrument, level=level, pattern=pattern)
        check(made, key.fifths, instrument, level)


def test_the_first_scale_of_a_violinist_note_by_note() -> None:
    excerpt = warmup("D", level="first")
    notes = [
        f"{n.findtext('pitch/step')}{'#' * int(n.findtext('pitch/alter') or 0)}{n.findtext('pitch/octave')} "
        f"{n.findtext('type')}"
        for n in excerpt.tree().iter("note")
    ]
    up = ["D4", "E4", "F#4", "G4", "A4", "B4", "C#5", "D5"]
    assert notes == [f"{name} quarter" for name in [*up, *up[-2:0:-1]]] + ["D4 half"]
    assert [bar.label for bar in excerpt.bars] == ["1", "2", "3", "4"]
    assert excerpt.boxes == ()
    assert (excerpt.origin.part, excerpt.origin.address) == ("violin", "D major")
    assert excerpt.tempo is not None
    assert excerpt.tempo == Tempo(Fraction(60), Fraction(1))


def test_the_tempo_in_the_file_is_the_tempo_of_the_excerpt() -> None:
    """MusicXML's sound@tempo counts quarter notes: dotted crotchet = 44 is 66 quarters."""
    excerpt = warmup("C", instrument="viola", pattern="arpeggio")
    assert excerpt.tempo is not None
    assert excerpt.tempo.quarters_per_minute == 66
    assert excerpt.tree().find(".//sound").get("tempo") == "66"  # type: ignore[union-attr]


def test_a_melodic_minor_reminds_of_the_lowered_notes_once() -> None:
    """A-flat minor has seven flats: F and G are natural going up and flat again going down."""
    accidentals = [
        (note.findtext("pitch/step"), element.text, element.get("cautionary"))
        for note in warmup("Ab minor", octaves=1, level="lower").tree().iter("note")
        for element in note.iter("accidental")
    ]
    assert accidentals == [
        ("F", "natural", None),
        ("G", "natural", None),
        ("G", "flat", "yes"),
        ("F", "flat", "yes"),
    ]


def test_a_lowered_note_in_the_bar_of_the_raised_one_is_no_mere_reminder() -> None:
    """A minor in two octaves: the second bar holds the top, so G and F need their naturals."""
    bar = list(warmup("A minor", octaves=2, level="lower").tree().iter("measure"))[1]
    accidentals = [
        (note.findtext("pitch/step"), element.text, element.get("cautionary"))
        for note in bar.iter("note")
        for element in note.iter("accidental")
    ]
    assert accidentals == [("F", "sharp", None), ("G", "sharp", None), ("G", "natural", None)]


def test_music21_reads_a_bass_scale_an_octave_lower() -> None:
    """E melodic minor for bass: written from E2, sounds from E1 (MIDI 28)."""
    import music21

    part = music21.converter.parseData(warmup("E minor", instrument="bass", octaves=1).xml).parts[0]
    written = [note.pitch.nameWithOctave for note in part.recurse().notes]
    assert written[:8] == ["E2", "F#2", "G2", "A2", "B2", "C#3", "D#3", "E3"]
    assert [note.pitch.midi for note in part.toSoundingPitch().recurse().notes][0] == 28


def test_the_same_words_give_the_same_bytes() -> None:
    assert warmup("F# minor", instrument="cello").xml == warmup("F# minor", instrument="cello").xml


@pytest.mark.parametrize(
    ("key", "pattern", "octaves", "title"),
    [
        ("D", "scale", 2, "D major scale, two octaves"),
        ("Bb minor", "scale", 1, "B-flat melodic minor scale, one octave"),
        ("F# harmonic minor", "arpeggio", 3, "F-sharp minor arpeggio, three octaves"),
        ("C", "arpeggio", 4, "C major arpeggio, four octaves"),
        ("C", "chromatic", 1, "Chromatic scale on C, one octave"),
        ("Eb minor", "broken-thirds", 2, "E-flat melodic minor in broken thirds, two octaves"),
        ("D", "dominant-seventh", 2, "Dominant seventh on D, two octaves"),
        ("D", "tune", 1, "Slow tune in D major"),
        ("D dorian", "scale", 1, "D Dorian scale, one octave"),
    ],
)
def test_titles(key: str, pattern: str, octaves: int, title: str) -> None:
    assert warmup_title(parse_key(key), pattern, octaves, Words("uk")) == title
    excerpt = warmup(key, instrument="cello", octaves=octaves, pattern=pattern)
    assert excerpt.tree().findtext("movement-title") == title


def test_every_key_and_pattern_has_its_printed_name() -> None:
    for column in ("uk", "us"):
        names = {key_name(key, Words(column)) for key in KEYS}
        assert len(names) == len(KEYS)


@pytest.mark.slow
@pytest.mark.parametrize("instrument", list(INSTRUMENTS))
def test_the_engraver_has_nothing_to_say(instrument: str) -> None:
    """Slow tier: every pattern with fingerings, and slurs of two where they can be chosen."""
    from excerpts.engrave import Style, engrave

    for name, pattern in PATTERNS.items():
        if (instrument, name) in NEVER:
            continue
        manner = Manner(
            slur=2 if pattern.chosen_slurs and name != "broken-thirds" else None, fingerings="open"
        )
        excerpt = warmup("G", instrument=instrument, pattern=name, octaves=1, level="advanced", manner=manner)
        assert engrave(excerpt, Style(draw_box=False, grey_context=False)).log == (), name
