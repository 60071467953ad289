"""The words files: what they must have, and that a language is a file and nothing else."""

from __future__ import annotations

import re
import string
import tomllib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest

from excerpts.desk.week_fields import Field, fields_of
from excerpts.instruments.keys import key_name, parse_key
from excerpts.system.resources import templates
from excerpts.words import MissingWordError, Words, _texts, choices

FILES = sorted((templates() / "words").glob("*.toml"))
PRINTED = (
    "language", "note", "bar", "times", "instrument", "key", "variant", "warmup", "fault", "plan", "drill", "workbook",
    "page", "caution", "sheet", "teacher", "log", "show", "desk",
)  # fmt: skip
"""Sections that every player's pages are made of: a language that lacks one of them would print English."""


def messages(file: Any) -> dict[str, Any]:
    """Every message of a words file by its id; a text with columns as a table."""

    def walk(table: dict[str, Any], before: str) -> Iterator[tuple[str, Any]]:
        for key, value in table.items():
            if isinstance(value, dict) and not set(value) <= {"uk", "us"}:
                yield from walk(value, f"{before}{key}.")
            else:
                yield before + key, value

    return dict(walk(tomllib.loads(file.read_text(encoding="utf-8")), ""))


def fields(text: Any) -> set[str]:
    texts = text.values() if isinstance(text, dict) else [text]
    return {name for one in texts for _, name, _, _ in string.Formatter().parse(str(one)) if name}


ENGLISH = messages(templates() / "words" / "en.toml")
OTHERS = [file for file in FILES if file.stem != "en"]


@pytest.mark.parametrize("file", OTHERS, ids=lambda file: str(file.stem))
def test_a_language_says_everything_that_is_printed(file: Any) -> None:
    own = messages(file)
    missing = [name for name in ENGLISH if name.split(".")[0] in PRINTED and name not in own]
    assert missing == []


@pytest.mark.parametrize("file", OTHERS, ids=lambda file: str(file.stem))
def test_a_language_has_no_message_and_no_parameter_of_its_own(file: Any) -> None:
    own = messages(file)
    unknown = [
        name for name in own if name not in ENGLISH and not re.match(r"key\.(major|minor)_tonic\.", name)
    ]
    assert unknown == []
    for name, text in own.items():
        assert fields(text) <= fields(ENGLISH.get(name, "")), name


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.stem))
def test_months_and_days_are_all_there(file: Any) -> None:
    words = Words("uk" if file.stem == "en" else file.stem)
    assert len(words("workbook.date.months").split()) == 12
    for name in ("weekdays", "weekdays_short"):
        assert len(words(f"workbook.date.{name}").split()) == 7


def keys_of(fields: Iterable[Field], table: str = "top") -> Iterator[tuple[str, str]]:
    """The keys of a week file, each with its table."""
    for field in fields:
        if field.kind in ("items", "group"):
            yield from keys_of(field.inside, field.key if table == "top" else table)
        if field.kind != "items" and (table, field.key) != ("top", "format"):
            yield table, field.key


@pytest.mark.parametrize("choice", ["uk", *(file.stem for file in OTHERS)])
def test_every_key_of_a_week_file_has_a_label_on_the_page_of_a_week(choice: str) -> None:
    words, found = Words(choice), list(keys_of(fields_of()))
    assert ("box", "bars") in found
    groups = {"player", "week", "plan"}
    lacking = [
        f"{table}_{key}"
        for table, key in found
        if key not in groups and not any(label in words for label in labels(table, key))
    ]
    assert lacking == []


def labels(table: str, key: str) -> list[str]:
    return [f"desk.week.field.{key}", f"desk.week.field.{table}_{key}"]


BRITISH = (
    r"\b[Bb]ars?\b|[Pp]ractis|[Cc]olour|[Ff]avour|[Nn]eighbour|[Ll]icence|[Pp]rogramme|[Cc]entre|\b[Gg]rey\b|\bTick"
    r"|[Cc]rotchet|[Qq]uaver|\b[Mm]inim\b|[Cc]larinettist"
)
"""Words and spellings that a US player would stop at."""
AMERICAN = r"practic(ed|ing)\b|[Cc]olor|licens|\bgray\b|center\b|\bmeasures?\b|favor"


def test_each_column_of_english_is_spelled_in_its_own_way() -> None:
    for name, text in ENGLISH.items():
        columns = (text["uk"], text["us"]) if isinstance(text, dict) else (text, text)
        uk, us = (re.sub(r"\{.*?\}", "", str(column)) for column in columns)
        assert not re.search(AMERICAN, uk), name
        assert not re.search(BRITISH, us), name


def test_every_file_can_be_asked_for() -> None:
    assert choices()[:2] == ("uk", "us")
    assert set(choices()[2:]) == {file.stem for file in OTHERS}


def test_what_a_language_lacks_is_said_in_english(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "words").mkdir()
    for name, text in (("en", '[bar]\nword = "bar"\nwords = "bars"\n'), ("fr", '[bar]\nword = "mesure"\n')):
        (tmp_path / "words" / f"{name}.toml").write_text(text)
    monkeypatch.setattr("excerpts.words.templates", lambda: tmp_path)
    _texts.cache_clear()
    french = Words("fr")
    assert (french("bar.word"), french("bar.words")) == ("mesure", "bars")
    assert "bar.words" not in french
    assert french.has("bar.words")
    with pytest.raises(MissingWordError):
        french("nothing.of.that.name")
    _texts.cache_clear()


def test_columns() -> None:
    assert (Words("uk")("bar.word"), Words("us")("bar.word")) == ("bar", "measure")
    assert [Words(choice).tag for choice in ("uk", "us", "de")] == ["en-GB", "en-US", "de"]


@pytest.mark.parametrize(
    ("key", "said"),
    [("Bb", "B-Dur"), ("B minor", "h-Moll melodisch"), ("F#", "Fis-Dur"), ("Eb", "Es-Dur"), ("Ab", "As-Dur"),
     ("c# minor", "cis-Moll melodisch"), ("Cb", "Ces-Dur")],
)  # fmt: skip
def test_german_names_of_keys(key: str, said: str) -> None:
    """Common practice: B is H, B flat is B; minor keys in small letters."""
    assert key_name(parse_key(key), Words("de")) == said
