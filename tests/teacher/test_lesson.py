"""The lesson sheet: everything that a teacher asks for first, true to week file and log, on one page."""

from __future__ import annotations

import io
from pathlib import Path

import pikepdf
import pytest

from excerpts.log import log_path, read_log
from excerpts.teacher.document import lesson_pdf
from excerpts.teacher.lesson_sheet import LessonSheet, lesson_sheet, scale_text
from excerpts.week import Week
from excerpts.weekfile.scale_items import WarmupItem
from excerpts.words import Words
from tests.log.weeks import row
from tests.pdf_text import text_of
from tests.teacher.players import EARLIER, FULL, player, write


def sheet(week: Week, column: str = "uk") -> LessonSheet:
    return lesson_sheet(week, read_log(log_path(week), week.player.name), Words(column))


ROWS = (
    row(tempo=54, clean=3, day=0, bars="14"),
    row(tempo=58, clean=5, day=2, bars="14", note="left hand late"),
    row("tone", clean=3, day=2),
    *EARLIER,
    row("song", kind="run-through", bars="33-34"),
    row("song", kind="run-through", bars="33-34"),
)


def test_what_the_sheet_says(tmp_path: Path) -> None:
    week = player(tmp_path)
    write(week, *ROWS)
    made = sheet(week)
    assert (made.player, made.who, made.lesson) == ("Ada Lind", "violin, 13", "Monday 7 December")
    assert made.lines == ("12 December, 5 days after the lesson: Gavotte",)
    assert (made.focus, made.notes) == ("Loose thumb", ("Bring rosin.", "Sing it."))
    assert made.practised == "Written down: 2 of 2 planned days, and some without a date"
    run, tone = made.boxes
    assert (run.number, run.title, run.goal, run.runs) == (1, "Song, bar 4", "crotchet = 80", "5 in a row")
    assert run.meta == "shift, bow distribution · 3 weeks"
    assert (run.reached, run.state, run.stuck) == ("58, 5 in a row", "stuck for 3 weeks", True)
    assert run.broke == "bar 14 (2×); left hand late"
    assert (tone.goal, tone.reached, tone.state) == ("one long line", "3 in a row", "goal on 1 of 2 days")
    assert made.checks == ("box “old”, Song, bar 20, crotchet = 60",)
    assert made.broke == ("Song, bars 33–34 (2×)",)
    assert made.scales == ("F-sharp melodic minor scale, two octaves", "D major arpeggio")
    assert made.technique == ("Vibrato: slow waves.",)


def test_an_empty_log(tmp_path: Path) -> None:
    made = sheet(player(tmp_path))
    assert made.practised == "nothing written down"
    assert [box.reached for box in made.boxes] == ["", ""]
    assert made.boxes[1].state == "nothing written down"
    assert made.broke == ()


def test_a_week_without_rows_yet_shows_the_week_before(tmp_path: Path) -> None:
    week = player(tmp_path)
    write(week, row(tempo=54, clean=5, day=0, weeks=-2), row(tempo=60, clean=3, day=0, weeks=-1))
    made = sheet(week)
    assert (made.boxes[0].reached, made.boxes[0].state) == ("60, 3 in a row last week", "")
    assert made.boxes[1].state == "nothing written down"
    (tmp_path / "ida").mkdir()
    older = player(tmp_path / "ida", "Ida Ek")
    write(older, row(tempo=54, clean=5, day=0, weeks=-2))
    assert sheet(older).boxes[0].reached == "54, 5 in a row, week of 16 November"


def test_a_clean_box_is_told_and_us_words_are_us(tmp_path: Path) -> None:
    week = player(tmp_path)
    write(week, row("tone", kind="heard"), row(tempo=58, day=1, bars="14"))
    made = sheet(week, "us")
    assert made.boxes[1].state == "clean: ready to retire"
    assert (made.boxes[0].broke, made.boxes[0].goal) == ("measure 14", "quarter note = 80")
    assert made.lesson == "Monday, December 7"


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_full_sheet_is_one_page(tmp_path: Path, paper: str) -> None:
    boxes = "".join(
        f'[[box]]\nid = "b{n}"\npiece = "song"\nplace = "p. 14, bars {n}–{n + 3}"\nwhy = ["shift", "intonation"]\n'
        'goal = "one long line, no bump at the change of bow"\n'
        for n in range(3)
    )
    week = player(tmp_path, text=FULL + boxes)
    write(
        week, *ROWS, *(row(f"b{n}", clean=2, day=1, bars="12-13", note="the bow runs out") for n in range(3))
    )
    pdf = lesson_pdf(sheet(week), Words(), "letter" if paper == "letter" else "a4")
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert len(document.pages) == 1
        assert document.Root.StructTreeRoot is not None
    text = text_of(pdf).replace(" ", "")  # headings have their letters set apart
    for said in ("Ada Lind", "LAST FOCUS", "Loose thumb", "stuck for 3 weeks", "NEXT BOXES", "NEXT FOCUS"):
        assert said.replace(" ", "") in text
    assert pdf == lesson_pdf(sheet(week), Words(), "letter" if paper == "letter" else "a4")


def test_words_of_a_log_cannot_become_markup(tmp_path: Path) -> None:
    week = player(tmp_path)
    write(week, row(tempo=54, clean=3, day=0, note="<b>&amp;</b>"))
    pdf = lesson_pdf(sheet(week), Words())
    assert "<b>&amp;</b>" in text_of(pdf).replace(" ", "")


@pytest.mark.parametrize(
    ("item", "text"),
    [
        (WarmupItem(key="G minor", octaves=2), "G melodic minor scale, two octaves"),
        (WarmupItem(key="A", pattern="dominant-seventh", octaves=1), "Dominant seventh on A, one octave"),
        (WarmupItem(key="Bb minor", pattern="arpeggio"), "B-flat minor arpeggio"),
        (WarmupItem(text="Long  bows\non open C"), "Long bows on open C"),
    ],
)
def test_what_is_due_is_named_as_in_the_plan(item: WarmupItem, text: str) -> None:
    assert scale_text(item, Words("uk")) == text


def test_drills_and_scales_under_technique_are_due_too(tmp_path: Path) -> None:
    more = '\n[[technique]]\ndrill = "run"\n[[technique]]\nkey = "F"\npattern = "thirds"\n'
    made = sheet(player(tmp_path, text=FULL + more))
    assert made.technique[-2:] == ("drill for box 1", "F major in thirds")
