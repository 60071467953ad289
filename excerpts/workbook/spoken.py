"""Names of an excerpt's bars, key and metre: for the grey line, and for those who hear the page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from excerpts.engrave import Spoken
from excerpts.keys import key_name, key_of_fifths
from excerpts.score.address import parse_end, sides
from excerpts.words import Words


@dataclass(frozen=True, slots=True)
class Beats:
    """The beats that an address names, as the teacher wrote them; empty where it names whole bars."""

    first: str = ""
    last: str = ""


def beats_of(address: str) -> Beats:
    """The beats in an address: "15:3-16:2" goes from beat 3 to beat 2."""
    if ":" not in address:
        return Beats()
    for way in [*sides(address), (address, address)]:
        ends = [parse_end(side.strip()) for side in way]
        if any(end is None for end in ends):
            continue
        written = [end.text.rpartition(":")[2] if end and end.beat is not None else "" for end in ends]
        return Beats(*written)
    return Beats()


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

    def place(self, spoken: Spoken, address: str, *, short: bool = False) -> str:
        """Bars and beats by their printed numbers: "bar 15, beat 3, to bar 16, beat 2".

        Args:
            spoken: What the engraving shows.
            address: Its address as the teacher wrote it.
            short: In the form of an address, for tables: "bars 15:3–16:2".
        """
        beats = beats_of(address)
        first, last = spoken.first, spoken.last
        if not beats.first and not beats.last:
            return self.bars(first, last)
        if short:
            return self.bars(_with(first, beats.first), _with(last, beats.last))
        if first == last and beats.first and beats.last:
            if beats.first == beats.last:
                return self.words("workbook.beats.one", bar=first, beat=beats.first)
            return self.words("workbook.beats.within", bar=first, first=beats.first, last=beats.last)
        ends = [
            self.words("workbook.beats.one", bar=bar, beat=beat) if beat else self.bars(bar, bar)
            for bar, beat in ((first, beats.first), (last, beats.last))
        ]
        return self.words("workbook.beats.to", first=ends[0], last=ends[1])

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
        what = what or self.bars(spoken.first, spoken.last)
        said = ", ".join(part for part in (what, spoken.part, self.key(spoken), self.metre(spoken)) if part)
        return said[:1].upper() + said[1:]

    def next_line(self, what: str, line: int, lines: int) -> str:
        """Spoken description of a later system of the same music."""
        said = self.words("workbook.alt_line", what=what, line=line, lines=lines)
        return said[:1].upper() + said[1:]


def _with(bar: str, beat: str) -> str:
    return f"{bar}:{beat}" if beat else bar
