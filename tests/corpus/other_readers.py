"""How other programs read a cut: music21 (https://www.music21.org/) and partitura (https://github.com/CPJKU/partitura).

They share no code with ours, nor with each other. What is asked of both: as many bars, each as long as the cut says,
and every tuplet with both its ends.
"""

from __future__ import annotations

import contextlib
import io
import tempfile
import warnings
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Any

from excerpts.excerpt import Excerpt
from tests.corpus.reading import Bar, document, read_part
from tests.score.test_against_music21 import parsed

_FINEST = 10_000
"""What the floats of the two readers are rounded to: fractions with such denominators."""


def differences(excerpt: Excerpt, counts: Counter[str]) -> list[str]:
    """What the two readers find otherwise than the cut says; `counts` gets what they have read."""
    bars = read_part(document(excerpt.xml).findall("part")[0]).bars
    return [
        *(f"music21: {what}" for what in _by_music21(excerpt, bars, counts)),
        *(f"partitura: {what}" for what in _by_partitura(excerpt, bars, counts)),
    ]


def _by_music21(excerpt: Excerpt, bars: list[Bar], counts: Counter[str]) -> Iterator[str]:
    """music21 makes a part of each staff, and counts no `<forward>` that nothing follows."""
    staves = [list(part.getElementsByClass("Measure")) for part in parsed(excerpt.xml).parts]
    for measures in staves:
        if len(measures) != len(excerpt.bars):
            yield f"{len(measures)} bars, not {len(excerpt.bars)}"
        if excerpt.tree().find(".//tuplet[@number='2']") is None:
            yield from _half_tuplets(measures, counts)
    for ref, bar, *measures in zip(excerpt.bars, bars, *staves, strict=False):
        counts["bars read by music21"] += 1
        wanted = _notes_end(bar) if bar.notes else ref.length
        found = max((end for measure in measures for end in _ends(measure)), default=Fraction(0))
        if found != wanted:
            yield f"bar {ref.label} is {found} quarter notes long, not {wanted}"


def _notes_end(bar: Bar) -> Fraction:
    """Where the last note of a bar ends; both readers take a chord to be as long as its first note."""
    return max((note.end for note in bar.notes if not note.chord), default=Fraction(0))


def _ends(measure: Any) -> Iterator[Fraction]:
    for element in measure.flatten().notesAndRests:
        if "Harmony" not in element.classes:
            yield _exact(element.offset) + _exact(element.duration.quarterLength)


def _exact(value: Any) -> Fraction:
    return Fraction(value).limit_denominator(_FINEST)


def _half_tuplets(measures: Iterable[Any], counts: Counter[str]) -> Iterator[str]:
    """Voices in which brackets of tuplets end that have not begun, or do not end.

    Cuts with nested ones are passed over: music21 does not keep apart which of two it is that ends.
    """
    under: dict[str, list[int]] = defaultdict(lambda: [0])
    for measure in measures:
        for voice in measure.voices or [measure]:
            depth = under[str(voice.id) if measure.voices else ""]
            for element in voice.notesAndRests:
                kinds = [tuplet.type for tuplet in element.duration.tuplets]
                depth.append(depth[-1] + kinds.count("start") - kinds.count("stop"))
                counts["tuplets read by music21"] += kinds.count("start")
    for voice, depth in under.items():
        if min(depth) < 0 or depth[-1]:
            yield f"voice {voice or 'of the bar'} has half a tuplet: {depth}"


def _by_partitura(excerpt: Excerpt, bars: list[Bar], counts: Counter[str]) -> Iterator[str]:
    """Partitura takes brackets at several notes of one chord for several tuplets: they are passed over."""
    try:
        part, measure, tuplet = _partitura(excerpt.xml)
    except KeyError:  # it reads no quarter-tones
        counts["cuts that partitura cannot read"] += 1
        return
    measures = sorted(part.iter_all(measure), key=lambda one: one.start.t)
    if len(measures) != len(excerpt.bars):
        yield f"{len(measures)} bars, not {len(excerpt.bars)}"
    for ref, bar, found in zip(excerpt.bars, bars, measures, strict=False):
        counts["bars read by partitura"] += 1
        length = _exact(float(part.quarter_map(found.end.t) - part.quarter_map(found.start.t)))
        wanted = _notes_end(bar) if any(note.end > _notes_end(bar) for note in bar.notes) else ref.length
        if length != wanted:
            yield f"bar {ref.label} is {length} quarter notes long, not {wanted}"
    if any(note.find(".//tuplet") is not None for note in excerpt.tree().findall(".//note[chord]")):
        return
    for one in part.iter_all(tuplet):
        counts["tuplets read by partitura"] += 1
        if one.start_note is None or one.end_note is None:
            yield "a tuplet lacks an end"


def _partitura(data: bytes) -> tuple[Any, Any, Any]:
    """The part as partitura reads it, and its classes of bars and tuplets."""
    quiet = io.StringIO()
    with warnings.catch_warnings(), contextlib.redirect_stdout(quiet), contextlib.redirect_stderr(quiet):
        warnings.simplefilter("ignore")
        import partitura
        from partitura.score import Measure, Tuplet

        with tempfile.NamedTemporaryFile(suffix=".musicxml") as file:
            file.write(data)
            file.flush()
            return partitura.load_musicxml(file.name).parts[0], Measure, Tuplet
