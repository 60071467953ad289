"""First and second endings that a cut halves: the bracket is completed, never left half."""

from __future__ import annotations

from lxml import etree

from excerpts.score.slice import Slice, remove


def mend_endings(piece: Slice) -> None:
    """Complete the brackets of first and second endings that the cut halves."""
    open_number: etree._Element | None = None
    for index, measure in enumerate(piece.bars.measures[: piece.last + 1]):
        for ending in measure.iterfind("barline/ending"):
            if ending.get("type") == "start":
                open_number = ending
            else:
                if open_number is None and piece.holds(index):
                    remove(piece.twins[ending])
                    piece.note_down("dropped", "ending", index, "it has no beginning in the source")
                open_number = None
        if index == piece.first - 1 and open_number is not None:
            _add_ending(piece.measures[0], open_number, "left", "start")
            piece.note_down("restated", "ending", piece.first, f"number {open_number.get('number')}")
    if open_number is not None:
        _add_ending(piece.measures[-1], open_number, "right", "discontinue")
        piece.note_down("closed", "ending", piece.last, f"number {open_number.get('number')}")


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
    ending = etree.Element("ending", number=like.get("number") or "1", type=kind)
    if kind == "start" and like.text:
        ending.text = like.text
    repeat = barline.find("repeat")
    barline.insert(len(barline) if repeat is None else barline.index(repeat), ending)
