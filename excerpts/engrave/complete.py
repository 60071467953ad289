"""Whether everything that should be printed has ink: notes and rests by their ids, signs by their number in each bar.

Not counted is what is hidden (`print-object="no"`, a head of "none", a staff that is not printed) and a rest in a bar
whose beats are printed as slashes.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from lxml import etree

from excerpts.engrave.finish_system import System
from excerpts.engrave.prepare import NoteRef, Source
from excerpts.engrave.signs import Counts, drawn, written
from excerpts.engrave.svg.ink import Ink
from excerpts.excerpt import Excerpt, bar_label
from excerpts.musicxml.tablature import notes_in_tablature

_GATHERED: Final = frozenset({"beatRpt", "mRpt", "halfmRpt", "multiRest", "multiRpt"})
"""What stands for the rests of a bar."""
_LOSS: Final = re.compile(r"\[Error\]|Unsupported|could not be matched|is ignored|Cannot|invalid number")
"""Lines of the engraver's log that mean that something is not drawn, or not as it is written."""
_LEVEL: Final = re.compile(r"^\[\w+\] (?:MusicXML import: )?")
_OF_SPAN: Final = re.compile(r"is ignored|could not be matched")
_ID: Final = re.compile(r",?(?: and)?(?: with)?(?: @[\w:]+)? '[^']*'")
"""Ids of the engraver's own, which tell nobody anything; they stand in what it says of spans."""
_PLURALS: Final = {
    "bow sign or articulation": "bow signs or articulations",
    "text or dynamic": "texts or dynamics",
    "segno or coda": "segnos or codas",
    "figured bass": "figured basses",
    "glissando": "glissandos",
}


@dataclass(frozen=True, slots=True)
class Missing:
    """Something of a bar that is not printed.

    Attributes:
        bar: Number of the bar as `bar_label` tells it, "" where it is not known.
        what: "note", "rest", "slur" …; what the engraver says where `count` is 0.
        count: How many are missing.
        of: How many the bar has.
    """

    bar: str
    what: str
    count: int = 0
    of: int = 0

    def __str__(self) -> str:
        if not self.count:
            return f"something may not be drawn as it is written. The engraver says: {self.what}"
        named = self.what if self.of == 1 else _PLURALS.get(self.what, f"{self.what}s")
        number = "the only" if self.of == 1 else f"{self.count} of {self.of}"
        return f"bar {self.bar}: {number} {named} could not be drawn"


def lost_notes(source: Source, placed: Iterable[str], inks: Iterable[Ink]) -> list[NoteRef]:
    """The notes and rests that should have a head or sign and have none.

    Args:
        source: The private copy.
        placed: Ids of those that have one.
        inks: All ink of all systems.
    """
    absent = source.notes.keys() - set(placed)
    if not absent:
        return []
    gathered = {ink.owner.bar for ink in inks if ink.owner.kind in _GATHERED}
    hidden = _hidden(source.root)
    return [
        note
        for ident, note in source.notes.items()
        if ident in absent and ident not in hidden and not (note.rest and note.bar in gathered)
    ]


def _hidden(root: etree._Element) -> set[str]:
    """Ids of the notes that the source does not print, and of rests in tablature, which the engraver names anew."""
    hidden = {note.get("id", "") for note in notes_in_tablature(root) if note.find("rest") is not None}
    for part in root.iterchildren("part"):
        staves: set[str] = set()
        for element in part.iter("staff-details", "note"):
            if element.tag == "staff-details":
                change = staves.add if element.get("print-object") == "no" else staves.discard
                change(element.get("number", "1"))
            elif (
                element.get("print-object") == "no"
                or (element.findtext("notehead") or "").strip() == "none"
                or (element.findtext("staff") or "1").strip() in staves
            ):
                hidden.add(element.get("id", ""))
    return hidden


def missing(
    excerpt: Excerpt, source: Source, systems: Sequence[System], log: Iterable[str]
) -> tuple[Missing, ...]:
    """Tell what is not printed of an excerpt.

    Args:
        excerpt: The excerpt.
        source: Its private copy as it was drawn.
        systems: Its systems.
        log: What the engraver said.
    """
    short: Counts = Counter()
    there: Counts = Counter()
    inks = [ink for system in systems for ink in system.music]
    lost = lost_notes(source, (ident for system in systems for ident in system.placed), inks)
    if lost:
        short.update(_placed(lost))
        there.update(_placed(source.notes.values()))
    signs = written(source.root)
    short += signs - drawn(inks)
    there += signs
    short += source.left_out
    there += source.left_out
    lacking = tuple(
        Missing(bar_label(excerpt.bars, bar), what, count, there[bar, what])
        for (bar, what), count in sorted(short.items(), key=lambda one: one[0][0])
    )
    return lacking or tuple(Missing("", line) for line in dict.fromkeys(map(_plain, log)) if line)


def _plain(line: str) -> str:
    """A line of the engraver's log without what tells nobody anything; "" for one that means no loss."""
    if not _LOSS.search(line):
        return ""
    plain = _LEVEL.sub("", line)
    return _ID.sub("", plain) if _OF_SPAN.search(plain) else plain


def _placed(notes: Iterable[NoteRef]) -> Counts:
    return Counter((note.bar, "rest" if note.rest else "note") for note in notes)
