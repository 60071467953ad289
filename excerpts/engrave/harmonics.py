"""Harmonics in the private copy: diamond heads where the finger touches, one circle where a sound is meant.

The engraver draws the small circle for every kind of harmonic and on every note of a chord (measured on
verovio 6.4.1). The pitches are those of MusicXML 4.0: `base-pitch` is the stopped or open string,
`touching-pitch` where it is touched, `sounding-pitch` what is heard.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from lxml import etree


def draw_harmonics(root: etree._Element) -> None:
    """Give touched notes a hollow diamond head, and other harmonics one circle a chord; changes the tree."""
    if next(root.iter("harmonic"), None) is None:
        return
    for chord in _chords(root):
        marks = [(note, mark) for note in chord for mark in note.iterfind("notations/technical/harmonic")]
        touched = [(note, mark) for note, mark in marks if mark.find("touching-pitch") is not None]
        for note, mark in touched:
            _diamond(note)
            _drop(mark)
        # With a diamond no circle is needed; without one the chord has the circle once.
        for _, mark in [pair for pair in marks if pair not in touched][0 if touched else 1 :]:
            _drop(mark)


def _chords(root: etree._Element) -> Iterator[list[etree._Element]]:
    """Notes that share a stem."""
    for measure in root.iter("measure"):
        starts = 0

        def number(note: etree._Element) -> int:
            nonlocal starts
            starts += note.find("chord") is None
            return starts

        for _, notes in groupby(measure.iterchildren("note"), key=number):
            yield list(notes)


def _diamond(note: etree._Element) -> None:
    """Set the head of a note, unless the source gives it one."""
    if note.find("notehead") is not None:
        return
    head = etree.Element("notehead", filled="no")
    head.text = "diamond"
    before = [child for child in note if child.tag in _BEFORE_HEAD]
    before[-1].addnext(head)


_BEFORE_HEAD = frozenset({
    "grace", "chord", "pitch", "duration", "tie", "voice", "type", "dot", "accidental", "time-modification", "stem",
})  # fmt: skip


def _drop(mark: etree._Element) -> None:
    technical = mark.getparent()
    if technical is not None:
        technical.remove(mark)
