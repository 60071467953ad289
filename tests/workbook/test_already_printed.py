"""Music that an earlier workbook holds is cited with its page, or printed again: never neither."""

from __future__ import annotations

import re
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pikepdf
import pytest

from excerpts.cli import main
from excerpts.errors import WeekError
from excerpts.system.studio_files import WorkbookFacts, read_facts, workbook_path
from excerpts.week import Week
from excerpts.week.orders import Orders
from excerpts.workbook import build_workbook
from excerpts.workbook.already_printed import Digests, digests, earlier_workbooks
from tests.pdf_text import text_of
from tests.workbook.weeks import OLDER as PERFORMING
from tests.workbook.weeks import week

OLDER = PERFORMING.replace('status = "performance"\ndate = 2026-12-12', 'status = "learning"').replace(
    "Ada <b>Lind</b> & Co", "Ada"
)
RETIRED = """
[[retired]]
id = "one"
piece = "river"
bars = "3-4"
retired = 2026-12-07
[[technique]]
text = "Check River, bars 3–4: right 3 times in a row?"
check = "one"
"""


def _later(folder: Path, weeks: int, text: str = OLDER) -> Week:
    """The week file of some weeks after the first, under a name of its own."""
    for day in (date(2026, 11, 30), date(2026, 12, 6)):
        text = text.replace(day.isoformat(), (day + timedelta(weeks=weeks)).isoformat())
    made = week(folder, text)
    path = made.path.rename(folder / f"week-{weeks}.toml")
    return made.model_copy(update={"path": path})


@cache
def _first(text: str) -> bytes:
    """The workbook of a first week, made once for all tests."""
    with TemporaryDirectory() as folder:
        return build_workbook(_later(Path(folder), 0, text)).pdf


def _begun(folder: Path) -> WorkbookFacts:
    """The first week's workbook beside its week file; what it says of itself."""
    read = _later(folder, 0)
    target = workbook_path(folder, read.player.name, read.week.start)
    target.write_bytes(_first(OLDER))
    facts = read_facts(target)
    assert facts is not None
    return facts


def _printed(read: Week, *, new: bool = True) -> tuple[str, WorkbookFacts]:
    """Build a workbook beside its week file; its text, and what it says of itself."""
    built = build_workbook(read, earlier=tuple(earlier_workbooks(read).values()) if new else ())
    target = workbook_path(read.path.parent, read.player.name, read.week.start)
    target.write_bytes(built.pdf)
    facts = read_facts(target)
    assert facts is not None
    return text_of(built.pdf), facts


@pytest.mark.long
@pytest.mark.slow
def test_the_third_week_names_the_first_and_its_page(tmp_path: Path) -> None:
    """The second week had left the music out: it is not named for it."""
    first = _begun(tmp_path)
    for weeks in (1, 2):
        text, facts = _printed(_later(tmp_path, weeks))
        pages = [int(page) for page in re.findall(r"workbook of 30 November, page (\d+)", text)]
        assert pages
        assert set(pages) <= set(first.music.values())
        assert "The bars are in the workbook of 30 November, page" in text
        assert "3a and 3b there," in text
        assert "G major: workbook of 30 November, page" in text
        assert "last week" not in text
        assert facts.music == {}


@pytest.mark.long
@pytest.mark.slow
def test_a_workbook_that_is_gone_is_not_named(tmp_path: Path) -> None:
    first = _begun(tmp_path)
    _printed(_later(tmp_path, 1))
    (tmp_path / "ada-2026-11-30.pdf").unlink()
    text, facts = _printed(_later(tmp_path, 2))
    assert "workbook of" not in text
    assert facts.music.keys() == first.music.keys()


@pytest.mark.slow
def test_a_new_workbook_prints_what_has_changed_and_names_the_rest(tmp_path: Path) -> None:
    _begun(tmp_path)
    text, facts = _printed(_later(tmp_path, 1, OLDER.replace('bars = "9-10"', 'bars = "7-8"')))
    assert "bars 7–8" in text
    assert facts.music
    with_new, _ = _printed(_later(tmp_path, 2, OLDER.replace('bars = "9-10"', 'bars = "7-8"')))
    assert "workbook of 30 November, page" in with_new
    assert "workbook of 7 December, page" in with_new


@pytest.mark.parametrize(
    "change",
    [('level = "middle"', 'level = "upper"'), ("age = 15", 'age = 15\nwords = "us"'), ("River", "Stream")],
)
def test_what_looks_otherwise_is_printed_again(tmp_path: Path, change: tuple[str, str]) -> None:
    before, after = (_digests(_later(tmp_path, 1, text)) for text in (OLDER, OLDER.replace(*change)))
    assert before.keys() == after.keys()
    assert before["box-1"] != after["box-1"]


def test_a_score_that_was_changed_is_printed_again(tmp_path: Path) -> None:
    """The week files are the same; the notes are not."""
    before = _digests(_later(tmp_path, 0))
    read = _later(tmp_path, 1)
    path = tmp_path / "river.musicxml"
    path.write_text(path.read_text("utf-8").replace("<step>A</step>", "<step>B</step>"), encoding="utf-8")
    after = _digests(read)
    assert after["box-1"] != before["box-1"]
    assert after["technique-0"] != before["technique-0"]
    assert after["warmup-0"] == before["warmup-0"]


def _digests(read: Week) -> dict[str, Digests]:
    return digests(read, Orders(read), "standard")


@pytest.mark.long
@pytest.mark.slow
def test_the_way_through_a_named_box_may_change(tmp_path: Path) -> None:
    _begun(tmp_path)
    text, facts = _printed(_later(tmp_path, 1, OLDER.replace("crotchet = 96", "crotchet = 112")))
    assert "112" in text
    assert facts.music == {}


@pytest.mark.slow
def test_each_page_number_is_that_of_a_named_destination(tmp_path: Path) -> None:
    facts = _begun(tmp_path)
    with pikepdf.open(tmp_path / "ada-2026-11-30.pdf") as pdf:
        names = pikepdf.NameTree(pdf.Root.Names.Dests)
        pages = {str(name): pdf.pages.index(pikepdf.Page(place[0])) + 1 for name, place in names.items()}
    assert set(facts.music.values()) == {
        page for name, page in pages.items() if name.startswith(("box-", "warmup-", "technique-"))
    }


@pytest.mark.long
@pytest.mark.slow
def test_a_page_of_the_workbook_itself_is_told_apart(tmp_path: Path) -> None:
    _begun(tmp_path)
    text, _ = _printed(_later(tmp_path, 1, OLDER.replace('bars = "9-10"', 'bars = "7-8"')))
    assert not re.search(r"\(p\. \d+\)", text)


@pytest.mark.slow
def test_a_check_has_its_music_printed_or_named(tmp_path: Path) -> None:
    """The box retired; its check says where its music is, and prints it where no workbook holds it."""
    head, _, rest = OLDER.partition('[[box]]\nid = "one"')
    _begun(tmp_path)
    rest = rest[rest.index("[[box]]") :].replace('[[technique]]\ndrill = "one"\n', "")
    without = head + rest + RETIRED
    named, _ = _printed(_later(tmp_path, 2, without))
    assert re.search(r"in a row\? It is in the workbook of 30 November, page \d", named)
    (tmp_path / "ada-2026-11-30.pdf").unlink()
    printed, facts = _printed(_later(tmp_path, 3, without), new=False)
    assert "It is in the workbook" not in printed
    assert len(facts.music) > 0
    again, _ = _printed(_later(tmp_path, 4, without))
    assert "It is in the workbook of 21 December" in again


@pytest.mark.slow
def test_a_part_of_a_workbook_holds_no_music_for_later(tmp_path: Path) -> None:
    read = _later(tmp_path, 0)
    (tmp_path / "ada-2026-11-30.pdf").write_bytes(build_workbook(read, only=["boxes"]).pdf)
    assert _printed(_later(tmp_path, 1))[1].music


def test_a_booklet_names_the_pages_that_it_prints(tmp_path: Path) -> None:
    read = _later(tmp_path, 0)
    built = build_workbook(read, paper="booklet")
    (tmp_path / "b.pdf").write_bytes(built.pdf)
    facts = read_facts(tmp_path / "b.pdf")
    assert facts is not None
    assert facts.music
    assert max(facts.music.values()) <= built.pages


def test_without_a_workbook_before_it_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    read = _later(tmp_path, 1)
    with pytest.raises(WeekError, match=r"no earlier workbook \(PDF\) of Ada"):
        earlier_workbooks(read)
    assert main(["workbook", str(read.path), "--new"]) == 2
    assert "leave out --new" in capsys.readouterr().err
