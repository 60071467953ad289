"""Every text that a page of the desk asks for is there (default tier)."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from excerpts.system.resources import templates
from excerpts.words import Words

PAGES = sorted((templates() / "desk").glob("*.html"))
SCRIPTS = sorted((templates() / "desk").glob("*.mjs"))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.name))
def test_a_page_asks_for_texts_that_are_there(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    asked = re.findall(r"""\bt\(\s*(["'])([\w.-]+)\1\s*[,)]""", text)
    assert [name for _, name in asked if not Words().has(name)] == []


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda script: str(script.name))
def test_a_script_says_texts_that_are_there(script: Path) -> None:
    text = script.read_text(encoding="utf-8")
    asked = re.findall(r"""\bsaid\(\s*'([\w.-]+)'\s*[,)]""", text)
    assert [name for name in asked if not Words().has(name)] == []
