"""What things are called on the page: bars, keys, metres, tempos, boxes, pieces."""

from __future__ import annotations

import re
import textwrap

from excerpts.excerpt import Tempo
from excerpts.week import Week
from excerpts.week.bars_in_words import box_name
from excerpts.weekfile.items import BoxItem, Piece
from excerpts.weekfile.tempo_text import number_text, tempo_text
from excerpts.words import capital
from excerpts.workbook.beat import beat
from excerpts.workbook.music_names import SpokenNames
from excerpts.workbook.page_texts import PageTexts
from excerpts.workbook.pages import TempoLabel

LONGEST_IN_TABLE = 24
"""Characters of an item in the week's table; what is longer is said in full in its section."""

SHORTEST_IN_TABLE = 4
"""Characters that say something by themselves."""

LONGEST_NAME = 24
"""Characters of the player's name at the foot of a page."""

LONGEST_GOAL = 44
"""Characters of a goal in the list of boxes."""

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
        self.spoken = SpokenNames(texts.words)

    def tempo(self, tempo: Tempo) -> str:
        """A tempo in words: "dotted crotchet = 92"."""
        return tempo_text(tempo, self.words)

    def marks(self, tempos: tuple[Tempo, ...]) -> tuple[TempoLabel, ...]:
        """Tempos as they are printed: the beat only where it is a new one."""
        before = (None, *(tempo.unit for tempo in tempos))[: len(tempos)]
        return tuple(
            TempoLabel(
                number_text(tempo.number), beat(tempo.unit, self.words) if tempo.unit != unit else None
            )
            for tempo, unit in zip(tempos, before, strict=True)
        )

    def ends(self, tempos: tuple[Tempo, ...]) -> tuple[TempoLabel, ...]:
        """One tempo, or the first and last of several."""
        return self.marks(tempos[:1] if len(tempos) < 2 else (tempos[0], tempos[-1]))

    def goal(self, box: BoxItem) -> str:
        """What a box is to reach: a tempo, or the teacher's words."""
        return self.tempo(box.target) if box.target else box.goal or ""

    def box(self, box: BoxItem) -> str:
        """Title of a box: its piece, its place in a printed part, its bars."""
        return capital(box_name(self.week, box, self.words)) or self.texts("typed")

    def faults(self, box: BoxItem) -> str:
        """What goes wrong in a box, in one line."""
        return "; ".join(self.words(f"fault.{fault}") for fault in box.why)

    def first_fault(self, box: BoxItem) -> str:
        """The first thing that goes wrong in a box; empty where the teacher named none."""
        return self.words(f"fault.{box.why[0]}") if box.why else ""

    def short_title(self, piece: Piece) -> str:
        """A title in a few words, which still tells the pieces of the week apart.

        Movements of one work are called by their own names: "Adagio".
        """
        head, rest = _parted(piece.title)
        alike = [other for other in self.week.pieces if _parted(other.title)[0] == head]
        return capital(in_brief(head if len(alike) == 1 else rest or piece.title))


def _parted(title: str) -> tuple[str, str]:
    """A title up to its first colon or comma, and what comes after; the comma of "op. 74,1" is none."""
    head, _, rest = title.partition(": ")
    if not rest:
        head, _, rest = title.partition(", ")
    return head.strip(), rest.strip()


def in_brief(text: str) -> str:
    """The first few words of a text, up to its first stop, for a narrow column."""
    head = re.split(r"[:;,–—(]\s|\.\s(?=[^\d\s])|\.$", text, maxsplit=1)[0].strip()
    return shortened(head if len(head) >= SHORTEST_IN_TABLE else text, LONGEST_IN_TABLE)


def shortened(text: str, most: int) -> str:
    """A text cut at a word to at most `most` characters, with a sign that it goes on; a longer word is cut.

    It does not end with words that only join what is cut off: "Study …", not "Study in …".
    """
    flat = " ".join(text.split())
    cut = re.sub(r"(?:(?<=.)\s[a-zà-ÿ]{1,3}\.?)+ …$", " …", textwrap.shorten(flat, most, placeholder=" …"))
    return f"{flat[: most - 1]}…" if len(cut) < min(len(flat), most // 2) else cut
