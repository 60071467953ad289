"""A box in words, bar by bar: for players who hear their music, and for those who help them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from excerpts.excerpt import Excerpt, bar_label
from excerpts.musicxml.metre import Metre
from excerpts.musicxml.pitch import Pitch
from excerpts.notes import Event, Voice, read_lines
from excerpts.notes.spell_events import bar_metres
from excerpts.weekfile.tempo_text import beat_name
from excerpts.words import Words, capital

_SAID: Final = (
    "up-bow", "down-bow", "staccato", "tenuto", "accent", "strong-accent", "spiccato", "harmonic", "open-string",
    "snap-pizzicato", "trill-mark", "mordent", "inverted-mordent", "turn", "fermata",
)  # fmt: skip
"""Marks with a word of their own, in the order in which they are said."""


_SIGNS: Final[dict[Fraction | int, str]] = {
    0: "",
    1: "sharp",
    -1: "flat",
    2: "double_sharp",
    -2: "double_flat",
}


@dataclass(frozen=True, slots=True)
class BarText:
    """One bar in words."""

    bar: str
    text: str


def bar_texts(music: Excerpt, words: Words) -> tuple[BarText, ...]:
    """The bars of a box, or of music without one; the bars of context stay out.

    Args:
        music: The music.
        words: Texts of the player.
    """
    lines = [line for line in read_lines(music) if any(event.heads for event in line.events)]
    first, last = 0, len(music.bars) - 1
    start, end = Fraction(0), music.bars[-1].end
    if music.boxes:
        from_, to = music.boxes[0].start, music.boxes[-1].end
        first, last = from_.bar, to.bar if to.onset > 0 else to.bar - 1
        start, end = music.bars[first].start + from_.onset, music.bars[to.bar].start + to.onset
    made = []
    for index in range(first, last + 1):
        parts = ["; ".join(_events(line, index, start, end, words)) for line in lines]
        text = " / ".join(filter(None, parts)) or words("page.read.nothing")
        label = words("bar.one", label=bar_label(music.bars, index)) if music.bars[index].label else "–"
        made.append(BarText(capital(label), text))
    return tuple(made)


def _events(line: Voice, index: int, start: Fraction, end: Fraction, words: Words) -> Iterator[str]:
    bar = line.bars[index]
    metre, shift = bar_metres(line)[index]
    for event in line.events:
        if event.hidden or not bar.start <= event.onset < bar.end:
            continue
        if not start <= event.onset < end:
            continue
        at = words("page.read.beat", beat=_beat(metre, event.onset - bar.start + shift))
        yield f"{at}: {', '.join(_said(event, words))}"


def _beat(metre: Metre, point: Fraction) -> str:
    """The beat of a point of a bar, from 1, with decimals between two beats."""
    start = Fraction(0)
    for number, length in enumerate(metre.counts, start=1):
        if point < start + length:
            place = number + (point - start) / length
            return f"{float(place):.2f}".rstrip("0").rstrip(".")
        start += length
    return str(len(metre.counts))


def _said(event: Event, words: Words) -> Iterator[str]:
    """What is to be said of a note: its name, its length, its finger, its bow, its slur."""
    if event.is_rest:
        yield words("page.read.rest")
    for head in event.heads:
        if head.pitch is not None:
            yield pitch_name(head.pitch, words)
    if event.grace:
        yield words("page.read.grace")
    else:
        yield length_name(event, words)
    yield from _marks(event, words)


def _marks(event: Event, words: Words) -> Iterator[str]:
    marks = event.marks or list(event.rest_marks)
    for mark in marks:
        if mark.name == "fingering" and mark.text:
            yield words("page.read.finger", finger=mark.text)
        elif mark.name == "string" and mark.text:
            yield words("page.read.string", string=mark.text)
    names = {mark.name for mark in marks}
    for name in _SAID:
        if name in names:
            yield words(f"page.read.{name}")
    edges = {mark.edge for mark in marks if mark.name == "slur"}
    for edge in ("stop", "start"):
        if edge in edges:
            yield words(f"page.read.slur_{edge}")


def pitch_name(pitch: Pitch, words: Words) -> str:
    """A note with its octave in words: "F-sharp 4"; C4 is middle C."""
    if pitch.alter not in _SIGNS:
        return str(pitch)
    sign = _SIGNS[pitch.alter]
    own = f"key.major_tonic.{pitch.step}{f'-{sign}' if sign else ''}"
    if own in words:
        name = words(own)
    elif sign.startswith("double"):
        name = words(f"page.read.{sign}", letter=pitch.step)
    else:
        name = words(f"key.{sign}", letter=pitch.step) if sign else pitch.step
    return words("page.read.pitch", name=name, octave=pitch.octave)


def length_name(event: Event, words: Words) -> str:
    """The length of a note as it is printed: "dotted crotchet", tied lengths one after the other."""
    kinds = [printed.type for printed in event.printed]
    if not kinds or not all(kind and words.has(f"note.{kind}") for kind in kinds):
        try:
            return beat_name(event.duration, words)
        except ValueError:
            return words("page.read.quarters", n=str(event.duration), note=words("note.quarter"))
    names = []
    for printed in event.printed:
        said = words(f"note.{printed.type}")
        for _ in range(printed.dots):
            said = words("note.dotted", note=said)
        if printed.modification is not None:
            said = words("page.read.tuplet", note=said)
        names.append(said)
    return words("page.read.tied").join(names)
