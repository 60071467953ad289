"""The engraver's private copy of an excerpt: ids, own line breaks, stand-ins. It never leaves this room."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection
from copy import deepcopy
from dataclasses import dataclass, field, replace
from fractions import Fraction

from lxml import etree

from excerpts.engrave.drawable import settle_beams, settle_note, settle_tremolos, ungroup
from excerpts.engrave.parts import PartStaves, part_staves
from excerpts.engrave.unequal_heads import part_unequal_heads
from excerpts.engrave.verovio_workarounds import mark_tuplets, stand_in
from excerpts.errors import EngravingError
from excerpts.excerpt import Excerpt
from excerpts.musicxml.format import drop
from excerpts.musicxml.pitch import name_of_pitch
from excerpts.musicxml.timeline import FIRST_DIVISIONS, walk
from excerpts.score.numbering import UNPRINTED


@dataclass(frozen=True, slots=True)
class NoteRef:
    """Where a note or rest of the private copy stands.

    Attributes:
        bar: Index of the bar, from 0.
        onset: Quarter notes from the start of the bar.
        length: Quarter notes; 0 for grace notes.
        staff: Staff from the top of the system, over all parts, from 1.
        voice: Voice as in the file.
        pitch: "C#4", or "" for rests and unpitched notes.
        grace: It is a grace note.
        rest: It is a rest.
    """

    bar: int
    onset: Fraction
    length: Fraction
    staff: int
    voice: str
    pitch: str
    grace: bool
    rest: bool = False


@dataclass(frozen=True, slots=True)
class Source:
    """The private copy and the way back from its ids.

    Attributes:
        root: The tree.
        xml: The tree as UTF-8.
        bars: Index of each bar by the id of its `<measure>`.
        notes: Each note and rest by its id.
        parts: The parts with the most staves that each has anywhere.
        unnumbered: Bars that the source prints without a number (`implicit`).
        beats: Lower number of the time signature in force in each bar.
        left_out: What was taken out because the engraver would have dropped notes with it: how many, by the index of
            the bar and what they are.
    """

    root: etree._Element
    xml: bytes
    bars: dict[str, int]
    notes: dict[str, NoteRef]
    parts: tuple[PartStaves, ...]
    unnumbered: frozenset[int] = frozenset()
    beats: tuple[int, ...] = ()
    left_out: Counter[tuple[int, str]] = field(default_factory=Counter)

    @property
    def staves(self) -> int:
        """How many staves a system has."""
        return sum(part.count for part in self.parts)

    def number(self, bar: int, label: str) -> str:
        """What is printed as the number of a bar: its label, or nothing."""
        return "" if bar in self.unnumbered or UNPRINTED.fullmatch(label) else label

    def ungrouped(self, bars: Collection[int]) -> Source:
        """The copy without the beams, tuplet signs and two-note tremolos of some bars, by their indices."""
        left_out = self.left_out.copy()
        for part in self.root.iterchildren("part"):
            for bar, measure in enumerate(part.iterchildren("measure")):
                for what, count in (ungroup(measure) if bar in bars else {}).items():
                    left_out[bar, what] += count
        return replace(self, xml=_as_text(self.root), left_out=left_out)

    def unslurred(self) -> bytes:
        """The copy as text to be measured: slurs take no width, and to bend them round notes takes time."""
        return _SLUR.sub(b"", self.xml)

    def text(self, breaks: tuple[int, ...] = ()) -> bytes:
        """The copy as text for the engraver, with a new system at each bar index of `breaks`, in order."""
        pieces: list[bytes] = []
        done = 0
        for tag in _BAR_TAG.finditer(self.xml):
            if int(tag[1]) in breaks:
                pieces += [self.xml[done : tag.start()], _with_break(tag[0])]
                done = tag.end()
        return b"".join([*pieces, self.xml[done:]])


_SLUR = re.compile(rb"<slur(?: [^>]*)?/>")
_BAR_TAG = re.compile(rb'<measure (?:[^>]* )?id="bar(\d+)"[^>]*>')
"""The ids are our own, and neither "<" nor ">" stands unescaped in what lxml writes but round a tag."""
_BREAK = b'<print new-system="yes"/>'


def _with_break(tag: bytes) -> bytes:
    empty = tag.endswith(b"/>")
    return tag[:-2] + b">" + _BREAK + b"</measure>" if empty else tag + _BREAK


def checked_tree(excerpt: Excerpt) -> etree._Element:
    """Parse the music of an excerpt.

    Raises:
        EngravingError: The excerpt has no bars, or not those that it says.
    """
    root = excerpt.tree()
    for part in root.findall("part") or [root]:
        count = len(part.findall("measure"))
        if not count or count != len(excerpt.bars):
            raise EngravingError(f"the excerpt has {count} bars of music and {len(excerpt.bars)} bar numbers")
    return root


def prepare(excerpt: Excerpt, root: etree._Element | None = None) -> Source:
    """Make the private copy of an excerpt.

    Args:
        excerpt: The excerpt.
        root: Its checked tree, where there is one already; it becomes the private copy.

    Raises:
        EngravingError: The excerpt has no bars, or not those that it says.
    """
    root = checked_tree(excerpt) if root is None else root
    trees = root.findall("part")
    parts = part_staves(root)
    _clear(root)
    if len(parts) > 1:
        _bracket(root)
    notes: dict[str, NoteRef] = {}
    measures = trees[0].findall("measure")
    unnumbered = frozenset(i for i, measure in enumerate(measures) if measure.get("implicit") == "yes")
    for part, staves in zip(trees, parts, strict=True):
        divisions, unbeamed = FIRST_DIVISIONS, False
        for index, measure in enumerate(part.iterfind("measure")):
            if part is trees[0]:
                measure.set("id", f"bar{index}")
            measure.set("implicit", "yes")
            full, before = excerpt.bars[index].length, divisions
            divisions, was_beamed = _number_notes(measure, full, index, divisions, notes, staves.first)
            unbeamed |= was_beamed
            part_unequal_heads(measure, before)
        if unbeamed:
            settle_beams(part)
    left_out = _settled_tremolos(trees)
    mark_tuplets(root)
    stand_in(root)
    for measure, bar in zip(measures, excerpt.bars, strict=True):
        if bar.count > 1:
            _stand_for(measure, bar.count)
    bars = {f"bar{index}": index for index in range(len(measures))}
    return Source(
        root,
        _as_text(root),
        bars,
        notes,
        parts,
        unnumbered,
        _beats(measures),
        left_out,
    )


_SILENT = "bar-of-rest"
"""A bar that the engraver passes over: a `<measure>` to it, not to us."""


def _stand_for(measure: etree._Element, count: int) -> None:
    """Let a bar of rest stand for several, which the engraver wants to find; it draws the barline of the last.

    It passes over all that stands behind the word for it.
    """
    attributes = etree.Element("attributes")
    style = etree.SubElement(attributes, "measure-style")
    etree.SubElement(style, "multiple-rest").text = str(count)
    next(measure.iterchildren("note")).addprevious(attributes)
    rest = etree.Element(_SILENT)
    etree.SubElement(etree.SubElement(rest, "note"), "rest", measure="yes")
    silent = [deepcopy(rest) for _ in range(1, count)]
    silent[-1].extend(map(deepcopy, measure.findall("barline")))
    for bar in reversed(silent):
        measure.addnext(bar)


def _as_text(root: etree._Element) -> bytes:
    text: bytes = etree.tostring(root, encoding="utf-8")
    return text.replace(_SILENT.encode(), b"measure")


def _settled_tremolos(parts: list[etree._Element]) -> Counter[tuple[int, str]]:
    """Take the tremolos out that cannot be drawn, and count them by bar."""
    lost: Counter[tuple[int, str]] = Counter()
    for part in parts:
        if next(part.iter("tremolo"), None) is not None:
            for bar, measure in enumerate(part.iterchildren("measure")):
                lost[bar, "tremolo"] += settle_tremolos(measure)
    return +lost


def _bracket(root: etree._Element) -> None:
    """Put a bracket before all parts; the barlines stay within each, as in chamber music."""
    listed = root.find("part-list")
    if listed is not None:
        start = etree.Element("part-group", type="start", number="1")
        etree.SubElement(start, "group-symbol").text = "bracket"
        etree.SubElement(start, "group-barline").text = "no"
        listed.insert(0, start)
        etree.SubElement(listed, "part-group", type="stop", number="1")


def _beats(measures: list[etree._Element]) -> tuple[int, ...]:
    """The lower number of the time signature in force in each bar; 4 where there is none."""
    beats: list[int] = []
    for measure in measures:
        text = next((e.text or "" for e in measure.iter("beat-type")), "").strip()
        beats.append(int(text) if text.isdecimal() and int(text) else beats[-1] if beats else 4)
    return tuple(beats)


def _clear(root: etree._Element) -> None:
    """Drop what would fight with our own layout: part names, page breaks, gathered rests, foreign ids."""
    for element in _WITH_ID(root):
        if element.tag not in _NEEDS_ID:
            del element.attrib["id"]
    for element in list(root.iter(*_DROPPED)):
        drop(element)
    for name in root.iter("part-name"):
        name.text = None
        name.set("print-object", "no")
    for style in list(root.iter("measure-style")):
        if style.find("multiple-rest") is not None:
            drop(style)


_WITH_ID = etree.XPath("//*[@id]")
_DROPPED = (
    "defaults", "credit", "part-group", "print", "part-abbreviation", "part-name-display",
    "part-abbreviation-display",
)  # fmt: skip
_NEEDS_ID = frozenset(
    {"score-part", "part", "score-instrument", "midi-instrument", "midi-device", "instrument"}
)


def _number_notes(
    measure: etree._Element,
    full: Fraction,
    bar: int,
    divisions: Fraction,
    notes: dict[str, NoteRef],
    above: int,
) -> tuple[Fraction, bool]:
    """Give the notes of one bar of so many quarter notes ids, note where they stand, and put them right.

    Returns:
        The divisions of a quarter note at its end, and whether notes were taken out of their beams.
    """
    time = walk(measure, divisions)
    unbeamed = False
    for moment in time.moments:
        note, facts = moment.element, {name: child.text or "" for name, child in moment.children.items()}
        if note.tag != "note":
            continue
        ident = f"note{len(notes)}"
        note.set("id", ident)
        notes[ident] = NoteRef(
            bar,
            moment.onset,
            moment.duration,
            above + int(moment.staff),
            moment.voice or "1",
            name_of_pitch(note),
            "grace" in facts,
            "rest" in facts,
        )
        if "beam" in facts or "rest" in facts or not facts.get("type"):
            fills = moment.duration == full and moment.onset == 0
            unbeamed |= settle_note(note, facts, moment.duration, fills=fills)
    return time.divisions, unbeamed
