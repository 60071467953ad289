"""Boxes by systems and by bar numbers: what is cut, what stands in front of it, and what is refused."""

from __future__ import annotations

import json
from contextlib import ExitStack
from fractions import Fraction
from functools import cache
from io import BytesIO
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
from PIL import Image

from excerpts.cli import main
from excerpts.errors import PaperError
from excerpts.paper import PageSeen, cut, find_pages, look, whole
from excerpts.paper.crop import cut_areas, cut_spans
from excerpts.paper.cut_paths import white_path
from excerpts.paper.looked import Looked, seen
from excerpts.paper.looked import look as look_at
from excerpts.paper.sheet import Sheet, open_sheet
from excerpts.paper.value import SystemSeen
from excerpts.week import BoxMusic, load_week
from excerpts.week.measured import week_music
from excerpts.week.orders.check import check_week
from excerpts.week.printed_bars import printed
from excerpts.weekfile.items import Piece
from excerpts.workbook import build_workbook
from tests.paper.engraved import as_pdf, engraved
from tests.paper.test_cut import WEEK, choral
from tests.paper.test_found import photographed, png, rendered
from tests.pdf_text import text_of

KEPT = ExitStack()
Found = dict[int, list[tuple[int, int, int]]]


@cache
def opened(data: bytes) -> tuple[Sheet, Looked]:
    """A page that stays open as long as the tests."""
    sheet = KEPT.enter_context(open_sheet(data, 0))
    return sheet, look_at(sheet)


@pytest.mark.slow
def test_a_system_is_cut_from_barline_to_barline_with_a_bar_on_each_side_and_its_clef() -> None:
    sheet, looked = opened(choral())
    bars = [bar for bar in engraved("bach/bwv66.6.mxl").systems[1][1] if bar > 40]
    (line,) = cut_spans(sheet, looked, [(2, 2, 3)])
    assert line.kind == "vector"
    assert line.box is not None
    assert line.box == pytest.approx((bars[1] - bars[0], bars[2] - bars[0]), abs=0.3)
    assert line.width_mm == pytest.approx(bars[3] - bars[0] + 0.37, abs=0.3)  # with the barline
    assert line.clef_to < 0
    # Clef and three sharps: 2.7 and three times 1 staff space of 1.5 mm, from common practice.
    assert 7 < line.lead_mm < 18
    assert line.at == pytest.approx((bars[1], line.at[1], bars[2], line.at[3]), abs=0.3)
    assert "business" not in text_of(line.pdf) + text_of(line.lead)
    (start,) = cut_spans(sheet, looked, [(2, 0, 2)])
    assert start.clef_to > 7  # it shows them itself


@pytest.mark.slow
def test_an_area_over_two_systems_is_a_line_of_each(tmp_path: Path) -> None:
    sheet, looked = opened(choral())
    above, below = (system.area for system in seen(sheet, looked).systems)
    bars = [bar for bar in engraved("bach/bwv66.6.mxl").systems[0][1] if 40 < bar < 100]
    area = (bars[0], above[1] - 3, bars[1], below[3] + 3)
    first, second = cut_areas(sheet, looked, [area])
    assert first.kind == second.kind == "vector"
    assert first.at[3] <= second.at[1] + 0.01
    assert above[3] < first.at[3] < below[1]
    # The same as of two areas that meet between them.
    middle = (above[3] + below[1]) / 2
    by_two = cut_areas(sheet, looked, [(*area[:3], middle), (area[0], middle, *area[2:])])
    for one, other in zip((first, second), by_two, strict=True):
        assert one.at == pytest.approx(other.at, abs=0.1)
        assert one.box == pytest.approx(other.box, abs=0.1)


@pytest.mark.slow
def test_two_systems_without_white_between_them_are_not_taken_for_an_area(tmp_path: Path) -> None:
    sheet, looked = opened(choral())
    above, below = (system.area for system in seen(sheet, looked).systems)
    greys = rendered(choral(), 200).copy()
    rows, columns = (
        [round(side * 200 / 25.4) for side in sides] for sides in ((above[3], below[1]), (60, 80))
    )
    greys[slice(*rows), slice(*columns)] = 0
    (tmp_path / "page.png").write_bytes(png(greys, 200))
    with pytest.raises(PaperError, match="reaches over 2 systems, and there is no white between them"):
        cut(find_pages(tmp_path / "page.png"), 1, [(20, above[1] - 3, 100, below[3] + 3)])


def test_neighbouring_bars_of_an_area_are_its_context_also_in_mid_bar() -> None:
    sheet, looked = opened(choral())
    second = seen(sheet, looked).systems[1].area
    bars = [bar for bar in engraved("bach/bwv66.6.mxl").systems[1][1] if bar > 40]
    (line,) = cut_areas(sheet, looked, [(bars[1] - 8, second[1] - 3, bars[2], second[3] + 3)])
    assert line.box == pytest.approx((bars[1] - 8 - bars[0], bars[2] - bars[0]), abs=0.3)
    assert line.width_mm == pytest.approx(bars[3] - bars[0] + 0.37, abs=0.3)  # with the barline


@pytest.mark.parametrize(
    ("span", "words"),
    [((3, 0, 1), "there is no system 3: the page has 2 systems."),
     ((1, 2, 9), "there is no barline 9 in system 1: it has 5 barlines.")],
)  # fmt: skip
def test_a_system_or_barline_that_is_not_there(span: tuple[int, int, int], words: str) -> None:
    sheet, looked = opened(choral())
    with pytest.raises(PaperError, match=words.replace(".", r"\.")):
        cut_spans(sheet, looked, [span])


def test_what_is_seen_is_told_in_millimetres() -> None:
    page = seen(*opened(choral()))
    assert (page.dpi, page.grey) == (None, False)
    for system, (staves, bars) in zip(page.systems, engraved("bach/bwv66.6.mxl").systems, strict=True):
        assert [staff[1] for staff in system.staves] == pytest.approx([top for top, _ in staves], abs=0.1)
        assert system.staff_mm == pytest.approx(staves[0][1], abs=0.02)
        middle = [bar for bar in bars if 40 < bar < 200]
        assert [bar[0] for bar in system.bars[1 : len(middle) + 1]] == pytest.approx(middle, abs=0.2)


def test_a_cut_goes_round_ink_that_reaches_out_of_its_system() -> None:
    ink = np.zeros((60, 200), bool)
    ink[:40, 80:90] = True  # something hangs down over the middle
    columns, rows = white_path(ink, 0, 200, 0, 60, 30)
    crossed = ink[rows.astype(int), np.minimum(columns.astype(int), 199)]
    assert not crossed.any()
    assert rows[0] == pytest.approx(30, abs=1)


def page_of(*counts: int, dpi: float | None = None, grey: bool = False) -> PageSeen:
    bar = (0.0, 0.0, 0.0, 0.0)
    systems = tuple(SystemSeen(((0, 0, 1, 1),), 7.0, (bar,) * (count + 1), ()) for count in counts)
    return PageSeen(210, 297, dpi, grey, systems)


def asked(monkeypatch: pytest.MonkeyPatch, bars: str, page: PageSeen, **keys: object) -> Found:
    from excerpts.week import printed_bars

    monkeypatch.setattr(printed_bars, "look", lambda pages, number: page)
    piece = Piece.model_validate({"id": "a", "title": "A", "pages": "a.pdf", **keys})
    return printed_bars.spans_of_bars(bars, piece, None)  # type: ignore[arg-type]


def test_bars_are_found_by_the_numbers_that_systems_begin_with(monkeypatch: pytest.MonkeyPatch) -> None:
    page = page_of(6, 5, 6)
    firsts = {"3": [41, 47, 52, 58]}
    assert asked(monkeypatch, "48-51", page, first_bars=firsts) == {3: [(2, 1, 5)]}
    assert asked(monkeypatch, "46-53", page, first_bars=firsts) == {3: [(1, 5, 6), (2, 0, 5), (3, 0, 2)]}
    assert asked(monkeypatch, "57", page, first_bars=firsts) == {3: [(3, 5, 6)]}
    over = {"3": [41, 47, 52], "4": [58, 64, 69, 75]}
    assert asked(monkeypatch, "57-58", page, first_bars=over) == {3: [(3, 5, 6)], 4: [(1, 0, 1)]}


@pytest.mark.parametrize(
    ("bars", "page", "firsts", "words"),
    [
        ("48-51", page_of(6, 6, 6), [41, 47, 52, 58], r"system 2 \(from bar 47\): 6 barlines are found .* makes 5"),
        ("53", page_of(6, 5, 6), [41, 47, 52], "what comes after it is not known, so its 6 barlines"),
        ("48", page_of(6, 5), [41, 47, 52, 58], "page 3 has 2 systems, and first_bars gives 4"),
        ("148", page_of(6, 5, 6), [41, 47, 52, 58], "bars 148 are not on the pages"),
        ("C-D", page_of(6, 5, 6), [41, 47, 52, 58], 'bars are numbers, as "48-51"'),
        ("48", page_of(6, 5, 6, dpi=120), [41, 47, 52, 58], "a scan of 120 dots an inch, which is not counted unseen"),
        ("48", page_of(6, 5, 6, dpi=300, grey=True), [41, 47, 52, 58], "a photo or a grey scan"),
    ],
)  # fmt: skip
def test_a_sum_that_is_wrong_is_told(
    monkeypatch: pytest.MonkeyPatch, bars: str, page: PageSeen, firsts: list[int], words: str
) -> None:
    with pytest.raises(PaperError, match=words):
        asked(monkeypatch, bars, page, first_bars={"3": firsts})


def test_a_person_counts_the_bars_of_a_photo(monkeypatch: pytest.MonkeyPatch) -> None:
    page, firsts = page_of(6, 5, 6, dpi=200, grey=True), {"3": [41, 47, 52, 58]}
    assert asked(monkeypatch, "48", page, first_bars=firsts, counted={"3": [6, 5, 6]}) == {3: [(2, 1, 2)]}
    with pytest.raises(PaperError, match="counted says 4"):
        asked(monkeypatch, "48", page, first_bars=firsts, counted={"3": [6, 4, 6]})


BY_NUMBER = WEEK.replace('bars = "5-6"\npage = 1\narea = [2, 70, 97, 130]\n', 'bars = "6-8"\n').replace(
    'pages = "choral.pdf"\n', 'pages = "choral.pdf"\nfirst_bars = {1 = [0, 5, 10]}\nmetre = "4/4"\n'
)


@pytest.mark.slow
def test_a_week_prints_bars_by_their_numbers(tmp_path: Path) -> None:
    (tmp_path / "choral.pdf").write_bytes(choral())
    (tmp_path / "ada.toml").write_text(BY_NUMBER, encoding="utf-8")
    assert check_week(tmp_path / "ada.toml").faults == ()
    week = load_week(tmp_path / "ada.toml")
    held = printed(week.boxes[0], week.pieces[0], find_pages(tmp_path / "choral.pdf"))
    assert (held.pages, len(held.lines)) == ((1,), 1)
    music = week_music(week).boxes["a"]
    assert music == BoxMusic(Fraction(12), 3, first=6)
    built = build_workbook(week)
    assert built.warnings == ()
    assert "Choral, bars 6–8" in text_of(built.pdf)


@pytest.mark.parametrize(
    ("systems", "words"),
    [('["2; 1-4"]', "is no part of a system"), ('["2: 4-4"]', "ends where it begins"), ("[]", "at least 1")],
)
def test_systems_are_checked_as_text(tmp_path: Path, systems: str, words: str) -> None:
    (tmp_path / "choral.pdf").write_bytes(b"")
    text = WEEK.replace("area = [2, 70, 97, 130]", f"systems = {systems}")
    (tmp_path / "ada.toml").write_text(text, encoding="utf-8")
    assert words in " ".join(str(fault) for fault in check_week(tmp_path / "ada.toml").faults)


def ran(*arguments: object) -> int:
    return main([str(one) for one in arguments])


@pytest.mark.slow
def test_pages_are_drawn_with_their_systems_and_barlines(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "choral.pdf").write_bytes(choral())
    assert ran("paper", tmp_path / "choral.pdf", "-o", tmp_path / "seen") == 0
    out, err = capsys.readouterr()
    assert "2  4 staves" in out
    assert "barlines 0-5" in out
    assert "Copying or rearranging a printed edition" in err
    picture = np.asarray(Image.open(tmp_path / "seen" / "choral-page-1.png"))
    assert (picture == (0, 110, 90)).all(axis=2).sum() > 2000
    assert ran("paper", tmp_path / "choral.pdf", "-o", tmp_path / "seen", "--json", "--force") == 0
    (page,) = json.loads(capsys.readouterr().out)["pages"]
    assert [len(system["bars"]) for system in page["systems"]] == [6, 6]
    target = tmp_path / "numbered.pdf"
    assert ran("paper", tmp_path / "choral.pdf", "-o", target) == 0
    assert f"· {target}" in capsys.readouterr().out
    assert "choral.pdf, page 1" in text_of(target.read_bytes())
    printed_page = Image.open(BytesIO(png_in_colour(target.read_bytes())))
    green = (np.asarray(printed_page) == (0, 110, 90)).all(axis=2)
    assert green.sum() > 2000
    # A line at each barline, and the number of each system at its left.
    assert (green.sum(axis=0) > 200).sum() >= 10
    assert ran("paper", tmp_path / "choral.pdf", "-o", target) == 0  # its own file is written over
    assert ran("paper", tmp_path / "choral.pdf", "--page", "2") == 2
    assert ran("paper", tmp_path / "nothing.pdf") == 2


def png_in_colour(pdf: bytes) -> bytes:
    with pdfium.PdfDocument(pdf) as document:
        written = BytesIO()
        document[0].render(scale=2).to_pil().save(written, "PNG")
    return written.getvalue()


@pytest.mark.slow
def test_a_page_without_staves_and_a_coarse_one_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Image.new("L", (1000, 1400), 255).save(tmp_path / "white.png", dpi=(120, 120))
    (tmp_path / "coarse.png").write_bytes(png(rendered(choral(), 110), 110))
    assert ran("paper", tmp_path / "white.png") == 0
    assert "no staves are found. Take it again: flat, from above, in even light." in capsys.readouterr().err
    assert ran("paper", tmp_path / "coarse.png") == 0
    assert "it has about 110 dots an inch" in capsys.readouterr().err


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["pdf", "scan", "scan in a PDF", "photo"])
def test_a_name_is_blanked_on_every_kind_of_page(tmp_path: Path, kind: str) -> None:
    """Its ink and its text are gone, in a box and on a whole page."""
    (_, _, _, top), (left, bottom, *_) = seen(*opened(choral())).systems[1].staves[:2]
    name = f"<p style='left:{left + 8:.1f}mm;top:{(top + bottom) / 2 - 1.8:.1f}mm'>Nobody Noone</p>"
    data = as_pdf(engraved("bach/bwv66.6.mxl"), extra=name)
    blank = (left + 7, (top + bottom) / 2 - 2.2, left + 45, (top + bottom) / 2 + 2.2)
    path = tmp_path / f"page.{'pdf' if 'pdf' in kind.lower() else 'png'}"
    if kind != "pdf":
        greys = rendered(data, 200)
        greys = greys if kind == "photo" else np.where(greys < 128, 0, 255).astype(np.uint8)
        data = png(greys, 200)
    if kind == "scan in a PDF":
        Image.open(BytesIO(data)).convert("1").save(path, "PDF", resolution=200)
    else:
        path.write_bytes(data)
    pages = find_pages(path)
    plain, white = (
        (cut(pages, 1, spans=[(2, 0, 2)], blank=areas).lines[0], whole(pages, 1, areas))
        for areas in ((), (blank,))
    )
    for before, after in zip(plain, white, strict=True):
        x, y = (0.0, 0.0) if before is plain[1] else (before.at[0], before.at[1])
        rows, columns = (
            slice(round((blank[low] - edge) * 10) + 3, round((blank[low + 2] - edge) * 10) - 3)
            for low, edge in ((1, y), (0, x))
        )
        inked, cleared = (rendered(one.pdf, 720)[rows, columns] < 128 for one in (before, after))
        assert inked.mean() > 0.02  # ten dots to a millimetre: points of these pages are millimetres
        assert not cleared.any()
        assert "Nobody" not in text_of(after.pdf)
    assert ("Nobody" in text_of(plain[1].pdf)) == (kind == "pdf")


def bowed(greys: np.ndarray) -> np.ndarray:
    """A page that does not lie flat: its middle stands 2 mm lower than its sides."""
    height, width = greys.shape
    down = np.rint(2 * width / 210 * np.sin(np.linspace(0, np.pi, width))).astype(int)
    rows = (np.arange(height)[:, None] - down).clip(0, height - 1)
    made: np.ndarray = greys[rows, np.arange(width)]
    return made


@pytest.mark.slow
def test_a_bowed_photo_is_made_level(tmp_path: Path) -> None:
    (tmp_path / "photo.png").write_bytes(png(bowed(photographed(rendered(choral(), 200))), 200))
    assert look(find_pages(tmp_path / "photo.png"), 1).counts == (5, 5)
    (line,) = cut(find_pages(tmp_path / "photo.png"), 1, spans=[(2, 0, 5)]).lines
    greys = rendered(line.pdf, 400)
    # A staff line runs along one row from end to end.
    assert (greys < 200).mean(axis=1).max() > 0.8


def test_a_page_that_was_looked_at_is_not_opened_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from excerpts.paper import ask

    (tmp_path / "choral.pdf").write_bytes(choral())
    first = look(find_pages(tmp_path / "choral.pdf"), 1)
    monkeypatch.setattr(ask, "_child", lambda: pytest.fail("a child was asked"))
    (tmp_path / "copy.pdf").write_bytes(choral())
    assert look(find_pages(tmp_path / "copy.pdf"), 1) == first
