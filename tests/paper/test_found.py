"""Staves and barlines that are found, against where verovio says that it put them; degraded pages by a fixed seed.

No real old plates and no telephone's photos have been tried: the floors are those of pages degraded by program.
"""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pypdfium2 as pdfium
import pytest
from PIL import Image, ImageFilter

from excerpts.paper.barlines import systems
from excerpts.paper.sheet import Greys, open_sheet
from excerpts.paper.staves import straightened
from tests.paper.degraded import KINDS
from tests.paper.engraved import Engraved, as_pdf, engraved

PIECES = [
    ("bach/bwv269.mxl", "Bravura", 6.5), ("haydn/opus74no1/movement3.mxl", "Leland", 6.0),
    ("mozart/k155/movement2.mxl", "Petaluma", 7.0), ("leadSheet/fosterBrownHair.mxl", "Leipzig", 7.0),
    ("schumann_clara/polonaise_op1n1.mxl", "Gootville", 7.0), ("haydn/opus74no1/movement2.mxl", "Leipzig", 7.0),
    ("mozart/k80/movement1.mxl", "Bravura", 6.5), ("mozart/k156/movement1.mxl", "Leland", 6.0),
    ("haydn/opus74no1/movement4.mxl", "Leipzig", 6.0), ("schumann_clara/polonaise_op1n3.mxl", "Bravura", 7.0),
    ("mozart/k458/movement3.mxl", "Leipzig", 6.0), ("bach/bwv66.6.mxl", "Petaluma", 7.5),
]  # fmt: skip


def rendered(pdf: bytes, dpi: int) -> Greys:
    with pdfium.PdfDocument(pdf) as document:
        greys = np.array(document[0].render(scale=dpi / 72, grayscale=True).to_numpy())
    return greys.reshape(greys.shape[:2])


def photographed(greys: Greys) -> Greys:
    """Turned, in uneven light, a little out of focus, with grain."""
    random = np.random.default_rng(7)
    picture = Image.fromarray(greys).rotate(1.1, Image.Resampling.BICUBIC, fillcolor=255)
    picture = picture.filter(ImageFilter.GaussianBlur(0.8))
    height, width = greys.shape
    light = 0.65 + 0.35 * np.linspace(0, 1, width)[None, :] * np.linspace(1, 0.8, height)[:, None]
    noisy = np.asarray(picture) * light + random.normal(0, 6, greys.shape)
    return noisy.clip(0, 255).astype(np.uint8)


def png(greys: Greys, dpi: int) -> bytes:
    written = BytesIO()
    Image.fromarray(greys).save(written, "PNG", dpi=(dpi, dpi))
    return written.getvalue()


def seen(data: bytes) -> list[tuple[list[tuple[float, float]], list[float]]]:
    """Systems as (top, height) of their staves and their barlines, in millimetres."""
    with open_sheet(data, 0) as sheet:
        greys = sheet.greys()
        page = straightened(greys)
        mm = sheet.width_mm / greys.shape[1] / page.scale
    return [
        ([(staff.top_at(staff.left) * mm, 4 * staff.space * mm) for staff in system.staves],
         [(left + right) / 2 * mm for left, right in system.bars])
        for system in systems(page)
    ]  # fmt: skip


def wanted_bars(bars: tuple[float, ...], first: float) -> list[float]:
    """Barlines with those of a double bar as one, without the line at the beginning."""
    merged: list[list[float]] = []
    for bar in bars:
        if merged and bar - merged[-1][-1] < 2.0:
            merged[-1].append(bar)
        else:
            merged.append([bar])
    return [(group[0] + group[-1]) / 2 for group in merged if group[0] > first]


def test_staves_and_barlines_of_a_drawn_page_are_where_the_engraver_put_them() -> None:
    page = engraved("bach/bwv66.6.mxl")
    found = seen(as_pdf(page))
    assert [len(staves) for staves, _ in found] == [len(staves) for staves, _ in page.systems]
    for (staves, bars), (true_staves, true_bars) in zip(found, page.systems, strict=True):
        for (top, height), (true_top, true_height) in zip(staves, true_staves, strict=True):
            assert top == pytest.approx(true_top, abs=0.1)
            assert height == pytest.approx(true_height, abs=0.01)
        # Of a repeat only the thin line is told by the engraver.
        assert bars == pytest.approx(wanted_bars(true_bars, 30), abs=1.0)


def scores(page: Engraved, data: bytes) -> tuple[bool, int, int, int]:
    """Whether all staves are right; barlines there, found of them, and false ones."""
    found = seen(data)
    staves = [len(one) for one, _ in found] == [len(one) for one, _ in page.systems]
    there = hit = false = 0
    for (_, bars), (_, true_bars) in zip(found, page.systems, strict=False):
        wanted = wanted_bars(true_bars, 15)
        there += len(wanted)
        near = [min((abs(bar - one) for bar in bars), default=99.0) < 1.5 for one in wanted]
        hit += sum(near)
        false += max(len(bars) - sum(near), 0)
    return staves, there, hit, false


HELD_OUT = [
    ("corelli/opus3no1/1grave.xml", "Leipzig", 6.5), ("beethoven/opus133.mxl", "Bravura", 6.0),
    ("beethoven/opus59no2/movement3.mxl", "Leland", 6.0), ("schumann_robert/opus41no1/movement1.mxl", "Gootville", 6.5),
    ("joplin/maple_leaf_rag.mxl", "Bravura", 7.0), ("mozart/k458/movement1.mxl", "Leland", 6.0),
    ("haydn/opus1no1/movement2.mxl", "Petaluma", 6.5), ("beethoven/opus18no1/movement1.mxl", "Bravura", 6.5),
    ("mozart/k155/movement1.mxl", "Leland", 7.0), ("leadSheet/berlinAlexandersRagtime.mxl", "Petaluma", 7.0),
    ("verdi/laDonnaEMobile.mxl", "Leipzig", 6.5), ("weber/concertino_clarinet.mxl", "Leland", 6.5),
]  # fmt: skip
"""Pages that no number in the detector was chosen by."""


@pytest.mark.long
@pytest.mark.slow
@pytest.mark.parametrize(
    ("pieces", "kind", "least_staves", "least_found", "most_false"),
    [
        pytest.param(PIECES, "drawn", 12, 0.99, 6, marks=pytest.mark.long),
        pytest.param(PIECES, "photo", 12, 0.97, 8, marks=pytest.mark.long),
        (HELD_OUT, "drawn", 12, 0.99, 8),
        pytest.param(HELD_OUT, "photo", 12, 0.96, 10, marks=pytest.mark.long),
    ],
)
def test_twelve_pages(
    pieces: list[tuple[str, str, float]], kind: str, least_staves: int, least_found: float, most_false: int
) -> None:
    right = there = hit = false = 0
    for name, font, unit in pieces:
        page = engraved(name, font, unit)
        data = as_pdf(page)
        if kind == "photo":
            data = png(photographed(rendered(data, 200)), 200)
        staves, all_bars, found, wrong = scores(page, data)
        right, there, hit, false = right + staves, there + all_bars, hit + found, false + wrong
    assert right >= least_staves
    assert hit >= least_found * there
    assert false <= most_false


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "least"), [("blurred", 2), ("worn plate", 0), ("turned by 3 degrees", 2)])
def test_a_bad_page_has_its_systems(kind: str, least: int) -> None:
    page = engraved("bach/bwv66.6.mxl")
    dpi, do = KINDS[kind]
    systems_right, exact = right_systems(page, png(do(rendered(as_pdf(page), dpi)), dpi))
    assert systems_right
    assert exact >= least


def right_systems(page: Engraved, data: bytes) -> tuple[bool, int]:
    """Whether the staves of every system are right, and in how many of them all barlines are counted."""
    found = seen(data)
    wanted = [(len(staves), len(wanted_bars(bars, 15))) for staves, bars in page.systems]
    told = [(len(staves), len(bars)) for staves, bars in found]
    if [staves for staves, _ in wanted] != [staves for staves, _ in told]:
        return False, 0
    return True, sum(one == other for one, other in zip(wanted, told, strict=True))


@pytest.mark.long
@pytest.mark.parametrize(
    ("kind", "least_pages", "least_systems"),
    [
        ("300 dpi", 12, 54), ("200 dpi", 12, 52), ("150 dpi", 12, 53), ("turned by 1 degree", 12, 53),
        ("turned by 3 degrees", 12, 52), ("perspective 2 %", 12, 53), ("perspective 5 %", 12, 54),
        ("bowed by 2 mm", 12, 54), ("blurred", 12, 55), ("uneven light", 12, 53), ("as a photo", 12, 52),
        ("worn plate", 11, 26),
    ],
)  # fmt: skip
def test_twelve_bad_pages(kind: str, least_pages: int, least_systems: int) -> None:
    """Of 60 systems on 12 pages that no number was chosen by; the worn plate is imitated."""
    dpi, do = KINDS[kind]
    told = []
    for name, font, unit in HELD_OUT:
        page = engraved(name, font, unit)
        told.append(right_systems(page, png(do(rendered(as_pdf(page), dpi)), dpi)))
    assert sum(right for right, _ in told) >= least_pages
    assert sum(exact for _, exact in told) >= least_systems
