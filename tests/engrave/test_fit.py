"""Music stays inside its picture and on its page: set narrower, smaller, in groups of parts, or refused in words."""

from __future__ import annotations

from pathlib import Path

import pytest

from excerpts.cli import main
from excerpts.engrave import Engraving, Style, engrave
from excerpts.engrave.fit import SMALLEST_STAFF
from excerpts.engrave.parts import in_groups, part_count
from excerpts.errors import EngravingError
from excerpts.excerpt import Excerpt
from excerpts.score import score_from_bytes
from excerpts.score.whole import whole_passage
from tests.music import FIRST, bars_of, part, score
from tests.workbook.audit import outside, overlaps, staff_heights

HIGHEST = 90.0
"""A low page, for which few parts are enough."""
PAGE = Style(height_mm=HIGHEST)


def words(text: str) -> str:
    return f'<direction placement="above"><direction-type><words>{text}</words></direction-type></direction>'


def orchestra(count: int) -> bytes:
    bars = [
        f"{FIRST} C5:1 D5 E5 F5",
        "G5:1 A5 G5 F5",
        "E5:4[<notations><tied type='start'/></notations>]",
        "E5:4",
    ]
    parts = [part(bars, part_id=f"P{place}") for place in range(1, count + 1)]
    return score(*parts, names=tuple(f"Part {place}" for place in range(1, count + 1)))


def all_parts(count: int) -> Excerpt:
    return whole_passage(score_from_bytes(orchestra(count), "x"), "1-3").cut(0)


def one_bar(words_: str) -> Excerpt:
    return score_from_bytes(bars_of("C5:4", f"{words_} D5:4", "E5:4"), "x").part("#1").passage("1-3").cut(0)


def past(engraving: Engraving) -> float:
    return max(max(system.past_mm) for system in engraving.systems)


def test_music_that_fits_stays_as_it_is() -> None:
    music = one_bar(words("dolce"))
    assert [s.svg for s in engrave(music, PAGE).systems] == [s.svg for s in engrave(music, Style()).systems]


def test_a_high_score_is_set_smaller() -> None:
    music = all_parts(8)
    assert engrave(music, Style()).systems[0].height_mm > 110
    engraving = engrave(music, PAGE)
    assert len(engraving.systems) == 1
    assert 0.8 * HIGHEST < engraving.systems[0].height_mm <= HIGHEST
    assert SMALLEST_STAFF <= engraving.style.staff_mm < 7.5


def test_a_higher_one_comes_in_groups_of_parts() -> None:
    engraving = engrave(all_parts(16), PAGE)
    assert len(engraving.systems) == 2
    assert all(system.height_mm <= HIGHEST for system in engraving.systems)
    assert engraving.style.staff_mm == SMALLEST_STAFF
    heads = [sum(ink.owner.kind == "notehead" for ink in system.music) for system in engraving.systems]
    assert heads == [8 * 9, 8 * 9]


@pytest.mark.parametrize("count", [1, 2, 3, 7])
def test_groups_have_every_part_once_with_its_open_ends(count: int) -> None:
    music = all_parts(7)
    assert {end.staff for end in music.open_ends} == set(range(1, 8))
    groups = in_groups(music, count)
    assert sum(map(part_count, groups)) == 7
    assert len(groups) == count
    names = [e.text for group in groups for e in group.tree().iterfind("part-list/score-part/part-name")]
    assert names == [f"Part {place}" for place in range(1, 8)]
    for group in groups:
        assert {end.staff for end in group.open_ends} == set(range(1, part_count(group) + 1))


def test_words_stacked_over_a_bar_are_set_smaller() -> None:
    music = one_bar("".join(words(f"word {place}") for place in range(25)))
    assert engrave(music, Style()).systems[0].height_mm > HIGHEST
    assert engrave(music, PAGE).systems[0].height_mm <= HIGHEST


@pytest.mark.slow
def test_what_no_page_holds_is_refused_in_words() -> None:
    music = one_bar("".join(words(f"word {place}") for place in range(70)))
    with pytest.raises(
        EngravingError, match=r"the line with bars 1 to 3 is \d+ mm high, and a page has room for 90"
    ):
        engrave(music, PAGE)


@pytest.mark.parametrize("text", [" ".join(f"word{place}" for place in range(100)), "x" * 200])
def test_words_longer_than_the_line_are_wrapped(text: str) -> None:
    engraving = engrave(one_bar(words(text)), Style())
    assert past(engraving) <= 0.1
    letters = [ink for ink in engraving.systems[0].music if ink.owner.kind == "dir"]
    assert len(letters) == len(text.replace(" ", ""))
    assert len({round(ink.map.dy, 2) for ink in letters}) > 1


def test_the_line_after_a_last_syllable_ends_with_the_music() -> None:
    sung = "[<lyric><syllabic>single</syllabic><text>ah</text><extend/></lyric>]"
    tied = "[<notations><tied type='{}'/></notations>]"
    bars = [f"C5:4{sung}", *[f"C5:4{tied.format('stop')}" for _ in range(11)]]
    music = score_from_bytes(bars_of(*bars), "x").part("#1").passage("1-12").cut(0)
    assert past(engrave(music, Style(width_mm=72))) <= 0.1


@pytest.mark.parametrize(
    ("name", "count", "staves"), [("small", 22, 22), pytest.param("groups", 50, 50, marks=pytest.mark.slow)]
)
def test_every_staff_of_a_big_score_is_on_the_pages(
    name: str, count: int, staves: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("x.musicxml").write_bytes(orchestra(count))
    assert main(["cut", "x.musicxml", "1-3", "--part", "all", "-o", f"{name}.pdf"]) == 0
    pdf = Path(f"{name}.pdf").read_bytes()
    heights = staff_heights(pdf)
    assert len(heights) == 4 * staves  # in each of its bars, one of them context
    assert min(heights) > SMALLEST_STAFF - 0.05
    assert outside(pdf, 14.0, 14.0, 12.0, 5.0) == []
    assert overlaps(pdf) == []
