"""Laws that hold for any music and any box."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import example, given, settings
from hypothesis import strategies as st

from excerpts.engrave import BoxPlace, Rect, Style, System, engrave
from excerpts.engrave.svg.rect import union
from excerpts.excerpt import Excerpt, Position
from tests.engrave.music import excerpt

_NAMES = st.sampled_from(["G3", "A3", "D4", "F#4", "Bb4", "C5", "E5+C6", "G#5", "C6", "F6", "A6", "R"])
_MARKS = st.sampled_from(
    ["", "", "", ":f", ":up,1", ":3,II", ":stacc", ":'la", ":fermata", ':"dolce', ":trill"]
)
_RHYTHMS = st.sampled_from(
    [["w"], ["h", "h"], ["q", "q", "h"], ["h.", "q"], ["q"] * 4, ["e"] * 8, ["q.", "e", "h"]]
)


@st.composite
def _bar(draw: st.DrawFn) -> str:
    lengths = draw(_RHYTHMS)
    words = [f"{draw(_NAMES)}:{length}" for length in lengths]
    return " ".join(word if word.startswith("R") else word + draw(_MARKS) for word in words)


@st.composite
def boxed_music(draw: st.DrawFn) -> Excerpt:
    """Two to seven bars with one box from a quarter to another."""
    bars = draw(st.lists(_bar(), min_size=2, max_size=7))
    edges = st.integers(0, 4 * len(bars))
    start, end = sorted(draw(st.lists(edges, min_size=2, max_size=2, unique=True)))
    first, last = start // 4, (end - 1) // 4
    box = (first, Fraction(start % 4), last, Fraction(end - 4 * last))
    return excerpt(bars, [box], first=draw(st.integers(1, 300)), fifths=draw(st.integers(-5, 5)))


WORDS_WIDER_THAN_THEIR_BOX = excerpt(['G3:h G3:h:"dolce', "G3:w"], [(0, 1, 0, 3)])
WORDS_BESIDE_LEDGER_LINES_AT_A_BOX = excerpt(['G3:q G3:q A6:h:"dolce', "G3:w"], [(0, 3, 0, None)])
SYLLABLE_UNDER_THE_NOTE_BEFORE_A_BOX = excerpt(
    ["G3:e G3:e G3:e G3:e:'la R:e G3:e G3:e:'la G3:e", "G3:w", "G3:w", "G3:h G3:h", "G3:q G3:q G3:h"],
    [(0, 3, 0, None)],
    fifths=1,
)
_CAN_LEAVE = frozenset({"dir", "tempo", "dynam", "reh"})


def _kept_out(system: System, box: BoxPlace) -> list[Rect]:
    """Marks over or under a box that one of its sides would cut or touch: they stand clear of it and its labels."""
    top = system.drawing.top_mm
    marks: dict[tuple[str, str], list[Rect]] = {}
    for owner, rect in ((c.ink.owner, c.ink.rect.moved(dy=-top)) for c in system.drawing.inks):
        if owner.kind in _CAN_LEAVE:
            marks.setdefault((owner.kind, owner.origin), []).append(rect)
    numbers = [bar.number for bar in system.bars if bar.number]
    labels = [rect for rect in [box.tag, *numbers] if rect]
    return [
        rect
        for rect in map(union, marks.values())
        if (rect.bottom < box.rect.top - 0.7 or rect.top > box.rect.bottom + 0.7)
        and any(rect.left - 0.4 < x < rect.right + 0.4 for x in (box.rect.left, box.rect.right))
        and not any(rect.meets(label.grown(0.3)) for label in labels)
    ]


@settings(max_examples=30, deadline=None)
@given(boxed_music(), st.sampled_from([7.0, 9.2]))
@example(WORDS_WIDER_THAN_THEIR_BOX, 7.0)
@example(WORDS_BESIDE_LEDGER_LINES_AT_A_BOX, 7.0)
@example(SYLLABLE_UNDER_THE_NOTE_BEFORE_A_BOX, 9.2)
def test_any_box_holds_its_notes_and_crosses_none(music: Excerpt, staff_mm: float) -> None:
    style = Style(staff_mm=staff_mm)
    ask = music.boxes[0]
    for system in engrave(music, style, ("1",)).systems:
        top = system.drawing.top_mm
        ink = [c.ink for c in system.drawing.inks if c.ink.owner.kind not in {"box", "label"}]
        for note in system.notes:
            inside = ask.start <= Position(note.bar, note.onset) < ask.end
            assert note.boxed == inside
            middle = (note.head.left + note.head.right) / 2
            full_bar_rest = note.pitch == "" and note.onset == 0
            if not full_bar_rest:
                assert any(box.rect.left < middle < box.rect.right for box in system.boxes) == inside
        for box in system.boxes:
            out = _kept_out(system, box)
            reaches = [
                reach
                for reach in (one.between(box.rect.left + 0.05, box.rect.right - 0.05) for one in ink
                              if not any(rect.holds(one.rect.moved(dy=-top), 0.01) for rect in out))
                if reach
            ]  # fmt: skip
            assert box.rect.top < min(high for high, _ in reaches) - top - 0.9
            assert box.rect.bottom > max(low for _, low in reaches) - top + 0.9
        for bar in system.bars:
            if bar.number:
                assert not [
                    i for i in ink if not i.stretches and bar.number.meets(i.rect.moved(dy=-top), 0.05)
                ]
                assert not [b for b in system.boxes if b.tag and bar.number.meets(b.tag, 0.05)]
                assert 0 <= bar.number.top


@settings(max_examples=12, deadline=None)
@given(boxed_music())
def test_the_box_changes_nothing_of_the_music(music: Excerpt) -> None:
    """Bars and notes stand where they stand without it; only colours and lines come on top."""
    with_box = engrave(music, Style(), ("1",)).systems
    without = engrave(music, Style(draw_box=False, grey_context=False)).systems
    assert [(n.bar, n.onset, n.head.left) for s in with_box for n in s.notes] == [
        (n.bar, n.onset, n.head.left) for s in without for n in s.notes
    ]
    assert [(b.bar, b.left, b.right) for s in with_box for b in s.bars] == [
        (b.bar, b.left, b.right) for s in without for b in s.bars
    ]
