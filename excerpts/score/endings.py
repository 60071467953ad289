"""First and second endings that a cut halves: the bracket is completed, never left half."""

from __future__ import annotations

from dataclasses import dataclass

from lxml import etree

from excerpts.score.slice import Slice, remove


@dataclass(frozen=True, slots=True)
class _Ending:
    """A bracket of the source: its `<ending type="start">`, its first and last measure by index.

    Attributes:
        start: The element that begins it.
        first: Index of the measure that it begins in.
        last: Index of the measure that it ends in.
        is_closed: The source says where it ends.
    """

    start: etree._Element
    first: int
    last: int
    is_closed: bool


def mend_endings(piece: Slice) -> None:
    """Complete the brackets of first and second endings that the cut or the source leaves half."""
    for ending in _endings(piece):
        if ending.last < piece.first or ending.first > piece.last:
            continue
        number = f"number {ending.start.get('number')}"
        if ending.first < piece.first:
            _add_ending(piece.measures[0], ending.start, "left", "start")
            piece.note_down("restated", "ending", piece.first, number)
        if ending.last > piece.last:
            _add_ending(piece.measures[-1], ending.start, "right", "discontinue")
            piece.note_down("closed", "ending", piece.last, number)
        elif not ending.is_closed:
            _add_ending(piece.measures[ending.last - piece.first], ending.start, "right", "discontinue")
            piece.note_down("repaired", "ending", ending.last, "it has no end in the source")


def _endings(piece: Slice) -> list[_Ending]:
    """The brackets of the part; ends without a beginning are taken out of the slice.

    One without an end reaches up to the next one that begins later, or covers its one bar.
    """
    found: list[_Ending] = []
    open_at: tuple[etree._Element, int] | None = None
    for index, _, element in piece.bars.every("ending"):
        if element.get("type") == "start":
            if open_at is not None and open_at[1] == index:
                _drop(piece, element, index, "its bar begins one already")
                continue
            if open_at is not None:
                found.append(_Ending(*open_at, index - 1, is_closed=False))
            open_at = (element, index)
        elif open_at is not None:
            found.append(_Ending(*open_at, index, is_closed=True))
            open_at = None
        else:
            _drop(piece, element, index, "it has no beginning in the source")
    if open_at is not None:
        found.append(_Ending(*open_at, open_at[1], is_closed=False))
    return found


def _drop(piece: Slice, element: etree._Element, index: int, why: str) -> None:
    if piece.holds(index):
        remove(piece.twins[element])
        piece.note_down("dropped", "ending", index, why)


def _add_ending(measure: etree._Element, like: etree._Element, location: str, kind: str) -> None:
    barline = next(
        (b for b in measure.findall("barline") if (b.get("location") or "right") == location), None
    )
    if barline is None:
        barline = etree.Element("barline", location=location)
        if location == "left":
            measure.insert(1 if len(measure) and measure[0].tag == "print" else 0, barline)
        else:
            measure.append(barline)
    if (other := barline.find("ending")) is not None:
        barline.remove(other)  # one that ends where the cut begins has nothing left to cover
        return
    ending = etree.Element("ending", number=like.get("number") or "1", type=kind)
    if kind == "start" and like.text:
        ending.text = like.text
    repeat = barline.find("repeat")
    barline.insert(len(barline) if repeat is None else barline.index(repeat), ending)
