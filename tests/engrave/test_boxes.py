"""Boxes: exact to the bar and beat, crossing nothing, labels and numbers clear of one another."""

from __future__ import annotations

import pytest

from excerpts.engrave import Style, System, engrave
from excerpts.engrave.draw_boxes import PAPER
from excerpts.engrave.svg.ink import Ink, heights
from tests.engrave.audit import audit
from tests.engrave.cases import CASES, engraved
from tests.engrave.music import BASS, excerpt

BOXED = [name for name, music in CASES.items() if music.boxes]
LINE = 0.25
"""0.7 points in millimetres, rounded up."""


def music_ink(system: System) -> list[Ink]:
    return [c.ink for c in system.drawing.inks if c.ink.owner.kind not in {"box", "label"}]


def test_the_audit_sees_a_line_through_a_note() -> None:
    """The checks below can fail: a box drawn too low over the high notes is seen."""
    system = engraved("two bars high and low").systems[0]
    box = system.boxes[0].rect
    span = heights(music_ink(system), box.left + 0.1, box.right - 0.1)
    assert span is not None
    assert span[0] - system.drawing.top_mm < box.top + 5.0


@pytest.mark.parametrize("name", BOXED)
def test_a_box_takes_exactly_its_bars(name: str) -> None:
    music = CASES[name]
    for system in engraved(name).systems:
        for box in system.boxes:
            ask = music.boxes[box.box]
            mine = [bar for bar in system.bars if ask.start.bar <= bar.bar <= ask.end.bar]
            if ask.start.onset == 0 or box.open_left:
                assert box.rect.left == pytest.approx(mine[0].left, abs=0.2)
            if ask.end.onset == music.bars[ask.end.bar].length or box.open_right:
                assert box.rect.right == pytest.approx(mine[-1].right, abs=0.2)
            assert box.open_left == (ask.start.bar < system.bars[0].bar)
            assert box.open_right == (ask.end.bar > system.bars[-1].bar)


REPEATS = [
    ["C5:w", '<barline location="right"><bar-style>light-heavy</bar-style><repeat direction="backward"/></barline>'],
    ['<barline location="left"><bar-style>heavy-light</bar-style><repeat direction="forward"/></barline>', "D5:w"],
]  # fmt: skip


@pytest.mark.parametrize("boxed", [1, 2])
def test_a_box_between_two_repeats_takes_the_sign_of_its_own(boxed: int) -> None:
    """Where one repeat ends and the next begins, each half belongs to its bar: two dots in the box, two outside."""
    bars = ["E5:w", *REPEATS, "E5:w"]
    system = engrave(excerpt(bars, [(boxed, 0, boxed, None)]), Style()).systems[0]
    (place,) = system.boxes
    dots = [c for c in system.drawing.inks if c.ink.owner.kind == "barLine" and not c.ink.paint.stroke]
    inside = [c for c in dots if place.rect.left < c.ink.rect.left < place.rect.right]
    assert (len(dots), len(inside)) == (4, 2)
    assert {c.colour for c in inside}.isdisjoint(c.colour for c in dots if c not in inside)


def test_a_clef_in_mid_bar_belongs_to_the_box_that_begins_behind_it() -> None:
    change = "<attributes><clef><sign>C</sign><line>4</line></clef></attributes>"
    bars = [["D3:q", "A3:q", change, "D4:q", "F4:q"]]

    def in_box(start: int, end: int) -> bool:
        system = engrave(excerpt(bars, [(0, start, 0, end)], clef=BASS), Style()).systems[0]
        (place,) = system.boxes
        clef = [c.ink.rect for c in system.drawing.inks if c.ink.owner.kind == "clef"][-1]
        assert not clef.left - 0.1 < place.rect.left < clef.right + 0.1
        assert not clef.left - 0.1 < place.rect.right < clef.right + 0.1
        return place.rect.left < clef.left < place.rect.right

    assert in_box(2, 3)
    assert not in_box(1, 2)


@pytest.mark.parametrize("name", BOXED)
def test_every_boxed_bar_is_in_its_box_once(name: str) -> None:
    music = CASES[name]
    for index, ask in enumerate(music.boxes):
        bars = [
            bar.bar
            for system in engraved(name).systems
            for box in system.boxes
            if box.box == index
            for bar in system.bars
            if min(bar.right, box.rect.right) - max(bar.left, box.rect.left) > 1.0
        ]
        assert bars == list(range(ask.start.bar, ask.end.bar + 1))


@pytest.mark.parametrize("name", BOXED)
def test_noteheads_lie_wholly_inside_or_outside(name: str) -> None:
    for system in engraved(name).systems:
        for note in system.notes:
            inside = [box for box in system.boxes if box.rect.left <= note.x <= box.rect.right]
            assert bool(inside) == note.boxed
            for box in inside:
                assert box.rect.left < note.head.left
                assert note.head.right < box.rect.right


@pytest.mark.parametrize("name", BOXED)
def test_the_lines_of_a_box_meet_nothing(name: str) -> None:
    """Top and bottom clear all ink, the sides are whole, and no label or number touches anything."""
    faults = audit(engraved(name))
    assert [fault for fault in faults if fault.kind not in {"text on text", "text on note"}] == []


@pytest.mark.parametrize("name", BOXED)
def test_a_box_keeps_its_distance_from_the_music(name: str) -> None:
    for system in engraved(name).systems:
        for box in system.boxes:
            inside = [i for i in music_ink(system) if i.owner.kind not in {"dir", "tempo"}]
            span = heights(inside, box.rect.left + 0.05, box.rect.right - 0.05)
            assert span is not None
            assert box.rect.top + LINE / 2 + 0.9 <= span[0] - system.drawing.top_mm
            assert span[1] - system.drawing.top_mm <= box.rect.bottom - LINE / 2 - 0.9


def test_words_of_a_box_that_has_no_room_for_them_stand_over_it() -> None:
    """They stay black, whole and near, and the box stays whole."""
    system = engraved("words run past the box").systems[0]
    words = [c for c in system.drawing.inks if c.ink.owner.kind == "dir"]
    assert {c.colour for c in words} == {Style().ink}
    line = system.boxes[0].rect.top + system.drawing.top_mm
    assert all(c.ink.rect.bottom < line - 0.5 for c in words)
    assert max(c.ink.rect.bottom for c in words) > line - 8.0


def test_words_before_a_box_move_out_of_it_where_there_is_room() -> None:
    music = excerpt(['C5:q C5:q C5:q C5:q:"cantabile', "C5:w"], [(1, 0, 1, None)])

    def words(style: Style) -> tuple[float, float]:
        rects = [
            c.ink.rect for c in engrave(music, style).systems[0].drawing.inks if c.ink.owner.kind == "dir"
        ]
        return min(rect.left for rect in rects), max(rect.right for rect in rects)

    side = engrave(music, Style()).systems[0].boxes[0].rect.left
    assert words(Style(draw_box=False))[1] > side
    assert words(Style())[1] < side - 0.5


def test_the_label_stands_at_the_first_system_only() -> None:
    systems = engraved("sixteen bars").systems
    tags = [box.tag is not None for system in systems for box in system.boxes]
    assert tags == [True] + [False] * (len(tags) - 1)
    assert len(tags) >= 4
    assert PAPER in {c.colour for c in systems[0].drawing.inks}


def test_a_box_can_be_left_out_and_the_grey_kept() -> None:
    engraving = engraved("two bars high and low", draw_box=False)
    system = engraving.systems[0]
    assert system.boxes == ()
    assert engraving.style.context in {c.colour for c in system.drawing.inks}
