"""Names of an excerpt's bars, key and metre: for the grey line, and for those who hear the page."""

from __future__ import annotations

from typing import Literal

from excerpts.engrave import Spoken
from excerpts.keys import key_name, key_of_fifths
from excerpts.words import Words


class SpokenNames:
    """Says what an engraving shows.

    Args:
        words: Texts of the player.
    """

    def __init__(self, words: Words) -> None:
        self.words = words

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

    def alt(self, spoken: Spoken, title: str = "") -> str:
        """Spoken description of a picture: "Bars 41–48, Violin I, B-flat major, 6/8"."""
        what = title or self.bars(spoken.first, spoken.last)
        said = ", ".join(part for part in (what, spoken.part, self.key(spoken), self.metre(spoken)) if part)
        return said[:1].upper() + said[1:]
