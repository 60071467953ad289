"""Signs counted by bar: those that the private copy has, and those that have ink.

Measured on verovio 6.4.1: which ink the engraver draws for which sign. Notes and rests are not counted here: they have
ids. Clefs, keys and time signatures stand anew on every system; a beam or tuplet says nothing without its notes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from typing import Final, Literal, NamedTuple

from lxml import etree

from excerpts.engrave.svg.ink import Ink
from excerpts.musicxml.tablature import notes_in_tablature

Counts = Counter[tuple[int, str]]
"""How many of a kind there are in a bar, by the index of the bar and the name of the kind."""
Shared = Literal["", "note", "chord"]


class _Kind(NamedTuple):
    """One kind of signs.

    Attributes:
        tags: Elements of MusicXML.
        ink: What the engraver calls what it draws for them.
        one: What is one sign of its ink: all with one "id", all at one "note", or each "piece".
        shared: What has the sign once, however often it is written: one "note", or the notes of one "chord".
    """

    tags: str
    ink: str
    one: Literal["id", "note", "piece"] = "id"
    shared: Shared = ""


KINDS: Final = {
    "fingering": _Kind("fingering string", "fing string"),
    "bow sign or articulation": _Kind(
        "accent strong-accent staccato tenuto detached-legato staccatissimo spiccato soft-accent up-bow down-bow "
        "harmonic open-string stopped snap-pizzicato fingernails open",
        "artic",
        one="piece",
        shared="chord",
    ),
    "breath mark": _Kind("breath-mark caesura", "breath caesura", shared="chord"),
    "fermata": _Kind("fermata", "fermata", shared="chord"),
    "ornament": _Kind(
        "trill-mark turn delayed-turn inverted-turn delayed-inverted-turn vertical-turn inverted-vertical-turn "
        "mordent inverted-mordent schleifer haydn",
        "trill mordent turn",
        shared="chord",
    ),
    "tremolo": _Kind("tremolo", "bTrem fTrem", one="piece", shared="chord"),
    "slur": _Kind("slur", "slur"),
    "tie": _Kind("tied", "tie lv"),
    "glissando": _Kind("glissando slide", "gliss"),
    "accidental": _Kind("accidental", "accid", one="note", shared="note"),
    "dot": _Kind("dot", "dots tabDurSym", one="piece"),
    "syllable": _Kind("lyric", "syl", one="note", shared="note"),
    "hairpin": _Kind("wedge", "hairpin"),
    "octave line": _Kind("octave-shift", "octave"),
    "bracket": _Kind("bracket", "bracketSpan"),
    "pedal mark": _Kind("pedal", "pedal"),
    "text or dynamic": _Kind("direction dynamics", "dir tempo dynam"),
    "rehearsal mark": _Kind("rehearsal", "reh"),
    "segno or coda": _Kind("segno coda", "repeatMark"),
    "chord symbol": _Kind("harmony", "harm"),
    "figured bass": _Kind("figured-bass", "fb"),
    "ending": _Kind("ending", "ending"),
}
_UNKNOWN: Final = (
    "double-tongue triple-tongue bend heel toe hole arrow handbell brass-bend flip smear harmon-mute golpe scoop plop "
    "doit falloff eyeglasses harp-pedals accordion-registration percussion staff-divide principal-voice image"
)
"""Signs that the engraver draws nothing for; they are called by their elements."""
_NAMES: Final = {
    **{tag: name for name, kind in KINDS.items() for tag in kind.tags.split()},
    **{tag: f"{tag.replace('-', ' ')} sign" for tag in _UNKNOWN.split()},
}
_SHARED: Final = {tag: kind.shared for kind in KINDS.values() for tag in kind.tags.split()}
_DRAWN: Final = {ink: (name, kind.one) for name, kind in KINDS.items() for ink in kind.ink.split()}
_ENDS: Final = frozenset({"stop", "continue", "discontinue", "change"})


def written(root: etree._Element) -> Counts:
    """Count the signs of a score that should be printed.

    Args:
        root: The private copy.
    """
    counts: Counts = Counter()
    in_tablature = set(notes_in_tablature(root))
    for part in root.iterchildren("part"):
        for bar, measure in enumerate(part.iterchildren("measure")):
            seen: set[tuple[etree._Element, str]] = set()
            for sign in measure.iter(*_NAMES):
                tag = str(sign.tag)
                if sign.get("type") in _ENDS or not _SAYS.get(tag, _anything)(sign):
                    continue
                note = next(sign.iterancestors("note"), None)
                if note is not None:
                    if note.get("print-object") == "no" or (note in in_tablature and _is_place(tag, note)):
                        continue
                    shared = _SHARED.get(tag, "")
                    bearer = _first(note) if shared == "chord" else note
                    if shared and (bearer, tag) in seen:
                        continue
                    seen.add((bearer, tag))
                counts[bar, _NAMES[tag]] += 1
    return counts


def drawn(inks: Iterable[Ink]) -> Counts:
    """Count the signs that have ink.

    Args:
        inks: All ink of all systems.
    """
    counts: Counts = Counter()
    seen: set[tuple[str, str]] = set()
    for ink in inks:
        bar, kind, note, origin, _ = ink.owner
        name, one = _DRAWN.get(kind, _NONE)
        if not name:
            continue
        if one != "piece":
            key = (name, origin if one == "id" else note)
            if key in seen:
                continue
            seen.add(key)
        counts[bar, name] += 1
    return counts


_NONE: Final = ("", "")


def _first(note: etree._Element) -> etree._Element:
    """The first note of a chord."""
    while note.find("chord") is not None:
        before = next(note.itersiblings("note", preceding=True), None)
        if before is None:
            return note
        note = before
    return note


def _is_place(tag: str, note: etree._Element) -> bool:
    """Whether a sign of a note in tablature has no ink of its own: its string, and all dots of a chord but one."""
    return tag == "string" or (tag == "dot" and note.find("chord") is not None)


def _anything(sign: etree._Element) -> bool:
    return sign.get("print-object") != "no"


def _text(sign: etree._Element) -> bool:
    return _anything(sign) and bool((sign.text or "").strip())


def _of_note(sign: etree._Element) -> bool:
    """Whether a finger or string is a note's: those in chord diagrams are not."""
    parent = sign.getparent()
    return _text(sign) and parent is not None and parent.tag == "technical"


def _syllable(lyric: etree._Element) -> bool:
    """Whether a syllable is counted: the ink of one under a chord does not tell whose it is."""
    note = lyric.getparent()
    if note is None or not (_anything(lyric) and (lyric.findtext("text") or "").strip()):
        return False
    after = next(note.itersiblings("note"), None)
    return note.find("chord") is None and (after is None or after.find("chord") is None)


def _told(direction: etree._Element) -> bool:
    """Whether a direction is words, a dynamic or a tempo mark."""
    has_words = any((words.text or "").strip() for words in direction.iter("words", "symbol"))
    return _anything(direction) and (
        has_words or next(direction.iter("dynamics", "metronome"), None) is not None
    )


def _beside_note(dynamics: etree._Element) -> bool:
    parent = dynamics.getparent()
    return _anything(dynamics) and parent is not None and parent.tag == "notations"


_SAYS: Final[dict[str, Callable[[etree._Element], bool]]] = {
    "fingering": _of_note,
    "string": _of_note,
    "lyric": _syllable,
    "direction": _told,
    "dynamics": _beside_note,
}
