"""A part without the marks that made its boxes, for print: the box has a frame of its own there."""

from __future__ import annotations

from lxml import etree

from excerpts.score.boxes_in_score import read_marks
from excerpts.score.score import Part, Score, TakenOut
from excerpts.score.slice import remove

_DETAIL = "made a box"


def unmarked(part: Part) -> Part:
    """The part without the bracket lines, words and colours that mark boxes in it.

    Excerpts of it say in their report what is not there. Rectangles and lines that are no boxes stay.

    Args:
        part: The part; it is not changed.
    """
    made = read_marks(part).elements
    if not made:
        return part
    root = part.score.mended()
    twins = dict(zip(part.bars.part.iter(), root.findall("part")[part.index].iter(), strict=True))
    for element, _, what in made:
        if what == "colour":
            _make_black(twins[element])
        else:
            remove(twins[element])
    told = dict.fromkeys(TakenOut(bar, what, _DETAIL) for _, bar, what in made)
    return Part(Score(root, part.score.name, part.score.warnings), part.index, tuple(told))


def _make_black(note: etree._Element) -> None:
    """Take the colour from a note, and from the rests of its bar that have the same."""
    colour = note.get("color")
    rests = [rest for rest in note.itersiblings("note", preceding=True) if rest.find("rest") is not None]
    rests += [rest for rest in note.itersiblings("note") if rest.find("rest") is not None]
    for one in (note, *(rest for rest in rests if colour and rest.get("color") == colour)):
        for element in one.iter():
            element.attrib.pop("color", None)
