"""The sizes that pages are printed in: paper, margins, how wide music and text may run, how high staves stand."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal, get_args

Paper = Literal["a4", "letter"]
"""What a week file or a studio may say that it is printed on."""

EditionName = Literal[Paper, "booklet", "phone", "large"]

PAPERS: Final[tuple[Paper, ...]] = get_args(Paper)
EDITIONS: Final[tuple[EditionName, ...]] = get_args(EditionName)


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
        stacked: The parts of a day stand one below the other instead of in a row of a table.
        staves: The least height that staves have, and the most that the width allows.
        row: Least height of a row to write in.
        letter: Width of a letter of the line that names a box at the top of a page that goes on with it.
        running: Height of that line.
        folded: Two pages stand side by side on a sheet that is folded once.
        to_write: It is printed, and has room to write on.
        alone: Each box begins a page, and words in music are upright: easier to find and to read.
    """

    name: str
    width: float
    height: float
    top: float
    bottom: float
    inner: float
    outer: float
    narrow: bool = False
    stacked: bool = False
    staves: tuple[float, float] = (0.0, 20.0)
    row: float = 0.0
    letter: float = 1.65
    running: float = 7.5
    folded: bool = False
    to_write: bool = True
    alone: bool = False

    @property
    def styles(self) -> tuple[str, ...]:
        """Names of its style sheets, the stronger ones last."""
        habits = {"narrow": self.narrow, "stacked": self.stacked, self.name: bool(self.name)}
        return tuple(f"{name}.css" for name, has in habits.items() if has)

    def staff(self, height: float) -> float:
        """The height next to this one that its staves may have."""
        least, most = self.staves
        return max(least, min(height, most))

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
        return int((self.text_width - _RUNNING_REST) / self.letter)

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

_A4 = Edition("", 210, 297, 13, 17, 15, 15)
"""15 mm at both sides: two filing holes (ISO 838: 12 mm from the edge, 6 mm wide) touch no print."""

_LETTER = Edition("", 215.9, 279.4, 13, 16, 20, 15.9)
"""The same 180 mm of music; what Letter has more in width goes to the side that is bound."""

_A5 = Edition("booklet", 148.5, 210, 10, 13, 15.5, 11, narrow=True, staves=(0, 8), folded=True)
_HALF_LETTER = Edition("booklet", 139.7, 215.9, 10, 13, 10.7, 7, narrow=True, staves=(0, 8), folded=True)
_PHONE = Edition(
    "phone", 80, 160, 4, 8.5, 4, 4, narrow=True, stacked=True, staves=(0, 5.5), letter=1.4, to_write=False
)
"""As high as two of its widths, like the screens it is for; the page fills the width of the screen."""

_LARGE, _LARGE_LETTER = (
    replace(
        size,
        name="large",
        narrow=True,
        stacked=True,
        staves=(10, 12),
        row=10,
        letter=2.9,
        running=11,
        alone=True,
    )
    for size in (_A4, _LETTER)
)
"""For low sight and dyslexia: text of 16 points (the usual least size of large print) and staves of 10 to 12 mm; from
memory, no source."""

_TABLE: Final[dict[EditionName, tuple[Edition, ...]]] = {
    "a4": (_A4,),
    "letter": (_LETTER,),
    "booklet": (_A5, _HALF_LETTER),
    "phone": (_PHONE,),
    "large": (_LARGE, _LARGE_LETTER),
}
"""Each edition, or one for A4 and one for Letter."""


def edition(name: EditionName, paper: Paper = "a4") -> Edition:
    """The edition of that name.

    Args:
        name: Its name; "booklet" is a sheet of `paper` folded once, "large" is large print on `paper`.
        paper: Paper that is printed on.
    """
    return _TABLE[name][-1 if paper == "letter" else 0]


Tint = Literal["cream", "yellow", "blue", "green"]
"""Grounds that a page may have instead of white; each a tint so light that print on it keeps its contrast."""

TINTS: Final[dict[Tint, str]] = {
    "cream": "#fbf3dc",
    "yellow": "#fff8b8",
    "blue": "#dcecfa",
    "green": "#dff2e0",
}

SHEETS: Final = tuple(name for name in EDITIONS if not edition(name).folded)
"""What a sheet of music can be printed as: all that is not folded."""
