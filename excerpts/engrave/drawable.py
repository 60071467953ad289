"""Notes of the private copy as the engraver can draw them: what makes it drop notes is put right or taken out.

Measured on verovio 6.4.1, which says at most a line in its log: a beam on the second note of a chord loses the notes
after it; a rest without a type is drawn as a rest of the whole bar, and not at all in a beam or tuplet; a note without
a type has no stem; a tremolo between two notes that are not neighbours loses both; a beam over the longest notes ends
the engraver.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import takewhile

from lxml import etree

from excerpts.musicxml.format import NOTE_TYPES, SINGLE_NOTES, drop
from excerpts.score.trim import complete_beams

_BEHIND_TYPE = frozenset({
    "dot", "accidental", "time-modification", "stem", "notehead", "notehead-text", "staff", "beam", "notations",
    "lyric", "play", "listen",
})  # fmt: skip
_UNBEAMED = frozenset(name for name, length in NOTE_TYPES.items() if length >= 1)
_TREMOLO = "notations/ornaments/tremolo"
_GROUPS = frozenset({"beam", "tuplet", "tremolo"})


def settle_note(note: etree._Element, facts: dict[str, str], length: Fraction, *, fills: bool) -> bool:
    """Put one note or rest right; changes the tree.

    Args:
        note: The note.
        facts: The text of each of its children.
        length: Quarter notes; 0 for grace notes.
        fills: It begins its bar and is as long as that.

    Returns:
        Whether it was taken out of its beam, which may then lack a beginning or an end.
    """
    if "rest" in facts:
        _settle_rest(note, facts, length, fills=fills)
    elif not facts.get("type", "").strip():
        _give_type(note, "eighth" if "grace" in facts else None, length)
    if "beam" not in facts or not ("chord" in facts or _is_long(note, facts)):
        return False
    _drop_all(note, "beam")
    return "chord" not in facts


def settle_beams(part: etree._Element) -> None:
    """Complete the beams of a part that notes were taken out of; changes the tree.

    Left open over a note of a maxima, a beam ends the engraver.
    """
    voices: dict[tuple[str | None, str | None, bool], list[etree._Element]] = {}
    for note in part.iterfind("measure/note"):
        if note.find("chord") is None and note.find("rest") is None:
            line = note.findtext("staff"), note.findtext("voice"), note.find("grace") is not None
            voices.setdefault(line, []).append(note)
    levels = {beam.get("number") or "1" for beam in part.iter("beam")}
    for notes in voices.values():
        for level in levels:
            complete_beams((0, _beam(note, level)) for note in notes)


def _beam(note: etree._Element, level: str) -> etree._Element | None:
    return next((beam for beam in note.iterchildren("beam") if (beam.get("number") or "1") == level), None)


def _is_long(note: etree._Element, facts: dict[str, str]) -> bool:
    """Whether no beam can join it: two long notes that alternate in a tremolo have beams."""
    return facts.get("type", "").strip() in _UNBEAMED and note.find(_TREMOLO) is None


def _settle_rest(note: etree._Element, facts: dict[str, str], length: Fraction, *, fills: bool) -> None:
    rest = note.find("rest")
    whole = rest is not None and rest.get("measure") == "yes"
    typed = bool(facts.get("type", "").strip())
    if fills:
        if whole or not typed:
            for path in ("beam", "dot", "notations/tuplet"):  # it has no length to be dotted
                _drop_all(note, path)
        return
    if not typed:
        _give_type(note, None, length)
    if whole and rest is not None and note.find("type") is not None:
        del rest.attrib["measure"]


def _give_type(note: etree._Element, name: str | None, length: Fraction) -> None:
    """Write the type that a length has, with its dots; none where no single note is so long."""
    if name is None:
        single = SINGLE_NOTES.get(length * _ratio(note))
        if single is None:
            return
        name, dots = single
        _drop_all(note, "dot")
    else:
        dots = 0
    _drop_all(note, "type")
    made = etree.Element("type")
    made.text = name
    behind = next((child for child in note if child.tag in _BEHIND_TYPE), None)
    if behind is None:
        note.append(made)
    else:
        behind.addprevious(made)
    for _ in range(dots):
        made.addnext(etree.Element("dot"))


def _ratio(note: etree._Element) -> Fraction:
    """How much longer a note is written than it is played, by its tuplet."""
    counts = [
        (note.findtext(f"time-modification/{name}-notes") or "").strip() for name in ("actual", "normal")
    ]
    if not all(count.isdecimal() and int(count) for count in counts):
        return Fraction(1)
    return Fraction(int(counts[0]), int(counts[1]))


def _drop_all(note: etree._Element, path: str) -> None:
    for element in note.findall(path):
        drop(element)


def settle_tremolos(measure: etree._Element) -> int:
    """Take out the tremolos of one bar that do not join two neighbours; changes the tree.

    Returns:
        How many were taken out.
    """
    lost = 0
    joined: set[etree._Element] = set()
    for note in measure.iterchildren("note"):
        kinds = {mark.get("type") for mark in note.findall(_TREMOLO)}
        if note.find("chord") is not None or "start" not in kinds:
            continue
        after = _neighbour(note)
        if after is None or not _ends(after):
            lost += 1
            continue
        joined |= {*chord_of(note), *chord_of(after)}
        if "begin" in {beam.text for beam in after.iterchildren("beam")}:
            _drop_all(note, "beam")
            _drop_all(after, "beam")
    for note in measure.iterchildren("note"):
        for mark in note.findall(_TREMOLO) if note not in joined else ():
            if mark.get("type") in ("start", "stop"):
                drop(mark)
    return lost


def _ends(note: etree._Element) -> bool:
    """Whether a tremolo may end on a note: one that has a pitch and a length, and says so."""
    says = any(mark.get("type") == "stop" for mark in note.findall(_TREMOLO))
    return says and note.find("rest") is None and note.find("grace") is None


def _neighbour(note: etree._Element) -> etree._Element | None:
    """The note or rest after a note and its chord, None where the voice ends."""
    for after in note.itersiblings():
        if after.tag in ("backup", "forward"):
            return None
        if after.tag == "note" and after.find("chord") is None:
            return after if after.findtext("voice") == note.findtext("voice") else None
    return None


def chord_of(note: etree._Element) -> list[etree._Element]:
    """A note that no `<chord>` stands in, and those that share its stem."""
    return [note, *takewhile(lambda other: other.find("chord") is not None, note.itersiblings("note"))]


def ungroup(measure: etree._Element) -> dict[str, int]:
    """Take the beams, tuplet signs and two-note tremolos out of a bar whose notes they hide; changes the tree.

    Returns:
        How many of each there were, by the names of the elements.
    """
    counts: dict[str, int] = {}
    for mark in list(measure.iter(*_GROUPS)):
        kind = mark.get("type") or (mark.text or "").strip()
        if mark.tag == "tremolo" and kind not in ("start", "stop"):
            continue
        if kind in ("begin", "start") and mark.get("number", "1") == "1":
            counts[str(mark.tag)] = counts.get(str(mark.tag), 0) + 1
        drop(mark)
    return counts
