"""Sets the notes of a warm-up into bars: signatures, clefs, octave lines, marks, tempo, final barline."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from excerpts.excerpt import BarRef, Origin, Tempo
from excerpts.instruments.instrument import Instrument
from excerpts.instruments.keys import Key
from excerpts.instruments.staff import Clef
from excerpts.musicxml import elements
from excerpts.musicxml.pitch import Pitch
from excerpts.notes.model import Event, Head, TimedElement, Voice
from excerpts.notes.write_signs import new_heading, new_part
from excerpts.warmups.manner import Bowing, Manner
from excerpts.warmups.note_layout import Layout, beats_per_minute
from excerpts.warmups.patterns import Chord, Pattern
from excerpts.warmups.reading_aids import choose_clefs, octave_lines, reminders
from excerpts.warmups.scale_fingering import Fingers
from excerpts.warmups.scale_range import ScaleRange


@dataclass(frozen=True, slots=True)
class Plan:
    """A warm-up before it is written: what is played, by whom, and how it can stand in its bars.

    Attributes:
        key: The key, or the major key of the first note where the pattern is named by that.
        pattern: The pattern.
        instrument: Who plays it.
        span: Lowest tonic, octaves and level.
        notes: Its notes in order, double stops from their lower note.
        layouts: Ways to lay it out, the best first.
        bowing: Slurs and the like.
        fingers: The finger of each note; empty for none.
        manner: What was asked for beside.
    """

    key: Key
    pattern: Pattern
    instrument: Instrument
    span: ScaleRange
    notes: tuple[Chord, ...]
    layouts: tuple[Layout, ...]
    bowing: Bowing = Bowing()
    fingers: Fingers = ()
    manner: Manner = Manner()

    @property
    def fifths(self) -> int:
        """Its key signature."""
        return self.pattern.signature(self.key)[0]

    @property
    def out_of_range(self) -> str:
        """What is said where it goes beyond the level's range."""
        reach = self.instrument.range_at(self.span.level)
        highest = max((pitch for chord in self.notes for pitch in chord), key=lambda pitch: pitch.midi)
        return (
            f"it goes up to {highest}, beyond the {self.instrument.name} at level '{reach.level}' "
            f"(written {reach.low} to {reach.top})."
        )

    def tempo(self, layout: Layout) -> Tempo:
        """The tempo to print: what was asked for, else the level's."""
        number = Fraction(beats_per_minute(layout, self.span.level))
        return self.manner.tempo or Tempo(number, layout.beat)


def to_line(plan: Plan, layout: Layout, title: str = "", said: Mapping[str, str] | None = None) -> Voice:
    """Set a plan into bars.

    Args:
        plan: What is played.
        layout: How; one of the plan's.
        title: Title inside the music file; "" for none.
        said: Further fields of the music file by their names.
    """
    bars = _bars(layout)
    tempo = plan.tempo(layout)
    clefs = _clefs(plan, layout)
    return Voice(
        events=tuple(_events(plan, layout)),
        bars=bars,
        placed=(
            *_opening(plan, layout, clefs[0], tempo),
            *_changes(plan, layout, clefs),
            TimedElement(len(bars) - 1, layout.bar, elements.Barline("light-heavy")),
        ),
        part=new_part(plan.instrument.name.capitalize(), plan.instrument.program, shown=False),
        head=new_heading(title, said or {}),
        tempo=tempo,
        origin=Origin(title=title, part=plan.instrument.name, part_id="P1", address=str(plan.key)),
    )


def _events(plan: Plan, layout: Layout) -> Iterator[Event]:
    """The notes with their reminders, fingers and slurs."""
    reminded = iter(
        reminders(plan.fifths, _grouped(plan.notes, layout, layout.bar), near=plan.pattern.by_note)
    )
    strings = len(plan.instrument.strings)
    for index, (onset, length, chord) in enumerate(
        zip(layout.onsets, layout.lengths, plan.notes, strict=True)
    ):
        spots = plan.fingers[index] if plan.fingers else (None,) * len(chord)
        heads = []
        for place, (pitch, spot) in enumerate(zip(chord, spots, strict=True)):
            reminder = next(reminded)
            marks = (*((reminder,) if reminder else ()), *(spot.marks(strings) if spot else ()))
            heads.append(Head(pitch, marks if place else (*marks, *plan.bowing.marks(index))))
        yield Event(onset, length, tuple(heads))


def _bars(layout: Layout) -> tuple[BarRef, ...]:
    count = int(sum(layout.lengths) / layout.bar)
    return tuple(
        BarRef(place, str(place), (place - 1) * layout.bar, layout.bar) for place in range(1, count + 1)
    )


def _grouped(notes: Sequence[Chord], layout: Layout, length: Fraction) -> list[list[Pitch]]:
    """The pitches that start in each stretch of `length` quarter notes."""
    groups: list[list[Pitch]] = [[] for _ in range(int(sum(layout.lengths) / length))]
    for onset, chord in zip(layout.onsets, notes, strict=True):
        groups[int(onset / length)] += chord
    return groups


def _clefs(plan: Plan, layout: Layout) -> tuple[Clef, ...]:
    """The clef of each beam group; in double stops it changes between bars only."""
    double = any(len(chord) > 1 for chord in plan.notes)
    length = layout.bar if double else layout.group
    groups = _grouped(plan.notes, layout, length)
    at_bar = [index * length % layout.bar == 0 for index in range(len(groups))]
    highest = max((pitch for group in groups for pitch in group), key=lambda pitch: pitch.midi)
    chosen = choose_clefs(groups, plan.instrument.clefs_to(highest), at_bar)
    return tuple(clef for clef in chosen for _ in range(int(length / layout.group)))


def _opening(plan: Plan, layout: Layout, clef: Clef, tempo: Tempo) -> Iterator[TimedElement]:
    """Signatures, clef and transposition, and the metronome mark."""
    octaves = plan.instrument.octave_change
    signs = (
        elements.Key(*plan.pattern.signature(plan.key)),
        elements.Time(((str(layout.beats), str(layout.beat_type)),)),
        clef.written,
        *([elements.Transpose(0, 0, octaves)] if octaves else []),
    )
    yield TimedElement(0, Fraction(0), elements.Signatures(signs))
    mark = elements.Metronome(elements.BeatUnit.of(tempo.unit), str(tempo.number))
    sound = elements.Sound(str(tempo.quarters_per_minute))
    yield TimedElement(0, Fraction(0), elements.Direction.of(mark, sound=sound))


def _changes(plan: Plan, layout: Layout, clefs: Sequence[Clef]) -> list[TimedElement]:
    """Clef changes, octave lines and hairpins, in order."""
    placed = [
        _at(layout, index, elements.Signatures((clefs[index].written,)))
        for index in range(1, len(clefs))
        if clefs[index] is not clefs[index - 1]
    ]
    for first, last in octave_lines(_grouped(plan.notes, layout, layout.group), clefs):
        placed.append(_at(layout, first, _octave_line("down")))
        placed.append(_at(layout, last + 1, _octave_line("stop"), ending=True))
    if plan.bowing.hairpins:
        placed += _hairpins(plan, layout)
    return sorted(placed, key=lambda item: (item.bar, item.onset))


def _hairpins(plan: Plan, layout: Layout) -> Iterator[TimedElement]:
    """A hairpin under each note, one kind after the other; each note fills its bar."""
    kinds = plan.bowing.hairpins
    for bar in range(len(plan.notes)):
        for onset, kind in ((Fraction(0), kinds[bar % len(kinds)]), (layout.bar, "stop")):
            yield TimedElement(bar, onset, elements.Direction.of(elements.Wedge(kind), elements.BELOW))


def _at(layout: Layout, group: int, sign: elements.Sign, *, ending: bool = False) -> TimedElement:
    """Place something before a beam group; what ends there stays in the bar that it ends."""
    bar, onset = divmod(group * layout.group, layout.bar)
    if ending and not onset:
        bar, onset = bar - 1, layout.bar
    return TimedElement(bar, onset, sign)


def _octave_line(kind: str) -> elements.Direction:
    return elements.Direction.of(elements.Line("octave-shift", kind, look=(("size", "8"),)))
