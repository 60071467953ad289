"""What the engraver would drop without a word (measured on verovio 6.4.1) is printed all the same."""

from __future__ import annotations

from excerpts.engrave import Style, engrave
from excerpts.engrave.letters import THUMB, letter
from excerpts.engrave.prepare import prepare
from tests.engrave.music import excerpt

BRACKET = (
    '<direction placement="above"><direction-type><words>sul G</words></direction-type><direction-type>'
    '<bracket type="start" number="1" line-type="solid" line-end="none"/></direction-type></direction>'
)
BRACKET_END = (
    '<direction placement="above"><direction-type>'
    '<bracket type="stop" number="1" line-type="solid" line-end="down"/></direction-type></direction>'
)


def _letters(bars: list[str]) -> int:
    system = engrave(excerpt(bars), Style(bar_numbers="none")).systems[0]
    return len([c for c in system.drawing.inks if c.ink.owner.kind in {"fing", "string"}])


def test_string_numbers_are_printed_as_roman_numerals() -> None:
    assert _letters(["C5:w"]) == 0
    assert _letters(["C5:w:III"]) == 3
    assert _letters(["C5:w:2,III"]) == 4


def test_the_string_stands_outside_the_finger() -> None:
    root = prepare(excerpt(["C5:w:III,2"])).root
    assert [mark.text for mark in root.iter("fingering")] == ["2", "III"]


def test_the_thumb_is_printed_as_its_sign() -> None:
    system = engrave(excerpt(["A3:w:thumb"]), Style(bar_numbers="none")).systems[0]
    outlines = [c.ink.outline for c in system.drawing.inks if c.ink.owner.kind == "fing"]
    thumb = letter(THUMB, bold=True, italic=False, music=False)
    assert thumb is not None
    assert thumb.outline is not None
    assert [outline.ops for outline in outlines] == [thumb.outline.ops]


def test_open_string_and_bows_are_drawn_by_the_engraver() -> None:
    plain = engrave(excerpt(["A4:w"]), Style()).systems[0]
    for mark in ("open", "up", "down"):
        marked = engrave(excerpt([f"A4:w:{mark}"]), Style()).systems[0]
        assert len(marked.drawing.inks) == len(plain.drawing.inks) + 1


def test_a_bracket_after_words_keeps_its_hook() -> None:
    system = engrave(excerpt([[BRACKET, "G3:h", "A3:h"], ["B3:h", "C4:h", BRACKET_END]]), Style()).systems[0]
    assert [c for c in system.drawing.inks if c.ink.owner.kind == "bracketSpan"]


def test_words_and_metronome_do_not_run_together() -> None:
    mark = (
        '<direction placement="above"><direction-type><words>Allegro</words></direction-type><direction-type>'
        "<metronome><beat-unit>quarter</beat-unit><per-minute>92</per-minute></metronome></direction-type></direction>"
    )
    root = prepare(excerpt([[mark, "C5:w"]])).root
    assert root.findtext(".//words") == "Allegro\u00a0"
