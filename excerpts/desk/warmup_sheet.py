"""A sheet of warm-ups as it is chosen on the page: made, drawn and laid out as `excerpts warmup` does."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from excerpts.desk.week_changes import changed
from excerpts.editions import edition
from excerpts.engrave import stack_svg
from excerpts.errors import InputError, WeekError
from excerpts.excerpt import Excerpt
from excerpts.warmups import Manner, warmup
from excerpts.weekfile.change_text import Change
from excerpts.weekfile.lines import key_lines
from excerpts.weekfile.read_week import read_week
from excerpts.weekfile.reading import Document
from excerpts.weekfile.studio_folder import Settings
from excerpts.words import Words
from excerpts.workbook import build_sheet
from excerpts.workbook.look import Look
from excerpts.workbook.reader import reader
from excerpts.workbook.sheet_blocks import Sheet, warmups

MOST_KEYS: Final = 24
"""Keys on one sheet: all major, or all minor ones, twice."""

NAMES: Final = ("key", "pattern", "octaves", "instrument", "level", "variant", "fingerings", "slur", "from")
"""What can be chosen."""

_LONGEST: Final = 100


@dataclass(frozen=True, slots=True)
class WarmupChoice:
    """What was chosen; a text that is empty leaves the choice to the rules.

    Attributes:
        keys: The keys.
        texts: All else, by its name.
    """

    keys: tuple[str, ...]
    texts: Mapping[str, str]

    @classmethod
    def of(cls, said: Mapping[str, Any]) -> WarmupChoice:
        """What a page sent, or what an address says.

        Raises:
            InputError: There is no key, there are too many, or a text is too long.
        """
        texts = {name: str(said.get(name) or "").strip() for name in NAMES}
        if any(len(text) > _LONGEST for text in texts.values()):
            raise InputError(f"a choice is longer than {_LONGEST} characters.")
        keys = tuple(key.strip() for key in re.split(r"[,;]", texts.pop("key")) if key.strip())
        if not keys:
            raise InputError("there is no key.", hint="Name one: D, Bb, F# minor.")
        if len(keys) > MOST_KEYS:
            raise InputError(f"there are more than {MOST_KEYS} keys on one sheet.")
        return cls(keys, texts)

    def number(self, name: str) -> int | None:
        """A choice that is a number; None where it is left to the rules.

        Raises:
            InputError: It is no number.
        """
        text = self.texts[name]
        if text and not re.fullmatch(r"\d{1,2}", text):
            raise InputError(f'"{text}" is not a number.')
        return int(text) if text else None

    def made(self, words: Words) -> list[Excerpt]:
        """The warm-ups.

        Raises:
            InputError: One cannot be made; the message is that of the command.
        """
        texts = self.texts
        manner = Manner(slur=self.number("slur"), fingerings=texts["fingerings"] or None)
        return [
            warmup(
                key,
                instrument=texts["instrument"] or "violin",
                level=texts["level"] or None,
                octaves=self.number("octaves"),
                start=texts["from"] or None,
                pattern=texts["pattern"] or "scale",
                variant=texts["variant"] or None,
                manner=manner,
                words=words,
            )
            for key in self.keys
        ]

    def sheet(self, made: list[Excerpt], settings: Settings, words: Words, *, paged: bool) -> Sheet:
        """The warm-ups drawn: for pages, or as one picture."""
        look = Look(edition(settings.paper), words, paged=paged)
        if self.texts["level"] == "first":  # the large print of a beginner's workbook
            look = replace(look, staff_mm=reader("first", None).staff_mm)
        return warmups(made, look)

    def items(self, instrument: str) -> list[dict[str, Any]]:
        """Each warm-up as the keys of a week file; what is the player's own is left out."""
        texts = {name: text for name, text in self.texts.items() if text and name not in ("level", "variant")}
        if texts.get("instrument", "violin") == instrument:
            texts.pop("instrument", None)
        elif "instrument" not in texts:
            texts["instrument"] = "violin"
        variants = {"variants": [self.texts["variant"]]} if self.texts["variant"] else {}
        return [{"key": key, **texts, **variants} for key in self.keys]


def told_of(made: list[Excerpt], sheet: Sheet) -> list[str]:
    """What does not fit, as the command tells it."""
    ranges = [
        f"{one.origin.title}: {line.detail}" for one in made for line in one.report if line.what == "range"
    ]
    missing = [
        f"{one.origin.title}: {what}" for one, lost in zip(made, sheet.missing, strict=True) for what in lost
    ]
    return [*ranges, *missing]


def pictures(sheet: Sheet) -> list[tuple[str, str, str]]:
    """Heading, the line below it and the music as SVG, of each warm-up."""
    return [
        (heading, line, stack_svg([music]).decode("utf-8") if music is not None else "")
        for heading, line, music in sheet.blocks
    ]


def pdf(sheet: Sheet) -> bytes:
    """A sheet as a PDF."""
    return build_sheet(
        sheet.blocks, size=sheet.look.size, title=sheet.title, words=sheet.look.words, copied=sheet.copied
    )


def with_warmups(text: str, path: Path, items: list[dict[str, Any]]) -> str:
    """A week file's text with warm-ups added after its others.

    Raises:
        WeekError: The file would have a fault that it has not now.
    """
    new = changed(text, [Change("add", ("warmup",), item) for item in items])
    plain = new.removeprefix("\ufeff")
    before = {fault.message for fault in read_week(path).faults}
    faults = read_week(path, Document(path, tomllib.loads(plain), key_lines(plain))).faults
    if fresh := [fault for fault in faults if fault.message not in before]:
        raise WeekError(f"the warm-up would not be right there. {fresh[0].message}", where=path.name)
    return new
