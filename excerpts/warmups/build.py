"""Builds a warm-up: the notes of a key, laid out for an instrument and a level."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from typing import get_args
from xml.sax.saxutils import escape

from excerpts.errors import VariantError, WarmupError
from excerpts.excerpt import BarRef, Excerpt, Origin, Tempo
from excerpts.instruments import LEVELS, Clef, Instrument, Level
from excerpts.instruments import instrument as find_instrument
from excerpts.keys import Key, parse_key
from excerpts.notes.model import Event, Head, Line, Pitch, Placed
from excerpts.warmups.clefs import choose_clefs
from excerpts.warmups.layout import LAYOUTS, Layout, beats_per_minute
from excerpts.warmups.names import warmup_title
from excerpts.warmups.pitches import PATTERNS
from excerpts.warmups.reminders import reminders
from excerpts.warmups.span import Span, choose_span
from excerpts.words import Words


@dataclass(frozen=True, slots=True)
class Plan:
    """A warm-up before it is written: what is played, by whom, and how it stands in its bars.

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


def plan_warmup(
    key: str | Key,
    *,
    instrument: str = "violin",
    level: str | None = None,
    octaves: int | None = None,
    start: str | None = None,
    pattern: str = "scale",
) -> Plan:
    """Choose the notes of a warm-up; the arguments are those of `warmup`.

    Raises:
        InputError: The key, instrument, level, pattern, start or number of octaves cannot be had.
    """
    wanted = parse_key(key) if isinstance(key, str) else key
    player = find_instrument(instrument)
    kind = _pattern(pattern)
    span = choose_span(wanted, player, _level(level), octaves, start)
    pitches = PATTERNS[kind](wanted, _octave(wanted, span.start), span.octaves)
    return Plan(wanted, kind, player, span, pitches, LAYOUTS[kind](span.level, span.octaves))


def warmup(
    key: str | Key,
    *,
    instrument: str = "violin",
    level: str | None = None,
    octaves: int | None = None,
    start: str | None = None,
    pattern: str = "scale",
    variant: str | None = None,
    words: Words | None = None,
) -> Excerpt:
    """Make a scale or an arpeggio, up and down with the top note once.

    Args:
        key: The key as a musician says it ("Bb", "F# minor"; plain minor is the melodic).
        instrument: "violin", "viola", "cello" or "bass".
        level: "first", "lower", "middle", "upper" or "advanced"; None means middle, or as high as what is
            asked for needs.
        octaves: How many; None takes the most that fit the level.
        start: The written note to start on ("A3"); None takes what suits the level.
        pattern: "scale" or "arpeggio".
        variant: A practice variant to apply ("separate+long-short").
        words: Texts for the title inside the music file.

    Raises:
        InputError: Something asked for cannot be had: a key that does not exist, more octaves than fit.
    """
    plan = plan_warmup(key, instrument=instrument, level=level, octaves=octaves, start=start, pattern=pattern)
    title = warmup_title(plan.key, plan.pattern, plan.span.octaves, words or Words())
    if not variant:
        return _written(plan, plan.layouts[0], title)
    return _varied(plan, variant, title)


def _varied(plan: Plan, variant: str, title: str) -> Excerpt:
    """The first layout that holds the variant: groups of three do not go into pairs."""
    from excerpts.practice import vary

    refusals: list[VariantError] = []
    for layout in plan.layouts:
        try:
            return vary(_written(plan, layout, title), variant)
        except VariantError as refusal:
            refusals.append(refusal)
    raise refusals[0]


def _written(plan: Plan, layout: Layout, title: str) -> Excerpt:
    from excerpts.notes import write_line

    return write_line(to_line(plan, layout, title))


def to_line(plan: Plan, layout: Layout, title: str = "") -> Line:
    """Set a plan into bars: events, signatures, clefs, reminders and the metronome mark."""
    bars = _bars(layout)
    groups = _by_bar(plan.pitches, layout)
    marks = list(reminders(plan.key, groups))
    events = tuple(
        Event(onset, length, (Head(pitch, (mark,) if mark else ()),))
        for onset, length, pitch, mark in zip(layout.onsets, layout.lengths, plan.pitches, marks, strict=True)
    )
    number = beats_per_minute(layout, plan.span.level)
    return Line(
        events=events,
        bars=bars,
        placed=(*_placed(plan, layout, number), _final_barline(bars)),
        part=_part(plan.instrument),
        head=f"<movement-title>{escape(title)}</movement-title>" if title else "",
        tempo=Tempo(Fraction(number), layout.beat),
        origin=Origin(part=plan.instrument.name, part_id="P1", address=str(plan.key)),
    )


def _bars(layout: Layout) -> tuple[BarRef, ...]:
    count = int(sum(layout.lengths) / layout.bar)
    return tuple(
        BarRef(place, str(place), (place - 1) * layout.bar, layout.bar) for place in range(1, count + 1)
    )


def _by_bar(pitches: Sequence[Pitch], layout: Layout) -> list[list[Pitch]]:
    groups: list[list[Pitch]] = [[] for _ in _bars(layout)]
    for onset, pitch in zip(layout.onsets, pitches, strict=True):
        groups[int(onset / layout.bar)].append(pitch)
    return groups


def _placed(plan: Plan, layout: Layout, number: int) -> Iterator[Placed]:
    """Signatures and clef at the start, the metronome mark, and the clef changes."""
    clefs = _clefs(plan, layout)
    yield Placed(0, Fraction(0), "attributes", _attributes(plan, layout, clefs[0]))
    yield Placed(0, Fraction(0), "direction", _metronome(layout, number))
    for index in range(1, len(clefs)):
        if clefs[index] is not clefs[index - 1]:
            bar, onset = divmod(index * layout.beat, layout.bar)
            yield Placed(int(bar), onset, "attributes", f"<attributes>{_clef_xml(clefs[index])}</attributes>")


def _clefs(plan: Plan, layout: Layout) -> tuple[Clef, ...]:
    """The clef of each beat."""
    count = int(sum(layout.lengths) / layout.beat)
    beats: list[list[Pitch]] = [[] for _ in range(count)]
    for onset, pitch in zip(layout.onsets, plan.pitches, strict=True):
        beats[int(onset / layout.beat)].append(pitch)
    at_bar = [index * layout.beat % layout.bar == 0 for index in range(count)]
    return choose_clefs(beats, plan.instrument.clefs, at_bar)


def _attributes(plan: Plan, layout: Layout, clef: Clef) -> str:
    mode = "minor" if plan.key.is_minor else "major"
    change = plan.instrument.octave_change
    transpose = f"<diatonic>0</diatonic><chromatic>0</chromatic><octave-change>{change}</octave-change>"
    return (
        f"<attributes><key><fifths>{plan.key.fifths}</fifths><mode>{mode}</mode></key>"
        f"<time><beats>{layout.beats}</beats><beat-type>{layout.beat_type}</beat-type></time>"
        f"{_clef_xml(clef)}{f'<transpose>{transpose}</transpose>' if change else ''}</attributes>"
    )


def _clef_xml(clef: Clef) -> str:
    return f"<clef><sign>{clef.sign}</sign><line>{clef.line}</line></clef>"


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
    name = player.name.capitalize()
    return (
        f'<score-part id="P1"><part-name print-object="no">{name}</part-name>'
        f'<score-instrument id="P1-I1"><instrument-name>{name}</instrument-name></score-instrument>'
        f'<midi-instrument id="P1-I1"><midi-channel>1</midi-channel>'
        f"<midi-program>{player.program + 1}</midi-program></midi-instrument></score-part>"
    )


def _octave(key: Key, start: Pitch) -> int:
    """Octave number to count the key's degrees from, so that degree 0 is the start."""
    return start.octave + int(start.midi - key.tonic(start.octave).midi) // 12


def _level(name: str | None) -> Level | None:
    if name is None:
        return None
    level: Level
    for level in get_args(Level):
        if name == level:
            return level
    raise WarmupError(f"there is no level '{name}'.", hint=f"There are: {', '.join(LEVELS)}.")


def _pattern(name: str) -> str:
    if name in PATTERNS:
        return name
    near = get_close_matches(name, PATTERNS, n=1)
    guess = f"Did you mean '{near[0]}'? " if near else ""
    raise WarmupError(f"there is no pattern '{name}'.", hint=f"{guess}There are: {', '.join(PATTERNS)}.")
