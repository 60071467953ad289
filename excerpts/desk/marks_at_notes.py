"""What is marked at a note of a part, and what of a week file is changed so that it is marked otherwise.

A mark that comes out as the score has it is taken out of the file; one that takes the score's own away is written as
"no finger". So the same thing done twice leaves the file as it was.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from excerpts.desk.open_part import OpenPart
from excerpts.errors import InputError
from excerpts.instruments.instrument import NUMERALS
from excerpts.musicxml.pitch import name_of_pitch
from excerpts.score.address import Resolver
from excerpts.score.bars import Bars
from excerpts.score.marked_note import (
    MarkedNote,
    graces_before,
    note_at,
    slur_from,
    slurred,
    standing,
)
from excerpts.score.marking_syntax import NONE, Kind, OwnMark, parse_mark
from excerpts.score.slice import voice_of
from excerpts.score.write_address import note_address
from excerpts.weekfile.change_text import Change
from excerpts.weekfile.lines import KeyPath

KINDS: Final[tuple[Kind, ...]] = ("finger", "string", "bow", "slur")

Values = tuple[str, ...]
"""What stands at a note, as `excerpts.score.marked_note.standing` gives it."""


@dataclass(frozen=True, slots=True)
class PageNote:
    """A note that the page has named.

    Attributes:
        index: Its bar, from 0; of a grace note that of the note that it leads to.
        onset: Quarter notes from the start of that bar, likewise.
        grace: Which of the grace notes there, from 1; 0 for the note itself.
        place: The note in the part as the score has it.
        head: Which note of the chord, from 0, the lowest first.
    """

    index: int
    onset: Fraction
    grace: int
    place: MarkedNote
    head: int

    @property
    def voice(self) -> str:
        """Its voice as in the file."""
        return voice_of(self.place.note)

    @property
    def time(self) -> tuple[int, Fraction, float]:
        """Where it stands among the notes of its voice."""
        return self.index, self.onset, self.grace or float("inf")

    def inside(self, bars: Bars) -> MarkedNote:
        """The same note in the part with other marks in it."""
        note = note_at(bars, self.index, self.onset, self.voice, self.grace)
        assert note is not None  # marks put in no notes and take none out
        return note


@dataclass(frozen=True, slots=True)
class _Own:
    """A mark of the week file: the key that lists it, its place in the list, itself, the notes that it is at."""

    path: KeyPath
    number: int
    mark: OwnMark
    notes: tuple[PageNote, ...]


@dataclass(frozen=True)
class NoteMarks:
    """The marks of a part.

    Attributes:
        opened: The part.
        marked: Its bars with the marks in them.
    """

    opened: OpenPart
    marked: Bars

    @property
    def _bars(self) -> Bars:
        return self.opened.part.bars

    def note(self, sent: Mapping[str, Any]) -> PageNote:
        """The note that a page names by `place`, `onset`, `voice`, `grace` and `pitch`.

        Raises:
            InputError: There is none.
        """
        bars = self._bars
        try:
            index, onset = int(str(sent.get("place"))) - 1, Fraction(str(sent.get("onset")))
            grace = int(sent.get("grace") or 0)
        except (ValueError, TypeError, ZeroDivisionError) as error:
            raise InputError("this is no note.") from error
        if not 0 <= index < len(bars) or onset < 0:
            raise InputError("this note is not in the part.")
        if grace and onset == bars.length(index):
            index, onset = index + 1, Fraction(0)
        if index == len(bars):
            raise InputError("this grace note leads to no note: a mark cannot name it.")
        marked = self._found(index, onset, str(sent.get("voice") or ""), grace)
        if marked is None:
            raise InputError("this is no note.")
        names = [name_of_pitch(head) for head in marked.heads]
        pitch = sent.get("pitch")
        return PageNote(index, onset, grace, marked, names.index(pitch) if pitch in names else len(names) - 1)

    def _found(self, index: int, onset: Fraction, voice: str, grace: int) -> MarkedNote | None:
        marked = note_at(self._bars, index, onset, voice, grace)
        # A voice that the file does not name is drawn as the first.
        return marked or (note_at(self._bars, index, onset, "", grace) if voice == "1" else None)

    def address(self, note: PageNote) -> str:
        """Bar and beat of a note, as a mark has them."""
        opened = self.opened
        beat = note_address(self._bars, note.index, note.onset, opened.part.where, opened.piece.pupil_bars)
        which = "" if note.grace <= 1 else f" {note.grace}"
        return f"{beat} grace{which}" if note.grace else beat

    def voice(self, note: PageNote) -> str:
        """The voice of a note where a mark has to name it; else empty."""
        first = note_at(self._bars, note.index, note.onset, "", note.grace)
        return "" if first is None or first.note is note.place.note else note.voice

    def told(self, note: PageNote) -> dict[str, Any]:
        """What the page is told of a note: its address, which of a chord it is, and what stands at it."""
        place = note.inside(self.marked)
        marks: dict[str, str] = {}
        for kind in ("finger", "string", "bow"):
            values = standing(place, kind)
            value = values[note.head if kind != "bow" else 0] if values else NONE
            if value != NONE:
                marks[kind] = NUMERALS[int(value) - 1] if kind == "string" and value in "12345" else value
        if (end := slur_from(self.marked, place)) is not None:
            marks["slur"] = self.address(self._named(end))
        return {
            "at": self.address(note),
            "voice": self.voice(note),
            "head": note.head + 1,
            "heads": len(place.heads),
            "marks": marks,
        }

    def _named(self, place: MarkedNote) -> PageNote:
        """A note that was found otherwise."""
        index, onset, grace = place.bar, place.moment.onset, 0
        if place.grace:
            if onset == self.marked.length(index):
                index, onset = index + 1, Fraction(0)
            run = graces_before(self.marked, index, onset, voice_of(place.note))
            grace = next(n for n, one in enumerate(run, start=1) if one.note is place.note)
        return PageNote(index, onset, grace, place, 0)

    def changed(
        self, kind: Kind, value: str, note: PageNote, end: PageNote | None = None
    ) -> tuple[str, list[Change]]:
        """A mark put in, or with an empty value taken away.

        Args:
            kind: Its kind.
            value: A finger or a string, or one for each note of the chord; "up" or "down"; anything for a slur.
            note: The note; of a slur the first.
            end: The last note of a slur.

        Returns:
            The mark as it is written, and the changes to the file.

        Raises:
            InputError: It is no mark, or there is nothing to take away.
        """
        if kind == "slur":
            return self._slur(note, end if value else None)
        wanted = self._wanted(kind, value, note)
        plain = standing(note.place, kind)
        said = _said(kind, wanted, plain, len(note.place.heads))
        own = [one for one in self._own() if one.mark.kind == kind and self._at(one, note)]
        text = self._text(f"{self.address(note)} {said}", note)
        return text, self._put(own, text if wanted != plain else "")

    def _wanted(self, kind: Kind, value: str, note: PageNote) -> Values:
        """What is to stand at a note: of a chord what stands at its other notes stays."""
        if kind == "bow":
            return (value,) if value else ()
        values, heads = value.split(), len(note.place.heads)
        if len(values) > 1 and len(values) != heads:
            raise InputError(f"'{value}' has {len(values)} values for {heads} notes.")
        wanted = list(standing(note.inside(self.marked), kind) or [NONE] * heads)
        if len(values) > 1:
            wanted = values
        else:
            wanted[note.head] = value or NONE
        if kind == "string":
            wanted = [str(NUMERALS.index(one) + 1) if one in NUMERALS else one for one in wanted]
        return tuple(wanted) if set(wanted) != {NONE} else ()

    def _slur(self, note: PageNote, end: PageNote | None) -> tuple[str, list[Change]]:
        if end is not None and end.time < note.time:
            note, end = end, note
        own = [one for one in self._own() if one.mark.kind == "slur" and _meets(one, note, end)]
        there = slur_from(self.marked, note.inside(self.marked))
        if end is not None and there is not None and there.note is end.inside(self.marked).note:
            end = None  # the same once more takes it away
        if end is None:
            text = self._text(f"{self.address(note)} no slur", note)
            return text, self._put(own, text if slurred(self._bars, note.place) else "")
        text = self._slur_text(note, end)
        plain = slur_from(self._bars, note.place)
        return text, self._put(own, "" if plain is not None and plain.note is end.place.note else text)

    def _slur_text(self, note: PageNote, end: PageNote) -> str:
        lead = note.grace and (end.index, end.onset, end.grace) == (note.index, note.onset, 0)
        where = self.address(note) if lead else f"{self.address(note)}-{self.address(end)}"
        return self._text(f"{where} slur", note)

    def _text(self, said: str, note: PageNote) -> str:
        voice = self.voice(note)
        return parse_mark(f"{said} voice {voice}" if voice else said).text

    def _own(self) -> Iterator[_Own]:
        """The marks of the week file, and of the sets that it includes, on this piece."""
        opened = self.opened
        resolver = Resolver(self._bars, opened.part.where, opened.piece.pupil_bars)
        for path, marks in _lists(opened):
            for number, text in enumerate(marks):
                try:
                    mark = parse_mark(str(text))
                    spans = [resolver.resolve(beat) for beat in mark.beats]
                    notes = [
                        self.note(
                            {
                                "place": span.first + 1,
                                "onset": span.start,
                                "voice": mark.voice,
                                "grace": grace,
                            }
                        )
                        for span, grace in zip(spans, mark.graces, strict=True)
                    ]
                except InputError:
                    continue  # the check of the week tells it
                yield _Own(path, number, mark, tuple(notes))

    def _at(self, one: _Own, note: PageNote) -> bool:
        return one.notes[0].place.note is note.place.note

    def texts(self, wanted: Sequence[tuple[Kind, str, PageNote]]) -> list[str]:
        """Fingers and strings as marks, those of a chord as one, where the week file has none of their kind yet."""
        own = list(self._own())
        chords: dict[tuple[Kind, tuple[int, Fraction, float], str], list[tuple[str, PageNote]]] = {}
        for kind, value, note in wanted:
            taken = any(one.mark.kind == kind and self._at(one, note) for one in own)
            if kind in ("finger", "string") and value and not taken:
                chords.setdefault((kind, note.time, note.voice), []).append((value, note))
        texts: list[str] = []
        for (kind, _, _), given in chords.items():
            note, values = given[0][1], {one.head: value for value, one in given}
            plain = standing(note.place, kind)
            heads = range(len(note.place.heads))
            stands = tuple(values.get(head, plain[head] if plain else NONE) for head in heads)
            numbers = tuple(str(NUMERALS.index(one) + 1) if one in NUMERALS else one for one in stands)
            said = _said(kind, numbers if kind == "string" else stands, plain, len(heads))
            texts.append(self._text(f"{self.address(note)} {said}", note))
        return texts

    def _put(self, own: list[_Own], text: str) -> list[Change]:
        """Write a mark in the place of others, or add it to those of the piece."""
        if not own and not text:
            raise InputError("there is nothing to take away.")
        if not own:
            return [self.added([text])]
        lists = dict(_lists(self.opened))
        changes: list[Change] = []
        for path in dict.fromkeys(one.path for one in own):
            gone = [one.number for one in own if one.path == path]
            listed = [mark for number, mark in enumerate(lists[path]) if number not in gone]
            if text and path == own[0].path:
                listed.insert(gone[0], text)
            changes.append(Change("set", path, listed))
        return changes

    def added(self, texts: list[str]) -> Change:
        """Marks added to those of the piece."""
        raw = self.opened.texts.reading.sources.raw
        place = [item.get("id") for item in raw["piece"]].index(self.opened.piece.id)
        return Change("set", ("piece", place, "marks"), [*raw["piece"][place].get("marks", []), *texts])


def _lists(opened: OpenPart) -> Iterator[tuple[KeyPath, list[Any]]]:
    """The lists of marks on a piece, with their keys among all tables together."""
    raw = opened.texts.reading.sources.raw
    for table, key in (("piece", "id"), ("box", "piece")):
        for place, item in enumerate(raw.get(table, ())):
            if item.get(key) == opened.piece.id and isinstance(item.get("marks"), list):
                yield (table, place, "marks"), item["marks"]


def _meets(one: _Own, note: PageNote, end: PageNote | None) -> bool:
    """Whether a slur of ours joins some of the notes of another, or begins or ends on a note."""
    first, last = one.notes[0].time, one.notes[-1].time
    if one.notes[0].voice != note.voice:
        return False
    if end is None or len(one.notes) == 1:
        return first <= note.time <= last
    return first < end.time and note.time < last


def _said(kind: Kind, wanted: Values, plain: Values, heads: int) -> str:
    """What a mark says, so that what is wanted stands there."""
    if not wanted:
        return f"no {kind}"
    if kind == "bow":
        return wanted[0]
    values = [NUMERALS[int(one) - 1] if kind == "string" and one in "12345" else one for one in wanted]
    others = plain[:-1] if plain else (NONE,) * (heads - 1)
    top = wanted[:-1] == others and wanted[-1] != NONE
    return f"{kind} {values[-1] if top else ' '.join(values)}"
