"""The page audit on random weeks of real music. Tier: slow for a few, long for the hundred."""

from __future__ import annotations

from pathlib import Path

import pytest

from excerpts.workbook.pages import BoxPage
from excerpts.workbook.paginate import Block, Page
from tests.workbook.random_weeks import Audit, audited, page_faults, week_file

SAMPLE = frozenset({13, 80})
TOLD = frozenset(
    {
        "pages",
        "boxes",
        "box on a spread",
        "laid out again",
        "box that no two pages hold",
        "box whose music and table lie open together",
    }
)
"""What is counted and is no fault."""
PARTED = ("box over", "box on two screens", "box broken")
"""What only fewer pages can be the reason for."""


@pytest.mark.parametrize(
    "number",
    [
        pytest.param(n, marks=[pytest.mark.slow, *([] if n in SAMPLE else [pytest.mark.long])])
        for n in range(100)
    ],
)
def test_the_pages_of_a_random_week(number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No lonely row, line or heading, nothing outside the paper, no last page with the copying line only."""
    audit = Audit()
    week, name = week_file(tmp_path, number)
    audited(week, name, audit, monkeypatch)
    assert audit.counts["pages"]
    assert {
        what: audit.where[what] for what in audit.counts if what not in TOLD and not what.startswith(PARTED)
    } == {}


BOX = BoxPage("box-1", 1, "Air", "", "", None, 0.0, (), "", (), (), None)


def _page(*kinds: str) -> Page:
    return Page(tuple(Block(kind, BOX, height=30.0, box=BOX if kind == "record" else None) for kind in kinds))


@pytest.mark.parametrize(
    ("pages", "faults"),
    [
        ([_page("opening", "record"), _page("copying")], ["last page with the copying line only", "boxes"]),
        ([_page("head", "section"), _page("text", "text")], ["lonely heading"]),
        ([_page("piece", "piece"), _page("piece", "copying")], ["lonely piece"]),
        (
            [_page("legend"), _page("opening"), _page("record")],
            ["boxes", "box on a spread", "box broken though a page holds it"],
        ),
        (
            [_page("opening"), _page("record")],
            ["boxes", "box over 2 pages", "box broken though a page holds it"],
        ),
        ([_page("piece", "piece"), _page("piece", "piece")], []),
    ],
)
def test_the_audit_sees_what_a_reader_complains_of(pages: list[Page], faults: list[str]) -> None:
    assert [what for what, _ in page_faults(pages, 100.0, spreads=True)] == faults
