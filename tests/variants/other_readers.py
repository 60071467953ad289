"""Variants as two other libraries read them: how long their bars are, whether their tuplets are whole, their bows.

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
                lengths = [_exact(one.quarterLength) for one in run]
                if inside and (len(lengths) < 2 or not _is_whole(sum(lengths, Fraction(0)))):
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


def bowing_faults(box: Excerpt, made: Excerpt) -> list[str]:
    """What music21 finds wrong with the bows of a variant that has the notes of the box once, in order.

    Args:
        box: The box and its arrival note, as written.
        made: The variant.
    """
    (old, old_slurs), (new, new_slurs) = _bowed(box), _bowed(made)
    found = [] if len(old) == len(new) else [f"{len(new)} notes sound for {len(old)}: a tie where none was"]
    like_ties = {pair for pair in new_slurs - old_slurs if _looks_like_a_tie(new[pair[0] : pair[1] + 1])}
    found += [f"the slur from note {first + 1} looks like a tie" for first, _ in sorted(like_ties)]
    wrong = _against_the_strokes(new, new_slurs) - _against_the_strokes(old, old_slurs)
    return found + [
        f"the sign on note {place + 1} is not the stroke that falls there" for place in sorted(wrong)
    ]


Slurs = set[tuple[int, int]]
"""Slurs by the places of their first and last note."""


def _bowed(excerpt: Excerpt) -> tuple[list[list[Any]], Slurs]:
    """The notes that are begun, each with those that it is tied to, and the slurs over two and more of them."""
    import music21

    score = music21.converter.parseData(excerpt.xml.decode(), format="musicxml")
    notes: list[list[Any]] = []
    places: dict[int, int] = {}
    for note in score.parts[0].flatten().notes:
        if note.duration.isGrace:
            continue
        if note.tie is None or note.tie.type == "start" or not notes:
            notes.append([note])
        else:
            notes[-1].append(note)
        places[id(note)] = len(notes) - 1
    spans = (
        (places.get(id(slur.getFirst()), -1), places.get(id(slur.getLast()), -1))
        for slur in score.recurse().getElementsByClass(music21.spanner.Slur)
    )
    return notes, {(first, last) for first, last in spans if 0 <= first < last}


_NEW_STARTS: Final = {"Tenuto", "Staccato", "Spiccato", "Staccatissimo", "DetachedLegato", "Accent"}


def _kinds(tied: list[Any]) -> set[str]:
    return {type(mark).__name__ for mark in tied[0].articulations}


def _looks_like_a_tie(notes: list[list[Any]]) -> bool:
    """Whether equal pitches without a sign of a new start stand under a slur."""
    plain = not any(_kinds(tied) & _NEW_STARTS for tied in notes)
    return plain and len({tuple(str(pitch) for pitch in tied[0].pitches) for tied in notes}) == 1


_SILENCE: Final = 1
"""Quarter notes of silence after which the bow starts anew. Common practice, no source."""


def _against_the_strokes(notes: list[list[Any]], slurs: Slurs) -> set[int]:
    """Places of the signs that repeat the stroke before them: retakes, or signs that are not true any more."""
    against: set[int] = set()
    down: bool | None = None
    end = 0
    for place, tied in enumerate(notes):
        fresh = tied[0].offset - end >= _SILENCE
        end = tied[-1].offset + tied[-1].quarterLength
        if down is not None and not any(first < place <= last for first, last in slurs):
            down = not down
        signs = _kinds(tied) & {"DownBow", "UpBow"}
        if signs:
            sign = "DownBow" in signs
            if down is not None and sign != down and not fresh:
                against.add(place)
            down = sign
    return against
