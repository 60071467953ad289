"""The note of a tempo mark is drawn as the note that it is: a minim that looks like a crotchet halves the tempo."""

from __future__ import annotations

from fractions import Fraction
from io import BytesIO

import pdfplumber
import pytest
from weasyprint import HTML

from excerpts.words import Words
from excerpts.workbook.beat import beat, beat_images
from excerpts.workbook.render import write_pdf


def _ink(unit: Fraction) -> tuple[set[tuple[int, int]], int]:
    """Where the picture of a beat has ink, in pixels of 0.05 mm, and its width in pixels."""
    image = beat_images()[beat(unit, Words("uk")).src]
    style = "@page { size: 4mm 4mm; margin: 0 } body { margin: 0 } img { display: block }"
    page = f'<html><style>{style}</style><img src="beat:x"/></html>'
    document = HTML(string=page).render(cache={"beat:x": image})
    with pdfplumber.open(BytesIO(write_pdf(document, tagged=False))) as file:
        shown = file.pages[0].to_image(resolution=508).original.convert("L")
    inked = {(x, y) for x in range(shown.width) for y in range(shown.height) if shown.getpixel((x, y)) < 128}
    return inked, round(image.get_intrinsic_size(1, 1)[0] / 96 * 508)


@pytest.mark.parametrize(
    ("unit", "open_head", "stem"),
    [
        (Fraction(6), True, False),
        (Fraction(4), True, False),
        (Fraction(3), True, True),
        (Fraction(2), True, True),
        (Fraction(3, 2), False, True),
        (Fraction(1), False, True),
        (Fraction(1, 2), False, True),
    ],
)
def test_a_beat_is_drawn_as_the_note_that_it_is(unit: Fraction, open_head: bool, stem: bool) -> None:
    ink, width = _ink(unit)
    middle = 13 if stem else 21
    assert ((middle, 61) not in ink) is open_head
    assert ((middle, 61 - 8) in ink) or open_head  # the head is there
    assert any(y < 20 for _, y in ink) is stem
    assert max(x for x, _ in ink) < width
    dotted = unit.numerator == 3 or unit == 6
    right_of_head = {x for x, y in ink if 54 <= y <= 60 and x > (28 if stem else 41)}
    assert bool(right_of_head) is dotted
