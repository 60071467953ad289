"""Text as outlines. Outside check: the widths in the Times tables that the verovio package carries."""

from __future__ import annotations

import unicodedata
from importlib.resources import files

import pytest
from lxml import etree

from excerpts.engrave.svg.letters import THUMB, Run, letter, set_line

FACES = {"Times": (False, False), "Times-bold": (True, False), "Times-italic": (False, True)}


@pytest.mark.parametrize("table", FACES)
def test_widths_are_those_that_the_engraver_reckons_with(table: str) -> None:
    bold, italic = FACES[table]
    root = etree.fromstring(files("verovio").joinpath("data", "text", f"{table}.xml").read_bytes())
    em = float(root.get("units-per-em", "0"))
    compared = 0
    for glyph in root.iter("g"):
        code = int(glyph.get("c", ""), 16)
        if not 0x21 <= code <= 0x7E or glyph.get("h-a-x") is None:
            continue
        sign = letter(chr(code), bold, italic, music=False)
        assert sign is not None
        assert sign.advance == pytest.approx(float(glyph.get("h-a-x", "")) / em, abs=0.002), chr(code)
        compared += 1
    assert compared > 60


@pytest.mark.parametrize("character", "éÉüßÇñŁčőșΩжЖ–—…’“„«»·§°½")
def test_letters_of_europe_have_outlines_in_all_faces(character: str) -> None:
    for bold in (False, True):
        for italic in (False, True):
            sign = letter(character, bold, italic, music=False)
            assert sign is not None
            assert sign.outline is not None


@pytest.mark.parametrize("character", ["\u266d", "\u266e", "\u266f", "\ueca5", "\ue551", THUMB])
def test_music_characters_show_in_text(character: str) -> None:
    sign = letter(character, bold=False, italic=False, music=False)
    assert sign is not None
    assert sign.outline is not None
    assert sign.advance > 0


def test_an_accidental_stands_on_the_line_and_is_about_as_high_as_a_capital() -> None:
    flat, capital = (letter(c, bold=False, italic=False, music=False) for c in "♭B")
    assert flat is not None
    assert flat.outline is not None
    assert flat.outline.box is not None
    assert capital is not None
    assert capital.outline is not None
    assert capital.outline.box is not None
    assert flat.outline.box.bottom == pytest.approx(0.0, abs=0.12)
    assert flat.outline.box.height == pytest.approx(capital.outline.box.height, rel=0.6)


def test_a_character_that_no_face_has_is_kept_for_the_reader() -> None:
    placed, width = set_line([Run("a琴b", 10.0)], 0.0, 0.0)
    assert [p.character for p in placed] == ["a", "琴", "b"]
    assert [p.outline is None for p in placed] == [False, True, False]
    assert width > 15


def test_combining_accents_join_their_letter() -> None:
    placed, _ = set_line([Run(unicodedata.normalize("NFD", "é"), 10.0)], 0.0, 0.0)
    assert [p.character for p in placed] == ["é"]


def test_anchors_shift_the_whole_line() -> None:
    starts = {
        anchor: set_line([Run("abc", 10.0)], 50.0, 0.0, anchor) for anchor in ("start", "middle", "end")
    }
    width = starts["start"][1]
    assert starts["start"][0][0].x == pytest.approx(50.0)
    assert starts["middle"][0][0].x == pytest.approx(50.0 - width / 2)
    assert starts["end"][0][0].x == pytest.approx(50.0 - width)
