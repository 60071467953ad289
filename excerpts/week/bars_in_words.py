"""What the bars of a box are called, in the player's words: the same on plan, page, log and lesson sheet.

Most addresses are bar numbers and say so themselves. Rehearsal marks, places in the file and pick-ups are looked up
in the score.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from excerpts.errors import InputError
from excerpts.score.address import parse_end, sides
from excerpts.score.numbering import Called, called
from excerpts.week.model import Week
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.model import WeekFile
from excerpts.words import Words

_NUMBER: Final = re.compile(r"(?!0+\b)\d+[a-z]?")
"""A bar number that needs no looking up: 0 may be a pick-up."""


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


def range_text(bars: Called, beats: Beats, words: Words) -> str:
    """Bars and beats in words: "bars 41–48", "pick-up to bar 4", "bar 15, beat 3, to bar 16, beat 2"."""
    if not beats.first and not beats.last:
        return _bars(bars, words)
    same = bars.first == bars.last and not bars.pickup
    if (same or not bars.last) and beats.first and beats.last:
        bar = words("bar.one", label=bars.first) if same else _pickup(bars, words)
        if beats.first == beats.last:
            return words("workbook.beats.one", bar=bar, beat=beats.first)
        return words("workbook.beats.within", bar=bar, first=beats.first, last=beats.last)
    ends = [
        _pickup(bars, words) if bars.pickup else words("bar.one", label=bars.first),
        words("bar.one", label=bars.last) if bars.last else _pickup(bars, words),
    ]
    names = [
        words("workbook.beats.one", bar=bar, beat=beat) if beat else bar
        for bar, beat in zip(ends, (beats.first, beats.last), strict=True)
    ]
    return words("workbook.beats.to", first=names[0], last=names[1])


def _bars(bars: Called, words: Words) -> str:
    if bars.pickup and not bars.last:
        return _pickup(bars, words)
    if bars.pickup == "opening":
        return words("bar.pickup_to", last=bars.last)
    one = bars.first == bars.last
    name = words("bar.one", label=bars.first) if one else words("bar.many", first=bars.first, last=bars.last)
    return words("bar.with_pickup", bars=name) if bars.pickup else name


def _pickup(bars: Called, words: Words) -> str:
    if bars.pickup == "opening":
        return words("bar.pickup")
    return words("bar.pickup_before", label=bars.first)


def bars_text(address: str, words: Words) -> str:
    """Bars as somebody wrote them, in the player's words; what has the word already stays as it is."""
    if re.match(r"(bars?|measures?)\b", address, re.IGNORECASE):
        return address
    plain = _plain(address)
    if plain is not None:
        return range_text(plain, beats_of(address), words)
    if re.fullmatch(r"\w+", address):
        return words("bar.one", label=address)
    return words("plan.bars", bars=address.replace("-", "–"))


def bars_of(week: WeekFile, piece: str | None, address: str, words: Words) -> str:
    """Bars of a piece in the player's words, by the numbers that are printed in its score."""
    called_bars = _plain(address) or _looked_up(week, piece, address)
    return (
        bars_text(address, words)
        if called_bars is None
        else range_text(called_bars, beats_of(address), words)
    )


def box_name(week: WeekFile, box: BoxItem, words: Words) -> str:
    """What a box is called: its piece, its place in a printed part, its bars; empty where it has none of them."""
    titles = {piece.id: piece.title for piece in week.pieces}
    bars = bars_of(week, box.piece, box.bars, words) if box.bars else ""
    return ", ".join(part for part in (titles.get(box.piece or "", ""), box.place, bars) if part)


def _plain(address: str) -> Called | None:
    """An address of bar numbers, which need no looking up; None for any other."""
    for first, last in [*sides(address), (address, address)]:
        ends = [parse_end(side.strip()) for side in (first, last)]
        if all(
            end is not None and end.plus is None and not end.is_mark and _NUMBER.fullmatch(end.name)
            for end in ends
        ):
            return Called(*(end.name for end in ends if end is not None))
    return None


def _looked_up(week: WeekFile, piece_id: str | None, address: str) -> Called | None:
    """Bars found in the score of a piece; None where there is none, or no such bars in it."""
    if piece_id is None or not isinstance(week, Week):
        return None
    try:
        part, pupil_bars = week.part(piece_id), week.piece(piece_id).pupil_bars
        return called(part.bars, part.passage(address, pupil_bars).span, pupil_bars) if part else None
    except InputError:
        return None  # what is wrong with it is told where the music is needed
