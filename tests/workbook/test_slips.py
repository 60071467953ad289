"""Slips to draw scales from. Default tier."""

from __future__ import annotations

from datetime import date

from excerpts.weekfile.scale_list import ListedScale
from excerpts.words import Words
from excerpts.workbook.slips import Slip, build_slips, slip_of
from tests.pdf_text import page_texts


def listed(**values: object) -> ListedScale:
    return ListedScale.model_validate(values)


def test_what_stands_on_a_slip() -> None:
    scale = listed(key="G minor", pattern="arpeggio", octaves=2, bowing=3, tempo="crotchet = 54")
    assert slip_of(scale, Words()) == Slip(
        "G minor arpeggio, two octaves", "3 notes to a bow · crotchet = 54", ""
    )
    assert slip_of(scale, Words("us")).how == "3 notes to a bow · quarter note = 54"


def test_what_was_heard_is_ticked() -> None:
    slip = slip_of(listed(key="D", bowing="separate", heard=date(2026, 12, 7)), Words())
    assert slip == Slip("D major scale", "separate bows", "heard 7 December")


def test_a_slip_for_each_scale_over_as_many_pages_as_it_takes() -> None:
    keys = [f"{letter} {mode}" for letter in "CDEFGAB" for mode in ("major", "minor", "harmonic minor")]
    data = build_slips([listed(key=key) for key in keys])
    texts = page_texts(data)
    assert len(texts) == 2
    assert sum(text.count(" scale") for text in texts) == len(keys)
    assert build_slips([listed(key=key) for key in keys]) == data
