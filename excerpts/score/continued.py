"""Bars of a part as they go on in it: nothing is said again that its reader has just read on the line before."""

from __future__ import annotations

from pathlib import Path

from excerpts.excerpt import Excerpt, Origin, ReportLine
from excerpts.musicxml.format import serialise
from excerpts.score.attributes import restate
from excerpts.score.cut import bar_refs, finish, listed_part
from excerpts.score.edges import mend_spans
from excerpts.score.first_note import BARS_BACK
from excerpts.score.head import document
from excerpts.score.limits import check_cut
from excerpts.score.missing_accidentals import add_missing_accidentals
from excerpts.score.pairing import pair_spans
from excerpts.score.score import Part
from excerpts.score.slice import Slice, cut_slice
from excerpts.score.ties import mend_ties
from excerpts.score.trim import clamp_rests, mend_beams, mend_endings, renumber, tidy
from excerpts.score.tuplet_numbers import restate_tuplet_numbers
from excerpts.score.unreadable_values import drop_unreadable


def continued(part: Part, first: int, last: int, pupil_bars: int = 0) -> Excerpt:
    """Measures of a part, to be drawn as lines of the whole of it.

    Clef and key stand at its start, as on every line; the time signature only where the part has one there. Tempo,
    dynamics, fingers and strokes of before are not said again, as a cut that is printed alone does.

    Args:
        part: The part.
        first: Index of its first measure, from 0.
        last: Index of its last measure.
        pupil_bars: How much higher the bar numbers of the pupil's own edition are; the excerpt gets them.
    """
    bars = part.bars
    check_cut(bars.measures[first : last + 1], part.where)
    bars.mend(first, last)
    piece = cut_slice(bars, first, last)
    piece.pupil_bars = pupil_bars
    mend_spans(piece, pair_spans(bars, max(0, first - BARS_BACK), last))
    mend_ties(piece)
    add_missing_accidentals(piece)
    mend_beams(piece)
    restate_tuplet_numbers(piece)
    mend_endings(piece)
    tidy(piece)
    renumber(piece)
    restate(piece)
    _hide_time(piece)
    clamp_rests(piece)
    drop_unreadable(piece)
    score, info = part.score, part.info
    whole = document(score.root, [listed_part(score.root, info.id, part.index)])
    finish(whole, [piece])
    return Excerpt(
        xml=serialise(whole),
        bars=bar_refs(piece),
        open_ends=tuple(piece.open_ends),
        origin=Origin(Path(score.name).name, score.title, score.composer, info.name, info.id),
        report=tuple(piece.report),
    )


def _hide_time(piece: Slice) -> None:
    """A time signature that is restated counts, and is not printed."""
    if ReportLine("restated", "time", piece.label(piece.first)) in piece.report:
        for time in piece.measures[0].iterfind("attributes/time"):
            time.set("print-object", "no")
            return
