"""Stand-ins in the private copy for what the engraver drops without a word.

Measured on verovio 6.4.1: string numbers and thumb positions are lost, and a bracket line that follows
words in one direction loses its hooks; a metronome mark stands close on the words before it.
"""

from __future__ import annotations

from copy import deepcopy

from lxml import etree

from excerpts.engrave.letters import THUMB

_ROMAN = ("", "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX")


def stand_in(root: etree._Element) -> None:
    """Put stand-ins for what would be lost; changes the tree."""
    for technical in list(root.iter("technical")):
        _strings_and_thumbs(technical)
    for direction in list(root.iter("direction")):
        _split_brackets(direction)
        _space_before_metronome(direction)


def _strings_and_thumbs(technical: etree._Element) -> None:
    """String numbers become Roman numerals, thumbs the thumb sign, both set like a fingering."""
    for thumb in list(technical.findall("thumb-position")):
        _replace(technical, thumb, THUMB)
    numbers = [mark for mark in technical.findall("string") if _is_string(mark)]
    for string in numbers:
        _replace(technical, string, _ROMAN[int((string.text or "0").strip())])


def _is_string(mark: etree._Element) -> bool:
    text = (mark.text or "").strip()
    return text.isdecimal() and 0 < int(text) < len(_ROMAN)


def _replace(technical: etree._Element, mark: etree._Element, text: str) -> None:
    fingering = etree.Element("fingering")
    fingering.text = text
    placement = mark.get("placement")
    if placement:
        fingering.set("placement", placement)
    technical.remove(mark)
    # Behind the finger, so that it stacks outside it: the finger stands next to the note.
    technical.append(fingering)


def _split_brackets(direction: etree._Element) -> None:
    """Give each bracket line that shares its direction with words a direction of its own."""
    types = direction.findall("direction-type")
    brackets = [kind for kind in types if kind.find("bracket") is not None]
    if not brackets or len(brackets) == len(types):
        return
    for kind in brackets:
        copy = deepcopy(direction)
        for other in copy.findall("direction-type"):
            copy.remove(other)
        copy.insert(0, deepcopy(kind))
        for sound in copy.findall("sound"):
            copy.remove(sound)
        direction.remove(kind)
        direction.addnext(copy)


def _space_before_metronome(direction: etree._Element) -> None:
    marks = [mark for kind in direction.findall("direction-type") for mark in kind]
    for mark, after in zip(marks, marks[1:], strict=False):
        if mark.tag == "words" and after.tag == "metronome" and mark.text:
            mark.text = mark.text.rstrip() + "\u00a0"
