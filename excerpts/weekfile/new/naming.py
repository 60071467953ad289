"""Names made out of what a teacher typed: ids of pieces and boxes, names of files."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection
from typing import Final

_LONGEST: Final = 40
_SMALL: Final = frozenset("a an the in of for from on to and no op".split())


def slug(text: str) -> str:
    """A text in small letters, figures and hyphens; letters without an ASCII form stay as they are."""
    plain = "".join(char for char in unicodedata.normalize("NFKD", text) if not unicodedata.combining(char))
    return re.sub(r"[^\w]+|_+", "-", plain).strip("-").lower()


def piece_id(title: str, taken: Collection[str]) -> str:
    """A short id for a piece: the first word of weight in its title, with more words until it is free."""
    words = slug(title).split("-")
    heavy = [word for word in words if word not in _SMALL and not word.isdecimal()] or words
    for count in range(1, len(heavy) + 1):
        name = "-".join(heavy[:count])[:_LONGEST].strip("-")
        if name and name not in taken:
            return name
    return free(slug(title)[:_LONGEST] or "piece", taken)


def box_id(piece: str, place: str, taken: Collection[str]) -> str:
    """An id for a box: its piece and its bars ("ferry-21-22")."""
    name = slug(f"{piece}-{place.replace('@', 'at')}")[:_LONGEST].strip("-")
    return free(name or "box", taken)


def free(name: str, taken: Collection[str]) -> str:
    """The name itself, or with the first number that makes it a new one."""
    number = 2
    wanted = name
    while wanted in taken:
        tail = f"-{number}"
        wanted = name[: _LONGEST - len(tail)] + tail
        number += 1
    return wanted
