"""What the page of a part writes into the week file: boxes added, changed, taken away."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any, Final

from excerpts.desk.open_part import OpenPart
from excerpts.errors import InputError
from excerpts.excerpt import Tempo
from excerpts.score.bars import BarRange
from excerpts.score.write_address import address_of
from excerpts.weekfile.change_text import Change
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.tempo_text import beat_name, parse_number, tempo_text
from excerpts.words import Words

FIELDS: Final = ("why", "note", "target", "start", "minutes", "variants")
"""Keys of a box that the page sets, in the order in which a new box has them."""


def span_of(opened: OpenPart, sent: object) -> BarRange:
    """A span as the page sends it: place and onset of its start, place and onset of its end, null for a whole bar.

    Raises:
        InputError: It is none.
    """
    bars = opened.part.bars
    if not isinstance(sent, list) or len(sent) != 4:
        raise InputError("these are no bars.")
    first, start, last, end = sent
    try:
        low, high = int(first) - 1, int(last) - 1
        opening, closing = Fraction(str(start)), None if end is None else Fraction(str(end))
    except (TypeError, ValueError, ZeroDivisionError) as error:
        raise InputError("these are no bars.") from error
    if not 0 <= low <= high < len(bars):
        raise InputError("these bars are not in the part.")
    return BarRange(low, opening, high, bars.length(high) if closing is None else closing)


def address(opened: OpenPart, span: BarRange) -> str:
    """The address of a span in the pupil's numbers."""
    return address_of(opened.part.bars, span, opened.part.where, opened.piece.pupil_bars)


def beat_of(opened: OpenPart, span: BarRange) -> Fraction:
    """How many quarter notes the beat of the first bar of a span has."""
    return opened.part.bars.metre(span.first).first_beat


def new_box(opened: OpenPart, sent: Mapping[str, Any]) -> list[Change]:
    """Add a box.

    Args:
        opened: The part.
        sent: Its `span`, and its `fields` by their keys.
    """
    span = span_of(opened, sent.get("span"))
    fields = _fields(sent)
    values: dict[str, Any] = {"piece": opened.piece.id, "bars": address(opened, span)}
    beat = beat_of(opened, span)
    values |= {
        key: _value(opened, key, fields[key], beat) for key in FIELDS if fields.get(key) not in (None, "", [])
    }
    return [Change("add", ("box",), values)]


def changed_box(opened: OpenPart, place: int, box: BoxItem, sent: Mapping[str, Any]) -> list[Change]:
    """Change the bars of a box, or some of its fields.

    Args:
        opened: The part.
        place: Its place among the boxes of the file.
        box: What the file says of it.
        sent: Its `span`, or its `fields`, or both.
    """
    changes: list[Change] = []
    span = opened.part.passage(box.in_score or "", opened.piece.pupil_bars).span
    if sent.get("span") is not None:
        span = span_of(opened, sent["span"])
        changes.append(Change("set", ("box", place, "bars"), address(opened, span)))
    unit = box.target.unit if box.target is not None and box.target.unit else beat_of(opened, span)
    for key, value in _fields(sent).items():
        if key in FIELDS:
            beat = box.start.unit if key == "start" and box.start is not None and box.start.unit else unit
            changes.append(Change("set", ("box", place, key), _value(opened, key, value, beat)))
    return changes


def no_box(place: int) -> list[Change]:
    """Take a box away."""
    return [Change("remove", ("box", place))]


def _fields(sent: Mapping[str, Any]) -> dict[str, Any]:
    fields = sent.get("fields") or {}
    if not isinstance(fields, dict):
        raise InputError("these are no fields of a box.")
    return fields


def _value(opened: OpenPart, key: str, value: Any, beat: Fraction) -> Any:
    """A value as it stands in the file: a tempo that was typed as a number with the note that beats."""
    if key not in ("target", "start"):
        return value
    return typed_tempo(value, beat, Words(opened.week.player.words))


def typed_tempo(value: Any, beat: Fraction, words: Words) -> Any:
    """A tempo that was typed, as a file has it: a number alone gets the note that beats."""
    if value in (None, ""):
        return value
    try:
        number = parse_number(str(value))
    except ValueError:
        return value  # a tempo in full, or a fault, which the check of the file tells
    return tempo_in_words(Tempo(number, beat), words)


def tempo_in_words(tempo: Tempo, words: Words) -> str:
    """The tempo with its note; the number alone where no note is as long as the beat."""
    try:
        return tempo_text(tempo, words)
    except ValueError:
        return str(tempo.number)


def beat_in_words(beat: Fraction, words: Words) -> str:
    """The note that beats; nothing where no note is as long."""
    try:
        return beat_name(beat, words)
    except ValueError:
        return ""
