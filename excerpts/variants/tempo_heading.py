"""Puts the tempo of a practice version before the heading of the piece, which stands in brackets behind it.

"Allegro" over a passage that is to be played at 60 misleads where it comes first: "♩ = 60 (Allegro)".
"""

from __future__ import annotations

from copy import deepcopy

from lxml import etree

from excerpts.score.tempo import names_tempo

_BRACKETS = " ()[]"
_PLACES = ("id", "default-x", "default-y", "relative-x", "relative-y")


def number_first(direction: etree._Element) -> None:
    """Put a metronome mark before the words that stand with it, and the words in brackets.

    Args:
        direction: A `<direction>` with a metronome mark, in a measure. Words in it, and the heading in a direction
            right before or behind it, get a direction of their own after it.
    """
    words = _taken(direction)
    for beside in (direction.getprevious(), direction.getnext()):
        if beside is not None and beside.tag == "direction" and any(map(names_tempo, beside.iter("words"))):
            words += _taken(beside)
    for metronome in direction.iter("metronome"):
        metronome.attrib.pop("parentheses", None)
    text = " ".join(filter(None, (_text(word).strip(_BRACKETS) for word in words)))
    if not text:
        return
    told = deepcopy(words[0])
    told.text, told.tail = f"({text})", None
    for name in _PLACES:
        told.attrib.pop(name, None)
    told.set("font-style", words[0].get("font-style", "normal"))
    behind = etree.Element("direction", dict(direction.attrib))
    behind.attrib.pop("id", None)
    etree.SubElement(behind, "direction-type").append(told)
    behind.extend(deepcopy(child) for child in direction if child.tag in {"offset", "voice", "staff"})
    direction.addnext(behind)


def _taken(direction: etree._Element) -> list[etree._Element]:
    """The words of a direction, taken out of it; a direction that has nothing else goes too."""
    found: list[etree._Element] = []
    for kind in direction.findall("direction-type"):
        if kind.find("words") is not None and len(kind.findall("words")) == len(kind):
            found += kind.findall("words")
            direction.remove(kind)
    parent = direction.getparent()
    if direction.find("direction-type") is None and parent is not None:
        sound = direction.find("sound")
        if sound is not None:
            direction.addnext(sound)
        parent.remove(direction)
    return found


def _text(words: etree._Element) -> str:
    return " ".join("".join(words.itertext()).split())
