"""Names of an excerpt's bars, key and metre: for the grey line, and for those who hear the page."""

from __future__ import annotations

from typing import Literal

from excerpts.engrave import Spoken
from excerpts.instruments.keys import key_name, key_of_fifths
from excerpts.score.numbering import Called
from excerpts.week.places import beats_of, range_text
from excerpts.words import Words


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
        if spoken.fifths is None:
            return ""
        if spoken.mode in {"major", "minor"}:
            mode: Literal["major", "minor"] = "major" if spoken.mode == "major" else "minor"
            return key_name(key_of_fifths(spoken.fifths, mode), self.words, plain=True)
        count = abs(spoken.fifths)
        if not count:
            return self.words("workbook.signature_none")
        kind = "sharp" if spoken.fifths > 0 else "flat"
        return self.words(
            f"workbook.signature_one_{kind}" if count == 1 else f"workbook.signature_{kind}s", n=count
        )

    def metre(self, spoken: Spoken) -> str:
        """The metre: "6/8"."""
        if not spoken.beats:
            return ""
        return self.words("workbook.metre", beats=spoken.beats, unit=spoken.beat_type)

    def alt(self, spoken: Spoken, what: str = "") -> str:
        """Spoken description of a picture: "Bars 41–48, Violin I, B-flat major, 6/8"."""
        what = what or self.place(spoken)
        said = ", ".join(part for part in (what, spoken.part, self.key(spoken), self.metre(spoken)) if part)
        return said[:1].upper() + said[1:]

    def next_line(self, what: str, line: int, lines: int) -> str:
        """Spoken description of a later system of the same music."""
        said = self.words("workbook.alt_line", what=what, line=line, lines=lines)
        return said[:1].upper() + said[1:]
