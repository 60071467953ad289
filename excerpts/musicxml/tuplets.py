"""Notes in tuplets: which `<tuplet>` stands over them, and where groups begin and end that have none.

W3C MusicXML 4.0: `<time-modification>` says how long a note is, `<tuplet>` that a number or bracket is printed. Where
a number is printed once and then understood, later groups have no `<tuplet>`, or one with `show-number="none"`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.musicxml.format import NOTE_TYPES, dotted, number_in
from excerpts.musicxml.timeline import FIRST_DIVISIONS, chords, walk

Ratio = tuple[int, int]
"""So many notes in the time of so many: (3, 2) for a triplet."""

_Line = tuple[str, str]
"""Voice, and the staff where the file names no voices."""

_PLAIN: Final = frozenset(NOTE_TYPES.values())
_GOES_ON: Final = ("begin", "continue")


@dataclass(frozen=True, slots=True)
class TupletNote:
    """A note, chord or rest of a tuplet.

    Attributes:
        bar: Index of its measure.
        start: When it begins, in quarter notes from the start of the bar.
        end: When it ends, likewise.
        element: Its `<note>`; of a chord the first.
        line: The voice that it belongs to.
        ratio: Its time modification.
        over: The `<tuplet>` starts that it stands under, the outer ones first.
    """

    bar: int
    start: Fraction
    end: Fraction
    element: etree._Element
    line: _Line
    ratio: Ratio
    over: tuple[etree._Element, ...]

    @property
    def numbered(self) -> bool:
        """It stands under a printed number."""
        return any(map(prints_number, self.over))

    @property
    def written(self) -> Fraction | None:
        """Quarter notes of its value without the time modification; None where it has none."""
        value = NOTE_TYPES.get((self.element.findtext("type") or "").strip())
        return None if value is None else dotted(value, len(self.element.findall("dot")))


def prints_number(tuplet: etree._Element) -> bool:
    """Whether a `<tuplet>` that starts shows its number."""
    notations = tuplet.getparent()
    hidden = notations is not None and notations.get("print-object") == "no"
    return tuplet.get("show-number") != "none" and not hidden


def ratio_of(note: etree._Element) -> Ratio | None:
    """Time modification of a note in a tuplet; None outside, for a grace note and for the pair of a tremolo."""
    modification = note.find("time-modification")
    if modification is None or note.find("grace") is not None:
        return None
    if any(tremolo.get("type") in ("start", "stop") for tremolo in note.iterfind("notations//tremolo")):
        return None
    actual, normal = (number_in(modification.findtext(name)) for name in ("actual-notes", "normal-notes"))
    if not actual or not normal or actual == normal or {actual.denominator, normal.denominator} != {1}:
        return None
    return actual.numerator, normal.numerator


def tuplet_notes(measures: Sequence[etree._Element]) -> Iterator[TupletNote]:
    """All notes in tuplets, in the order of the file."""
    under: dict[_Line, dict[str, etree._Element]] = {}
    divisions = FIRST_DIVISIONS
    for bar, measure in enumerate(measures):
        time = walk(measure, divisions)
        divisions = time.divisions
        for chord in chords(time):
            heads = [moment.element for moment in chord]
            voice = (heads[0].findtext("voice") or "").strip()
            line = (voice, "" if voice else (heads[0].findtext("staff") or "1").strip())
            over = under.setdefault(line, {})
            ends = [tuplet for head in heads for tuplet in head.iterfind("notations/tuplet")]
            over.update((t.get("number") or "1", t) for t in ends if t.get("type") == "start")
            ratio = ratio_of(heads[0])
            if ratio is not None:
                yield TupletNote(
                    bar, chord[0].onset, chord[0].end, heads[0], line, ratio, tuple(over.values())
                )
            elif chord[0].duration:
                over.clear()  # a start without a stop does not reach beyond the notes of its tuplet
            for tuplet in ends:
                if tuplet.get("type") == "stop":
                    over.pop(tuplet.get("number") or "1", None)


def unmarked_groups(notes: Iterable[TupletNote]) -> list[list[TupletNote]]:
    """The groups of the notes that no `<tuplet>` stands over, in order of time; the last of a row may lack some."""
    rows: dict[_Line, list[list[TupletNote]]] = {}
    for note in notes:
        if note.over:
            continue
        of_line = rows.setdefault(note.line, [[]])
        if not (of_line[-1] and _goes_on(of_line[-1][-1], note)):
            of_line.append([])
        of_line[-1].append(note)
    groups = [group for of_line in rows.values() for row in of_line for group in _split(row)]
    return sorted(groups, key=lambda group: (group[0].bar, group[0].start))


def _goes_on(before: TupletNote, note: TupletNote) -> bool:
    return (before.bar, before.end, before.ratio) == (note.bar, note.start, note.ratio)


def _split(row: list[TupletNote]) -> Iterator[list[TupletNote]]:
    group: list[TupletNote] = []
    for note in row:
        group.append(note)
        if is_whole(group):
            yield group
            group = []
    if group:
        yield group


def is_whole(group: Sequence[TupletNote]) -> bool:
    """Whether notes make up a tuplet: as many of its unit as its ratio says.

    The unit is the `<normal-type>` where there is one, or the value of the notes; a dotted note may be all of it.
    Where values are mixed it is the first plain value that fits and leaves no beam open (common practice, no source).
    """
    written = [note.written for note in group]
    values = [value for value in written if value is not None]
    if not values or len(values) < len(written):
        return False
    unit = sum(values, Fraction(0)) / group[0].ratio[0]
    named = NOTE_TYPES.get((group[0].element.findtext("time-modification/normal-type") or "").strip())
    if named is not None:
        return unit == named
    if len(values) == 1:
        return unit in _PLAIN and group[0].element.find("dot") is not None
    if len(set(values)) == 1:
        return unit == values[0]
    return unit in _PLAIN and unit >= min(values) and first_beam(group[-1].element) not in _GOES_ON


def first_beam(note: etree._Element) -> str:
    """What the first beam does at a note: "begin", "continue", "end", or "" for none."""
    beams = (beam for beam in note.iterchildren("beam") if (beam.get("number") or "1") == "1")
    return next(((beam.text or "").strip() for beam in beams), "")


def beam_shows(group: Sequence[TupletNote]) -> bool:
    """Whether one beam over just these notes shows that they belong together."""
    if any(note.element.find("rest") is not None for note in group):
        return False
    return is_one_beam([first_beam(note.element) for note in group])


def is_one_beam(beams: Sequence[str]) -> bool:
    """Whether what a beam does at notes in a row is that it begins at the first and ends at the last."""
    return beams[0] == "begin" and beams[-1] == "end" and set(beams[1:-1]) <= {"continue"}
