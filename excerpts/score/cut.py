"""Cutting: from bars of a part to a self-contained excerpt with a report."""

from __future__ import annotations

from fractions import Fraction

from lxml import etree

from excerpts.excerpt import BarRef, Box, Excerpt, Origin, Position
from excerpts.musicxml.format import serialise
from excerpts.score.attributes import restate
from excerpts.score.bar_faults import warn
from excerpts.score.bars import BarRange, Bars
from excerpts.score.edges import mend_spans
from excerpts.score.first_note import BARS_BACK, show_first_stroke, show_held_finger
from excerpts.score.head import document, mend_ids, mend_instruments
from excerpts.score.head_rules import mend_head
from excerpts.score.missing_accidentals import add_missing_accidentals
from excerpts.score.pairing import pair_spans
from excerpts.score.playing import restate_playing
from excerpts.score.slice import Slice, cut_slice
from excerpts.score.tempo import restate_tempo
from excerpts.score.ties import mend_ties
from excerpts.score.trim import clamp_rests, mend_beams, mend_endings, renumber, tidy
from excerpts.score.tuplet_numbers import restate_tuplet_numbers
from excerpts.score.unreadable_values import drop_unreadable


def cut(
    root: etree._Element,
    parts: list[Bars],
    part: int,
    span: BarRange,
    origin: Origin,
    context: int = 1,
    pupil_bars: int = 0,
) -> Excerpt:
    """Cut a span out of a part.

    Args:
        root: The whole `<score-partwise>`; it is not changed.
        parts: The bars of all its parts.
        part: Index of the part to cut from, from 0.
        span: The resolved address: the box.
        origin: Where the excerpt comes from.
        context: How many measures to show before and after; fewer at the ends of the part.
        pupil_bars: How much higher the bar numbers of the pupil's own edition are; the excerpt gets them.

    Returns:
        The excerpt, with its report of what was not simply copied.
    """
    bars = parts[part]
    piece = cut_piece(bars, span, shown_bars(bars, span, context), pupil_bars)
    tempo = restate_tempo(piece, parts, part)
    listed = listed_part(root, origin.part_id, part)
    score = document(root, [listed])
    finish(score, [piece])
    return Excerpt(
        xml=serialise(score),
        bars=bar_refs(piece),
        boxes=(box_of(piece, span),),
        open_ends=tuple(piece.open_ends),
        tempo=tempo,
        origin=origin,
        report=tuple(piece.report),
    )


def shown_bars(bars: Bars, span: BarRange, context: int) -> tuple[int, int]:
    """Indexes of the first and last measure that a cut of a span shows."""
    return max(0, span.first - context), min(len(bars) - 1, span.last + context)


def cut_piece(bars: Bars, span: BarRange, shown: tuple[int, int], pupil_bars: int = 0) -> Slice:
    """Cut measures (`shown`: first and last index) out of a part, all mended and restated but the tempo."""
    bars.mend(*shown)
    piece = cut_slice(bars, *shown)
    piece.pupil_bars = pupil_bars
    pairing = pair_spans(bars, max(0, shown[0] - BARS_BACK), shown[1])
    mend_spans(piece, pairing)
    mend_ties(piece)
    add_missing_accidentals(piece)
    mend_beams(piece)
    restate_tuplet_numbers(piece)
    show_first_stroke(piece, span, pairing)
    show_held_finger(piece)
    restate_playing(piece)
    mend_endings(piece)
    tidy(piece)
    renumber(piece)
    restate(piece)
    clamp_rests(piece)
    drop_unreadable(piece)
    return piece


def finish(score: etree._Element, pieces: list[Slice]) -> None:
    """Put the measures into the document's parts, mend what points from one to another, and warn of faults."""
    for body, piece in zip(score.findall("part"), pieces, strict=True):
        body.extend(piece.measures)
    for number, done in mend_instruments(score):
        pieces[number].note_down("repaired", "instrument", None, done)
    for done in mend_ids(score):
        pieces[0].note_down("repaired", "id", None, done)
    for done in mend_head(score):
        pieces[0].note_down("repaired", "head", None, done)
    for piece in pieces:
        warn(piece)


def box_of(piece: Slice, span: BarRange) -> Box:
    """A span as a box in the measures that were cut."""
    return Box(Position(span.first - piece.first, span.start), Position(span.last - piece.first, span.end))


def listed_part(root: etree._Element, part_id: str, index: int) -> etree._Element | None:
    """The `<score-part>` of a part: by its id, else by its place."""
    listed = root.findall("part-list/score-part")
    for candidate in listed:
        if candidate.get("id") == part_id:
            return candidate
    return listed[index] if index < len(listed) else None


def bar_refs(piece: Slice) -> tuple[BarRef, ...]:
    """The measures that were cut."""
    refs: list[BarRef] = []
    start = Fraction(0)
    for k, time in enumerate(piece.times):
        index = piece.first + k
        length = time.length or piece.bars.metre(index).length
        refs.append(BarRef(index + 1, piece.label(index), start, length))
        start += length
    return tuple(refs)
