"""Builds a warm-up: the notes of a key, laid out for an instrument and a level."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from excerpts.arguments import count_of, text_of
from excerpts.errors import VariantError, WarmupError
from excerpts.excerpt import Excerpt, ReportLine
from excerpts.instruments.fingerboard import place_stop, why_not
from excerpts.instruments.instrument import LEVELS, Instrument, Level
from excerpts.instruments.instrument_names import instrument as find_instrument
from excerpts.instruments.keys import Key, tonic_name
from excerpts.musicxml.pitch import Pitch
from excerpts.notes import write_line
from excerpts.warmups.line import Plan, to_line
from excerpts.warmups.manner import Bowing, Manner, slurred
from excerpts.warmups.note_layout import Layout
from excerpts.warmups.patterns import TURNED, Asked, Chord, Pattern, find_pattern
from excerpts.warmups.scale_range import USUAL_LEVEL, Need, ScaleRange, choose_span
from excerpts.warmups.warmup_names import DRONE, INSTRUCTION, KEYNOTE, lines, warmup_title
from excerpts.words import Words

TURN_OCTAVES = 3
"""Octaves that the turn at the bottom is for: 24 notes before the top note."""

_FINGERED_AT_FIRST: Final = {"scale", "arpeggio"}
"""Patterns that have fingers in the first year unless others, or none, are asked for."""


def plan_warmup(
    key: str | Key,
    *,
    instrument: str | Instrument = "violin",
    level: str | None = None,
    octaves: int | None = None,
    start: str | None = None,
    pattern: str = "scale",
    manner: Manner | None = None,
) -> Plan:
    """Choose the notes of a warm-up; what it takes and refuses is what `warmup` does."""
    key = key if isinstance(key, Key) else text_of(key, "a key", '"F# minor"')
    pattern = text_of(pattern, "a pattern", '"scale"')
    octaves = None if octaves is None else count_of(octaves, "octaves", least=1)
    start = None if start is None else text_of(start, "a note to start on", '"A3"')
    asked = manner or Manner()
    named = find_pattern(pattern)
    wanted = named.key(key) if isinstance(key, str) else key
    player = instrument if isinstance(instrument, Instrument) else _player(instrument)
    turned, octaves = _with_turn(named, octaves) if asked.turn else (named, _fixed(named, octaves))
    need = _need(turned, wanted, player)
    span = choose_span(wanted, player, _level(level), octaves, start, need)
    if asked.fingerings is None and span.level == "first" and named.name in _FINGERED_AT_FIRST:
        asked = replace(asked, fingerings="open")
    notes = turned.notes(_asked(wanted, player, span))
    layouts = turned.layouts(span.level, span.octaves, len(notes))
    title = warmup_title(wanted, pattern, span.octaves, Words())
    bowing, layouts = _bows(turned, span, asked, layouts, title)
    plan = Plan(wanted, named, player, span, notes, layouts, bowing, asked.fingers(player, notes), asked)
    return _with_usual_fingers(plan) if asked.fingering_kind == "usual" else plan


def _with_usual_fingers(plan: Plan) -> Plan:
    from excerpts.warmups.usual_fingers import usual_fingers  # which loads numpy

    layout, taught = plan.layouts[0], plan.manner.taught
    name, tempo = plan.pattern.name, plan.tempo(layout)
    return replace(plan, fingers=usual_fingers(plan.instrument, name, plan.notes, layout, tempo, taught))


def warmup(
    key: str | Key,
    *,
    instrument: str | Instrument = "violin",
    level: str | None = None,
    octaves: int | None = None,
    start: str | None = None,
    pattern: str = "scale",
    variant: str | None = None,
    words: Words | None = None,
    manner: Manner | None = None,
) -> Excerpt:
    """Make a scale, an arpeggio or another pattern in a key.

    Args:
        key: The key as a musician says it ("Bb", "F# minor"; plain minor is the melodic); for patterns that are
            named by their first note, that note.
        instrument: An instrument of the table, or its name.
        level: "first", "lower", "middle", "upper" or "advanced"; None means middle. What goes beyond its range
            is made all the same, with a warning in the report.
        octaves: How many; None takes the most that fit the level.
        start: The written note to start on ("A3"); None takes what suits the level.
        pattern: Name of the pattern: "scale", "arpeggio" … (see `PATTERNS`).
        variant: A practice variant to apply ("separate+long-short").
        words: Texts for the title and the instruction inside the music file.
        manner: Slurs, fingerings and the like.

    Raises:
        InputError: Something asked for cannot be had: a key that does not exist, more octaves than fit.
    """
    plan = plan_warmup(
        key,
        instrument=instrument,
        level=level,
        octaves=octaves,
        start=start,
        pattern=pattern,
        manner=manner,
    )
    if variant:
        return _varied(plan, variant, words or Words())
    return _written(plan, plan.layouts[0], words or Words())


def _player(name: str) -> Instrument:
    return find_instrument(text_of(name, "an instrument", '"viola"'))


def _written(plan: Plan, layout: Layout, words: Words) -> Excerpt:
    title = warmup_title(plan.key, plan.pattern.name, plan.span.octaves, words)
    said = {
        INSTRUCTION: " ".join(lines(plan.key, plan.pattern, plan.span, plan.manner, plan.fingers, words)),
        DRONE: _drone(plan) if plan.manner.drone or plan.pattern.name == "long-notes" else "",
        KEYNOTE: "" if plan.pattern.signature(plan.key)[1] else tonic_name(plan.key),
    }
    report = (ReportLine("warning", "range", "", plan.out_of_range),) if plan.span.beyond else ()
    return write_line(replace(to_line(plan, layout, title, said), report=report))


def _drone(plan: Plan) -> str:
    """The sounding note of the drone: the lowest tonic."""
    start = plan.span.start
    return str(Pitch(start.step, start.octave + plan.instrument.octave_change, start.alter))


def _varied(plan: Plan, variant: str, words: Words) -> Excerpt:
    """The first layout that holds the variant: groups of three do not go into pairs."""
    from excerpts.variants import vary

    refusals: list[VariantError] = []
    for layout in plan.layouts:
        try:
            return vary(_written(plan, layout, words), variant, words=words)
        except VariantError as refusal:
            title = warmup_title(plan.key, plan.pattern.name, plan.span.octaves, words)
            refusals.append(VariantError(refusal.what, where=title, hint=refusal.hint))
    raise refusals[0]


def _bows(
    pattern: Pattern, span: ScaleRange, manner: Manner, layouts: tuple[Layout, ...], title: str
) -> tuple[Bowing, tuple[Layout, ...]]:
    """The slurs, and the layouts that hold them."""
    if manner.slur is None or manner.slur == 1:
        return pattern.bows(span.level, span.octaves), layouts
    if not pattern.chosen_slurs:
        raise WarmupError(f"the {pattern.name} pattern has its own bows.", hint="Leave the slur out.")
    turn = pattern.name == "scale" and span.octaves == TURN_OCTAVES
    layout, bowing = slurred(manner.slur, layouts, title, turn)
    return bowing, (layout,)


def _with_turn(pattern: Pattern, octaves: int | None) -> tuple[Pattern, int]:
    if pattern.name != "scale":
        raise WarmupError(f"the {pattern.name} pattern has no turn.", hint="The turn is for scales.")
    if octaves not in {None, TURN_OCTAVES}:
        raise WarmupError(
            "the turn at the bottom is for three octaves.", hint="Ask for three, or leave the turn out."
        )
    return TURNED, TURN_OCTAVES


def _fixed(pattern: Pattern, octaves: int | None) -> int | None:
    if not pattern.fixed:
        return octaves
    if octaves not in {None, 1}:
        raise WarmupError(f"the {pattern.name} pattern has one octave.", hint="Leave the octaves out.")
    return 1


def _asked(key: Key, player: Instrument, span: ScaleRange) -> Asked:
    """The octave number to count the key's degrees from, so that degree 0 is the start, and the rest."""
    start = span.start
    octave = start.octave + int(start.midi - key.tonic(start.octave).midi) // 12
    return Asked(key, octave, span.octaves, span.level, player)


def _need(pattern: Pattern, key: Key, player: Instrument) -> Need:
    """What the pattern needs beyond its octaves, told by one octave of it."""

    def notes(start: Pitch, octaves: int) -> tuple[Chord, ...]:
        return pattern.notes(_asked(key, player, ScaleRange(start, octaves, USUAL_LEVEL, USUAL_LEVEL)))

    def refused(start: Pitch, octaves: int) -> str:
        chords = notes(start, octaves)
        unplayable = next((c for c in chords if len(c) > 1 and not place_stop(player, c[0], c[1])), None)
        return why_not(player, *unplayable) if unplayable else ""

    tonic = key.tonic(4)
    chords = notes(tonic, 1)
    heights = [pitch.midi for chord in chords for pitch in chord]
    in_stops = any(len(chord) > 1 for chord in chords)
    return Need(
        name=_named(pattern, key),
        below=int(tonic.midi - min(heights)),
        above=max(0, int(max(heights) - tonic.midi) - 12),
        most=pattern.most_octaves,
        why_not=refused if in_stops else lambda start, octaves: "",
    )


def _named(pattern: Pattern, key: Key) -> str:
    """What messages call it."""
    if pattern.by_note:
        return f"the {pattern.name} pattern on {tonic_name(key)}"
    return str(key) if pattern.name in {"scale", TURNED.name, "arpeggio"} else f"{key} ({pattern.name})"


def _level(name: str | None) -> Level | None:
    chosen = next((level for level in LEVELS if level == name), None)
    if name is not None and chosen is None:
        raise WarmupError(f"there is no level '{name}'.", hint=f"There are: {', '.join(LEVELS)}.")
    return chosen
