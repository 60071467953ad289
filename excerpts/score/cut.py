"""Cutting: from bars of a part to a self-contained excerpt with a report."""

from __future__ import annotations

from fractions import Fraction

from lxml import etree

from excerpts.excerpt import BarRef, Box, Excerpt, Origin, Position
from excerpts.musicxml import serialise
from excerpts.score.address import Span
from excerpts.score.bars import Bars
from excerpts.score.beams import mend_beams
from excerpts.score.bowing import show_first_stroke
from excerpts.score.edges import mend_spans
from excerpts.score.endings import mend_endings
from excerpts.score.faults import warn
from excerpts.score.head import document, mend_ids, mend_instruments
from excerpts.score.held_finger import show_held_finger
from excerpts.score.playing import restate_playing
from excerpts.score.restate import restate
from excerpts.score.restate_tempo import restate_tempo
from excerpts.score.rests import clamp_rests
from excerpts.score.slice import Slice, cut_slice
from excerpts.score.spans import pair_spans
from excerpts.score.tidy import renumber, tidy
from excerpts.score.ties import mend_ties


def cut(
    root: etree._Element,
    parts: list[Bars],
    part: int,
    span: Span,
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
    first = max(0, span.first - context)
    last = min(len(bars) - 1, span.last + context)
    bars.mend(first, last)
    piece = cut_slice(bars, first, last)
    piece.pupil_bars = pupil_bars
    pairing = pair_spans(bars)
    mend_spans(piece, pairing)
    mend_ties(piece)
    mend_beams(piece)
    show_first_stroke(piece, span, pairing)
    show_held_finger(piece)
    restate_playing(piece)
    mend_endings(piece)
    tidy(piece)
    renumber(piece)
    restate(piece)
    clamp_rests(piece)
    tempo = restate_tempo(piece, root, parts, part)
    score, body = document(root, _score_part(root, origin.part_id, part))
    body.extend(piece.measures)
    for done in mend_instruments(score):
        piece.note_down("repaired", "instrument", None, done)
    for done in mend_ids(score):
        piece.note_down("repaired", "id", None, done)
    warn(piece)
    return Excerpt(
        xml=serialise(score),
        bars=_bar_refs(piece),
        boxes=(Box(Position(span.first - first, span.start), Position(span.last - first, span.end)),),
        open_ends=tuple(piece.open_ends),
        tempo=tempo,
        origin=origin,
        report=tuple(piece.report),
    )


def _score_part(root: etree._Element, part_id: str, index: int) -> etree._Element | None:
    listed = root.findall("part-list/score-part")
    for candidate in listed:
        if candidate.get("id") == part_id:
            return candidate
    return listed[index] if index < len(listed) else None


def _bar_refs(piece: Slice) -> tuple[BarRef, ...]:
    refs: list[BarRef] = []
    start = Fraction(0)
    for k, time in enumerate(piece.times):
        index = piece.first + k
        length = time.length or piece.bars.metre(index).length
        refs.append(BarRef(index + 1, piece.label(index), start, length))
        start += length
    return tuple(refs)
