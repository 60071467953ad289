"""One voice or one staff of a part by itself."""

from __future__ import annotations

from fractions import Fraction

import pytest

from excerpts.errors import PartError
from excerpts.excerpt import Excerpt
from excerpts.musicxml.timeline import walk
from excerpts.score import score_from_bytes
from excerpts.score.extract_voice import extract_voice
from tests.music import DIVISIONS, bars_of, note, part, score
from tests.schema import schema_errors
from tests.score.cutting import attributes, bar_at, clef, direction, kinds, texts

WAY_BACK = f"<backup><duration>{4 * DIVISIONS}</duration></backup>"


def low(*notes: str) -> str:
    return "".join(note(text, "2") for text in notes)


TWO = bars_of(
    f"C5+E5:2 D5:2 {WAY_BACK} {low('A3:4')}",
    f"C5:4 {WAY_BACK} <forward><duration>{DIVISIONS}</duration></forward> {low('B3:1', 'G3:1/2')}",
    "C5:4",
    f"C5:4 {WAY_BACK} {low('A3:4')}",
)


def selected(
    data: bytes, voice: str | None = None, staff: int | None = None, address: str = "1-4"
) -> Excerpt:
    whole = score_from_bytes(data, "test").part("#1")
    excerpt = extract_voice(whole, voice, staff).passage(address).cut(context=0)
    assert schema_errors(excerpt.xml) == []
    return excerpt


def timed(excerpt: Excerpt, bar: int) -> list[tuple[str, Fraction | int, Fraction | int]]:
    moments = walk(bar_at(excerpt, bar), Fraction(DIVISIONS)).moments
    return [
        (m.element.findtext("pitch/step") or "r", m.onset, m.duration)
        for m in moments
        if m.element.tag == "note"
    ]


def test_the_upper_voice_alone() -> None:
    excerpt = selected(TWO, "1")
    assert set(texts(excerpt, "voice")) == {"1"}
    assert texts(excerpt, "step") == ["C", "E", "D", "C", "C", "C"]
    assert excerpt.tree().find(".//backup") is None


def test_rests_stand_where_the_lower_voice_is_silent() -> None:
    excerpt = selected(TWO, "2")
    assert timed(excerpt, 0) == [("A", 0, 4)]
    assert timed(excerpt, 1) == [
        ("r", 0, 1), ("B", 1, 1), ("G", 2, Fraction(1, 2)), ("r", Fraction(5, 2), Fraction(1, 2)), ("r", 3, 1),
    ]  # fmt: skip
    assert timed(excerpt, 2) == [("r", 0, 4)]
    assert bar_at(excerpt, 2).find("note/rest[@measure='yes']") is not None
    assert [bar.length for bar in excerpt.bars] == [4, 4, 4, 4]
    assert excerpt.tree().find(".//forward") is None


def test_the_source_is_left_as_it_is() -> None:
    whole = score_from_bytes(TWO, "test").part("#1")
    extract_voice(whole, "2")
    assert len(list(whole.score.root.iter("backup"))) == 3
    assert extract_voice(whole) is whole


def test_one_staff_of_two() -> None:
    def on(text: str, staff: int, voice: str) -> str:
        return note(text, voice).replace("</note>", f"<staff>{staff}</staff></note>")

    def said(text: str, staff: int) -> str:
        return direction(f"<words>{text}</words>", after=f"<staff>{staff}</staff>")

    head = attributes(
        f"<divisions>{DIVISIONS}</divisions><time><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves>"
        f"{clef('G', 2, 1)}{clef('F', 4, 2)}"
    )
    inside = f"{said('top', 1)} {on('C5:4', 1, '1')} {WAY_BACK} {said('bottom', 2)} {on('C3:4', 2, '5')}"
    data = score(part([f"{head} {inside}", inside]))
    lower = selected(data, staff=2, address="2")
    assert (texts(lower, "octave"), texts(lower, "sign"), texts(lower, "words")) == (["3"], ["F"], ["bottom"])
    assert lower.tree().find(".//staves") is None
    assert lower.tree().find(".//staff") is None
    assert [c.get("number") for c in lower.tree().iter("clef")] == [None]
    upper = selected(data, staff=1, address="1-2")
    assert (texts(upper, "octave"), texts(upper, "sign")) == (["5", "5"], ["G"])


def test_slurs_and_dynamics_of_the_other_voice_go_with_it() -> None:
    slur = "[<notations><slur type='{}' number='1'/></notations>]"
    forte = direction("<dynamics><f/></dynamics>", after="<voice>2</voice>")
    data = bars_of(
        f"C5:2{slur.format('start')} D5:2{slur.format('stop')} {WAY_BACK} {forte} {low('A3:4')}", "C5:4"
    )
    assert kinds(selected(data, "1", address="1"), "slur") == ["start", "stop"]
    lower = selected(data, "2", address="1")
    assert kinds(lower, "slur") == []
    assert len(list(lower.tree().iter("dynamics"))) == 1
    assert len(list(selected(data, "1", address="1").tree().iter("dynamics"))) == 0


def test_barlines_stay_at_their_ends() -> None:
    left = "<barline location='left'><repeat direction='forward'/></barline>"
    right = "<barline location='right'><repeat direction='backward'/></barline>"
    data = bars_of("C5:4", f"{left} C5:4 {WAY_BACK} {low('A3:2')} {right}")
    tags = [child.tag for child in bar_at(selected(data, "2", address="2"), 0)]
    assert tags == ["attributes", "barline", "note", "note", "barline"]


def test_divisions_that_change_inside_the_bar() -> None:
    change = attributes("<divisions>48</divisions>")
    back = "<backup><duration>192</duration></backup>"
    second = "<forward><duration>96</duration></forward>" + low("A3:4")
    data = bars_of("C5:4", f"C5:2 {change} C5:4 {back} {second}", "C5:4 C5:4")
    excerpt = selected(data, "2", address="2")
    assert excerpt.bars[0].length == 4


@pytest.mark.parametrize(
    ("voice", "staff", "message"),
    [
        ("3", None, "the part has no voice 3. It has voice 1, 2."),
        (None, 2, "the part has no staff 2. It has staff 1."),
        ("3", 1, "staff 1 has no voice 3. It has voice 1, 2."),
    ],
)
def test_a_voice_or_staff_that_is_not_there(voice: str | None, staff: int | None, message: str) -> None:
    with pytest.raises(PartError) as caught:
        selected(TWO, voice, staff)
    assert message in str(caught.value)
