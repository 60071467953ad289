"""What describes the old page or points out of the cut is taken out."""

from __future__ import annotations

from typing import Final

from lxml import etree

from excerpts.score.numbering import shifted
from excerpts.score.slice import Slice, remove

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
            piece.note_down("dropped", "jump in playback", index, "the sign stays")
        if not sound.attrib and not len(sound):
            parent = sound.getparent()
            if parent is not None:
                parent.remove(sound)


def renumber(piece: Slice) -> None:
    """Give the bars the numbers of the pupil's own edition."""
    if not piece.pupil_bars:
        return
    for measure in piece.measures:
        for name in ("number", "text"):
            if name in measure.attrib:
                measure.set(name, shifted(str(measure.get(name)), piece.pupil_bars))
    way = "higher" if piece.pupil_bars > 0 else "lower"
    piece.note_down("restated", "bar numbers", None, f"{abs(piece.pupil_bars)} {way} than in the file")
