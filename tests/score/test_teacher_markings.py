"""The teacher's own marks: how they are written, where they go, and what they take the place of."""

from __future__ import annotations

from fractions import Fraction

import pytest

from excerpts.errors import AddressError
from excerpts.excerpt import Excerpt
from excerpts.instruments.instrument import INSTRUMENTS
from excerpts.score import score_from_bytes
from excerpts.score.mark_clashes import mark_clashes
from excerpts.score.marked_note import graces_before, note_at, slur_from, standing
from excerpts.score.marking_syntax import MarkError, parse_mark
from excerpts.score.teacher_markings import MarkWriter
from excerpts.variants import vary
from tests.music import DIVISIONS, bars_of, note
from tests.schema import schema_errors
from tests.score.cutting import kinds, said, texts

FINGER = "[<notations><technical><fingering>1</fingering><up-bow/><string>3</string></technical></notations>]"
START = "[<notations><slur type='start' number='1'/></notations>]"
STOP = "[<notations><slur type='stop' number='1'/></notations>]"
DATA = bars_of(
    "C5:1 D5:1 E5:1 F5:1",
    f"C5:1{FINGER} D5:1 E5:1 F5:1",
    f"C5:1{START} D5:1 E5:1 F5:1{STOP}",
    "D4+A4:2 C5:1/2 D5:1/2 E5:1",
    "C5:1 D5:1 E5:1 F5:1",
)


def marked(
    *marks: str, address: str = "2-4", data: bytes = DATA, pupil: int = 0, **more: tuple[str, ...]
) -> Excerpt:
    passage = score_from_bytes(data, "test").part().passage(address, pupil_bars=pupil)
    excerpt = passage.cut(1, marks, **more)
    assert schema_errors(excerpt.xml) == []
    return excerpt


def technical(excerpt: Excerpt, bar: int, place: int) -> list[str]:
    """The string marks of a note: those of its `<technical>`, names or texts."""
    notes = excerpt.tree().findall("part/measure")[bar].findall("note")
    return [(e.text or "").strip() or str(e.tag) for e in notes[place].iterfind("notations/technical/*")]


@pytest.mark.parametrize(
    ("mark", "bar", "place", "expected"),
    [
        ("2:2 finger 3", 1, 1, ["3"]),
        ("2:1 finger 2", 1, 0, ["up-bow", "3", "2"]),
        ("2:1 down", 1, 0, ["1", "3", "down-bow"]),
        ("2:1 string II", 1, 0, ["1", "up-bow", "2"]),
        ("2:1 string 4", 1, 0, ["1", "up-bow", "4"]),
        ("2:1 finger T", 1, 0, ["up-bow", "3", "thumb-position"]),
        ("2:1 no finger", 1, 0, ["up-bow", "3"]),
        ("2:1 no bow", 1, 0, ["1", "3"]),
        ("2:1 no string", 1, 0, ["1", "up-bow"]),
        ("4:3.5 up", 3, 3, ["up-bow"]),
        ("4:1 finger 4", 3, 1, ["4"]),
        ("4:1 finger 0 1", 3, 0, ["0"]),
        ("1:4 up", 0, 3, ["up-bow"]),
    ],
)
def test_a_mark_goes_to_its_note_and_replaces_what_stands_there(
    mark: str, bar: int, place: int, expected: list[str]
) -> None:
    assert technical(marked(mark), bar, place) == expected


def test_a_chord_takes_a_finger_for_each_note() -> None:
    excerpt = marked("4:1 fingers 0 1")
    assert (technical(excerpt, 3, 0), technical(excerpt, 3, 1)) == (["0"], ["1"])


@pytest.mark.parametrize("mark", ["2 slur 1-3", "2 slur 1 \u2013 3", "2:1-2:3 slur"])
def test_a_slur_from_beat_to_beat(mark: str) -> None:
    excerpt = marked(mark, address="2")
    notes = excerpt.tree().findall("part/measure")[1].findall("note")
    assert [[s.get("type") for s in n.iter("slur")] for n in notes] == [["start"], [], ["stop"], []]


def test_a_slur_over_the_barline() -> None:
    excerpt = marked("1:4-2:2 slur", address="1-2")
    notes = list(excerpt.tree().iter("note"))
    assert [n for n, element in enumerate(notes) if element.find("notations/slur") is not None][:2] == [3, 5]


def test_a_slur_replaces_the_one_that_is_there() -> None:
    excerpt = marked("3 slur 1-2", "3 slur 3-4")
    notes = excerpt.tree().findall("part/measure")[2].findall("note")
    assert [[s.get("type") for s in n.iter("slur")] for n in notes] == [
        ["start"],
        ["stop"],
        ["start"],
        ["stop"],
    ]
    assert "carried mark of the teacher's in bar 3: slur 1-2, in place of the slur there" in said(excerpt)
    assert kinds(marked("3:2 no slur"), "slur") == []


def test_a_later_mark_replaces_an_earlier_one() -> None:
    assert technical(marked("2:2 finger 3", "2:2 finger 4"), 1, 1) == ["4"]


def test_a_mark_for_the_second_voice() -> None:
    low = note("A4:4", "2")
    inside = f"C5:2 D5:2 <backup><duration>{4 * DIVISIONS}</duration></backup> {low}"
    excerpt = marked("2:1 finger 2 voice 2", address="2", data=bars_of("C5:4", inside, "C5:4"))
    assert technical(excerpt, 1, 2) == ["2"]


def test_marks_in_the_numbers_of_the_pupils_edition_and_by_place() -> None:
    assert technical(marked("6:2 finger 3", address="6", pupil=4), 1, 1) == ["3"]
    assert technical(marked("@3:2 finger 3", address="3"), 1, 1) == ["3"]


def test_marks_of_the_piece_go_where_the_cut_shows_their_bars_and_its_own_replace_them() -> None:
    piece = ("1:1 finger 1", "2:2 finger 1", "5:1 up")
    excerpt = marked("2:2 finger 4", address="2", piece_marks=piece)
    assert (technical(excerpt, 0, 0), technical(excerpt, 1, 1)) == (["1"], ["4"])
    assert len([line for line in said(excerpt) if "mark of the teacher's" in line]) == 3


def test_marks_are_carried_into_variants() -> None:
    excerpt = vary(marked("2:2 finger 4", "2:1 down", address="2"), "long-short")
    assert "4" in texts(excerpt, "fingering")


def grace(pitch: str) -> str:
    """A grace note."""
    return (
        note(f"{pitch}:1")
        .replace("<note>", "<note><grace/>")
        .replace(f"<duration>{DIVISIONS}</duration>", "")
    )


GRACES = bars_of(
    f"C5:1 D5:2 E5:1 {grace('D5')} {grace('E5')}",
    f"{grace('G5')} F5:2 {grace('A5')} {grace('B5')} {grace('G5')} F5:2",
    "C5:4",
)


@pytest.mark.parametrize(
    ("mark", "address", "pitches"),
    [
        ("2:3 grace finger 3", "2", ["A5"]),
        ("2:3 grace 3 finger 3", "2", ["G5"]),
        ("2:1 grace finger 3", "1-2", ["D5"]),  # the grace notes at the end of bar 1 lead to bar 2
        ("2:1 grace 2 finger 3", "1", ["E5"]),
        ("2:1 grace 3 finger 3", "2", ["G5"]),
        ("2:1 grace 3 finger 3", "3", []),
        ("2:1 finger 3", "2", ["F5"]),
    ],
)
def test_a_mark_for_a_grace_note(mark: str, address: str, pitches: list[str]) -> None:
    passage = score_from_bytes(GRACES, "test").part().passage(address)
    excerpt = passage.cut(0, (), (mark,))
    assert schema_errors(excerpt.xml) == []
    fingered = [one for one in excerpt.tree().iter("note") if one.find(".//fingering") is not None]
    assert [f"{one.findtext('pitch/step')}{one.findtext('pitch/octave')}" for one in fingered] == pitches


def test_a_slur_from_a_grace_note_to_its_note() -> None:
    excerpt = marked("2:3 grace slur", address="2", data=GRACES)
    slurred = [one for one in excerpt.tree().iter("note") if one.find(".//slur") is not None]
    assert [(one.find("grace") is not None, str(one.xpath("string(.//slur/@type)"))) for one in slurred] == [
        (True, "start"),
        (False, "stop"),
    ]


def test_marks_at_two_grace_notes_of_one_beat_do_not_clash() -> None:
    passage = score_from_bytes(GRACES, "test").part().passage("2")
    marks = ("2:3 grace finger 1", "2:3 grace 2 finger 2", "2:3 finger 3")
    assert list(mark_clashes(passage.cut(0), marks, passage.resolver, INSTRUMENTS["violin"])) == []
    (clash,) = mark_clashes(
        passage.cut(0), (*marks, "2:3 grace 2 finger 4"), passage.resolver, INSTRUMENTS["violin"]
    )
    assert "contradicts '2:3 grace 2 finger 2'" in clash.message


def test_one_note_of_a_chord_has_a_finger_and_the_other_none() -> None:
    excerpt = marked("4:1 finger 1 -", "4:1 string III II")
    assert (technical(excerpt, 3, 0), technical(excerpt, 3, 1)) == (["1", "3"], ["2"])


def test_what_stands_at_a_note() -> None:
    bars = score_from_bytes(GRACES, "test").part().bars
    excerpt = marked("4:1 finger 1 -", "4:1 up", "2:2 no finger")
    chord = note_at(MarkWriter(excerpt, None).bars, 3, Fraction(0))
    assert chord is not None
    assert [standing(chord, kind) for kind in ("finger", "bow", "string")] == [("1", "-"), ("up",), ()]
    assert [len(graces_before(bars, bar, Fraction(at))) for bar, at in ((1, 0), (1, 2), (2, 0))] == [3, 3, 0]
    whole = MarkWriter(marked("1:2-2:1 slur", address="1-2"), None).bars
    begin = note_at(whole, 0, Fraction(1))
    assert begin is not None
    end = slur_from(whole, begin)
    assert end is not None
    assert (end.bar, end.moment.onset) == (1, Fraction(0))


@pytest.mark.parametrize(
    ("mark", "message"),
    [
        ("2:2 grace finger 1", "there is no such grace note before 2:2. It has none."),
        ("2:2 finger - -", "it has no finger and no string"),
        ("2:2 thumb", "'2:2 thumb' is not a mark. Write marks as"),
        ("2:2 finger 7", "is not a mark"),
        ("finger 3", "is not a mark"),
        ("2:2 string VI", "is not a mark"),
        ("2 finger 3", "does not say on which beat"),
        ("2 slur", "does not say from where to where"),
        ("2:1 slur 1-3", "does not say from where to where"),
        ("2 slur 3-1", "joins no notes"),
        ("2:1-2:1 slur", "joins no notes"),
        ("2:2.5 finger 3", "no note begins on 2:2.5. In bar 2 notes begin on 1, 2, 3, 4."),
        ("2 slur 1-2.5", "no note begins on 2:2.5"),
        ("4:1 finger 1 2 3", "has 3 values for 2 notes"),
        ("2:1 up voice 9", "no note begins on 2:1. Bar 2 has no notes."),
    ],
)
def test_a_mark_that_cannot_be_put_in_is_explained(mark: str, message: str) -> None:
    with pytest.raises(MarkError) as caught:
        marked(mark)
    assert message in str(caught.value)
    assert "test, part Violin" in str(caught.value)


def test_a_mark_outside_the_passage_or_the_part() -> None:
    with pytest.raises(MarkError, match="is not in this passage. It shows bars 1 to 3"):
        marked("5:1 up", address="2")
    with pytest.raises(AddressError, match="there is no bar 99"):
        marked("99:1 up", address="2", piece_marks=())


def test_reading_a_mark() -> None:
    mark = parse_mark("  43:2   finger  3 ")
    assert (mark.text, mark.beats, mark.kind, mark.values) == ("43:2 finger 3", ("43:2",), "finger", ("3",))
    assert parse_mark("mark:12:2 up").beats == ("mark:12:2",)
