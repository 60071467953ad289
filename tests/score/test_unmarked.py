"""The marks that made boxes are taken out for print, and nothing else is; a plain cut keeps them all."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from excerpts.excerpt import Excerpt
from excerpts.musicxml.format import serialise
from excerpts.score import Part, score_from_bytes
from excerpts.score.boxes_in_score import read_marks, unmarked
from tests.music import bars_of
from tests.schema import schema_errors
from tests.score.cutting import direction, kinds, said, texts, words


def line(kind: str, number: int = 1) -> str:
    return direction(f"<bracket type='{kind}' number='{number}' line-end='down'/>")


def rectangle(text: str) -> str:
    return direction(f"<words enclosure='rectangle'>{text}</words>")


def coloured(text: str) -> str:
    return f"{text}[<stem>up</stem><notehead color='#C00000'>normal</notehead>]"


MARKED = bars_of(
    "C5:4",
    f"{rectangle('shift')} {line('start')} C5:4",
    f"{words('dolce')} C5:4 {line('stop')}",
    f"{rectangle('pizz.')} {words('sul G')} {line('start', 2)} C5:4",
    f"C5:2 {line('stop', 2)} {coloured('D5:2')}",
    f"{rectangle('bars 1–2')} C5:4",
)


def part() -> Part:
    return score_from_bytes(MARKED, "test").part()


def excerpt_of(whole: Part, address: str = "1-6") -> Excerpt:
    excerpt = whole.passage(address).cut(0)
    assert schema_errors(excerpt.xml) == []
    return excerpt


def test_what_made_boxes_is_taken_out_and_told() -> None:
    excerpt = excerpt_of(unmarked(part()))
    assert texts(excerpt, "words") == ["dolce", "pizz.", "sul G"]
    assert kinds(excerpt, "bracket") == ["start", "stop"]
    assert [note.get("color") for note in excerpt.tree().iter("notehead")] == [None]
    assert said(excerpt)[:5] == [
        "dropped bracket line in bar 2: made a box",
        "dropped bracket line in bar 3: made a box",
        "dropped words in bar 2: made a box",
        "dropped words in bar 6: made a box",
        "dropped colour in bar 5: made a box",
    ]
    assert not [text for text in said(excerpt_of(unmarked(part()), "4")) if "box" in text]


def test_a_cut_by_address_keeps_them_and_the_part_itself_is_not_changed() -> None:
    whole = part()
    before = serialise(whole.score.root)
    unmarked(whole)
    assert serialise(whole.score.root) == before
    excerpt = excerpt_of(whole)
    assert texts(excerpt, "words") == ["shift", "dolce", "pizz.", "sul G", "bars 1–2"]
    assert kinds(excerpt, "bracket") == ["start", "stop", "start", "stop"]
    assert not [text for text in said(excerpt) if text.startswith("dropped")]


def test_a_part_without_marks_is_itself() -> None:
    plain = score_from_bytes(bars_of("C5:4"), "test").part()
    assert unmarked(plain) is plain


def test_a_line_in_the_middle_and_a_rest_of_the_colour_go_too() -> None:
    rest = "<note color='#C00000'><rest/><duration>24</duration><voice>1</voice><type>quarter</type></note>"
    note = rest.replace("<rest/>", "<pitch><step>D</step><octave>5</octave></pitch>")
    data = bars_of(
        f"{line('start')} C5:4", f"{line('continue')} C5:4 {line('stop')}", f"{note} {rest} C5:2", "C5:4"
    )
    excerpt = excerpt_of(unmarked(score_from_bytes(data, "test").part()), "1-4")
    assert kinds(excerpt, "bracket") == []
    assert [note.get("color") for note in excerpt.tree().iter("note")] == [None] * 6


def test_marks_in_a_part_that_had_to_be_mended_are_taken_out() -> None:
    wrong = (
        "<note><voice>1</voice><pitch><step>D</step><octave>5</octave></pitch><duration>96</duration></note>"
    )
    data = bars_of(f"{rectangle('box')} C5:4", f"{line('start')} {wrong}", f"C5:4 {line('stop')}", "C5:4")
    excerpt = excerpt_of(unmarked(score_from_bytes(data, "test").part()), "1-4")
    assert (texts(excerpt, "words"), kinds(excerpt, "bracket")) == ([], [])


_SIGNS = st.sampled_from(
    [
        *(line(kind, number) for kind in ("start", "continue", "stop") for number in (1, 2)),
        *(
            rectangle(text)
            for text in ("box", "shift", "pizz.", "bars 1–2", "3", "99", "12-4", "C-D", "@2:1-@3:9")
        ),
        *(words(text) for text in ("sul G", "tone", "dolce", "3")),
        "<backup><duration>24</duration></backup>",
        "<forward><duration>12</duration></forward>",
        direction("<bracket type='start' line-end='none'/>", after="<offset>24</offset>"),
        direction("<bracket type='stop' line-end='none'/>", after="<offset>-48</offset>"),
    ]
)
_NOTES = st.sampled_from(["C5:1", "D5:1/2", "r:1", "E5+G5:2", coloured("F5:1"), coloured("G5:1/2")])


@given(st.lists(st.lists(_SIGNS | _NOTES, max_size=6), min_size=1, max_size=5))
def test_any_marks_give_boxes_that_are_there_and_excerpts_with_the_same_notes(bars: list[list[str]]) -> None:
    data = bars_of(*(" ".join(["C5:1", *tokens]) for tokens in bars))
    whole = score_from_bytes(data, "test").part()
    marks = read_marks(whole)
    for box in marks.boxes:
        assert whole.passage(box.address).span == box.span
    assert len({box.span for box in marks.boxes}) == len(marks.boxes)
    everything = f"@1-@{len(bars)}"
    plain = whole.passage(everything).cut(0)
    bare = unmarked(whole).passage(everything).cut(0)
    assert schema_errors(bare.xml) == []
    notes = [[*excerpt.tree().iter("duration", "step", "rest")] for excerpt in (plain, bare)]
    assert [(e.tag, e.text) for e in notes[0]] == [(e.tag, e.text) for e in notes[1]]
    assert read_marks(score_from_bytes(bare.xml, "test").part()).boxes == ()
