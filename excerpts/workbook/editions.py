"""The sizes that a workbook is printed in: paper, margins, and how wide music and text may run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from excerpts.weekfile.studio import Paper

EditionName = Literal["a4", "letter", "booklet", "phone"]

EDITIONS: tuple[EditionName, ...] = ("a4", "letter", "booklet", "phone")


@dataclass(frozen=True, slots=True)
class Edition:
    """One size of page; all measures in millimetres.

    Attributes:
        name: Name of its style sheet; "" where the pages need none of their own.
        width: Width of a page.
        height: Height of a page.
        top: Margin at the top.
        bottom: Margin at the bottom; the foot of the page stands in it.
        inner: Margin at the side that is bound.
        outer: Margin at the other side.
        narrow: There is no room for columns side by side.
        most_staff: Height of the staff that the width allows.
        to_write: It is printed, and has room to write on.
        folded: Two pages stand side by side on a sheet that is folded once.
    """

    name: str
    width: float
    height: float
    top: float
    bottom: float
    inner: float
    outer: float
    narrow: bool = False
    most_staff: float = 20.0
    folded: bool = False
    to_write: bool = True

    @property
    def text_width(self) -> float:
        """How wide music and text run."""
        return self.width - self.inner - self.outer

    @property
    def text_height(self) -> float:
        """How far down a page may be filled."""
        return self.height - self.top - self.bottom

    @property
    def music_height(self) -> float:
        """The highest that a line of music may be: what is said over it stands on the same page."""
        return self.text_height - _OVER_MUSIC

    @property
    def running_letters(self) -> int:
        """How many letters of a title fit at the top of a page that goes on with a box."""
        return int((self.text_width - _RUNNING_REST) / _RUNNING_LETTER)

    @property
    def page_rules(self) -> str:
        """The sizes of the page in CSS: right-hand pages are bound at their left."""
        ends = f"margin-top:{self.top}mm;margin-bottom:{self.bottom}mm"
        rules = [
            f"@page{{size:{self.width}mm {self.height}mm;{ends};"
            f"margin-left:{self.inner}mm;margin-right:{self.outer}mm}}",
            f".systems img.system + img.system{{margin-top:{SYSTEM_GAP_MM}mm}}",
        ]
        if self.inner != self.outer:
            rules.append(f"@page:left{{margin-left:{self.outer}mm;margin-right:{self.inner}mm}}")
        return "".join(rules)


SYSTEM_GAP_MM = 3.2
"""White between two systems."""

_OVER_MUSIC = 32.0
"""Room for a title of two lines with its grey line, and for the head of a section, in millimetres."""

_RUNNING_REST = 25.0
"""Room for the number of the box and the word that says that it goes on, in millimetres."""

_RUNNING_LETTER = 1.65
"""Width of a letter of that line."""

_A4 = Edition("", 210, 297, 13, 17, 15, 15)
"""15 mm at both sides: two filing holes (ISO 838: 12 mm from the edge, 6 mm wide) touch no print."""

_LETTER = Edition("", 215.9, 279.4, 13, 16, 20, 15.9)
"""The same 180 mm of music; what Letter has more in width goes to the side that is bound."""

_A5 = Edition("booklet", 148.5, 210, 10, 13, 15.5, 11, True, 8.0, True)
_HALF_LETTER = Edition("booklet", 139.7, 215.9, 10, 13, 10.7, 7, True, 8.0, True)
_PHONE = Edition("phone", 80, 160, 4, 8.5, 4, 4, True, 5.5, to_write=False)
"""As high as two of its widths, like the screens it is for; the page fills the width of the screen."""


def edition(name: str, paper: Paper = "a4") -> Edition:
    """The edition of that name.

    Args:
        name: "a4", "letter", "booklet" (a sheet of `paper` folded once) or "phone".
        paper: Paper that is printed on.
    """
    if name == "booklet":
        return _HALF_LETTER if paper == "letter" else _A5
    return {"a4": _A4, "letter": _LETTER, "phone": _PHONE}[name]
