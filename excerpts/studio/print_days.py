"""One file to print for each teaching day: its workbooks in the order of the lessons, each beginning on a new sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import Any, Final, Self

from excerpts.errors import ExcerptsError
from excerpts.musicxml.format import SOFTWARE
from excerpts.studio.store import BuildIndex
from excerpts.system.output import check_output, write_whole

_WEEKDAYS: Final = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


@dataclass(frozen=True, slots=True)
class Made:
    """A workbook that stands on the disk.

    Attributes:
        target: The workbook.
        pdf: Its digest.
        player: The player's name.
        day: Day of the lesson, as "2026-12-01".
        time: Time of the lesson, as "16:30"; empty where none is said.
    """

    target: Path
    pdf: str
    player: str
    day: str
    time: str

    @classmethod
    def of(cls, target: Path, facts: dict[str, Any]) -> Self:
        """The workbook with what is known of it."""
        return cls(target, *(facts[name] for name in ("pdf", "player", "day", "time")))


@dataclass(frozen=True, slots=True)
class DayFile:
    """The print file of a teaching day.

    Attributes:
        path: The file.
        players: The players in the order of their lessons.
        pages: How many pages it has, white ones included; 0 where it could not be made.
        unchanged: It was there already.
        fault: Why it could not be made.
    """

    path: Path
    players: tuple[str, ...]
    pages: int = 0
    unchanged: bool = False
    fault: str = ""


def by_day(made: Sequence[Made]) -> dict[str, list[Made]]:
    """The workbooks of each day in lesson order; those without a time come last, by name."""
    days: dict[str, list[Made]] = {}
    for one in sorted(made, key=lambda one: (one.day, one.time or "99", one.player.casefold())):
        days.setdefault(one.day, []).append(one)
    return days


def day_file(folder: Path, day: str) -> Path:
    """The print file of a day: "print-2026-12-01-tuesday.pdf"."""
    return folder / f"print-{day}-{_WEEKDAYS[date.fromisoformat(day).weekday()]}.pdf"


def write_day(folder: Path, day: str, made: Sequence[Made], index: BuildIndex, force: bool) -> DayFile:
    """Write the print file of a day, unless it is there as it is to be.

    Args:
        folder: Folder of the studio.
        day: The day, as "2026-12-01".
        made: Its workbooks, in order.
        index: Remembers what was written.
        force: Write over a file of the user's.
    """
    path = day_file(folder, day)
    players = tuple(one.player for one in made)
    sources = [text for one in made for text in (one.pdf, one.player)]
    if facts := index.unchanged(path, *sources):
        return DayFile(path, players, facts["pages"], unchanged=True)
    try:
        check_output(path, (".pdf",), force=force)
        pdf, pages = joined([one.target for one in made], players)
        write_whole(path, pdf)
    except ExcerptsError as error:
        return DayFile(path, players, fault=str(error))
    except OSError as error:
        return DayFile(path, players, fault=f"{path}: a workbook of it cannot be read ({error.strerror}).")
    index.keep(path, *sources, facts={"read": {}, "pdf": sha256(pdf).hexdigest(), "pages": pages})
    return DayFile(path, players, pages)


def joined(paths: Sequence[Path], titles: Sequence[str]) -> tuple[bytes, int]:
    """Workbooks one after another for printing on both sides: a white page follows each odd number of pages.

    Args:
        paths: The PDF files.
        titles: A name for each, for the outline.

    Returns:
        The PDF, and how many pages it has.

    Raises:
        OSError: A file cannot be read.
    """
    import pikepdf

    with pikepdf.new() as whole:
        firsts = []
        for path in paths:
            with pikepdf.open(path) as one:
                for page in one.pages:
                    # A file for the printer: tags and links lead to what the single files have and this one has not.
                    for name in ("/StructParents", "/Annots", "/Tabs"):
                        if name in page:
                            del page[name]
                firsts.append(len(whole.pages))
                whole.pages.extend(one.pages)
                if len(one.pages) % 2:
                    _, _, width, height = (float(side) for side in one.pages[-1].mediabox)
                    whole.add_blank_page(page_size=(width, height))
        with whole.open_outline() as outline:
            for title, first in zip(titles, firsts, strict=True):
                outline.root.append(pikepdf.OutlineItem(title, first))
        whole.docinfo["/Producer"] = f"Made with {SOFTWARE}"
        pages = len(whole.pages)
        memory = BytesIO()
        whole.save(memory, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    return memory.getvalue(), pages
