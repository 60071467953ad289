"""Looks up every page of an earlier workbook that a workbook names."""

from __future__ import annotations

import contextlib
import io
import re
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from excerpts.cli import main
from excerpts.system.studio_files import read_facts, workbook_path
from excerpts.week import load_week
from tests.pdf_text import page_texts

_NAMED = re.compile(r"(?:in the|:) workbook of (\d+ [A-Z]\w+), page (\d+)\.")
_BARS = re.compile(r"bars? \d+(?:–\d+)?")


def named_pages(path: Path, new: bool) -> Iterator[str]:
    """Build the workbook of a week, and check each page that it names; a line for each.

    Args:
        path: The week file.
        new: Name what is in print instead of printing it again.
    """
    said, wrong = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(wrong):
        status = main(["workbook", str(path), *(["--new"] if new else [])])
    assert status == 0, wrong.getvalue()
    week = load_week(path)
    text = " ".join(pages_of(workbook_path(path.parent, week.player.name, week.week.start)))
    assert "last week" not in text
    assert text.count("workbook of ") == len(_NAMED.findall(text))  # none is passed over
    for named in _NAMED.finditer(text):
        day = datetime.strptime(f"{named[1]} {week.week.start.year}", "%d %B %Y").date()
        book = workbook_path(path.parent, week.player.name, day)
        facts, pages, number = read_facts(book), pages_of(book), int(named[2])
        bars = _BARS.findall(text[: named.start()])[-1]
        assert facts is not None
        assert facts.week == day < week.week.start
        assert number in facts.music.values()
        assert bars in pages[number - 1], (bars, named[0])
        yield f"{bars}: workbook of {named[1]}, page {number}, is there and has it"


def pages_of(path: Path) -> list[str]:
    """The text of each page of a PDF."""
    return page_texts(path)
