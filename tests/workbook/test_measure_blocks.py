"""What measuring strips rests on: digits are equally wide in the faces that pages are set in. Tier: default."""

from __future__ import annotations

from itertools import product

import pytest

from excerpts.workbook.render import lay_out_text

DIGITS = "0123456789"
AROUND = ["{}", "{}", "a{}", "{}b", "{}.", "{},", "{}/8", "{}–{}", "Mon {}", "{} min", "1.{}", "({})", "{}th"]


@pytest.mark.parametrize(
    "face",
    ["400 10pt Text", "600 10pt Text", "italic 400 10pt Text", "400 12pt Title", "600 17pt Title"],
)
def test_digits_are_equally_wide_whatever_stands_beside_them(face: str) -> None:
    digits = [*DIGITS, *("".join(pair) for pair in product(DIGITS, repeat=2))]
    texts = [around.replace("{}", digit) for around in AROUND for digit in digits]
    lines = "".join(f'<p>{text}<span id="n{place}"></span></p>' for place, text in enumerate(texts))
    html = f'<html><head><title/></head><body style="font: {face}">{lines}</body></html>'
    document = lay_out_text(
        html, images={}, styles=["page.css"], page_rules="@page{size:400mm 20000mm;margin:0}"
    )
    ends = {text: document.pages[0].anchors[f"n{place}"][0] for place, text in enumerate(texts)}
    widths: dict[str, set[float]] = {}
    for text, end in ends.items():
        widths.setdefault(text.translate(str.maketrans(DIGITS, "0" * 10)), set()).add(round(end, 4))
    assert min(min(found) for found in widths.values()) > 5
    assert {plain: len(found) for plain, found in widths.items()} == dict.fromkeys(widths, 1)
