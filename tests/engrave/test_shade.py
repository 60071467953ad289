"""Grey context: what is outside all boxes, to the note."""

from __future__ import annotations

import pytest

from excerpts.engrave import Style, System, engrave
from tests.engrave.cases import CASES, engraved
from tests.engrave.music import excerpt

STYLE = Style()


def _colours(system: System, kind: str) -> set[tuple[int, str]]:
    return {(c.ink.owner.bar, c.colour) for c in system.drawing.inks if c.ink.owner.kind == kind}


def contrast(colour: str) -> float:
    """Contrast with white: W3C WCAG 2.2, "contrast ratio" and "relative luminance"."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 1.05 / (0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2] + 0.05)


def test_the_grey_can_be_read() -> None:
    assert contrast("#ffffff") == pytest.approx(1.0)
    assert contrast(STYLE.context) >= 4.5


@pytest.mark.parametrize("name", [name for name, music in CASES.items() if music.boxes])
def test_notes_are_black_in_a_box_and_grey_outside(name: str) -> None:
    engraving = engraved(name)
    for system in engraving.systems:
        for note in system.notes:
            heads = {
                c.colour
                for c in system.drawing.inks
                if c.ink.owner.kind in {"notehead", "rest", "mRest"}
                and abs(c.ink.rect.left - note.head.left) < 0.01
                and c.ink.owner.bar == note.bar
            }
            assert heads == {STYLE.ink if note.boxed else STYLE.context}


def test_a_grace_note_at_the_end_of_a_boxed_bar_is_in_the_box() -> None:
    """It takes no time, so that it stands where the box ends; it belongs to the bar that it is written in."""
    grace = "<note><grace/><pitch><step>B</step><octave>4</octave></pitch><voice>1</voice><type>eighth</type></note>"
    for boxed in (0, 1):
        music = excerpt([["C5:w", grace], ["D5:w", grace], "E5:w"], [(boxed, 0, boxed, None)])
        (system,) = engrave(music, Style()).systems
        assert {(note.bar, note.boxed) for note in system.notes} == {(bar, bar == boxed) for bar in range(3)}
        assert len(system.notes) == 5


def test_clef_and_key_follow_the_first_bar_of_their_line() -> None:
    first, second, *_ = engraved("two boxes").systems
    assert _colours(first, "clef") == {(0, STYLE.context)}
    assert _colours(second, "clef") == {(second.bars[0].bar, STYLE.ink)}


def test_staff_lines_change_colour_at_the_edge_of_a_beat_exact_box() -> None:
    system = engraved("beats").systems[0]
    edge = system.boxes[0].rect.left
    lines = [c for c in system.drawing.inks if c.ink.owner.kind == "staff" and c.ink.owner.bar == 1]
    assert len(lines) == 10
    for line in lines:
        rect = line.ink.rect
        assert (rect.right <= edge + 0.1) != (rect.left >= edge - 0.1)
        assert line.colour == (STYLE.ink if rect.left >= edge - 0.1 else STYLE.context)


def test_without_a_box_nothing_is_grey() -> None:
    assert {c.colour for s in engraved("no box").systems for c in s.drawing.inks} == {STYLE.ink}


def test_grey_can_be_switched_off() -> None:
    system = engraved("one bar", grey_context=False).systems[0]
    assert STYLE.context not in {c.colour for c in system.drawing.inks}


def test_a_hairpin_is_black_as_far_as_the_box_goes() -> None:
    """It begins before the box and ends behind it: each of its lines changes colour at both edges."""
    wedge = '<direction placement="below"><direction-type><wedge type="{}"/></direction-type></direction>'
    bars = [[wedge.format("crescendo"), "C5:w"], "D5:w", ["E5:h", "E5:h", wedge.format("stop")]]
    (system,) = engrave(excerpt(bars, [(1, 0, 1, None)]), STYLE).systems
    box = system.boxes[0].rect
    pieces = [(c.ink.rect, c.colour) for c in system.drawing.inks if c.ink.owner.kind == "hairpin"]
    assert len(pieces) == 6
    for rect, colour in pieces:
        middle = (rect.left + rect.right) / 2
        assert colour == (STYLE.ink if box.left < middle < box.right else STYLE.context)
        assert not any(rect.left + 0.3 < side < rect.right - 0.3 for side in (box.left, box.right))
