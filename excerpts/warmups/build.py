"""Builds a warm-up: the notes of a key, laid out for an instrument and a level."""

from __future__ import annotations

from difflib import get_close_matches

from excerpts.errors import VariantError, WarmupError
from excerpts.excerpt import Excerpt
from excerpts.instruments import LEVELS, Level
from excerpts.instruments import instrument as find_instrument
from excerpts.keys import Key, parse_key
from excerpts.notes import write_line
from excerpts.notes.model import Pitch
from excerpts.warmups.layout import LAYOUTS
from excerpts.warmups.line import Plan, to_line
from excerpts.warmups.names import warmup_title
from excerpts.warmups.pitches import PATTERNS
from excerpts.warmups.span import choose_span
from excerpts.words import Words


def plan_warmup(
    key: str | Key,
    *,
    instrument: str = "violin",
    level: str | None = None,
    octaves: int | None = None,
    start: str | None = None,
    pattern: str = "scale",
) -> Plan:
    """Choose the notes of a warm-up.

    Args:
        key: The key as a musician says it ("Bb", "F# minor"; plain minor is the melodic).
        instrument: "violin", "viola", "cello" or "bass".
        level: "first", "lower", "middle", "upper" or "advanced"; None means middle, or as high as what is
            asked for needs.
        octaves: How many; None takes the most that fit the level.
        start: The written note to start on ("A3"); None takes what suits the level.
        pattern: "scale" or "arpeggio".

    Raises:
        InputError: Something asked for cannot be had: a key that does not exist, more octaves than fit.
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
    return _varied(plan, variant, title) if variant else write_line(to_line(plan, plan.layouts[0], title))


def _varied(plan: Plan, variant: str, title: str) -> Excerpt:
    """The first layout that holds the variant: groups of three do not go into pairs."""
    from excerpts.practice import vary

    refusals: list[VariantError] = []
    for layout in plan.layouts:
        try:
            return vary(write_line(to_line(plan, layout, title)), variant)
        except VariantError as refusal:
            refusals.append(VariantError(refusal.what, where=title, hint=refusal.hint))
    raise refusals[0]


def _octave(key: Key, start: Pitch) -> int:
    """Octave number to count the key's degrees from, so that degree 0 is the start."""
    return start.octave + int(start.midi - key.tonic(start.octave).midi) // 12


def _level(name: str | None) -> Level | None:
    found = next((level for level in LEVELS if level == name), None)
    if name is not None and found is None:
        raise WarmupError(f"there is no level '{name}'.", hint=f"There are: {', '.join(LEVELS)}.")
    return found


def _pattern(name: str) -> str:
    if name in PATTERNS:
        return name
    near = get_close_matches(name, PATTERNS, n=1)
    guess = f"Did you mean '{near[0]}'? " if near else ""
    raise WarmupError(f"there is no pattern '{name}'.", hint=f"{guess}There are: {', '.join(PATTERNS)}.")
