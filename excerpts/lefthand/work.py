"""How much work a bar is for the left hand and the bow arm, from a proposed fingering.

The load of a note is the sum of what `LOADS` says; a bar's load is that of its notes, by the second. Measured on violin
excerpts that ten players fingered (TNUA data set, IUI 2021): loads from proposed fingers and from the players' own
put bars in much the same order (rank correlation 0.78; two players: 0.89). Nobody has shown that bars with much work
are those that a teacher would box, nor do players slow down there.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from excerpts.excerpt import Excerpt, Position
from excerpts.instruments.instrument import Instrument
from excerpts.lefthand.fingering import FingeredNote, Fingering, finger_notes
from excerpts.lefthand.hand_notes import notes_of
from excerpts.lefthand.hand_places import Place
from excerpts.lefthand.path import Wishes
from excerpts.lefthand.read_part import USUAL_TEMPO
from excerpts.notes import read_lines
from excerpts.sound.performance import TempoMap

Kind = Literal["note", "shift", "crossing", "stops", "height", "fourth", "rhythm"]

_NOTE: Final = 0.25
_SHIFT: Final = 1.0
_A_POSITION: Final = 0.5
_CROSSING: Final = 0.5
_A_STRING: Final = 0.5
_HEIGHT: Final = 0.25
_FOURTH: Final = 0.2
_STOPS: Final = 1.0
_RHYTHM: Final = 0.25
"""Load of any note, of a shift, of each position moved, of a change of string, of each string skipped, of each
position above the third, of a fourth finger, of a double stop, of a length that differs from the one before."""

_THIRD: Final = 3
_HEARD: Final = 1e-9


@dataclass(frozen=True, slots=True)
class NoteWork:
    """The work of one note or chord.

    Attributes:
        one: The note with its place.
        loads: Its load by kind.
        moved: The positions that the hand moves from and to; None where it stays.
        skipped: Strings skipped.
    """

    one: FingeredNote
    loads: dict[Kind, float]
    moved: tuple[int, int] | None = None
    skipped: int = 0


@dataclass(frozen=True, slots=True)
class BarWork:
    """The work of one measure.

    Attributes:
        measure: Its index.
        seconds: How long it lasts; of a bar that is cut short, as long as a whole one.
        notes: Its notes.
    """

    measure: int
    seconds: float
    notes: tuple[NoteWork, ...]

    def of(self, kind: Kind) -> float:
        """The load of one kind, by the second."""
        return sum(note.loads.get(kind, 0.0) for note in self.notes) / self.seconds if self.seconds else 0.0

    @property
    def load(self) -> float:
        """The load, by the second."""
        whole = sum(load for note in self.notes for load in note.loads.values())
        return whole / self.seconds if self.seconds else 0.0


def work_of(fingering: Fingering) -> list[BarWork]:
    """The work of every measure of a part, in order; nothing in those without notes."""
    read = fingering.read
    by_measure: dict[int, list[NoteWork]] = {}
    for note in note_work(fingering.notes):
        by_measure.setdefault(note.one.note.measure, []).append(note)
    loads = []
    for index, bar in enumerate(read.excerpt.bars):
        length = max(bar.length, read.part.bars.metre(index).length)
        seconds = float(read.tempos.seconds(bar.start + length) - read.tempos.seconds(bar.start))
        loads.append(BarWork(index, seconds, tuple(by_measure.get(index, ()))))
    return loads


def note_work(notes: Sequence[FingeredNote]) -> Iterator[NoteWork]:
    """The work of each note that a hand can play, in order."""
    before: FingeredNote | None = None
    held: Place | None = None  # the last place with a finger down, which tells where the hand is
    for one in notes:
        if one.place is None:
            continue
        yield _note(one, one.place, before, held)
        before = one
        held = one.place if one.place.hand.finger else held


def _note(one: FingeredNote, place: Place, before: FingeredNote | None, held: Place | None) -> NoteWork:
    loads: dict[Kind, float] = {"note": _NOTE}
    moved, skipped = None, 0
    stops = place.stops
    if held is not None and place.hand.finger and abs(held.hand.place - place.hand.place) > _HEARD:
        moved = (held.hand.position, place.hand.position)
        loads["shift"] = _SHIFT + _A_POSITION * abs(held.hand.place - place.hand.place)
    if before is not None and before.place is not None:
        away = max(place.low - before.place.high, before.place.low - place.high, 0)
        skipped = max(0, away - 1)
        if away:
            loads["crossing"] = _CROSSING + _A_STRING * skipped
        same_bar = before.note.measure == one.note.measure
        if same_bar and before.note.duration != one.note.duration and not one.note.grace:
            loads["rhythm"] = _RHYTHM
    if (above := place.hand.position - _THIRD) > 0:
        loads["height"] = _HEIGHT * above
    if any(stop.finger == 4 for stop in stops):
        loads["fourth"] = _FOURTH
    if len(stops) > 1:
        loads["stops"] = _STOPS
    return NoteWork(one, loads, moved, skipped)


@dataclass(frozen=True, slots=True)
class WorkPassage:
    """A passage with much work.

    Attributes:
        first: The note that it begins with.
        last: The note that it ends with.
        bars: Its bars, those at the edges whole.
        whole: It is made of whole bars.
    """

    first: FingeredNote
    last: FingeredNote
    bars: tuple[BarWork, ...]
    whole: bool

    @property
    def load(self) -> float:
        """The load of its bars, by the second."""
        seconds = sum(bar.seconds for bar in self.bars)
        return sum(bar.load * bar.seconds for bar in self.bars) / seconds if seconds else 0.0

    @property
    def notes(self) -> list[NoteWork]:
        """Its notes."""
        return [note for bar in self.bars for note in bar.notes]


_FAULTS: Final[dict[Kind, str]] = {
    "shift": "shift",
    "crossing": "crossing",
    "stops": "intonation",
    "height": "intonation",
    "rhythm": "rhythm",
}
"""What goes wrong where a kind of work weighs most; common practice, no source."""

_A_PART: Final = 0.25
"""Share of the load, that of any note left out, from which on a kind is a fault to work on."""

_FAST: Final = 6
"""Notes a second from which on speed is told; common practice, no source."""

_MOST_FAULTS: Final = 2


def faults_of(notes: Sequence[NoteWork]) -> list[str]:
    """What notes would be worked on for: at most two faults, what weighs most first; speed where nothing else does."""
    loads: Counter[Kind] = Counter()
    for note in notes:
        loads.update({kind: load for kind, load in note.loads.items() if kind != "note"})
    heavy = [
        kind for kind, load in loads.most_common() if load >= _A_PART * loads.total() and kind in _FAULTS
    ]
    faults = [*dict.fromkeys(_FAULTS[kind] for kind in heavy)][:_MOST_FAULTS]
    return faults or (["speed"] if is_fast(notes) else [])


def is_fast(notes: Sequence[NoteWork]) -> bool:
    """Whether most notes are so short that speed is told."""
    return speed_of(notes) >= _FAST


def speed_of(notes: Sequence[NoteWork]) -> float:
    """Notes a second of the length that most notes do not exceed."""
    lengths = sorted(note.one.note.seconds for note in notes if not note.one.note.grace)
    usual = lengths[len(lengths) // 2] if lengths else 0.0
    return 1 / usual if usual else 0.0


_LONGEST: Final = 4
_NEAR: Final = 0.7
_JOINED: Final = 8
"""Bars of a passage at most, how near to its fullest bar the others must come, and bars at most of passages that touch
and are joined: two lines of music. Common practice, no source."""


def passages(fingering: Fingering, bars: Sequence[BarWork], most: int) -> list[WorkPassage]:
    """The passages with the most work, in the order of the part: no two overlap, and no bar comes back.

    A passage grows from the fullest bar to the fuller of its neighbours. It begins and ends where a slur does, on a
    beat; those that touch are joined as far as others come in for them; common practice, no source.

    Args:
        fingering: The fingering.
        bars: The work of its measures.
        most: How many, at most.
    """
    ways = [_passages(fingering, bars, most, longest) for longest in range(_JOINED, _LONGEST - 1, -1)]
    return max(ways, key=len)  # of equal ones the first


def _passages(fingering: Fingering, bars: Sequence[BarWork], most: int, longest: int) -> list[WorkPassage]:
    """The passages, where those that touch are joined up to so many bars."""
    mean = sum(bar.load for bar in bars) / max(1, sum(bool(bar.notes) for bar in bars))
    taken: set[int] = set()
    music: set[tuple[object, ...]] = set()
    chosen: list[WorkPassage] = []
    for peak in sorted(bars, key=lambda bar: (-bar.load, bar.measure)):
        if len(chosen) == most or peak.load <= mean:
            break
        if peak.measure in taken or _music(peak) in music:
            continue
        low, high = _grown(bars, peak.measure, taken)
        passage = _edged(fingering, bars, low, high)
        edges = range(passage.first.note.measure, passage.last.note.measure + 1)
        if taken.intersection(edges):
            continue
        chosen = _joined([*chosen, passage], longest)
        taken.update(edges)
        music.update(_music(bars[index]) for index in edges)
    return chosen


def _joined(chosen: Sequence[WorkPassage], longest: int) -> list[WorkPassage]:
    """Passages in the order of the part; those made of whole bars that touch as one, unless it would be too long."""
    made: list[WorkPassage] = []
    for passage in sorted(chosen, key=lambda one: one.first.note.onset):
        before = made[-1] if made else None
        if (
            before is not None
            and before.whole
            and passage.whole
            and before.last.note.measure + 1 == passage.first.note.measure
            and len(before.bars) + len(passage.bars) <= longest
        ):
            made[-1] = WorkPassage(before.first, passage.last, (*before.bars, *passage.bars), True)
        else:
            made.append(passage)
    return made


def _music(bar: BarWork) -> tuple[object, ...]:
    return tuple((note.one.note.key, note.one.note.within) for note in bar.notes)


def _grown(bars: Sequence[BarWork], peak: int, taken: set[int]) -> tuple[int, int]:
    low = high = peak
    while high - low + 1 < _LONGEST:
        beside = [index for index in (low - 1, high + 1) if 0 <= index < len(bars) and index not in taken]
        best = max(beside, key=lambda index: bars[index].load, default=None)
        if best is None or bars[best].load < _NEAR * bars[peak].load:
            break
        low, high = min(low, best), max(high, best)
    return low, high


def _edged(fingering: Fingering, bars: Sequence[BarWork], low: int, high: int) -> WorkPassage:
    """The passage of some bars, from the beginning of the slur that comes in to the end of the one that goes out."""
    notes = [one for one in fingering.notes if one.place is not None]
    start = next(index for index, one in enumerate(notes) if one.note.measure >= low)
    end = max(index for index, one in enumerate(notes) if one.note.measure <= high)
    begin, stop = start, end
    while begin > 0 and notes[begin].note.slurred and notes[begin - 1].note.measure >= low - 1:
        begin -= 1
    if notes[begin].note.slurred or not notes[begin].note.on_beat:
        begin = start
    while stop + 1 < len(notes) and notes[stop + 1].note.slurred and notes[stop + 1].note.measure <= high + 1:
        stop += 1
    if stop + 1 < len(notes) and notes[stop + 1].note.slurred:
        stop = end
    first, last = notes[begin], notes[stop]
    shown = tuple(bars[first.note.measure : last.note.measure + 1])
    return WorkPassage(first, last, shown, begin == start and stop == end)


def box_faults(excerpt: Excerpt, player: Instrument, speed: Fraction | None, wishes: Wishes) -> list[str]:
    """The faults that a box would be worked on for: at most two, what weighs most first; none where nothing does.

    Args:
        excerpt: The box with its context.
        player: The instrument.
        speed: Quarter notes a minute that are to be reached; the excerpt's where None.
        wishes: What the player is asked for.
    """
    printed = excerpt.tempo.quarters_per_minute if excerpt.tempo is not None else USUAL_TEMPO
    clock = TempoMap(((Fraction(0), speed or printed),), speed or printed)
    fingered = finger_notes(notes_of(read_lines(excerpt), player, clock), player, wishes)
    inside = [
        one
        for one in note_work(fingered)
        if any(
            box.start <= Position(one.one.note.measure, one.one.note.within) < box.end
            for box in excerpt.boxes
        )
    ]
    return faults_of(inside)
