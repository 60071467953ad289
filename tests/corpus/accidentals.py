"""The accidentals that a source leaves out, found from the independent reading.

A player reads a note by the last accidental that stands before it in its bar on the same line or space, whoever's
voice that is in, else by the key. Where that is another pitch than the one written, a cut must add the accidental.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from lxml import etree

from tests.corpus.force import Force, key_alter, ordered
from tests.corpus.reading import Canon, Note, canon, number

if TYPE_CHECKING:
    from tests.corpus.compare import SourcePart

_NAMES = {
    -3: "triple-flat", -2: "flat-flat", -1.5: "three-quarters-flat", -1: "flat", -0.5: "quarter-flat", 0: "natural",
    0.5: "quarter-sharp", 1: "sharp", 1.5: "three-quarters-sharp", 2: "double-sharp", 3: "triple-sharp",
}  # fmt: skip
_Line = tuple[str, str, str]


def left_out(source: SourcePart, first: int, last: int) -> dict[int, Canon]:
    """The accidentals that a cut of these bars has to add, by the identity of the note."""
    tied = {
        id(stop)
        for start, stop in source.ties.pairs
        if first <= start.place.bar and stop.place.bar <= last and start.pitch == stop.pitch
    }
    found: dict[int, Canon] = {}
    for index in range(first, last + 1):
        changes = [(place.onset, element) for place, element in ordered(source.reading.bars[index])]
        found |= _in_bar(source.reading.bars[index].notes, source.force[index], changes, tied)
    return found


def _in_bar(
    notes: list[Note], at_start: Force, changes: list[tuple[Fraction, etree._Element]], tied: set[int]
) -> dict[int, Canon]:
    found: dict[int, Canon] = {}
    force, waiting = dict(at_start), [change for change in changes if change[0]]
    said: dict[_Line, Fraction | None] = {}
    printed = [note for note in notes if _tells_its_pitch(note)]
    for note in sorted(printed, key=_turn):
        while waiting and waiting[0][0] <= note.place.onset:
            for staff in _change(force, waiting.pop(0)[1]):
                said = {line: alter for line, alter in said.items() if line[0] != staff}
        if force.get(("clef", note.staff)) and _sign(force[("clef", note.staff)]) in (
            "percussion",
            "TAB",
            "jianpu",
        ):
            continue
        step, octave, alter = _parts(note)
        line = (note.staff, step, octave)
        clashes = any(_clash(note, other) for other in printed)
        read = None if clashes else said.get(line, key_alter(force, note.staff, step))
        if _has_accidental(note):
            said[line] = alter
        elif read != alter and alter in _NAMES and id(note) not in tied and not _has_one_above(note):
            said[line] = alter
            attributes = note.accidental[1] if note.accidental else ()
            found[id(note)] = ("accidental", attributes, _NAMES[float(alter)], ())
        if clashes:
            said[line] = None
    return found


def _clash(note: Note, other: Note) -> bool:
    """Whether two notes that begin together are of one line or space, and not of one pitch."""
    one, two = _parts(note), _parts(other)
    together = note.place.onset == other.place.onset and not (note.grace or other.grace)
    return together and note.staff == other.staff and one[:2] == two[:2] and one[2] != two[2]


def _turn(note: Note) -> tuple[Fraction, int]:
    """Grace notes are read before what they stand at; an accidental counts for all that begin with it."""
    return note.place.onset, 0 if note.grace else 1 if _has_accidental(note) or note.accidental else 2


def _has_accidental(note: Note) -> bool:
    return note.accidental is not None and note.accidental[2] != ""


def _parts(note: Note) -> tuple[str, str, Fraction]:
    inside = {child[0]: child[2] for child in note.pitch[3]} if note.pitch else {}
    return inside.get("step", ""), inside.get("octave", ""), number(inside.get("alter")) or Fraction(0)


def _tells_its_pitch(note: Note) -> bool:
    """Whether it is printed as a note of some pitch."""
    step, octave, _ = _parts(note)
    if step not in tuple("CDEFGAB") or number(octave) is None:
        return False
    heads = {text for name, _, text, _ in note.content if name == "notehead"}
    hidden = any(name == "note" and ("print-object", "no") in head for name, head, _, _ in note.content)
    return not hidden and not heads & {"slash", "none"}


def _has_one_above(note: Note) -> bool:
    """An editor's accidental over the note, which no ornament in front of it has for itself."""
    before = ""
    for name, _, _, children in note.content:
        if name == "accidental-mark":
            return True
        inside = children[0][0] if name == "ornaments" and children else ""
        if inside == "accidental-mark" and not before:
            return True
        before = inside if name == "ornaments" else ""
    return False


def _change(force: Force, attributes: etree._Element) -> list[str]:
    """Let a change in mid-bar change what is in force; gives the staves that have a new key."""
    staves = [str(count) for count in range(1, int(str(force[("staves", "")])) + 1)]
    renewed: list[str] = []
    for child in attributes:
        if child.tag in ("key", "clef") and child.get("additional") != "yes":
            number_of_staff = child.get("number") or ("1" if child.tag == "clef" else None)
            those = staves if number_of_staff is None else [number_of_staff]
            force.update({(str(child.tag), staff): canon(child) for staff in those})
            renewed += those if child.tag == "key" else []
    return renewed


def _sign(clef: object) -> str:
    return next((c[2] for c in clef[3] if c[0] == "sign"), "") if isinstance(clef, tuple) else ""
