"""What is asked about before it goes into a log: it can hardly be what the paper says."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Final

from excerpts.excerpt import Tempo
from excerpts.log.offers import bar_numbers
from excerpts.log.row import LogRow
from excerpts.score.marked_words import read_words
from excerpts.week import Week
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.tempo_text import tempo_text
from excerpts.words import Words

FASTEST: Final = Fraction(3, 2)
"""Times the goal above which a tempo is asked about: common practice, no source."""

_PLAIN: Final = re.compile(r"\d+(-\d+)?")


def row_doubts(week: Week, row: LogRow, words: Words) -> list[str]:
    """The questions about a row of work on a box, or of a lesson that it was heard in."""
    box = next((box for box in (*week.boxes, *week.retired) if box.id == row.box), None)
    if box is None or row.kind not in ("box", "heard"):
        return []
    return list(filter(None, (tempo_doubt(box, row.tempo, words), bars_doubt(box, row.bars, words))))


def tempo_doubt(box: BoxItem, tempo: Tempo | None, words: Words) -> str:
    """A question about a tempo far beyond the goal of a box; empty where there is none."""
    if tempo is None or box.target is None:
        return ""
    if tempo.quarters_per_minute <= FASTEST * box.target.quarters_per_minute:
        return ""
    return words("log.doubt_tempo", tempo=tempo_text(tempo, words), goal=tempo_text(box.target, words))


def bars_doubt(box: BoxItem, bars: str, words: Words) -> str:
    """A question about bars outside a box, as far as both are plain numbers; empty where there is none."""
    own = box.bars or _in_place(box.place or "")
    if not _PLAIN.fullmatch(own) or bar_numbers(bars) <= bar_numbers(own):
        return ""
    return words("log.doubt_bars", bars=bars, own=own)


def _in_place(place: str) -> str:
    """The bars that a place in a printed part names ("p. 14, bars 12–16"); empty where it names none."""
    meanings = [read_words(text) for text in re.split("[,;]", place)]
    return next((one.address for one in meanings if one and one.address and not one.alone), "")
