"""The layout audit: every page of the demo workbooks, in every edition, held to what a good page is."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, partial
from typing import Any

import pikepdf
import pytest

from excerpts.editions import EDITIONS, Edition, EditionName, edition
from excerpts.engrave import Style, System, engrave
from excerpts.excerpt import Box, Excerpt
from excerpts.system.resources import scores
from excerpts.week import Week, load_week
from excerpts.words import Words
from excerpts.workbook import Built, build_workbook
from excerpts.workbook.page_names import Names
from excerpts.workbook.page_texts import PageTexts
from excerpts.workbook.reader import fitting, reader
from excerpts.workbook.workbook_music import Music
from tests.workbook.audit import elements, orphans, outside, overlaps, split_music, staff_heights, ua_faults

WEEKS = sorted((scores() / "weeks").glob("*.toml"))
PAGES = {"jonas-week-49": 5, "mila-week-49": 3, "noor-week-49": 8}
"""Pages of the demo workbooks on A4: more would be paper wasted, and are a fault of the layout."""

FOOT_MM = 5.5
"""Printers leave so much white at the edge: the foot of the page stands above it."""


@dataclass(frozen=True)
class Demo:
    week: Week
    size: Edition
    staff_mm: float
    built: Built

    @property
    def pdf(self) -> bytes:
        return self.built.pdf

    def open(self) -> pikepdf.Pdf:
        return pikepdf.open(io.BytesIO(self.pdf))


@cache
def _demo(place: int, name: EditionName) -> Demo:
    week = load_week(WEEKS[place])
    size = edition(name, week.paper)
    kind = fitting(reader(week.player.level, week.player.age, week.staff_mm), size)
    return Demo(week, size, kind.staff_mm, build_workbook(week, paper=name))


YOUNGEST = 1
ELSEWHERE = {("noor-week-49", "large"), ("jonas-week-49", "phone")}
"""Another player's workbook in the editions that differ most from paper of the usual size."""


@pytest.fixture(
    scope="module",
    params=[pytest.param(n, marks=() if n == YOUNGEST else pytest.mark.slow) for n in range(len(WEEKS))],
    ids=[path.stem for path in WEEKS],
)
def demo(request: pytest.FixtureRequest) -> Demo:
    return _demo(request.param, "a4")


@pytest.fixture(scope="module", params=[name for name in EDITIONS if name != "a4"])
def edition_of_demo(request: pytest.FixtureRequest) -> Demo:
    """The youngest player's workbook in the other editions."""
    return _demo(YOUNGEST, request.param)


def _hold(demo: Demo) -> None:
    """Everything that is asked of a workbook in any edition that is read page by page."""
    size = demo.size
    heights = staff_heights(demo.pdf)
    assert heights
    assert max(abs(height - demo.staff_mm) for height in heights) < 0.1
    assert overlaps(demo.pdf) == []
    assert outside(demo.pdf, size.inner, size.outer, size.top, min(FOOT_MM, size.bottom / 2 - 1.5)) == []
    with demo.open() as file:
        assert split_music(file, size.text_height) == []
        assert orphans(file) == []
        assert ua_faults(file) == []
        for page in file.pages:
            box = [float(value) * 25.4 / 72 for value in page.mediabox]
            assert box[2:] == pytest.approx((size.width, size.height), abs=0.01)


@pytest.mark.slow
def test_a_page_of_the_demo_is_as_it_should_be(demo: Demo) -> None:
    """Staves, margins, splits, headings, fonts, PDF/UA."""
    _hold(demo)


def test_the_demo_keeps_its_pages(demo: Demo) -> None:
    assert demo.built.pages <= PAGES[demo.week.path.stem]
    assert demo.built.warnings == ()


@pytest.mark.slow
def test_an_edition_is_as_it_should_be(edition_of_demo: Demo) -> None:
    """Letter, phone and large print as A4; the booklet two pages to a side."""
    if not edition_of_demo.size.folded:
        _hold(edition_of_demo)
        return
    assert overlaps(edition_of_demo.pdf) == []
    with edition_of_demo.open() as file:
        pages = len(file.pages)
        assert pages == -(-edition_of_demo.built.pages // 4) * 2
        for page in file.pages:
            box = [float(value) * 25.4 / 72 for value in page.mediabox]
            assert box[2:] == pytest.approx((297, 210), abs=0.01)


def test_all_music_is_described_in_the_players_words(demo: Demo) -> None:
    with demo.open() as file:
        figures = [one.alt for one in elements(file) if one.kind == "/Figure"]
    music = [alt for alt in figures if "bar" in alt.lower() or "octave" in alt]
    assert len(music) >= len(demo.week.boxes)
    assert any(alt.startswith(("Bar", "bar")) for alt in music)


def test_a_viewer_says_the_number_at_the_foot(demo: Demo) -> None:
    with demo.open() as file:
        assert str(file.Root.PageLabels.Nums[1].S) == "/D"
        assert int(file.Root.PageLabels.Nums[1].get("/St", 1)) == 1


def test_the_plan_links_to_every_box(demo: Demo) -> None:
    with demo.open() as file:
        linked = {str(one.Contents) for one in file.pages[0].get("/Annots", [])}
    assert linked == {f"box-{number}" for number in range(1, len(demo.week.boxes) + 1)}


def _engraved(week: Week) -> Iterator[tuple[Excerpt, System]]:
    kind = reader(week.player.level, week.player.age, week.staff_mm)
    music = Music(week, Names(week, PageTexts(Words(week.player.words))), Style(staff_mm=kind.staff_mm))
    for number, box in enumerate(week.boxes, start=1):
        excerpt = music.orders.boxes[number - 1].music.made()
        if excerpt is not None and box.abc is None:
            for system in engrave(excerpt, music.boxed, (str(number),)).systems:
                yield excerpt, system


@pytest.mark.parametrize("path", WEEKS, ids=lambda path: str(path.stem))
def test_boxes_enclose_exactly_their_bars(path: object) -> None:
    """From the engraver's geometry: all notes of the box are inside, all others outside; no line crosses a note."""
    week = load_week(str(path))
    systems = list(_engraved(week))
    assert systems
    for excerpt, system in systems:
        inside = partial(_is_boxed, excerpt)
        for place in system.boxes:
            for note in system.notes:
                middle = (note.head.left + note.head.right) / 2
                within = place.rect.left < middle < place.rect.right
                assert within == inside(note.bar, note.onset), (excerpt.origin.address, note)
                if within:
                    assert place.rect.top < note.rect.top
                    assert note.rect.bottom < place.rect.bottom


def _is_boxed(excerpt: Excerpt, bar: int, onset: object) -> bool:
    def holds(box: Box) -> bool:
        return (box.start.bar, box.start.onset) <= (bar, onset) < (box.end.bar, box.end.onset)

    return any(holds(box) for box in excerpt.boxes)


# --- the audit itself: it sees what is wrong ---


@pytest.fixture(scope="module")
def sound() -> bytes:
    return _demo(YOUNGEST, "a4").pdf


def test_letters_on_one_another_and_on_a_circle_are_seen() -> None:
    import weasyprint

    def page(left: float, round_: str = "") -> bytes:
        line = "position:absolute;top:20mm;left:{}mm;font:12pt serif"
        html = "".join(f'<p style="{line.format(x)}">word</p>' for x in (20.0, left)) + round_
        return bytes(weasyprint.HTML(string=html).write_pdf())

    tick = "position:absolute;top:22mm;left:22mm;width:4mm;height:4mm;border:1pt solid;border-radius:50%"
    assert overlaps(page(60)) == []
    assert overlaps(page(23))
    assert overlaps(page(60, f'<i style="{tick}"></i>'))


def _spoil_language(file: pikepdf.Pdf) -> None:
    del file.Root.Lang


def _spoil_title(file: pikepdf.Pdf) -> None:
    file.Root.ViewerPreferences.DisplayDocTitle = False


def _spoil_description(file: pikepdf.Pdf) -> None:
    figure = next(one for one in file.objects if isinstance(one, pikepdf.Dictionary) and "/Alt" in one)
    del figure.Alt


def _spoil_heading(file: pikepdf.Pdf) -> None:
    for one in file.objects:
        if isinstance(one, pikepdf.Dictionary) and one.get("/S") == "/H2":
            one.S = pikepdf.Name("/H5")


def _spoil_links(file: pikepdf.Pdf) -> None:
    del file.pages[0].Tabs
    for annotation in file.pages[0].Annots:
        annotation.Contents = pikepdf.String("")


def _spoil_faces(file: pikepdf.Pdf) -> None:
    for one in file.objects:
        if isinstance(one, pikepdf.Dictionary) and one.get("/Type") == "/FontDescriptor":
            for key in {"/FontFile2", "/FontFile3"} & set(one.keys()):
                del one[key]


def _spoil_content(file: pikepdf.Pdf) -> None:
    file.pages[0].contents_add(b"0 0 10 10 re f")


def _spoil_identifier(file: pikepdf.Pdf) -> None:
    xmp = file.Root.Metadata.read_bytes().replace(b'pdfuaid:part="1"', b'pdfuaid:part="9"')
    file.Root.Metadata.write(xmp)


@pytest.mark.parametrize(
    ("spoil", "points"),
    [
        (_spoil_language, {"11-006"}),
        (_spoil_title, {"07-002"}),
        (_spoil_description, {"13-004"}),
        (_spoil_heading, {"14-003"}),
        (_spoil_links, {"28-008", "28-012"}),
        (_spoil_faces, {"31-009"}),
        (_spoil_content, {"01-005"}),
        (_spoil_identifier, {"06-002"}),
    ],
)
def test_the_audit_sees_what_is_spoilt(
    sound: bytes, spoil: Callable[[pikepdf.Pdf], None], points: set[str]
) -> None:
    with pikepdf.open(io.BytesIO(sound)) as file:
        assert ua_faults(file) == []
        spoil(file)
        assert {fault.partition(":")[0] for fault in ua_faults(file)} == points


def test_the_audit_sees_headings_and_music_that_are_parted(sound: bytes) -> None:
    with pikepdf.open(io.BytesIO(sound)) as file:
        figures = [
            one for one in file.objects if isinstance(one, pikepdf.Dictionary) and one.get("/S") == "/Figure"
        ]
        figures[-1].Alt = pikepdf.String("Bars 1–2, line 2 of 2")
        figures[-1].Pg = file.pages[0].obj
        assert len(split_music(file, 10_000)) == 1
        last = [one for one in elements(file) if one.page == 0][-1]
        assert orphans(file) == []
        _turn_last_into_heading(file)
        assert orphans(file) == ["page 3 ends with /H2"], last


def _turn_last_into_heading(file: pikepdf.Pdf) -> None:
    """Make the last paragraph of the last page a heading."""
    number: dict[Any, int] = {page.objgen: place for place, page in enumerate(file.pages)}
    last = len(file.pages) - 1
    below = [
        one
        for one in file.objects
        if isinstance(one, pikepdf.Dictionary)
        and one.get("/S") == "/P"
        and "/Pg" in one
        and number[one.Pg.objgen] == last
    ]
    below[-1].S = pikepdf.Name("/H2")


def test_the_audit_sees_a_staff_of_another_height_and_print_in_the_margin(sound: bytes) -> None:
    assert {round(height, 1) for height in staff_heights(sound)} == {9.2}
    assert outside(sound, 15, 15, 13, FOOT_MM) == []
    assert outside(sound, 25, 15, 13, FOOT_MM)
    assert outside(sound, 15, 15, 13, 30)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("place", "name"),
    [
        pytest.param(
            place,
            name,
            marks=() if (path.stem, name) in ELSEWHERE else pytest.mark.long,
            id=f"{path.stem}-{name}",
        )
        for place, path in enumerate(WEEKS)
        for name in EDITIONS
        if place != YOUNGEST and name not in {"a4", "booklet"}
    ],
)
def test_every_edition_of_the_demo(place: int, name: EditionName) -> None:
    """The other players' workbooks; the long tier has all of them."""
    _hold(_demo(place, name))
