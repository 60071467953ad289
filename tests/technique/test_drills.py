"""Drills made from a box, on small music and on what the demo plays. Default tier."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.excerpt import Excerpt
from excerpts.instruments.instrument import INSTRUMENTS
from excerpts.notes import read_line
from excerpts.score import score_from_bytes
from excerpts.technique import DrillKind, drills
from tests.music import DIVISIONS, bar, bars_of, note, part, score
from tests.schema import schema_errors

VIOLIN, CELLO, BASS = (INSTRUMENTS[name] for name in ("violin", "cello", "bass"))


def fingered(notes: str) -> str:
    """Notes as "A4.1/2": pitch, finger, string number; a crotchet each."""
    words = []
    for word in notes.split():
        pitch, _, told = word.partition(".")
        finger, _, string = told.partition("/")
        marks = f"<fingering>{finger}</fingering>" if finger else ""
        marks += f"<string>{string}</string>" if string else ""
        inner = f"[<notations><technical>{marks}</technical></notations>]" if marks else ""
        words.append(f"{pitch}:1{inner}")
    return " ".join(words)


def cut(*bars: str, head: str = "") -> Excerpt:
    """The bars as a box, all of them."""
    first = f"{head} " if head else ""
    data = bars_of(first + bars[0], *bars[1:])
    return score_from_bytes(data, "test").part().passage(f"1-{len(bars)}").cut(context=0)


def played(excerpt: Excerpt) -> list[str]:
    """Pitches of a drill bar by bar."""
    line = read_line(excerpt)
    found = [[] for _ in line.bars]  # type: list[list[str]]
    for event in line.events:
        found[line.bar_at(event.onset)].append("+".join(str(head.pitch) for head in event.heads))
    return [" ".join(names) for names in found]


def test_the_shift_alone() -> None:
    """Finger 1 in first position, then finger 1 a third higher on the same string."""
    excerpt = cut(fingered("A4.0 B4.1 D5.1 E5.2"))
    (drill,) = drills(excerpt, VIOLIN, ("shift",))
    assert (drill.kind, drill.bar, drill.assumed) == ("shift", "1", False)
    assert played(drill.music) == ["B4 D5", "D5 B4", "B4 D5 B4 D5", "B4 D5"]
    fingers = [element.text for element in drill.music.tree().iter("fingering")]
    assert set(fingers) == {"1"}
    assert schema_errors(drill.music.xml) == []


@pytest.mark.parametrize(
    ("player", "notes", "shift"),
    [
        (VIOLIN, "E5.0 F#5.1 G5.2 A5.3", None),  # first position
        (VIOLIN, "F#5.1 G5.2 A5.1 B5.2", "G5 A5"),  # the first finger comes again: third position
        (VIOLIN, "E4.1 B4.1 F#5.1 B4.1", None),  # the same place, a string on
        (CELLO, "D4.4 E4.1 F#4.3 G4.4", "D4 E4"),
        (CELLO, "B3.1 C4.2 C#4.3 D4.4", None),
        (BASS, "A3.1 B3.4 C4.1 D4.4", "B3 C4"),
        (VIOLIN, "A4 B4 C5 D5", None),  # no fingers, nothing told
    ],
)
def test_where_a_shift_is_told(player: object, notes: str, shift: str | None) -> None:
    """By the finger tables of the instruments: two fingers that no one place of the hand has on their notes."""
    found = [d for d in drills(cut(fingered(notes)), player, most=4) if d.kind == "shift"]  # type: ignore[arg-type]
    assert [played(drill.music)[0] for drill in found] == ([shift] if shift else [])


def test_the_shift_that_the_teacher_means() -> None:
    """Without a word the widest; a note names another, and so do the teacher's own fingers."""
    notes = fingered("E4.1 A4.1/3 A4.0 B4.1 C5.1 B4.1 A4.0 B4.1")
    excerpt = cut(*(" ".join(notes.split()[at : at + 4]) for at in (0, 4)))

    def first(note: str) -> str:
        return played(drills(excerpt, VIOLIN, ("shift",), note=note)[0].music)[0]

    assert first("Slow at first.") == "E4 A4"
    assert first("First finger from B to C, light as a brush.") == "B4 C5"
    assert first("Zweiter Finger von H nach C") == "B4 C5"
    part = score_from_bytes(bars_of("D5:1 E5:1 F#5:1 D6:1", "B4:1 C5:1 B4:1 A4:1"), "test").part()
    marked = part.passage("1-2").cut(0, ("1:4 finger 4", "2:2 finger 1"))
    assert played(drills(marked, VIOLIN, ("shift",), note="")[0].music)[0] == "F#5 D6"
    box = score_from_bytes(bars_of(fingered("E5.0 F#5.1 D6.1 F#5.1"), "B4:1 D5:1 B4:1 A4:1"), "test").part()
    marked = box.passage("1-2").cut(0, ("2:2 finger 1",))
    assert played(drills(marked, VIOLIN, ("shift",))[0].music)[0] == "B4 D5"


@pytest.mark.parametrize("notes", ["A4.0 B4.1 D5.1 E5.2", "D4 A5 E5 A4", "G4 E5 A4"])
def test_drills_in_single_bows_have_the_same_notes(notes: str) -> None:
    """For whoever does not play two notes in a bow yet; fingers stay."""
    slurred = drills(cut(fingered(notes)), VIOLIN, most=4)
    single = drills(cut(fingered(notes)), VIOLIN, most=4, slurred=False)
    assert any(b"<slur" in drill.music.xml for drill in slurred)
    assert not any(b"<slur" in drill.music.xml for drill in single)
    assert [played(one.music) for one in single] == [played(one.music) for one in slurred]
    assert [one.music.xml.count(b"<fingering") for one in single] == [
        one.music.xml.count(b"<fingering") for one in slurred
    ]


def test_a_drill_stays_inside_its_box() -> None:
    """The note that the box runs into belongs to the next bar."""
    data = bars_of(fingered("A4.0 B4.1 C5.2 B4.1"), fingered("F5.3 E5.2 D5.1 E5.2"))
    excerpt = score_from_bytes(data, "test").part().passage("1").cut(context=1)
    for drill in drills(excerpt, VIOLIN, ("shift",), most=4):
        assert "F5" not in " ".join(played(drill.music))


def test_the_crossing_on_open_strings() -> None:
    excerpt = cut(fingered("D5.3 F#5.1 D5.3 F#5.1"))
    (drill,) = drills(excerpt, VIOLIN, ("crossing",))
    assert (drill.kind, drill.assumed) == ("crossing", False)
    assert played(drill.music)[:3] == ["A4 E5 A4 E5", "A4 E5 A4 E5", "D5 F#5 D5 F#5"]


def test_strings_that_nothing_tells_are_a_guess_and_say_so() -> None:
    (drill,) = drills(cut("D4:1 B4:1 D4:1 B4:1"), VIOLIN, ("crossing",))
    assert drill.assumed
    (told,) = drills(cut(fingered("B4.1/2 F#5./1 B4.1/2 F#5./1")), VIOLIN, ("crossing",))
    assert not told.assumed


def test_string_numbers_are_believed() -> None:
    (drill,) = drills(cut(fingered("D5./3 A4./2 D5./3 A4./2")), VIOLIN, ("crossing",))
    assert played(drill.music)[0] == "D4 A4 D4 A4"


def test_the_widest_leap_both_ways() -> None:
    (drill,) = drills(cut("G4:1 B4:1 A4:1 F5:1"), VIOLIN)
    assert drill.kind == "crossing"
    leap = drills(cut("G4:1 B4:1 A4:1 F5:1"), VIOLIN, most=4)[-1]
    assert leap.kind == "leap"
    assert played(leap.music) == ["A4 F5", "F5 A4", "A4 F5 A4 F5", "A4 F5"]


def test_the_double_stop_taken_apart() -> None:
    (drill,) = drills(cut("A4:1 B3+G4:1 C4+A4:1 B3+G4:1"), VIOLIN, ("intonation",))
    assert drill.kind == "double-stop"
    assert played(drill.music) == ["B3 G4", "B3+G4", "C4 A4", "C4+A4"]


def test_clef_key_and_transposition_of_the_place() -> None:
    head = (
        "<attributes><key><fifths>-3</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time>"
        "<clef><sign>F</sign><line>4</line></clef><transpose><diatonic>0</diatonic><chromatic>0</chromatic>"
        "<octave-change>-1</octave-change></transpose></attributes>"
    )
    change = "<attributes><clef><sign>C</sign><line>4</line></clef></attributes>"
    data = bars_of(f"{head} F3:4", f"{change} Ab3:2 Eb4:2")
    excerpt = score_from_bytes(data, "test").part().passage("1-2").cut(context=0)
    leap = next(d for d in drills(excerpt, BASS, most=4) if d.kind == "leap" and d.bar == "2")
    tree = leap.music.tree()
    found = [tree.findtext(f".//{tag}") for tag in ("fifths", "sign", "octave-change", "beats")]
    assert found == ["-3", "C", "-1", "4"]


def test_a_box_that_gives_no_drill() -> None:
    assert drills(cut("A4:1 A4:1 B4:1 B4:1"), VIOLIN, most=4) == ()
    assert drills(cut("r:4"), VIOLIN, most=4) == ()


def test_a_box_of_two_voices_gives_no_drill() -> None:
    """Which voice is meant is not told."""
    back = f"<backup><duration>{4 * DIVISIONS}</duration></backup>"
    lower = note("C4:2", "2") + note("G4:2", "2")
    data = bars_of("C5:2 G5:2").replace(b"</measure>", (back + lower + "</measure>").encode())
    excerpt = score_from_bytes(data, "test").part().passage("1").cut(context=0)
    assert drills(excerpt, VIOLIN, most=4) == ()


def test_faults_choose_the_drill() -> None:
    excerpt = cut("A4:1 B3+G4:1 B4:1 F#5:1")
    kinds: dict[str, DrillKind] = {
        fault: drills(excerpt, VIOLIN, (fault,))[0].kind for fault in ("crossing", "intonation", "rhythm")
    }
    assert kinds == {"crossing": "crossing", "intonation": "double-stop", "rhythm": "double-stop"}


NOTES = st.lists(
    st.tuples(
        st.sampled_from("G3 A3 B3 D4 F4 A4 C5 E5 G5 B5 D6".split()), st.sampled_from(["", "1", "2", "3"])
    ),
    min_size=4,
    max_size=12,
).filter(lambda notes: len(notes) % 4 == 0)


@settings(deadline=None, max_examples=12)
@given(NOTES)
def test_drills_have_only_notes_of_the_box_or_open_strings(notes: list[tuple[str, str]]) -> None:
    """Whole bars, valid, and nothing that is not played there."""
    words = [f"{pitch}.{finger}" if finger else pitch for pitch, finger in notes]
    bars = [fingered(" ".join(words[at : at + 4])) for at in range(0, len(words), 4)]
    own = {pitch for pitch, _ in notes}
    strings = {str(pitch) for pitch in VIOLIN.strings}
    for drill in drills(cut(*bars), VIOLIN, most=4):
        assert schema_errors(drill.music.xml) == []
        assert {name for bar_ in played(drill.music) for name in bar_.split()} <= own | strings
        line = read_line(drill.music)
        assert all(one.end == other.onset for one, other in pairwise(line.events))
        assert line.events[-1].end == 4 * len(line.bars)


def test_a_score_of_several_parts_keeps_its_part() -> None:
    data = score(
        part([bar("A4:1 F5:1 A4:1 F5:1")]), part([bar("C4:4")], part_id="P2"), names=("Violin", "Viola")
    )
    excerpt = score_from_bytes(data, "test").part("Violin").passage("1").cut(context=0)
    assert drills(excerpt, VIOLIN)[0].music.tree().findtext(".//part-name") == "Violin"


def test_without_fingers_the_shift_is_where_the_hand_would_move() -> None:
    """Up to high A: first position does not reach it, so the hand moves; the page says that it is a guess."""
    excerpt = cut("F#5:1 G5:1 A5:1 B5:1", "C#6:1 D6:1 E6:1 F#6:1")
    (drill,) = drills(excerpt, VIOLIN, ("shift",))
    assert (drill.kind, drill.assumed) == ("shift", True)
    low = cut("D4:1 E4:1 F#4:1 G4:1", "A4:1 B4:1 C#5:1 D5:1")
    assert all(one.kind != "shift" for one in drills(low, VIOLIN, ("shift",), most=4))


def test_the_leap_is_the_one_that_is_far_for_the_hand() -> None:
    """From the open D to the D above is a wider interval than over a skipped string, and no way for the hand."""
    excerpt = cut("D4:1 D5:1 C5:1 B4:1", "A4:1 G4:1 G3:1 E4:1", "A4:1 B3:1 F#5:1 A4:1")
    leap = next(one for one in drills(excerpt, VIOLIN, ("coordination",), most=4) if one.kind == "leap")
    assert played(leap.music)[0] == "B3 F#5"
