"""Notes that would be read at another pitch than the source writes get the accidental that it leaves out.

What is printed tells a player the pitch: the key signature, and the accidentals before it on the same line or space
of the bar, whatever the voice (`excerpts.musicxml.pitch`). Some programs write `<alter>` alone, which is for the
sound (W3C MusicXML 4.0, alter and accidental).
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.musicxml.format import child_of_note
from excerpts.musicxml.pitch import SIGNS, Pitch, Speller, key_alterations, pitch_of
from excerpts.musicxml.timeline import BarTime, Moment
from excerpts.score.attributes import State
from excerpts.score.slice import Slice

_NO_PITCH_CLEFS: Final = ("percussion", "TAB", "jianpu")
"""Clefs under which no accidental tells the pitch."""
_NO_PITCH_HEADS: Final = ("slash", "none")


def add_missing_accidentals(piece: Slice) -> None:
    """Write the accidentals that are missing into the copies.

    The report has one line a bar; one in all where the part writes none anywhere.
    """
    added: dict[int, list[Pitch]] = {}
    staves = _Staves(piece.state.copy())
    for k, time in enumerate(piece.times):
        staves.start_bar()
        read, clashing = _in_order(time)
        for moment in read:
            if not moment.children:
                staves.change(moment.element)
                continue
            pitch = pitch_of(moment.element)
            speller = staves.of(moment.staff)
            if pitch is None or speller is None:
                continue
            clashes = moment.element in clashing
            if (clashes or speller.needed(pitch)) and _add(piece, k, moment, pitch, speller):
                added.setdefault(piece.first + k, []).append(pitch)
            if clashes:
                speller.forget(pitch)
    if added:
        _report(piece, added)


def _report(piece: Slice, added: dict[int, list[Pitch]]) -> None:
    """Tell what was added, by the index of the bar."""
    if piece.bars.has("accidental"):
        for index, pitches in added.items():
            named = ", ".join(map(str, dict.fromkeys(pitches)))
            piece.note_down("repaired", "accidental", index, f"{named} lacked it by key and bar")
        return
    count = sum(map(len, added.values()))
    notes = "1 note" if count == 1 else f"{count} notes"
    piece.note_down("repaired", "accidental", None, f"the part has none; written at {notes} by key and bar")


class _Staves:
    """The keys, clefs and accidentals in force on each staff, led on through the bars."""

    def __init__(self, state: State) -> None:
        self._state = state
        self._spellers: dict[str, Speller] = {}
        self._shown: dict[str, Speller | None] = {}

    def start_bar(self) -> None:
        for speller in self._spellers.values():
            speller.start_bar()

    def change(self, attributes: etree._Element) -> None:
        """Let an `<attributes>` change what is in force; a new key ends the accidentals before it."""
        self._state.take(attributes)
        self._shown.clear()
        for key in attributes.iterchildren("key"):
            for staff, speller in self._spellers.items():
                if key.get("number", staff) == staff:
                    speller.set_key(key_alterations(key))

    def of(self, staff: str) -> Speller | None:
        """What is in force on a staff; None where its clef gives no pitches."""
        if staff not in self._shown:
            clef = self._state.clefs.get(staff)
            hides = clef is not None and (clef.findtext("sign") or "").strip() in _NO_PITCH_CLEFS
            self._shown[staff] = None if hides else self._speller(staff)
        return self._shown[staff]

    def _speller(self, staff: str) -> Speller:
        speller = self._spellers.get(staff)
        if speller is None:
            speller = self._spellers[staff] = Speller()
            key = self._state.keys.get(staff, self._state.keys.get(None))
            speller.set_key({} if key is None else key_alterations(key))
        return speller


def _in_order(time: BarTime) -> tuple[list[Moment], set[etree._Element]]:
    """The changes and the notes of a bar in the order in which they are read, and the notes that clash.

    Where no two notes can begin together that is the order of the file, which saves the sorting.
    """
    read: list[Moment] = []
    may_meet = False
    for moment in time.moments:
        if moment.children:
            if "pitch" in moment.children:
                read.append(moment)
                may_meet = may_meet or "chord" in moment.children
        elif moment.element.tag == "attributes":
            read.append(moment)
        elif moment.element.tag == "backup":
            may_meet = True
    return (sorted(read, key=_turn), _clashing(read)) if may_meet else (read, set())


def _clashing(read: list[Moment]) -> set[etree._Element]:
    """Notes that begin with another alteration of the same line or space: each needs its accidental (D and D sharp)."""
    places: dict[tuple[Fraction, str, str, int], dict[etree._Element, Fraction]] = {}
    for moment in read:
        pitch = pitch_of(moment.element)
        if pitch is not None and "grace" not in moment.children and _is_read(moment):
            place = moment.onset, moment.staff, pitch.step, pitch.octave
            places.setdefault(place, {})[moment.element] = pitch.alter
    clashes = (notes for notes in places.values() if len(set(notes.values())) > 1)
    return {note for notes in clashes for note in notes}


def _turn(moment: Moment) -> tuple[Fraction, int]:
    """When an element is read; of notes that begin together first those with an accidental, which is read for all."""
    children = moment.children
    if not children:
        return moment.onset, 0
    return moment.onset, 1 if "grace" in children else 2 if "accidental" in children else 3


def _add(piece: Slice, k: int, moment: Moment, pitch: Pitch, speller: Speller) -> bool:
    """Give a note of bar `k` of the slice its accidental where it lacks one; tells whether it did."""
    if not _is_read(moment):
        return False
    note = piece.copies[moment.element]
    accidental = note.find("accidental")
    shown = accidental is not None and bool((accidental.text or "").strip())
    if not shown and (pitch.alter not in SIGNS or _says_above(note) or _is_tied_over(piece, k, note, pitch)):
        return False
    speller.note(pitch)
    if shown:
        return False
    child_of_note(note, "accidental").text = SIGNS[pitch.alter]
    return True


def _is_read(moment: Moment) -> bool:
    """Whether the note is printed, with a head that stands for its pitch."""
    if moment.element.get("print-object") == "no":
        return False
    head = moment.children.get("notehead")
    return head is None or (head.text or "").strip() not in _NO_PITCH_HEADS


def _says_above(note: etree._Element) -> bool:
    """Whether an editor's accidental stands over the note; one behind an ornament is the ornament's."""
    if note.find("notations/accidental-mark") is not None:
        return True
    firsts = (next(ornaments.iterchildren(), None) for ornaments in note.iterfind("notations/ornaments"))
    return any(first is not None and first.tag == "accidental-mark" for first in firsts)


def _is_tied_over(piece: Slice, k: int, note: etree._Element, pitch: Pitch) -> bool:
    """Whether a tie leads here from a note that is written alike."""
    if "stop" not in _ties(note):
        return False
    return any(
        pitch_of(moment.element) == pitch and "start" in _ties(piece.copies[moment.element])
        for time in piece.times[max(0, k - 1) : k + 1]
        for moment in time.moments
        if moment.element.tag == "note"
    )


def _ties(note: etree._Element) -> Iterator[str | None]:
    for path in ("tie", "notations/tied"):
        for tie in note.iterfind(path):
            yield tie.get("type")
