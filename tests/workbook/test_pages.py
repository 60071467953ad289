"""What the pages say of beats, tempos and kept boxes, and that pages come out as they were made up."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import pdfplumber
import pikepdf
import pytest
from lxml import etree

import excerpts.workbook.page_fit as fit_module
from excerpts.editions import EDITIONS, EditionName, edition
from excerpts.engrave import Spoken, Style, engrave
from excerpts.excerpt import Excerpt, Tempo
from excerpts.score import open_score
from excerpts.system.resources import scores
from excerpts.week import load_week
from excerpts.week.bars_in_words import beats_of
from excerpts.words import Words
from excerpts.workbook import build_workbook
from excerpts.workbook.impose import folded_order
from excerpts.workbook.music_names import SpokenNames
from excerpts.workbook.pace import without_tempo
from excerpts.workbook.page_fit import MM_PER_PX, Fitter
from excerpts.workbook.pages import BoxPage
from excerpts.workbook.paginate import Page
from tests.pdf_text import text_of
from tests.workbook.weeks import OLDER, YOUNG, score, week

NOOR = scores() / "weeks" / "noor-week-49.toml"


# --- beats ---


@pytest.mark.parametrize(
    ("address", "first", "last"),
    [
        ("15:3-16:2", "3", "2"),
        ("15:3-16", "3", ""),
        ("15-16:2.5", "", "2.5"),
        ("12:3", "3", "3"),
        ("C+7:2-C+8:1", "2", "1"),
        ("mark:12:2-mark:12:3", "2", "3"),
        ("41-48", "", ""),
        ("@1-@4", "", ""),
    ],
)
def test_beats_of_an_address(address: str, first: str, last: str) -> None:
    beats = beats_of(address)
    assert (beats.first, beats.last) == (first, last)


@pytest.mark.parametrize(
    ("choice", "bars", "address", "said"),
    [
        ("uk", ("15", "16"), "15:3-16:2", "bar 15, beat 3, to bar 16, beat 2"),
        ("us", ("15", "16"), "15:3-16:2", "measure 15, beat 3, to measure 16, beat 2"),
        ("uk", ("15", "16"), "15:3-16", "bar 15, beat 3, to bar 16"),
        ("uk", ("15", "15"), "15:2-15:3", "bar 15, beats 2 to 3"),
        ("uk", ("15", "15"), "15:2", "bar 15, beat 2"),
        ("uk", ("41", "48"), "41-48", "bars 41–48"),
        ("de", ("15", "16"), "15:3-16:2", "Takt 15, Schlag 3, bis Takt 16, Schlag 2"),
        ("uk", ("1", "4", "opening"), "0-4", "pick-up to bar 4"),
        ("us", ("1", "4", "opening"), "0-4", "pick-up to measure 4"),
        ("de", ("1", "4", "opening"), "0-4", "Auftakt bis Takt 4"),
        ("uk", ("1", "", "opening"), "0", "pick-up"),
        ("uk", ("13", "", "inner"), "@14", "pick-up before bar 13"),
        ("uk", ("13", "16", "inner"), "@14-@18", "bars 13–16 with the pick-up"),
        ("de", ("13", "13", "inner"), "@14-@15", "Takt 13 mit Auftakt"),
        ("uk", ("1", "4", "opening"), "0-4:2", "pick-up, to bar 4, beat 2"),
        ("uk", ("1", "", "opening"), "0:4", "pick-up, beat 4"),
    ],
)
def test_a_box_says_its_bars_and_beats(choice: str, bars: tuple[str, ...], address: str, said: str) -> None:
    first, last, pickup = (*bars, "")[:3]
    assert SpokenNames(Words(choice)).place(Spoken(first, last, pickup=pickup), address) == said


# --- tempo marks of variants ---


def _marked(body: str) -> Excerpt:
    xml = f"<score-partwise><part-list/><part id='P1'><measure number='1'>{body}</measure></part></score-partwise>"
    return Excerpt(xml.encode(), (), tempo=Tempo(Fraction(66)))


_MARK = "<metronome><beat-unit>quarter</beat-unit><per-minute>66</per-minute></metronome>"
NUMBER = f"<direction-type>{_MARK}</direction-type>"


def _words(text: str, **given: str) -> str:
    attributes = "".join(f' {name.replace("_", "-")}="{value}"' for name, value in given.items())
    return f"<direction-type><words{attributes}>{text}</words></direction-type>"


@pytest.mark.parametrize(
    ("body", "left"),
    [
        (f"<direction>{_words('Andante')}{NUMBER}<sound tempo='66'/></direction>", []),
        (f"<direction>{_words('Andante')}<sound tempo='66'/></direction>", []),
        (f"<direction>{_words('(')}{NUMBER}{_words(')')}</direction>", []),
        (f"<direction>{_words('Largo', font_weight='bold')}</direction><direction>{NUMBER}</direction>", []),
        (f"<direction>{NUMBER}</direction><direction>{_words('Sul G')}</direction>", ["Sul G"]),
        (f"<direction>{_words('rit.')}<sound tempo='40'/></direction>", ["rit."]),
        (f"<direction>{_words('dolce')}</direction>", ["dolce"]),
    ],
)
def test_variants_are_printed_without_the_tempo_of_the_piece(body: str, left: list[str]) -> None:
    bare = without_tempo(_marked(body))
    root = etree.fromstring(bare.xml)
    assert root.findall(".//metronome") == []
    assert [element.text for element in root.iter("words")] == left
    assert bare.tempo is None


def test_the_music_of_a_box_keeps_its_tempo_mark_and_its_variants_have_none() -> None:
    excerpt = open_score(scores() / "gale-concerto-1.musicxml").part(None).passage("15").cut(1)
    assert b"<metronome" in excerpt.xml
    assert b"<metronome" not in without_tempo(excerpt).xml


# --- pages as they were made up ---


class _Watched(Fitter):
    """Keeps what was laid out."""

    seen: list[tuple[Sequence[Page], Any]]

    def __init__(self, lay_out: Any, *rest: Any, **named: Any) -> None:
        self.seen = []

        def watched(pages: Sequence[Page], numbers: Mapping[str, int]) -> Any:
            document = lay_out(pages, numbers)
            self.seen.append((pages, document))
            return document

        super().__init__(watched, *rest, **named)
        WATCHED.append(self)


WATCHED: list[_Watched] = []


_EDITIONS = pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=pytest.mark.long if name in {"letter", "booklet"} else ())
        for name in EDITIONS
    ],
)


@pytest.mark.slow
@_EDITIONS
def test_what_is_measured_once_is_as_high_as_measured_by_itself(
    name: EditionName, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Music with the same words, recipes and records: their heights, with every block in the galley and without."""
    import excerpts.workbook.build as build_module

    monkeypatch.setattr(build_module, "Fitter", _Watched)
    WATCHED.clear()
    build_workbook(load_week(NOOR), paper=name)
    monkeypatch.setattr(fit_module, "_likeness", lambda block: (block.kind, block.mark))
    build_workbook(load_week(NOOR), paper=name)
    once, each = ([block for page in one.seen[-1][0] for block in page.blocks] for one in WATCHED)
    assert len({(block.kind, block.alike) for block in once if block.alike}) < sum(
        bool(b.alike) for b in once
    )
    assert [block.height for block in once] == pytest.approx([block.height for block in each], abs=1e-6)


@pytest.mark.slow
@_EDITIONS
def test_pages_come_out_as_they_were_made_up(
    name: EditionName, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Two layouts, and every box where the arithmetic put it, to a tenth of a millimetre."""
    import excerpts.workbook.build as build_module

    monkeypatch.setattr(build_module, "Fitter", _Watched)
    WATCHED.clear()
    found = 0
    older = OLDER.replace("age = 15", "age = 70") if name == "letter" else OLDER
    for text in (older, YOUNG):
        build_workbook(week(tmp_path, text), paper=name)
        watched = WATCHED[-1]
        assert len(watched.seen) == 1  # and the galley
        pages, document = watched.seen[-1]
        size = edition(name, "letter" if text is YOUNG else "a4")
        for page, laid_out in zip(pages, document.pages, strict=True):
            down = size.running if page.running else 0.0
            for place, block in enumerate(page.blocks):
                gap = 0.0 if not place else block.close_gap if page.tight else block.gap
                if isinstance(block.item, BoxPage) and block.box is None:
                    at = laid_out.anchors[block.item.anchor][1] * MM_PER_PX - size.top
                    assert at == pytest.approx(down + gap, abs=0.1)
                    found += 1
                down += gap + block.height
    assert found == 4


@pytest.mark.long
@pytest.mark.slow
def test_pages_that_come_out_otherwise_are_tried_again(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Also where a height was taken wrongly, no page is lost and the numbers are right."""
    taken = fit_module.Fitter._with_height
    monkeypatch.setattr(
        fit_module.Fitter,
        "_with_height",
        lambda self, block, height, heads: taken(
            self, block, height * (0.2 if block.kind == "music" else 1), heads
        ),
    )
    text = text_of(build_workbook(week(tmp_path, OLDER)).pdf)
    assert "Short of time?" in text
    assert "Broke down at bar" in text


@pytest.mark.slow
def test_a_long_box_breaks_between_lines_only(tmp_path: Path) -> None:
    """A box of more bars than a page holds goes on with its next line, under its own name."""
    read = week(tmp_path, OLDER.replace('bars = "3-4"', 'bars = "1-48"'))
    score(tmp_path / "river.musicxml", 50)
    built = build_workbook(read, only=["boxes"])
    words = text_of(built.pdf)
    assert "bars 1–48, continued" in words
    with pdfplumber.open(io.BytesIO(built.pdf)) as pdf:
        for page in pdf.pages:
            assert max(mark["bottom"] for mark in page.lines) < float(page.height) - 14 * 72 / 25.4


# --- editions ---


@pytest.mark.parametrize(
    ("pages", "order"),
    [
        (4, [(3, 0), (1, 2)]),
        (3, [(None, 0), (1, 2)]),
        (8, [(7, 0), (1, 6), (5, 2), (3, 4)]),
        (5, [(None, 0), (1, None), (None, 2), (3, 4)]),
        (1, [(None, 0), (None, None)]),
    ],
)
def test_a_booklet_lies_in_order_when_folded(pages: int, order: list[tuple[int | None, int | None]]) -> None:
    assert folded_order(pages) == order


@pytest.mark.parametrize("pages", range(1, 33))
def test_a_folded_booklet_reads_from_first_to_last(pages: int) -> None:
    """Leaf by leaf: the right half of a front, then the left half of its back, and back out again."""
    sides = folded_order(pages)
    fronts, backs = sides[::2], sides[1::2]
    read = [page for front, back in zip(fronts, backs, strict=True) for page in (front[1], back[0])]
    read += [
        page
        for front, back in reversed(list(zip(fronts, backs, strict=True)))
        for page in (back[1], front[0])
    ]
    assert [page for page in read if page is not None] == list(range(pages))


@pytest.mark.slow
def test_a_phone_has_the_same_content_without_room_to_write(tmp_path: Path) -> None:
    read = week(tmp_path, OLDER)
    paper, phone = (text_of(build_workbook(read, paper=name).pdf) for name in ("a4", "phone"))
    for said in ("bars 3–4", "Long–short", "p. 7, bars 1–4", "Sing bar 3 first.", "Open strings, whole bows"):
        assert said in paper
        assert said in phone
    assert "what I noticed" not in phone


# --- only what is needed ---


@pytest.mark.slow
def test_only_some_sections(tmp_path: Path) -> None:
    read = week(tmp_path, OLDER)
    boxes = text_of(build_workbook(read, only=["boxes"]).pdf)
    assert "bars 3–4" in boxes
    assert "Missed a day?" not in boxes
    assert "Most clean runs" not in boxes
    plan = build_workbook(read, only=["plan"])
    assert plan.pages == 1
    assert "Missed a day?" in text_of(plan.pdf)
    assert "page 2" not in text_of(plan.pdf)
    both = text_of(build_workbook(read, only=("plan", "warm-ups")).pdf)
    assert "Missed a day?" in both
    assert "G major scale" in both


# --- technique ---


def test_bars_of_a_study_are_no_box(tmp_path: Path) -> None:
    """Their context is grey, but no label or line is drawn round them: boxes alone have numbers."""
    from excerpts.workbook.page_names import Names
    from excerpts.workbook.page_texts import PageTexts
    from excerpts.workbook.workbook_music import Music

    read = week(tmp_path, OLDER)
    music = Music(read, Names(read, PageTexts(Words("uk"))), Style())
    excerpt = next(iter(music.orders.technique.values())).music.made()  # type: ignore[union-attr]
    assert excerpt is not None
    plain, boxed = (engrave(excerpt, style) for style in (music.in_context, music.boxed))
    assert all(not system.boxes for system in plain.systems)
    assert any(system.boxes for system in boxed.systems)
    assert any(music.in_context.context in system.svg for system in plain.systems)


def test_a_line_of_music_that_goes_on_is_described_as_such() -> None:
    built = build_workbook(load_week(NOOR), only=["boxes"])
    with pikepdf.open(io.BytesIO(built.pdf)) as file:
        told = [str(one.Alt) for one in file.objects if isinstance(one, pikepdf.Dictionary) and "/Alt" in one]
    assert "Bars 33–34, Viola, D minor, 4/4" in told
    assert "Bars 33–34, line 2 of 2" in told
    assert any(alt.startswith("Bar 15, beat 3, to bar 16, beat 2, Viola") for alt in told)
