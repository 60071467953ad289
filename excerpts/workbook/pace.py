"""Takes the tempo of the piece out of its practice versions: they are played at the tempo of their step."""

from __future__ import annotations

from dataclasses import replace

from lxml import etree

from excerpts.excerpt import Excerpt
from excerpts.musicxml.format import serialise


def without_tempo(excerpt: Excerpt) -> Excerpt:
    """A copy for the page whose tempo headings and metronome marks are left out.

    "Andante = 66" over a version that is to be played at 40 misleads. Words that change the tempo ("rit.")
    stay: they belong to the phrase. The copy is only printed, never written to a file of its own.
    """
    root = excerpt.tree()
    for direction in [one for one in root.iter("direction") if _tells_tempo(one) or _is_beside(one)]:
        _strip(direction)
    return replace(excerpt, xml=serialise(root), tempo=None)


def _tells_tempo(direction: etree._Element) -> bool:
    numbered = any(sound.get("tempo") for sound in direction.findall("sound"))
    return numbered or direction.find("direction-type/metronome/per-minute") is not None


def _is_beside(direction: etree._Element) -> bool:
    """Whether it is a heading in bold in a direction of its own, beside the one that has the number."""
    if not any(words.get("font-weight") == "bold" for words in direction.iter("words")):
        return False
    beside = (direction.getprevious(), direction.getnext())
    return any(other is not None and other.tag == "direction" and _tells_tempo(other) for other in beside)


def _strip(direction: etree._Element) -> None:
    for kind in direction.findall("direction-type"):
        if kind.find("metronome/per-minute") is not None or _is_heading(kind):
            direction.remove(kind)
    parent = direction.getparent()
    if direction.find("direction-type") is None and parent is not None:
        parent.remove(direction)


def _is_heading(kind: etree._Element) -> bool:
    """Words with a capital ("Allegro"), or what stands around a metronome mark ("(", "ca.")."""
    text = "".join("".join(words.itertext()) for words in kind.findall("words")).strip()
    if kind.find("words") is None or len(kind.findall("words")) != len(kind):
        return False
    return not text or not text[0].isalpha() or text[0].isupper()
