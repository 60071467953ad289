"""Open strings: the bow alone, each note as the open string that it is played on; rhythm, slurs, dynamics stay.

Strings from the teacher's row of strings, from string numbers (which hold until another string is told), from fingers,
else those of the proposed fingering: a guess where that is not sure, and labelled so. Where a box has no notes but
those of open strings, and no fingers, they stay where they are. A double stop is two neighbouring open strings. String
teachers' common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from excerpts.errors import VariantError
from excerpts.excerpt import ReportLine
from excerpts.instruments.fingerboard import StringOf, string_of
from excerpts.instruments.instrument import Instrument
from excerpts.musicxml.elements import Sign, Signatures
from excerpts.notes import Event, Head, Notation, TimedElement, Voice
from excerpts.variants.ornaments import LEFT_OUT, without_ornaments
from excerpts.variants.passage import box_times, placed_with_word, where
from excerpts.variants.rebar import in_order
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.spanning_marks import map_marks
from excerpts.variants.string_row import height_of, player_of, read_asked, with_strings
from excerpts.variants.strokes_of_bow import part_equal_notes
from excerpts.words import Words

_OF_THE_HAND: Final = {
    "fingering", "string", "harmonic", "open-string", "thumb-position", "accidental", "notehead", "glissando",
    "slide", "bend", "tied", "hammer-on", "pull-off", "accidental-mark",
}  # fmt: skip
"""Marks that tell of the left hand, or of the pitch."""


def check(parameter: str) -> None:
    """Refuse a parameter that makes no sense.

    Raises:
        VariantError: It is neither an instrument nor strings.
    """
    read_asked(parameter)


def open_strings(line: Voice, parameter: str, words: Words) -> Voice:
    """Put each note on its open string.

    Raises:
        VariantError: The instrument is not known, or it has no string for a note.
    """
    asked = read_asked(parameter)
    player = player_of(line, "open-strings", asked.instrument)
    line = with_strings(line, asked.strings, player) if asked.strings else line
    whole = {index for index, event in enumerate(line.events) if not event.grace}
    events, report = without_ornaments(line, line.events, whole, "the bow alone")
    from excerpts.lefthand.strings import hand_of  # which loads numpy

    hand = hand_of(line, player)
    opened = _open_already(line, player)
    guessed = 0
    stated: int | None = None
    made: list[Event] = []
    for event in map_marks(events, lambda end, mark: None if _of_the_hand(mark) else mark):
        source = events[len(made)]
        proposed = opened.get(len(made)) or hand.strings(len(made))
        strings, certain = _strings(line, source, player, stated, proposed) if event.heads else ((), True)
        stated = _stated(source, stated, strings)
        guessed += not certain
        heads = [
            replace(head, pitch=player.strings[at]) for at, head in zip(strings, event.heads, strict=True)
        ]
        made.append(replace(event, heads=tuple(heads)))
    placed = _placed(line, player, words("variant.open-strings-note.assumed") if guessed else "")
    if guessed:
        total = sum(not event.is_rest for event in made)
        told_so = f"assumed for {guessed} of {total} notes: no string number or fingering shows it"
        report = (*report, ReportLine("warning", "strings", "", told_so))
    parted = part_equal_notes(tuple(made))
    return replace(line, events=parted, placed=placed, report=line.report + report)


def _open_already(line: Voice, player: Instrument) -> dict[int, tuple[StringOf, ...]]:
    """The strings of each note of a box in which all notes are those of open strings, without fingers; else nothing."""
    low, high = box_times(line)
    inside = {
        place: event for place, event in enumerate(line.events) if low <= event.onset < high and event.heads
    }
    heads = [head for event in inside.values() for head in event.heads]
    at = {string.midi: index for index, string in enumerate(player.strings)}
    if any(height_of(head) not in at or any(map(_of_the_hand, head.marks)) for head in heads):
        return {}
    return {
        place: tuple(StringOf(at[height], True) for height in sorted(map(height_of, event.heads)))
        for place, event in inside.items()
    }


def _of_the_hand(mark: Notation) -> bool:
    return mark.name in _OF_THE_HAND or mark.family in _OF_THE_HAND or mark.name in LEFT_OUT


def _strings(
    line: Voice, event: Event, player: Instrument, stated: int | None, proposed: Sequence[StringOf]
) -> tuple[tuple[int, ...], bool]:
    """The strings of an event's notes, by index from the lowest, and whether the music tells them, or leaves no doubt.

    Args:
        line: The line, for messages.
        event: The event.
        player: Whose strings.
        stated: The string that was stated last.
        proposed: The strings of the proposed fingering, from the lowest note up; none where it has none.
    """
    single = len(event.heads) == 1
    known = [string_of(head, player, stated if single else None) for head in event.heads]
    certainly = [one is not None and one.told for one in known]
    if len(proposed) == len(known) and not any(certainly):
        order = sorted(range(len(known)), key=lambda place: height_of(event.heads[place]))
        by_head = dict(zip(order, proposed, strict=True))
        return tuple(by_head[place].index for place in range(len(known))), all(one.told for one in proposed)
    if len(known) == 1 and known[0] is not None:
        return (known[0].index,), known[0].told
    certain = [one.index if one is not None and one.told else None for one in known]
    places = _neighbours(event.heads, certain, player) or _neighbours(
        event.heads, [None] * len(known), player
    )
    if not places:
        names = "+".join(str(head.pitch) for head in event.heads)
        raise VariantError(
            f"the {player.name} has no string{'s' if len(known) > 1 else ''} for {names} in bar "
            f"{line.bars[line.bar_at(event.onset)].label}.",
            where=where(line),
            hint="If another instrument plays it, name it: open-strings:viola.",
        )
    return places, None not in certain


def _stated(event: Event, stated: int | None, strings: Sequence[int]) -> int | None:
    """The string stated last, after an event: its own, else the one before as long as the notes lie on it."""
    if not event.heads:
        return stated
    if any(mark.name == "string" for mark in event.marks):
        return strings[0] if len(strings) == 1 else None
    return stated if stated in strings else None


def _neighbours(heads: Sequence[Head], certain: Sequence[int | None], player: Instrument) -> tuple[int, ...]:
    """The highest neighbouring strings that have the notes of a double stop, in the order of its heads."""
    order = sorted(range(len(heads)), key=lambda place: height_of(heads[place]))
    for lowest in reversed(range(len(player.strings) - len(heads) + 1)):
        strings = {place: lowest + number for number, place in enumerate(order)}
        if all(
            player.strings[string].midi <= height_of(heads[place]) and certain[place] in {None, string}
            for place, string in strings.items()
        ):
            return tuple(strings[place] for place in range(len(heads)))
    return ()


def _placed(line: Voice, player: Instrument, word: str) -> tuple[TimedElement, ...]:
    """What is placed, in the instrument's own clef throughout, and a word where there is one to tell."""
    result: list[TimedElement] = []
    for number, one in enumerate(line.placed):
        if any(sign.name == "octave-shift" for sign in one.signs):
            continue
        if _has_clef(one):
            first = not any(map(_has_clef, line.placed[:number]))
            changed = _with_clef(one, player if first else None)
            result += [changed] if changed is not None else []
        else:
            result.append(one)
    return placed_with_word(line, result, word) if word else tuple(result)


def _has_clef(placed: TimedElement) -> bool:
    return isinstance(placed.sign, Signatures) and bool(placed.sign.of("clef"))


def _with_clef(placed: TimedElement, player: Instrument | None) -> TimedElement | None:
    """Attributes with the clef of a player, or without a clef; None where nothing is left."""
    signs: list[Sign] = [sign for sign in placed.signatures if sign.name != "clef"]
    if player is not None:
        signs.append(player.clef.written)
    return replace(placed, sign=in_order(signs)) if signs else None


VARIANT = Variant(
    VariantInfo(
        "open-strings",
        ("crossing", "tone", "bow-distribution", "coordination"),
        parameter="INSTRUMENT|STRINGS",
        order=93,
        kind="hand",
    ),
    in_words=open_strings,
    check=check,
)
