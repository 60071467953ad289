"""What a cut leaves half or pointing out of itself: beams, endings, long rests, jumps, traces of the old page.

A beam that lacks an end is ended at its last note, one that lacks a beginning begins at its first; a single note keeps
none. Level by level, for a note may stand in a long first beam and a broken second one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from lxml import etree

from excerpts.musicxml.format import drop
from excerpts.score.numbering import shifted
from excerpts.score.slice import Slice, remove

_Beams = dict[str, etree._Element]


def mend_beams(cut: Slice) -> None:
    """Complete the beams of every voice of the slice."""
    levels = sorted({beam.get("number") or "1" for measure in cut.measures for beam in measure.iter("beam")})
    for notes in _sequences(cut).values() if levels else ():
        for level in levels:
            for index in complete_beams((index, beams.get(level)) for index, beams in notes):
                cut.note_down("repaired", "beam", index, "it had no beginning or no end")


def _sequences(cut: Slice) -> dict[tuple[str, str, bool], list[tuple[int, _Beams]]]:
    """The beams of the notes of each voice in order of time, grace notes apart, with the index of the bar; no rests."""
    sequences: dict[tuple[str, str, bool], list[tuple[int, _Beams]]] = {}
    for index, moment in sorted(cut.moments(), key=lambda pair: (pair[0], pair[1].onset)):
        children = moment.children
        if moment.element.tag != "note" or "chord" in children or "rest" in children:
            continue
        voice = moment.voice
        key = (voice, "" if voice else moment.staff, "grace" in children)
        beams = _beams(cut.copies[moment.element]) if "beam" in children else {}
        sequences.setdefault(key, []).append((index, beams))
    return sequences


def _beams(note: etree._Element) -> _Beams:
    """The beams of a note by level; the first of each."""
    return {beam.get("number") or "1": beam for beam in note.iterchildren("beam", reversed=True)}


def complete_beams(marks: Iterable[tuple[int, etree._Element | None]]) -> list[int]:
    """Complete the beams of one level of one voice (bar and `<beam>` of each note); gives the bars that changed."""
    changed: list[int] = []
    group: list[etree._Element] = []
    at = 0
    for index, beam in marks:
        kind = (beam.text or "").strip() if beam is not None else ""
        if kind not in ("continue", "end") and group:
            _close(group)
            changed.append(at)
            group = []
        at = index
        if beam is None or kind not in ("begin", "continue", "end"):
            continue
        if not group and kind != "begin":
            changed.append(index)
            if kind == "end":
                drop(beam)
                continue
            beam.text = "begin"
        group.append(beam)
        if kind == "end":
            group = []
    if group:
        _close(group)
        changed.append(at)
    return changed


def _close(group: list[etree._Element]) -> None:
    if len(group) > 1:
        group[-1].text = "end"
    else:
        drop(group[0])


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
    endings: list[_Ending] = []
    open_at: tuple[etree._Element, int] | None = None
    for index, _, element in piece.bars.every("ending"):
        if element.get("type") == "start":
            if open_at is not None and open_at[1] == index:
                _drop(piece, element, index, "its bar begins one already")
                continue
            if open_at is not None:
                endings.append(_Ending(*open_at, index - 1, is_closed=False))
            open_at = (element, index)
        elif open_at is not None:
            endings.append(_Ending(*open_at, index, is_closed=True))
            open_at = None
        else:
            _drop(piece, element, index, "it has no beginning in the source")
    if open_at is not None:
        endings.append(_Ending(*open_at, open_at[1], is_closed=False))
    return endings


def _drop(piece: Slice, element: etree._Element, index: int, why: str) -> None:
    if piece.holds(index):
        remove(piece.copies[element])
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


def clamp_rests(piece: Slice) -> None:
    """Shorten a rest of several bars to the bars that are left; a single bar is an ordinary rest."""
    for k, measure in enumerate(piece.measures):
        for count in measure.findall("attributes/measure-style/multiple-rest"):
            bars = (count.text or "").strip()
            left = len(piece.measures) - k
            if not bars.isdecimal() or int(bars) <= left:
                continue
            piece.note_down("closed", "multiple-rest", piece.first + k, f"{bars} bars in the source")
            count.text = str(left)
            style = count.getparent()
            if left == 1 and style is not None and (attributes := style.getparent()) is not None:
                attributes.remove(style)


_JUMPS: Final = ("dacapo", "dalsegno", "segno", "coda", "tocoda", "fine", "forward-repeat")
_PRINT_KEPT: Final = ("measure-numbering", "part-name-display", "part-abbreviation-display")


def tidy(piece: Slice) -> None:
    """Take out what describes the old page or points out of the cut."""
    for k, measure in enumerate(piece.measures):
        measure.attrib.pop("width", None)
        for printed in measure.findall("print"):
            kept = [child for child in printed if child.tag in _PRINT_KEPT]
            printed.attrib.clear()
            for child in [c for c in printed if c not in kept]:
                printed.remove(child)
            if not kept:
                measure.remove(printed)
        for link in measure.findall("link"):
            measure.remove(link)
        _drop_jumps(piece, measure, piece.first + k)
        for picture in list(measure.iter("image")):
            remove(picture)
            piece.note_down("dropped", "picture", piece.first + k, "it is a file outside the score")


def _drop_jumps(piece: Slice, measure: etree._Element, index: int) -> None:
    """A jump in playback leads out of the cut; the sign that is printed stays."""
    for sound in list(measure.iter("sound")):
        jumps = [name for name in _JUMPS if name in sound.attrib]
        for name in jumps:
            del sound.attrib[name]
        if jumps:
            piece.note_down("dropped", "jump", index, "the sign stays")
        if not sound.attrib and not len(sound):
            drop(sound)


def renumber(piece: Slice) -> None:
    """Give the bars the numbers of the pupil's own edition."""
    if not piece.pupil_bars:
        return
    for measure in piece.measures:
        for name in ("number", "text"):
            if name in measure.attrib:
                measure.set(name, shifted(str(measure.get(name)), piece.pupil_bars))
    way = "higher" if piece.pupil_bars > 0 else "lower"
    piece.note_down("restated", "bar-numbers", None, f"{abs(piece.pupil_bars)} {way} than in the file")
