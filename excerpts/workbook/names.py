"""What things are called on the page: bars, keys, metres, tempos, boxes, pieces."""

from __future__ import annotations

import textwrap
from fractions import Fraction

from excerpts.engrave import Spoken
from excerpts.excerpt import Tempo
from excerpts.keys import key_name, key_of_fifths
from excerpts.week import BoxItem, Piece, Week, tempo_text
from excerpts.week.tempo import number_text
from excerpts.workbook.beat import Beat, beat
from excerpts.workbook.texts import PageTexts

LONGEST_IN_TABLE = 24
"""Characters of an item in the week's table; what is longer is said in full in its section."""

LONGEST_FOCUS = 62
"""Characters of the focus at the foot of a page."""


class Names:
    """Names of the things of one week.

    Args:
        week: The week.
        texts: The words of the pages.
    """

    def __init__(self, week: Week, texts: PageTexts) -> None:
        self.week = week
        self.texts = texts
        self.words = texts.words

    def bars(self, first: str, last: str) -> str:
        """Bars by their printed numbers: "bars 41–48"."""
        if first == last:
            return self.words("bar.one", label=first)
        return self.words("bar.many", first=first, last=last)

    def key(self, spoken: Spoken) -> str:
        """The key, or its signature where the source does not say which of the two keys it is."""
        if spoken.fifths is None:
            return ""
        if spoken.mode in {"major", "minor"}:
            mode = "major" if spoken.mode == "major" else "minor"
            return key_name(key_of_fifths(spoken.fifths, mode), self.words, plain=True)
        count = abs(spoken.fifths)
        if not count:
            return self.texts("signature_none")
        kind = "sharp" if spoken.fifths > 0 else "flat"
        return self.texts(f"signature_one_{kind}" if count == 1 else f"signature_{kind}s", n=count)

    def metre(self, spoken: Spoken) -> str:
        """The metre: "6/8"."""
        if not spoken.beats:
            return ""
        return self.texts("metre", beats=spoken.beats, unit=spoken.beat_type)

    def alt(self, spoken: Spoken, title: str = "") -> str:
        """Spoken description of a picture: "Bars 41–48, Violin I, B-flat major, 6/8"."""
        what = title or self.bars(spoken.first, spoken.last)
        said = ", ".join(part for part in (what, spoken.part, self.key(spoken), self.metre(spoken)) if part)
        return said[:1].upper() + said[1:]

    def tempo(self, tempo: Tempo) -> str:
        """A tempo in words: "dotted crotchet = 92"."""
        return tempo_text(tempo, self.words)

    def numbers(self, tempos: tuple[Tempo, ...]) -> str:
        """One tempo number, or the first and last of several: "46 to 60"."""
        first, last = (number_text(tempo.number) for tempo in (tempos[0], tempos[-1]))
        return first if first == last else self.texts("tempo_range", first=first, last=last)

    def beat(self, unit: Fraction) -> Beat:
        """The note that beats."""
        return beat(unit, self.words)

    def goal(self, box: BoxItem) -> str:
        """What a box is to reach: a tempo, or the teacher's words."""
        return self.tempo(box.target) if box.target else box.goal or ""

    def piece(self, box: BoxItem) -> str:
        """Title of the piece that a box is from."""
        return self.week.piece(box.piece).title if box.piece else self.texts("typed")

    def faults(self, box: BoxItem) -> str:
        """What goes wrong in a box, in one line."""
        return "; ".join(self.words(f"fault.{fault}") for fault in box.why)

    def first_fault(self, box: BoxItem) -> str:
        """The first thing that goes wrong in a box; empty where the teacher named none."""
        return self.words(f"fault.{box.why[0]}") if box.why else ""

    def short_title(self, piece: Piece) -> str:
        """A title without its movement, where that still tells the pieces of the week apart."""
        first = _before_comma(piece.title)
        alike = [other for other in self.week.pieces if _before_comma(other.title) == first]
        return first if len(alike) == 1 else piece.title


def _before_comma(title: str) -> str:
    return title.partition(",")[0]


def shortened(text: str, most: int) -> str:
    """A text cut at a word to at most `most` characters, with a sign that it goes on."""
    return textwrap.shorten(text, most, placeholder=" …")
