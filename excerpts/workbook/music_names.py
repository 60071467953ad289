"""Names of an excerpt's bars, key and metre: for the grey line, and for those who hear the page."""

from __future__ import annotations

from excerpts.engrave import Spoken
from excerpts.instruments.keys import signature_name
from excerpts.score.numbering import Called
from excerpts.week.bars_in_words import beats_of, range_text
from excerpts.words import Words, capital


class SpokenNames:
    """Says what an engraving shows.

    Args:
        words: Texts of the player.
    """

    def __init__(self, words: Words) -> None:
        self.words = words

    def place(self, spoken: Spoken, address: str = "") -> str:
        """Bars and beats by their printed numbers: "bar 15, beat 3, to bar 16, beat 2".

        Args:
            spoken: What the engraving shows.
            address: Its address as the teacher wrote it; its bars alone where it is left out.
        """
        return range_text(Called(spoken.first, spoken.last, spoken.pickup), beats_of(address), self.words)

    def key(self, spoken: Spoken) -> str:
        """The key, or its signature where the source does not say which of the two keys it is."""
        return "" if spoken.fifths is None else signature_name(spoken.fifths, spoken.mode, self.words)

    def metre(self, spoken: Spoken) -> str:
        """The metre: "6/8"."""
        if not spoken.beats:
            return ""
        return self.words("workbook.metre", beats=spoken.beats, unit=spoken.beat_type)

    def alt(self, spoken: Spoken, what: str = "") -> str:
        """Spoken description of a picture: "Bars 41–48, Violin I, B-flat major, 6/8"."""
        what = what or self.place(spoken)
        return capital(", ".join(filter(None, (what, spoken.part, self.key(spoken), self.metre(spoken)))))

    def next_line(self, what: str, line: int, lines: int) -> str:
        """Spoken description of a later system of the same music."""
        return capital(self.words("workbook.alt_line", what=what, line=line, lines=lines))
