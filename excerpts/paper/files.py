"""The files behind `pages`: a PDF, a picture, or a folder of pictures in the order of their names."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from excerpts.errors import PaperError

COPYING: Final = (
    "Copying or rearranging a printed edition may be restricted even for teaching: local law and its licence "
    "decide."
)
"""What is said where pages are first used."""
INBOX: Final = "inbox"
"""A folder beside the week files for photos and scans that have come in."""
PICTURES: Final = (".png", ".jpg", ".jpeg", ".tif", ".tiff")
_PHONE: Final = (".heic", ".heif")
PAGE_SUFFIXES: Final = (".pdf", *PICTURES, *_PHONE)
"""Endings of files that come as pages; those that a telephone writes cannot be read, and are refused in words."""
_LARGEST: Final = 200_000_000
"""Bytes of one file of pages."""


@dataclass(frozen=True, slots=True)
class Pages:
    """Pages of printed music.

    Attributes:
        path: What the week file names.
        files: The files: one PDF or picture, or the pictures of a folder in order.
    """

    path: Path
    files: tuple[Path, ...]

    def page(self, number: int) -> tuple[Path, int]:
        """The file that holds a page, and which page of that file it is, from 0.

        Raises:
            PaperError: The folder has no such page.
        """
        if len(self.files) == 1 and self.path == self.files[0]:
            return self.path, number - 1
        if number > len(self.files):
            raise no_page(self.path, number, len(self.files))
        return self.files[number - 1], 0


def no_page(path: Path, number: int, count: int) -> PaperError:
    """The error for a page that is not there."""
    there = "1 page" if count == 1 else f"{count} pages"
    return PaperError(
        f"there is no page {number}: it has {there}.", where=path.name, hint="Pages count from 1."
    )


def find_pages(path: Path) -> Pages:
    """The pages of a file or folder.

    Raises:
        PaperError: It is none that can be read, or a folder with other files in it.
    """
    if not path.is_dir():
        _check_kind(path, (".pdf", *PICTURES))
        return Pages(path, (path,))
    files = sorted((file for file in path.iterdir() if not file.name.startswith(".")), key=_in_order)
    for file in files:
        _check_kind(file, PICTURES, f" in the folder {path.name}")
    if not files:
        raise PaperError(
            "the folder is empty.", where=path.name, hint="Put the pictures of the pages into it."
        )
    return Pages(path, tuple(files))


def inbox(folder: Path) -> list[str]:
    """What lies in the inbox beside week files, as a week file names it: PDFs and pictures, in order."""
    place = folder / INBOX
    files = sorted(place.iterdir(), key=_in_order) if place.is_dir() else []
    return [f"{INBOX}/{file.name}" for file in files if file.suffix.lower() in PAGE_SUFFIXES]


def read_page_file(path: Path) -> bytes:
    """The bytes of a file of pages.

    Raises:
        PaperError: It cannot be read, or is too large.
    """
    try:
        with path.open("rb") as file:
            data = file.read(_LARGEST + 1)
    except OSError as error:
        raise PaperError(f"it cannot be read ({error.strerror}).", where=path.name) from error
    if len(data) > _LARGEST:
        message = f"the file is larger than {_LARGEST // 1_000_000} MB."
        raise PaperError(message, where=path.name, hint="Keep only the pages that are played.")
    return data


def _in_order(path: Path) -> list[tuple[int, str]]:
    """The order of people: page 2 before page 10."""
    parts = re.findall(r"\d+|\D+", path.name.lower())
    return [(int(part), "") if part.isdecimal() and part.isascii() else (-1, part) for part in parts]


def _check_kind(path: Path, suffixes: tuple[str, ...], where: str = "") -> None:
    suffix = path.suffix.lower()
    if suffix in suffixes and path.is_file():
        return
    hint = f"Pages are a PDF, a picture ({', '.join(PICTURES)}) or a folder of pictures."
    if suffix in _PHONE:
        hint = "Save it as JPEG: on the telephone, in the settings of the camera, “most compatible”."
    elif where:
        hint = "Such a folder holds the pictures of its pages and nothing else."
    raise PaperError(f"this is no page of music that can be read{where}.", where=path.name, hint=hint)
