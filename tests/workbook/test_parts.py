"""The parts of the workbook that need no PDF: readers, dates, beats, names, the fitting of pages."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from excerpts.engrave import Style
from excerpts.week.measured import week_music
from excerpts.week.plan import plan_week
from excerpts.words import Words
from excerpts.workbook.beat import beat, beat_images
from excerpts.workbook.box_pages import BoxPages
from excerpts.workbook.first_page import FirstPage
from excerpts.workbook.page_names import Names, in_brief, shortened
from excerpts.workbook.page_texts import Dates, PageTexts
from excerpts.workbook.pages import BoxPage
from excerpts.workbook.pdf_image import DrawnMusic, UnknownShapeError
from excerpts.workbook.reader import reader
from excerpts.workbook.workbook_music import Music
from tests.workbook.weeks import OLDER, week


@pytest.mark.parametrize(
    ("level", "age", "print_", "circles", "most"),
    [
        ("first", None, "child", True, 3),
        ("first", 7, "child", True, 3),
        ("lower", 8, "child", True, 3),
        ("lower", 11, "standard", True, 8),
        ("first", 40, "standard", False, 8),
        ("middle", None, "standard", False, 8),
        ("upper", 70, "larger", False, 8),
    ],
)
def test_reader(level: str, age: int | None, print_: str, circles: bool, most: int) -> None:
    kind = reader(level, age)
    assert (kind.print, kind.circles, kind.most_pages) == (print_, circles, most)
    assert reader(level, age, 8.8).staff_mm == 8.8


def test_younger_readers_have_larger_staves() -> None:
    staves = [reader("lower", age).staff_mm for age in (7, 10, 15)]
    assert staves == sorted(staves, reverse=True)


@pytest.mark.parametrize(
    ("column", "first", "last", "said"),
    [
        ("uk", date(2026, 12, 7), date(2026, 12, 13), "7 to 13 December 2026"),
        ("us", date(2026, 12, 7), date(2026, 12, 13), "December 7 to 13, 2026"),
        ("uk", date(2026, 11, 30), date(2026, 12, 6), "30 November to 6 December 2026"),
        ("us", date(2026, 11, 30), date(2026, 12, 6), "November 30 to December 6, 2026"),
        ("uk", date(2026, 12, 28), date(2027, 1, 3), "28 December 2026 to 3 January 2027"),
    ],
)
def test_ranges_of_dates(column: Any, first: date, last: date, said: str) -> None:
    assert Dates(PageTexts(Words(column))).range(first, last) == said


@pytest.mark.parametrize(
    ("unit", "name"),
    [
        (Fraction(1), "crotchet"),
        (Fraction(3, 2), "dotted crotchet"),
        (Fraction(1, 2), "quaver"),
        (Fraction(3), "dotted minim"),
        (Fraction(1, 4), "semiquaver"),
        (Fraction(4), "semibreve"),
        (Fraction(8), "breve"),
        (Fraction(6), "dotted semibreve"),
        (Fraction(7, 4), "double-dotted crotchet"),
    ],
)
def test_beats_are_pictures_with_a_name(unit: Fraction, name: str) -> None:
    found = beat(unit, Words("uk"))
    assert found.name == name
    assert found.src in beat_images()


def test_no_two_beats_look_alike() -> None:
    drawn = [str(vars(image)) for image in beat_images().values()]
    assert len(set(drawn)) == len(drawn) == 8 * 3


def test_a_beat_without_a_picture_is_printed_in_words() -> None:
    assert beat(Fraction(5, 4), Words("uk")).src == ""
    assert beat(Fraction(5, 4), Words("uk")).name == "5/4 × crotchet"
    assert beat(Fraction(4), Words("us")).name == "whole note"


def test_long_texts_are_cut_at_a_word() -> None:
    assert shortened("A loose right thumb, all the way", 20) == "A loose right …"
    assert shortened("Study in the first position, slowly", 20) == "Study in the first …"
    assert shortened("Study in the highest positions", 14) == "Study …"
    assert shortened("Sonata in D minor for two", 13) == "Sonata in D …"
    assert shortened("In the", 4) == "In …"
    assert in_brief("Vibrato: slow, then twice as fast") == "Vibrato"
    assert in_brief("Study no. 7, bars 1–8") == "Study no. 7"
    assert len(in_brief("word " * 40)) <= 24


@pytest.fixture(scope="module")
def models(tmp_path_factory: pytest.TempPathFactory) -> tuple[tuple[BoxPage, ...], FirstPage, Names]:
    read = week(tmp_path_factory.mktemp("models"), OLDER)
    texts = PageTexts(Words("uk"))
    names = Names(read, texts)
    kind = reader("middle", 15)
    plan = plan_week(read)
    boxes = BoxPages(read, plan, kind, texts, Music(read, names, Style(staff_mm=kind.staff_mm))).build()
    return boxes, FirstPage(read, plan, kind, texts, date(2026, 12, 2)), names


def test_recipe_names_its_variants_and_adds_up_to_the_plan(models: Any) -> None:
    boxes, first, _ = models
    one = boxes[0]
    assert [step.kind for step in one.recipe] == ["slow", "pieces", "rhythms", "written", "context"]
    assert [variant.mark for variant in one.variants] == ["3a", "3b"]
    assert "3a and 3b" in one.recipe[2].text
    deep = next(item for day in first.plan.days for item in day.in_depth if item.box == "one")
    assert sum(step.minutes for step in one.recipe) == deep.minutes


def _boxes(folder: Path, text: str) -> tuple[BoxPage, ...]:
    read = week(folder, text)
    names = Names(read, PageTexts(Words("uk")))
    music = Music(read, names, Style(staff_mm=7.0))
    lengths = week_music(read).boxes
    return BoxPages(read, plan_week(read), reader("middle", 15), names.texts, music, lengths=lengths).build()


def test_a_goal_beyond_the_week_is_said(tmp_path: Path, models: Any) -> None:
    assert models[0][0].subline.endswith("goal: crotchet = 96")
    far = OLDER.replace('target = "crotchet = 96"', 'target = "crotchet = 96"\nstart = 30')
    box = _boxes(tmp_path, far)[0]
    assert box.record is not None
    assert box.subline.endswith("goal, for later weeks: crotchet = 96")
    assert box.record.tempos[-1].number == "72"


def test_recipe_follows_the_runs_of_the_box(tmp_path: Path) -> None:
    """As written takes the most, more of it with more runs."""
    written = []
    for more in ("clean = 3", "clean = 20"):
        text = OLDER.replace('why = "uneven"', f'why = "uneven"\n{more}').replace("mon = 45", "mon = 500")
        minutes = {step.kind: step.minutes or 0 for step in _boxes(tmp_path, text)[0].recipe}
        assert max(minutes.values()) == minutes["written"]
        written.append(minutes["written"])
    assert written == sorted(set(written))


def test_what_does_not_fit_is_not_spoken_of_and_the_next_choice_is_printed(models: Any) -> None:
    """Two semibreves: no long–short; the first choice for the tone is open strings."""
    two = models[0][1]
    assert [variant.title for variant in two.variants] == ["On open strings"]
    assert two.spoken == ()
    assert two.record.tempos == ()
    assert all(len(day.meant) == 1 for day in two.record.days)


def test_box_without_a_score_has_room_to_paste(models: Any) -> None:
    three = models[0][2]
    assert three.music is None
    assert three.paste > 0
    assert three.title == "Air, p. 7, bars 1–4"
    assert not three.variants
    assert three.record.tempos


def test_tempos_below_the_metronome_tell_their_own_beat(models: Any) -> None:
    marks = models[0][2].record.tempos
    assert marks[0].beat.name == "quaver"
    assert marks[-1].number == "60"
    assert [mark.beat.name for mark in marks if mark.beat] == ["quaver", "crotchet"]


def test_week_table_holds_the_plan(models: Any) -> None:
    boxes, first, _ = models
    (table,) = first.build(boxes, ("G major", "Open strings")).tables
    assert [head.minutes for head in table.days] == [day.minutes for day in first.plan.days]
    assert [head.name for head in table.days if head.today] == ["Wed"]
    for place, day in enumerate(first.plan.days):
        cells = [item for row in table.rows for item in row.cells[place]]
        told = [*table.days[place].first, *cells]
        assert sum(bool(item.rest) for item in told) == len(day.breaks_after)
        if day.run_through is None:
            assert [item.minutes for item in told] == [one.minutes for one in day.timeline()]
        assert sum(item.minutes for item in told) + table.days[place].rest == day.minutes


def test_breaks_stand_at_their_items(tmp_path: Path) -> None:
    """After an item, or so many minutes into it."""
    text = OLDER.replace("mon = 45", "mon = 200").replace("2026-12-12", "2026-12-30")
    read = week(tmp_path, text)
    plan = plan_week(read)
    page = FirstPage(read, plan, reader("middle", 15), PageTexts(Words("uk")))
    (table,) = page.build((), ("G major", "Open strings")).tables
    rests = {item.rest for row in table.rows for item in row.cells[0]} - {""}
    inside = [one for one in plan.days[0].timeline() if set(one.rests) - {one.minutes}]
    assert inside
    for one in inside:
        after = ", ".join(str(rest) for rest in one.rests if rest < one.minutes)
        end = ", break" if one.minutes in one.rests else ""
        assert f"break after {after} min{end}" in rests


def test_a_run_through_stands_first_in_its_day(tmp_path: Path) -> None:
    """Straight after tuning, before every section, and before a break in it; a child's page has it in the first row."""
    read = week(tmp_path, OLDER.replace("date = 2026-12-12", "date = 2026-12-05"))
    plan = plan_week(read)
    for age in (15, 7):
        page = FirstPage(read, plan, reader("middle", age), PageTexts(Words("uk"), age == 7))
        (table,) = page.build((), ("G major", "Open strings")).tables
        for place, day in enumerate(plan.days):
            texts = [item.text for item in table.days[place].first]
            runs = day.run_through is not None and day.run_through.kind != "day" and day.minutes > 0
            assert bool(texts) == runs
            if runs:
                assert texts[0] == "Tuning"
                assert "River" in texts[1]
            inside = [item.text for row in table.rows for item in row.cells[place]]
            assert not any("First thing" in text or "straight through" in text for text in inside)


@pytest.mark.parametrize(
    ("days", "tables"), [(7, [7]), (8, [8]), (10, [5, 5]), (14, [7, 7]), (20, [7, 7, 6])]
)
def test_long_weeks_are_split_evenly(tmp_path: Path, days: int, tables: list[int]) -> None:
    until = date.fromordinal(date(2026, 11, 30).toordinal() + days - 1)
    read = week(tmp_path, OLDER.replace("until = 2026-12-06", f"until = {until}"))
    page = FirstPage(read, plan_week(read), reader("middle", 15), PageTexts(Words("uk")))
    assert [len(table.days) for table in page.build((), ("G major", "Open strings")).tables] == tables


def test_movements_of_one_work_go_by_their_own_names(tmp_path: Path) -> None:
    text = OLDER.replace('title = "Air"', 'title = "Suite: Air"') + (
        '\n[[piece]]\nid = "gigue"\ntitle = "Suite: Gigue"\n[[piece]]\nid = "q"\ntitle = "Quartet, first part"\n'
    )
    read = week(tmp_path, text)
    names = Names(read, PageTexts(Words("uk")))
    assert [names.short_title(piece) for piece in read.pieces[1:]] == ["Air", "Gigue", "Quartet"]


class _Stream:
    def __init__(self) -> None:
        self.stream: list[bytes] = []
        self.transforms: list[tuple[float, float]] = []

    def push_state(self) -> None:
        self.stream.append(b"q")

    def pop_state(self) -> None:
        self.stream.append(b"Q")

    def transform(self, a: float, d: float) -> None:
        self.transforms.append((a, d))


def test_shapes_become_pdf_operators() -> None:
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 100">'
        '<path fill="#ff0000" d="M10 20l5 0 0 5zm100 0c1 2 3 4 5 6"/>'
        '<path fill="none" stroke="#000000" stroke-width="3" stroke-linecap="round" d="M0 0L9-8"/></svg>'
    )
    image = DrawnMusic(svg, 25.4, 12.7)
    assert image.get_intrinsic_size(1, 1) == (96, 48, 2)
    stream = _Stream()
    image.draw(stream, 100, 50, None)
    assert stream.transforms == [(0.5, 0.5)]
    drawn = stream.stream[1].decode().split("\n")
    assert drawn[:2] == ["q", "1.000 0.000 0.000 rg"]
    assert drawn[2:6] == ["q 1 0 0 1 10 20 cm", "0 0 m", "5 0 l", "5 5 l"]
    assert drawn[6:10] == ["h", "100 0 m", "101 2 103 4 105 6 c", "f Q"]
    assert drawn[10] == "Q"
    assert drawn[-4:] == ["0 0 m", "9 -8 l", "S", "Q"]
    assert "1 J" in drawn


def test_a_shape_that_comes_again_has_the_same_operators() -> None:
    head = "c1 2 3 4 5 6l7 8z"
    path = f'<path fill="#000000" d="M1 2{head}M3 4{head}"/>'
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">{path}</svg>'
    stream = _Stream()
    DrawnMusic(svg, 9, 9).draw(stream, 9, 9, None)
    first, second = stream.stream[1].decode().split("q 1 0 0 1 ")[1:]
    assert first.split("cm")[1].strip() == second.split("cm")[1].removesuffix("\nQ").strip()


@pytest.mark.parametrize("shape", ["<text>♭</text>", '<path fill="red" d="M0 0"/>'])
def test_other_shapes_are_left_to_the_page(shape: str) -> None:
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 10">{shape}</svg>'
    with pytest.raises(UnknownShapeError):
        DrawnMusic(svg, 1, 1)


def test_the_youngest_are_told_in_fewer_words_what_to_do() -> None:
    for choice in ("uk", "us", "de"):
        words = Words(choice)
        child, other = PageTexts(words, True), PageTexts(words)
        assert len(child.variant("long-short")) < len(other.variant("long-short")) * 2 / 3
        assert child.variant("sing") != other.variant("sing")
        assert child.variant("accent") == other.variant("accent")
