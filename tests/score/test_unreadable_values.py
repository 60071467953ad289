"""Numbers that are none: taken out of a cut with a warning, never handed on."""

from __future__ import annotations

import pytest

from excerpts.engrave import Style, engrave
from excerpts.score import score_from_bytes
from excerpts.sound.midi import write_midi
from tests.music import bars_of, note
from tests.score.cutting import attributes, cut, direction, kinds, said, texts

KEY = "<key><fifths>{}</fifths></key>"
TRANSPOSE = "<transpose><chromatic>{}</chromatic></transpose>"


@pytest.mark.parametrize(
    ("inside", "tag", "warning"),
    [
        (attributes(KEY.format("1/3")), "key", "warning key in bar 2: '1/3' cannot be read; left out"),
        (
            attributes(KEY.format("50000000")),
            "key",
            "warning key in bar 2: '50000000' cannot be read; left out",
        ),
        (
            attributes(TRANSPOSE.format("x")),
            "transpose",
            "warning transposition in bar 2: 'x' cannot be read; left out",
        ),
        (direction("<words>x</words>", after="<offset>?</offset>"), "offset", "warning offset in bar 2"),
        (direction("<words>x</words>", after="<staff>-1</staff>"), "staff", "warning staff in bar 2"),
        (direction("<words>x</words>", after="<staff>1000000000</staff>"), "staff", "warning staff in bar 2"),
    ],
)
def test_what_cannot_be_read_is_left_out_with_a_warning(inside: str, tag: str, warning: str) -> None:
    excerpt = cut(bars_of("C5:4", f"{inside} C5:4", "C5:4"), "2-3", 0)
    assert list(excerpt.tree().iter(tag)) == []
    assert any(line.startswith(warning) for line in said(excerpt))
    engrave(excerpt, Style())


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("<step>D</step>", "<step>H</step>", "its pitch 'H5' cannot be read"),
        ("<octave>5</octave>", "<octave>high</octave>", "its pitch 'Dhigh' cannot be read"),
        ("<octave>5</octave>", "<octave>1000000000</octave>", "its pitch 'D1000000000' cannot be read"),
    ],
)
def test_a_note_of_no_pitch_is_a_rest_of_its_length(old: str, new: str, told: str) -> None:
    bad = note("D5:1").replace(old, new)
    excerpt = cut(bars_of("C5:4", f"C5:1 {bad} E5:2", "C5:4"), "2")
    assert texts(excerpt, "step") == ["C", "E"]
    assert [len(n.findall("rest")) for n in excerpt.tree().iter("note")] == [0, 1, 0]
    assert excerpt.bars[0].length == 4
    assert any(told in line and line.startswith("warning note in bar 2") for line in said(excerpt))
    engrave(excerpt, Style())
    write_midi(excerpt)


@pytest.mark.parametrize("which", [0, 1, 2])
def test_a_chord_keeps_its_readable_notes(which: int) -> None:
    notes = note("C5+E5+G5:4").split("</note>")
    notes[which] = notes[which].replace("<octave>5", "<octave>?")
    excerpt = cut(bars_of("C5:4", "</note>".join(notes), "C5:4"), "2")
    assert texts(excerpt, "step") == [step for place, step in enumerate("CEG") if place != which]
    assert len(list(excerpt.tree().iter("chord"))) == 1
    assert excerpt.bars[0].length == 4


def test_a_grace_note_of_no_pitch_goes() -> None:
    grace = "<note><grace/><pitch><step>?</step><octave>5</octave></pitch><voice>1</voice></note>"
    excerpt = cut(bars_of("C5:4", f"{grace} C5:4"), "2")
    assert len(list(excerpt.tree().iter("note"))) == 1


@pytest.mark.parametrize("tempo", ["-5", "0", "fast", "1000000000", ""])
def test_a_tempo_that_is_none(tempo: str) -> None:
    sound = f"<sound tempo='{tempo}'/>"
    excerpt = cut(bars_of("C5:4", f"{direction('<words>x</words>', after=sound)} C5:4"), "2")
    assert [sound.get("tempo") for sound in excerpt.tree().iter("sound") if sound.get("tempo") == tempo] == []
    assert any(line.startswith("warning tempo in bar 2") for line in said(excerpt))
    write_midi(excerpt)


def test_numbers_of_staves_that_are_none() -> None:
    clef = "<clef number='{}'><sign>G</sign><line>2</line></clef>"
    for number in ("x", "0", "1000000000", "9" * 5000):
        excerpt = cut(bars_of("C5:4", f"{attributes(clef.format(number))} C5:4"), "2")
        assert all(element.get("number") is None for element in excerpt.tree().iter("clef"))
    many = score_from_bytes(
        bars_of("C5:4", f"{attributes('<staves>1000000000</staves>')} C5:4"), "test"
    ).part()
    excerpt = many.passage("2").cut(0)
    assert kinds(excerpt, "staves") == []
    assert "repaired number of staves in bar 2: '1000000000' is not possible; left out" in said(excerpt)
    engrave(excerpt, Style())
