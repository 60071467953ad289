"""The demo scores and weeks: music that adds up, lies under the hand, keeps its bow, and opens.

The scores are read here with lxml and `Fraction` alone, not through the package, so that one checks the other.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from zipfile import ZipFile

import pytest
from lxml import etree

from excerpts.instruments.instrument import Level
from excerpts.instruments.instrument_names import instrument_of_part_name
from excerpts.score import open_score
from excerpts.score.abc import from_abc
from excerpts.variants import vary
from excerpts.week import load_week
from excerpts.week.plan import plan_week
from tests.music import bars_of
from tests.schema import schema_errors

SCORES = Path(__file__).parent.parent / "scores"
FILES = sorted(path for path in SCORES.rglob("*") if path.suffix in {".musicxml", ".xml", ".mxl"})
WEEKS = sorted((SCORES / "weeks").glob("*.toml"))

LEVELS: dict[str, Level] = {
    "snail-on-the-stairs": "first", "paper-boats": "first", "evening-ferry": "middle",
    "mill-wheel-dance": "middle", "loom-study": "middle",
}  # fmt: skip
"""Whose music it is; what is not named here is for an advanced player."""

FIRST_POSITION = {"snail-on-the-stairs", "paper-boats", "mill-wheel-dance"}
"""Pieces that never leave first position, apart from a finger stretched back or forward on the cello."""

OPEN = {"violin": (55, 62, 69, 76), "viola": (48, 55, 62, 69), "cello": (36, 43, 50, 57)}
"""MIDI numbers of the open strings, IV to I (orchestration handbooks)."""

SEMITONES = {
    "violin": {0: {0}, 1: {1, 2}, 2: {3, 4}, 3: {5, 6}, 4: {6, 7, 8}},
    "viola": {0: {0}, 1: {1, 2}, 2: {3, 4}, 3: {5, 6}, 4: {6, 7, 8}},
    "cello": {0: {0}, 1: {1, 2}, 2: {3, 4}, 3: {4, 5}, 4: {5, 6}},
}
"""Semitones above the open string in first position, low, high and stretched fingers in (fingering charts)."""

OPEN_HARMONICS = {0, 5, 7, 12, 19, 24}
"""What a 0 can mean: the open string, or a natural harmonic touched above it."""

HIGHEST_FIRST_FINGER = {"violin": 14, "viola": 14, "cello": 14}
STEPS = dict(C=0, D=2, E=4, F=5, G=7, A=9, B=11)
VALUES = {"whole": "4", "half": "2", "quarter": "1", "eighth": "1/2", "16th": "1/4", "32nd": "1/8"}


def ids(path: Path) -> str:
    return path.stem


every_score = pytest.mark.parametrize("path", FILES, ids=ids)
every_week = pytest.mark.parametrize("path", WEEKS, ids=ids)


def document(data: bytes) -> bytes:
    """The MusicXML itself: out of the zip if it is in one, through the container as the format says."""
    if not data.startswith(b"PK"):
        return data
    with ZipFile(BytesIO(data)) as packed:
        container = etree.fromstring(packed.read("META-INF/container.xml"))
        return packed.read(container.findall(".//rootfile")[0].attrib["full-path"])


@lru_cache
def root_of(path: Path) -> etree._Element:
    return etree.fromstring(document(path.read_bytes()))


def players(root: etree._Element) -> Iterator[tuple[str, etree._Element]]:
    """Each part with the instrument that its printed name tells."""
    names = {entry.attrib["id"]: entry.findtext("part-name", "") for entry in root.iter("score-part")}
    for part in root.findall("part"):
        found = instrument_of_part_name(names[part.attrib["id"]])
        assert found is not None
        yield found.name, part


def midi(note: etree._Element) -> int:
    step, octave = note.findtext("pitch/step", ""), int(note.findtext("pitch/octave", ""))
    return 12 * (octave + 1) + STEPS[step] + int(note.findtext("pitch/alter", "0"))


def written_value(note: etree._Element) -> Fraction:
    """Quarter notes by what is printed: value, dots, tuplet."""
    value = Fraction(VALUES[note.findtext("type", "")])
    value *= 2 - Fraction(1, 2 ** len(note.findall("dot")))
    normal, actual = (note.findtext(f"time-modification/{kind}-notes", "1") for kind in ("normal", "actual"))
    return value * Fraction(int(normal), int(actual))


def bar_faults(part: etree._Element) -> list[str]:
    """Bars that do not add up; only a bar marked as a pick-up may be short, with the last completing it."""
    faults, divisions, due = [], Fraction(1), Fraction(4)
    bars: list[tuple[str, Fraction, bool]] = []
    for measure in part.findall("measure"):
        at = longest = Fraction(0)
        for element in measure:
            divisions = Fraction(element.findtext("divisions") or divisions)
            if (time := element.find("time")) is not None:
                due = Fraction(4 * int(time.findtext("beats", "")), int(time.findtext("beat-type", "")))
            length = Fraction(element.findtext("duration", "0")) / divisions
            if element.tag == "note" and element.find("chord") is None:
                at += length
            elif element.tag in {"backup", "forward"}:
                at += length if element.tag == "forward" else -length
            longest = max(longest, at)
            whole_bar = element.find("rest[@measure='yes']") is not None
            if length and element.tag == "note" and not whole_bar and written_value(element) != length:
                faults.append(f"bar {measure.get('number')}: a note's printed value is not its length")
        bars.append((measure.attrib["number"], longest, measure.get("implicit") == "yes"))
        if longest != due and not bars[-1][2]:
            faults.append(f"bar {measure.get('number')}: {longest} quarter notes, not {due}")
    _, pickup, implicit = bars[0]
    last, held, _ = bars[-1]
    if implicit and pickup + held == due:
        faults = [fault for fault in faults if fault != f"bar {last}: {held} quarter notes, not {due}"]
    return faults


def finger_fits(instrument: str, note: etree._Element, finger: int, *, first_position: bool) -> bool:
    """Whether the finger reaches the note on some string (on the string that is marked, if one is)."""
    string = note.findtext("notations/technical/string")
    strings = OPEN[instrument] if string is None else (OPEN[instrument][4 - int(string)],)
    places = [midi(note) - tuned for tuned in strings if midi(note) >= tuned]
    reach = SEMITONES[instrument][finger]
    if first_position:
        return any(place in reach for place in places)
    if finger == 0:
        return any(place in OPEN_HARMONICS for place in places)
    from_first = {place - lowest for place in reach for lowest in SEMITONES[instrument][1]}
    top = HIGHEST_FIRST_FINGER[instrument]
    return any(
        1 <= place - offset <= top for place in places for offset in from_first if offset >= finger - 1
    )


def finger_faults(path: Path) -> list[str]:
    faults = []
    for instrument, part in players(root_of(path)):
        for note in part.iter("note"):
            for mark in note.findall("notations/technical/fingering"):
                assert re.fullmatch("[0-4]", mark.text or ""), mark.text
                known = path.stem in FIRST_POSITION
                if not finger_fits(instrument, note, int(mark.text or ""), first_position=known):
                    bar = next(note.iterancestors("measure")).get("number")
                    faults.append(f"bar {bar}: finger {mark.text} cannot reach MIDI {midi(note)}")
    return faults


def bow_faults(part: etree._Element) -> list[str]:
    """Bow marks that the strokes before them contradict; at a rest the player is free to lift the bow."""
    faults: list[str] = []
    down: bool | None = None
    slurs = 0
    for note in part.iter("note"):
        if note.find("chord") is not None or note.find("grace") is not None:
            continue
        if note.find("rest") is not None:
            down = None
            continue
        mark = next((m for m in ("down", "up") if note.find(f".//{m}-bow") is not None), None)
        if slurs == 0 and note.find("tie[@type='stop']") is None:
            expected = None if down is None else not down
            if mark and expected is not None and (mark == "down") != expected:
                faults.append(f"bar {next(note.iterancestors('measure')).get('number')}: {mark} comes twice")
            down = mark == "down" if mark else expected
        kinds = Counter(slur.get("type") for slur in note.iter("slur"))
        slurs += kinds["start"] - kinds["stop"]
    return faults


@every_score
def test_it_is_valid_musicxml(path: Path) -> None:
    assert schema_errors(document(path.read_bytes())) == []


@every_score
def test_every_bar_is_full_and_every_value_is_as_long_as_printed(path: Path) -> None:
    assert [fault for part in root_of(path).findall("part") for fault in bar_faults(part)] == []


@every_score
def test_every_note_is_in_the_range_of_its_player(path: Path) -> None:
    for name, part in players(root_of(path)):
        instrument = instrument_of_part_name(name)
        assert instrument is not None
        span = instrument.range_at(LEVELS.get(path.stem, "advanced"))
        notes = [midi(note) for note in part.iter("note") if note.find("pitch") is not None]
        assert span.low.midi <= min(notes)
        assert max(notes) <= span.top.midi


@every_score
def test_every_fingering_lies_under_the_hand(path: Path) -> None:
    assert finger_faults(path) == []


@every_score
def test_the_bow_comes_out_where_it_is_marked(path: Path) -> None:
    assert [fault for part in root_of(path).findall("part") for fault in bow_faults(part)] == []


@every_score
def test_what_begins_ends(path: Path) -> None:
    for part in root_of(path).findall("part"):
        for tag, ends in (("slur", {"stop"}), ("wedge", {"stop"}), ("ending", {"stop", "discontinue"})):
            depth = 0
            for element in part.iter(tag):
                kind = element.get("type")
                depth += 0 if kind == "continue" else -1 if kind in ends else 1
                assert 0 <= depth <= 2
            assert depth == 0, tag


@every_score
def test_it_says_who_wrote_it_and_that_it_is_free(path: Path) -> None:
    root = root_of(path)
    assert root.findtext("work/work-title") or root.findtext("movement-title")
    assert root.findtext("identification/creator[@type='composer']")
    assert root.findtext("identification/rights") == "Free to copy and to play."


@every_score
def test_it_names_no_program(path: Path) -> None:
    root = root_of(path)
    tags = {element.tag for element in root.iter() if isinstance(element.tag, str)}
    assert not tags & {"software", "encoder", "encoding-description", "miscellaneous", "source"}
    assert root.xpath("//comment() | //processing-instruction()") == []


@every_score
def test_it_opens_and_every_part_can_be_cut(path: Path) -> None:
    score = open_score(path)
    assert score.title
    for number, part in enumerate(root_of(path).findall("part"), start=1):
        bars = len(part.findall("measure"))
        assert len(score.part(f"#{number}").passage(f"@1-@{bars}").cut(0).bars) == bars


def test_there_are_six_scores_of_sixteen_bars() -> None:
    long = [path.stem for path in FILES if len(root_of(path).findall("part[1]/measure")) >= 16]
    assert len(long) >= 6


def test_the_tempo_of_the_duo_stands_over_the_violin_only() -> None:
    violin, cello = root_of(SCORES / "evening-ferry.musicxml").findall("part")
    assert violin.find(".//sound[@tempo]") is not None
    assert cello.find(".//sound[@tempo]") is None
    assert cello.find(".//metronome") is None


@every_week
def test_a_week_loads_and_gives_every_minute(path: Path) -> None:
    week = load_week(path)
    assert week.boxes
    assert all(week.week.minutes_on(day.date) == day.minutes for day in plan_week(week).days)


@every_week
def test_every_box_and_study_opens_and_takes_its_variants(path: Path) -> None:
    week = load_week(path)
    for box in week.boxes:
        if box.piece and box.bars:
            part = open_score(week.score_paths[box.piece]).part(week.piece(box.piece).part)
            excerpt = part.passage(box.bars).cut()
            assert excerpt.boxes
            assert all(vary(excerpt, name).xml for name in box.variants or ())
        elif box.abc:
            assert from_abc(box.abc).parts
    for item in week.technique:
        if item.piece and item.bars:
            part = open_score(week.score_paths[item.piece]).part(week.piece(item.piece).part)
            excerpt = part.passage(item.bars).cut()
            assert all(vary(excerpt, name).xml for name in item.variants)


def one_part(*bars: str) -> etree._Element:
    return etree.fromstring(bars_of(*bars)).findall("part")[0]


def test_the_checks_see_a_wrong_bar() -> None:
    assert bar_faults(one_part("D4:4", "D4:1 E4:2")) == ["bar 2: 3 quarter notes, not 4"]
    assert bar_faults(one_part("D4:4", "D4:1 E4:3")) == []


def test_the_checks_see_a_finger_that_cannot_reach() -> None:
    note = next(one_part("F#4:4").iter("note"))
    assert finger_fits("violin", note, 2, first_position=True)
    assert not finger_fits("violin", note, 3, first_position=True)
    assert finger_fits("violin", note, 4, first_position=False)  # on the G string, far up
    assert not finger_fits("violin", note, 0, first_position=False)


def test_the_checks_see_a_bow_that_does_not_come_out() -> None:
    down = "[<notations><technical><down-bow/></technical></notations>]"
    assert bow_faults(one_part(f"D4:2{down} E4:2", f"D4:4{down}")) == []
    assert bow_faults(one_part(f"D4:4{down}", f"D4:4{down}")) == ["bar 2: down comes twice"]
    assert bow_faults(one_part(f"D4:3{down} r:1", f"D4:4{down}")) == []
