"""Sets the notes of a warm-up into bars: signatures, clefs, octave lines, metronome mark, final barline."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from xml.sax.saxutils import escape

from excerpts.excerpt import BarRef, Origin, Tempo
from excerpts.instruments import Instrument
from excerpts.keys import Key
from excerpts.musicxml import SOFTWARE
from excerpts.notes.model import Event, Head, Line, Pitch, Placed
from excerpts.staff import Clef
from excerpts.warmups.clefs import choose_clefs
from excerpts.warmups.layout import Layout, beats_per_minute
from excerpts.warmups.octave_lines import octave_lines
from excerpts.warmups.reminders import reminders
from excerpts.warmups.span import Span


@dataclass(frozen=True, slots=True)
class Plan:
    """A warm-up before it is written: what is played, by whom, and how it can stand in its bars.

    Attributes:
        key: The key.
        pattern: "scale" or "arpeggio".
        instrument: Who plays it.
        span: Lowest note, octaves and level.
        pitches: Its notes in order.
        layouts: Ways to lay it out, the best first.
    """

    key: Key
    pattern: str
    instrument: Instrument
    span: Span
    pitches: tuple[Pitch, ...]
    layouts: tuple[Layout, ...]


def to_line(plan: Plan, layout: Layout, title: str = "") -> Line:
    """Set a plan into bars.

    Args:
        plan: What is played.
        layout: How; one of the plan's.
        title: Title inside the music file; "" for none.
    """
    bars = _bars(layout)
    marks = reminders(plan.key, _grouped(plan.pitches, layout, layout.bar))
    events = tuple(
        Event(onset, length, (Head(pitch, (mark,) if mark else ()),))
        for onset, length, pitch, mark in zip(layout.onsets, layout.lengths, plan.pitches, marks, strict=True)
    )
    number = beats_per_minute(layout, plan.span.level)
    clefs = _clefs(plan, layout)
    return Line(
        events=events,
        bars=bars,
        placed=(
            *_opening(plan, layout, clefs[0], number),
            *_changes(plan, layout, clefs),
            _final_barline(bars),
        ),
        part=_part(plan.instrument),
        head=_head(title),
        tempo=Tempo(Fraction(number), layout.beat),
        origin=Origin(title=title, part=plan.instrument.name, part_id="P1", address=str(plan.key)),
    )


def _head(title: str) -> str:
    """The title of the file, and the sign by which the program knows its own files again."""
    named = f"<movement-title>{escape(title)}</movement-title>" if title else ""
    signed = f"<identification><encoding><software>{SOFTWARE}</software></encoding></identification>"
    return named + signed


def _bars(layout: Layout) -> tuple[BarRef, ...]:
    count = int(sum(layout.lengths) / layout.bar)
    return tuple(
        BarRef(place, str(place), (place - 1) * layout.bar, layout.bar) for place in range(1, count + 1)
    )


def _grouped(pitches: Sequence[Pitch], layout: Layout, length: Fraction) -> list[list[Pitch]]:
    """The pitches that start in each stretch of `length` quarter notes."""
    groups: list[list[Pitch]] = [[] for _ in range(int(sum(layout.lengths) / length))]
    for onset, pitch in zip(layout.onsets, pitches, strict=True):
        groups[int(onset / length)].append(pitch)
    return groups


def _clefs(plan: Plan, layout: Layout) -> tuple[Clef, ...]:
    """The clef of each beam group."""
    groups = _grouped(plan.pitches, layout, layout.group)
    at_bar = [index * layout.group % layout.bar == 0 for index in range(len(groups))]
    return choose_clefs(groups, plan.instrument.clefs, at_bar)


def _opening(plan: Plan, layout: Layout, clef: Clef, number: int) -> Iterator[Placed]:
    """Signatures, clef and transposition, and the metronome mark."""
    mode = "minor" if plan.key.is_minor else "major"
    attributes = (
        f"<attributes><key><fifths>{plan.key.fifths}</fifths><mode>{mode}</mode></key>"
        f"<time><beats>{layout.beats}</beats><beat-type>{layout.beat_type}</beat-type></time>"
        f"{_clef_xml(clef)}{_transpose(plan.instrument)}</attributes>"
    )
    yield Placed(0, Fraction(0), "attributes", attributes)
    yield Placed(0, Fraction(0), "direction", _metronome(layout, number))


def _changes(plan: Plan, layout: Layout, clefs: Sequence[Clef]) -> list[Placed]:
    """Clef changes and octave lines, in order."""
    placed = [
        _at(layout, index, "attributes", f"<attributes>{_clef_xml(clefs[index])}</attributes>")
        for index in range(1, len(clefs))
        if clefs[index] is not clefs[index - 1]
    ]
    for first, last in octave_lines(_grouped(plan.pitches, layout, layout.group), clefs):
        placed.append(_at(layout, first, "direction", _octave_shift("down")))
        placed.append(_at(layout, last + 1, "direction", _octave_shift("stop"), ending=True))
    return sorted(placed, key=lambda item: (item.bar, item.onset))


def _at(layout: Layout, group: int, name: str, xml: str, *, ending: bool = False) -> Placed:
    """Place something before a beam group; what ends there stays in the bar that it ends."""
    bar, onset = divmod(group * layout.group, layout.bar)
    return Placed(bar - 1, layout.bar, name, xml) if ending and not onset else Placed(bar, onset, name, xml)


def _clef_xml(clef: Clef) -> str:
    return f"<clef><sign>{clef.sign}</sign><line>{clef.line}</line></clef>"


def _transpose(player: Instrument) -> str:
    """How it sounds against the page; nothing for an instrument that sounds as written."""
    if not player.octave_change:
        return ""
    change = f"<octave-change>{player.octave_change}</octave-change>"
    return f"<transpose><diatonic>0</diatonic><chromatic>0</chromatic>{change}</transpose>"


def _octave_shift(kind: str) -> str:
    return (
        f'<direction placement="above"><direction-type><octave-shift type="{kind}" size="8"/>'
        "</direction-type></direction>"
    )


def _metronome(layout: Layout, number: int) -> str:
    dot = "<beat-unit-dot/>" if layout.beat == Fraction(3, 2) else ""
    quarters = number * layout.beat
    return (
        '<direction placement="above"><direction-type><metronome><beat-unit>quarter</beat-unit>'
        f"{dot}<per-minute>{number}</per-minute></metronome></direction-type>"
        f'<sound tempo="{quarters}"/></direction>'
    )


def _final_barline(bars: tuple[BarRef, ...]) -> Placed:
    style = '<barline location="right"><bar-style>light-heavy</bar-style></barline>'
    return Placed(len(bars) - 1, bars[-1].length, "barline", style)


def _part(player: Instrument) -> str:
    """The `<score-part>`; its MIDI program counts from 1 in MusicXML."""
    name = player.name.capitalize()
    return (
        f'<score-part id="P1"><part-name print-object="no">{name}</part-name>'
        f'<score-instrument id="P1-I1"><instrument-name>{name}</instrument-name></score-instrument>'
        '<midi-instrument id="P1-I1"><midi-channel>1</midi-channel>'
        f"<midi-program>{player.program + 1}</midi-program></midi-instrument></score-part>"
    )
