"""Variants as two other libraries read them: how long their bars are, and whether their tuplets are whole.

Outside checks: music21 and partitura (https://github.com/CPJKU/partitura), which read our MusicXML by their own rules.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from fractions import Fraction
from itertools import groupby
from typing import Any, Final

from excerpts.excerpt import Excerpt

_FINE: Final = 5040
"""Parts of a quarter note that no length in these variants is finer than, for readers that count in floats."""


def complaints(excerpt: Excerpt) -> list[str]:
    """What two other readers find in an excerpt that cannot be: a reader that gives up is one of it."""
    found: list[str] = []
    for name, read in (("music21", _music21), ("partitura", _partitura)):
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                found += [f"{name}: {what}" for what in read(excerpt)]
        except Exception as error:
            found.append(f"{name}: cannot read it ({type(error).__name__}: {error})")
    return found


def _exact(length: Any) -> Fraction:
    return Fraction(length).limit_denominator(_FINE)


def _is_whole(length: Fraction) -> bool:
    """Whether a run of tuplet notes ends where halving reaches: then none of its tuplets is broken off."""
    return length.denominator & (length.denominator - 1) == 0


def _music21(excerpt: Excerpt) -> Iterator[str]:
    """Bars whose notes and rests do not add up to their length, and tuplets that do not add up."""
    import music21

    score = music21.converter.parseData(excerpt.xml.decode(), format="musicxml")
    (part,) = score.parts
    measures = list(part.getElementsByClass(music21.stream.Measure))
    if len(measures) != len(excerpt.bars):
        yield f"{len(measures)} bars for {len(excerpt.bars)}"
        return
    for bar, measure in zip(excerpt.bars, measures, strict=True):
        voices = list(measure.voices) or [measure]
        for voice in voices:
            notes = [one for one in voice.notesAndRests if not one.duration.isGrace]
            length = sum((_exact(one.quarterLength) for one in notes), Fraction(0))
            if length != bar.length:
                yield f"bar {bar.label} is {length} long, not {bar.length}"
            for inside, run in groupby(notes, lambda one: bool(one.duration.tuplets)):
                if inside and not _is_whole(sum((_exact(one.quarterLength) for one in run), Fraction(0))):
                    yield f"a tuplet of bar {bar.label} is not complete"


def _partitura(excerpt: Excerpt) -> Iterator[str]:
    """The same of its own reading: where its bars and notes begin and end, and which notes its tuplets hold."""
    import partitura
    from partitura.score import GraceNote, Measure, Note, Rest, Tuplet

    (part,) = partitura.load_musicxml(io.BytesIO(excerpt.xml)).parts
    quarters = part.quarter_map

    def length(one: Any) -> Fraction:
        return _exact(float(quarters(one.end.t)) - float(quarters(one.start.t)))

    measures = list(part.iter_all(Measure))
    notes = [one for one in part.iter_all(Note, include_subclasses=True) if not isinstance(one, GraceNote)]
    rests = list(part.iter_all(Rest))
    if len(measures) != len(excerpt.bars):
        yield f"{len(measures)} bars for {len(excerpt.bars)}"
        return
    for bar, measure in zip(excerpt.bars, measures, strict=True):
        if length(measure) != bar.length:
            yield f"bar {bar.label} is {length(measure)} long, not {bar.length}"
        inside = {
            (one.start.t, one.end.t)
            for one in (*notes, *rests)
            if measure.start.t <= one.start.t < measure.end.t
        }
        ends = [measure.start.t, *(end for _, end in sorted(inside))]
        if [start for start, _ in sorted(inside)] != ends[:-1] or ends[-1] != measure.end.t:
            yield f"bar {bar.label} is not filled one note after another"
    for tuplet in part.iter_all(Tuplet):
        if tuplet.start_note is None or tuplet.end_note is None:
            yield "a tuplet has no end"
        elif not _is_whole(length(tuplet)):
            yield "a tuplet is not complete"
