"""The whole way: sizes, numbers, determinism, what is logged and what is refused."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from io import BytesIO
from threading import Thread

import pytest
from lxml import etree

from excerpts.engrave import Engraving, Style, engrave, picture, stack_svg
from excerpts.engrave.engraving import readable
from excerpts.engrave.prepare import prepare
from excerpts.errors import EngravingError
from excerpts.excerpt import Excerpt
from tests.engrave.cases import CASES, engraved
from tests.engrave.music import excerpt

STYLE = Style()


@pytest.mark.parametrize("name", CASES)
def test_systems_hold_every_bar_in_order_within_the_width(name: str) -> None:
    engraving = engraved(name)
    assert [bar.bar for system in engraving.systems for bar in system.bars] == list(
        range(len(CASES[name].bars))
    )
    for system in engraving.systems:
        assert system.width_mm == STYLE.width_mm
        for left, right in zip(system.bars, system.bars[1:], strict=False):
            assert left.right == pytest.approx(right.left)
        assert system.bars[0].left >= 0
        assert system.bars[-1].right <= STYLE.width_mm
        for rect in (ink.rect.moved(dy=-system.drawing.top_mm) for ink in system.music):
            assert -0.3 < rect.left
            assert rect.right < STYLE.width_mm + 0.3
            assert 0 <= rect.top
            assert rect.bottom <= system.height_mm


@pytest.mark.parametrize("name", CASES)
def test_all_systems_but_the_last_fill_the_width(name: str) -> None:
    for system in engraved(name).systems[:-1]:
        assert system.bars[-1].right == pytest.approx(STYLE.width_mm, abs=0.3)


@pytest.mark.parametrize("staff_mm", [5.5, 7.0, 7.5, 9.2, 12.0])
def test_the_staff_is_as_high_as_asked(staff_mm: float) -> None:
    for system in engraved("two boxes", staff_mm=staff_mm).systems:
        ((top, bottom),) = system.staves
        assert bottom - top == pytest.approx(staff_mm, abs=0.01)


def test_a_short_last_system_is_not_stretched() -> None:
    lone = engrave(excerpt(["C5:w"]), STYLE).systems[0]
    assert lone.bars[-1].right < 60


def test_the_staff_in_the_pdf_is_as_high_as_asked() -> None:
    import pdfplumber
    import weasyprint

    engraving = engraved("two bars high and low", staff_mm=7.0)
    html = "<style>@page{size:210mm 297mm;margin:15mm}img{display:block}</style>" + "".join(
        f'<img src="{picture(s)}" style="width:{s.width_mm}mm;height:{s.height_mm}mm">'
        for s in engraving.systems
    )
    with pdfplumber.open(BytesIO(weasyprint.HTML(string=html).write_pdf())) as pdf:
        lines = [line for line in pdf.pages[0].lines if line["x1"] - line["x0"] > 40]
    heights = sorted({round(line["top"], 1) for line in lines})
    staff = [y for y in heights if heights[0] <= y]
    found = {round((b - a) * 25.4 / 72, 2) for a in staff for b in staff if b > a}
    assert any(abs(height - 7.0) <= 0.1 for height in found)
    mine = [line for line in lines if round(line["stroking_color"][0], 2) == 0.0]
    tops = sorted({line["top"] for line in mine if line["x1"] - line["x0"] < 150})[:5]
    assert (tops[-1] - tops[0]) * 25.4 / 72 == pytest.approx(7.0, abs=0.1)


def test_printed_numbers_are_the_labels_of_the_source() -> None:
    labels = ["40", "41", "41a", "X1", "42", "43"]
    music = excerpt(["C5:q D5:q E5:q F5:q"] * 6, labels=labels)
    for system in engrave(music, replace(STYLE, bar_numbers="every")).systems:
        for bar in system.bars:
            printed = labels[bar.bar] if labels[bar.bar] != "X1" else ""  # that number stands in files only
            assert bar.label == printed
            assert (bar.number is not None) is bool(printed)


def test_a_number_is_set_in_the_letters_of_its_label() -> None:
    music = excerpt(["C5:w"], labels=["41a"])
    system = engrave(music, STYLE).systems[0]
    assert len([c for c in system.drawing.inks if c.ink.owner.kind == "label"]) == len("41a")


def test_numbers_stand_at_systems_and_boxes() -> None:
    numbered = [
        [bar.label for bar in system.bars if bar.number] for system in engraved("sixteen bars").systems
    ]
    assert numbered[0] == ["40", "41"]
    assert all(len(labels) == 1 for labels in numbered[1:])


def test_a_bar_without_a_number_in_the_source_has_none_here() -> None:
    music = excerpt(["C5:q", "C5:w"], labels=["0", "1"], implicit=frozenset({0}))
    bars = engrave(music, replace(STYLE, bar_numbers="every")).systems[0].bars
    assert [bar.number is not None for bar in bars] == [False, True]


def test_no_numbers_if_none_are_wanted() -> None:
    system = engraved("one bar", bar_numbers="none").systems[0]
    assert all(bar.number is None for bar in system.bars)


def test_notes_stand_where_the_music_says() -> None:
    system = engraved("beats at an accidental").systems[0]
    first = [(note.onset, note.pitch) for note in system.notes if note.bar == 0]
    assert first == [(Fraction(i), pitch) for i, pitch in enumerate(["C5", "F#5", "G5", "Bb5"])]
    xs = [note.x for note in system.notes]
    assert xs == sorted(xs)
    assert system.notes[5].onset == Fraction(1, 2)


def test_a_whole_bar_rest_has_its_place() -> None:
    rest = '<note><rest measure="yes"/><duration>32</duration><voice>1</voice></note>'
    music = excerpt([["R:w"], "C5:w"])
    whole = replace(
        music,
        xml=music.xml.replace(
            b"<note><rest/><duration>32</duration><voice>1</voice><type>whole</type></note>", rest.encode()
        ),
    )
    assert rest.encode() in whole.xml
    notes = engrave(whole, STYLE).systems[0].notes
    assert [(note.bar, note.pitch) for note in notes] == [(0, ""), (1, "C5")]


def test_gathered_rests_are_opened() -> None:
    style = "<attributes><measure-style><multiple-rest>3</multiple-rest></measure-style></attributes>"
    music = excerpt([[style, "R:w"], "R:w", "R:w", "C5:w"])
    assert [bar.bar for s in engrave(music, STYLE).systems for bar in s.bars] == [0, 1, 2, 3]


def _svgs(engraving: Engraving) -> list[str]:
    return [system.svg for system in engraving.systems]


def test_the_same_excerpt_gives_the_same_bytes() -> None:
    music = CASES["two boxes"]
    first = _svgs(engrave(music, STYLE, ("1", "2")))
    engrave(CASES["cello"], STYLE)
    assert _svgs(engrave(music, STYLE, ("1", "2"))) == first
    code = (
        "import sys;from tests.engrave.cases import engraved;"
        "sys.stdout.write(''.join(s.svg for s in engraved('two boxes').systems))"
    )
    other = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True)
    assert other.stdout == "".join(first)


def test_other_threads_engrave_the_same() -> None:
    found: list[list[str]] = []
    thread = Thread(target=lambda: found.append(_svgs(engrave(CASES["viola"], STYLE, ("1",)))))
    thread.start()
    thread.join()
    assert found == [_svgs(engraved("viola"))]


def test_the_excerpt_is_left_as_it_was() -> None:
    music = CASES["cello"]
    before = music.xml
    engrave(music, STYLE)
    assert music.xml == before
    assert b"<string>1</string>" in music.xml


def test_a_picture_is_an_svg_in_millimetres_without_references_or_fonts() -> None:
    import base64

    system = engraved("viola").systems[0]
    kind, data = picture(system).split(",", 1)
    assert kind == "data:image/svg+xml;base64"
    root = etree.fromstring(base64.b64decode(data))
    assert root.get("width") == "180mm"
    assert float((root.get("height") or "").removesuffix("mm")) == pytest.approx(system.height_mm, abs=0.001)
    names = {etree.QName(element).localname for element in root.iter(etree.Element)}
    assert names == {"svg", "path"}


def test_a_character_without_an_outline_is_printed_as_text_and_logged() -> None:
    engraving = engrave(excerpt(['C5:w:"琴']), STYLE)
    assert ">琴</text>" in engraving.systems[0].svg
    assert any("U+7434" in line for line in engraving.log)


def test_stacked_systems_stand_under_one_another() -> None:
    one, two = engraved("one bar"), engraved("sixteen bars")
    plain = etree.fromstring(stack_svg([one, two], gap_mm=10))
    headed = etree.fromstring(stack_svg([one, two], gap_mm=10, headings=["Bars 41–44", ""]))
    heights = [float((root.get("height") or "").removesuffix("mm")) for root in (plain, headed)]
    systems = [*one.systems, *two.systems]
    assert heights[0] > sum(system.height_mm for system in systems) + 10
    assert heights[1] > heights[0]
    assert len(plain) == len(systems)
    assert len(headed) == len(systems) + 1
    assert {etree.QName(e).localname for e in headed.iter(etree.Element)} == {"svg", "g", "path"}


def test_what_a_spoken_description_needs() -> None:
    spoken = engraved("two bars high and low").spoken
    assert (spoken.first, spoken.last, spoken.part) == ("42", "43", "Violin")
    assert (spoken.fifths, spoken.mode, spoken.beats, spoken.beat_type) == (-2, "major", "4", "4")


def test_music_that_is_not_what_the_excerpt_says_is_refused() -> None:
    music = CASES["one bar"]
    with pytest.raises(EngravingError):
        engrave(replace(music, bars=music.bars[:2]), STYLE)
    empty = b'<score-partwise version="4.0"><part-list/></score-partwise>'
    with pytest.raises(EngravingError):
        engrave(Excerpt(empty, ()), STYLE)


def test_complaints_of_the_engraver_are_kept() -> None:
    assert engraved("no box").log == ()
    open_tie = excerpt(["C5:w:tie", "D5:w"])
    assert any("ties left open" in line for line in engrave(open_tie, STYLE).log)


def test_complaints_name_the_bar_and_come_once() -> None:
    music = excerpt(["C5:h D5:h", "E5:w"], first=41)
    line = "[Warning] Insufficient space to draw mixed beam, starting at 'note2'."
    assert readable((line, line, "[Warning] bar0"), music, prepare(music)) == (
        "[Warning] Insufficient space to draw mixed beam, starting at bar 42.",
        "[Warning] bar 41",
    )


@pytest.mark.parametrize("lines", [1, 0])
def test_staves_of_other_than_five_lines_are_drawn(lines: int) -> None:
    details = f"<attributes><staff-details><staff-lines>{lines}</staff-lines></staff-details></attributes>"
    music = excerpt([[details, "C5:q", "C5:q", "C5:h"], "C5:w"], [(0, 0, 0, None)])
    system = engrave(music, STYLE, ("1",)).systems[0]
    assert [note.bar for note in system.notes] == [0, 0, 0, 1]
    assert len(system.boxes) == 1
