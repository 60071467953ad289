"""What every variant is held to, whatever the music: which notes it plays, that its bars are full, that it is valid.

Each variant stands in one group, and a group has one law on the notes; `faults` says what is broken.
"""

from __future__ import annotations

import io
import os
import tempfile
from collections.abc import Callable, Sequence
from fractions import Fraction

import mido
from lxml import etree

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.instruments.instrument import INSTRUMENTS
from excerpts.musicxml.elements import Barline
from excerpts.notes import Event, Voice, read_line, read_lines, write_line
from excerpts.sound.midi import write_midi
from excerpts.variants import parse_variant, vary
from excerpts.variants.passage import take_box
from tests.schema import schema_errors

KEPT = (
    "long-short", "short-long", "separate", "separate+long-short", "separate+long-short+hooked", "slur", "slur:1-3",
    "slur:2-1-1+long-short", "hooked", "portato:4", "rhythm:3-1-1-1:kept", "double-dotted:kept",
    "triplet-short-long:kept", "accent", "accent:2", "stop-before-shift", "ringing", "evened", "sharpened", "swapped",
)  # fmt: skip
"""Every note of the box once, in order, in bars as long as before."""

STRETCHED = (
    "rhythm:3-1:stretched", "rhythm:2-1-1", "rhythm:3-1-1-1", "triplet-long-short", "long-short-short",
    "short-long-short", "short-short-long", "long-short-short-short", "short-long-short-short",
    "short-short-long-short", "short-short-short-long", "long-short-short-long", "short-long-long-short",
    "long-long-short-short", "short-short-long-long", "long-five-short", "burst", "burst:3:stop-first",
    "burst:4:from-2", "doubled", "rhythm:3-1+doubled",
)  # fmt: skip
"""Every note of the box once, in order, in bars of their own."""

GROWING = ("add-a-note", "add-a-beat", "add-a-bar")
"""Steps that each begin as the box does, each longer than the one before; the last is all of it."""

ENDING = ("backwards", "last-bar-first")
"""Steps that each end as the box does, each longer than the one before; the last is all of it."""

REPEATED = ("repeat", "repeat:3", "repeat:4:kept", "subdivide", "burst:4:landing")
"""Notes of the box, some of them more than once; without repetitions it is the box."""

FEWER = ("outline", "long-short+short")
"""Some notes of the box, in order."""

OTHER_PITCHES = ("open-strings", "open-strings:viola", "one-pitch", "lower-line", "upper-line")
"""Every note of the box in its rhythm, on other pitches."""

SPOKEN = (
    "as-written", "sing", "count-aloud", "drone", "look-away", "half-and-full", "bow-part:heel", "left-hand",
    "silent-bow",
)  # fmt: skip
"""Not a byte of the notes is changed."""

OF_THEIR_OWN = ("slow:20", "window", "acceleration")
"""Windows of five in turn; all notes at each speed; the same notes, slower."""

VARIANTS = (*KEPT, *STRETCHED, *GROWING, *ENDING, *REPEATED, *FEWER, *OTHER_PITCHES, *SPOKEN, *OF_THEIR_OWN)

Notes = list[str]


def faults(source: Excerpt, variant: str) -> list[str]:
    """What is wrong with a variant of an excerpt; ["refused"] where it does not fit, which is no fault."""
    try:
        made = vary(source, variant)
    except VariantError as error:
        return ["refused"] if error.what.strip() else ["refused without a reason"]
    found: list[str] = []
    if schema_errors(made.xml) and not schema_errors(source.xml):
        found.append("not valid")
    if complaints(made) and not complaints(source):
        found.append("verovio complains")
    if variant in SPOKEN:
        return found + ([] if made.xml == source.xml else ["not as it was"])
    if variant.startswith("slow"):
        return found + slower(source, made)
    line, box = read_line(made), take_box(source)
    found += [f"bar {label} is not full" for label in unfilled(line)]
    return found + broken(variant, box, line)


def broken(variant: str, box: Voice, made: Voice) -> list[str]:
    """Which law of the notes is broken.

    Args:
        variant: The variant.
        box: The box as the variant gets it, with its arrival note.
        made: What came of it.
    """
    old, new = notes(box), notes(made)
    if variant in (*KEPT, *STRETCHED):
        found = [] if new == old else ["not the same pitches"]
        if variant in KEPT and [bar.length for bar in made.bars] != [bar.length for bar in box.bars]:
            found.append("bars of another length")
        return found
    if variant in (*GROWING, *ENDING):
        return _steps(box, made, ending=variant in ENDING)
    if variant in REPEATED:
        landed = variant.endswith("landing") and new[-1] == _arrival(box)  # perhaps on the note after the box
        return (
            []
            if _once(new, old) or (landed and _once(new[:-1], old))
            else ["not the notes of the box, some of them again"]
        )
    if variant in FEWER:
        return [] if _within(new, old) else ["notes that are not in the box, or in another order"]
    if variant in OTHER_PITCHES:
        return _other_pitches(variant, box, made)
    if variant == "window":
        wanted = [name for start in range(len(old) - 4) for name in old[start : start + 5]]
        return [] if new == wanted else ["not five notes in turn"]
    assert variant == "acceleration"
    times = len(new) // len(old)
    return [] if new == old * times and times >= 2 else ["not all notes at each speed"]


def notes(line: Voice) -> Notes:
    """The pitches that are practised, chords with "+"; grace notes, which a rhythm may leave out, apart."""
    return ["+".join(str(head.pitch) for head in event.heads) for event in events(line)]


def events(line: Voice) -> list[Event]:
    """The notes of the box, without those that sound on into it from a step before, and grace notes."""
    low, high = _times(line)
    return [e for e in line.events if e.heads and not e.grace and e.onset < high and e.end > low]


def _heads(found: Sequence[Event]) -> Notes:
    return [str(head.pitch) for event in found for head in event.heads]


def _arrival(box: Voice) -> str:
    after = [e for e in box.events if e.heads and not e.grace and e.onset >= _times(box)[1]]
    return "+".join(str(head.pitch) for head in after[0].heads) if after else ""


def _times(line: Voice) -> tuple[Fraction, Fraction]:
    if not line.boxes:
        return line.bars[0].start, line.bars[-1].start + line.bars[-1].length
    start, end = line.boxes[0].start, line.boxes[-1].end
    return line.bars[start.bar].start + start.onset, line.bars[end.bar].start + end.onset


def _steps(box: Voice, made: Voice, *, ending: bool) -> list[str]:
    doubles = [
        0,
        *(place.bar + 1 for place in made.placed if place.sign == Barline("light-light")),
        len(made.bars),
    ]
    ends = [made.bars[bar].start if bar < len(made.bars) else _times(made)[1] for bar in doubles]
    old = notes(box)
    steps = [
        ["+".join(str(h.pitch) for h in e.heads) for e in events(made) if low <= e.onset < high]
        for low, high in zip(ends, ends[1:], strict=False)
    ]
    wanted = [old[len(old) - len(step) :] if ending else old[: len(step)] for step in steps]
    lengths = [len(step) for step in steps]
    found = [] if steps == wanted else ["a step that is no part of the box"]
    if lengths != sorted(set(lengths)) or not steps or steps[-1] != old:
        found.append("steps that do not grow to all of it")
    return found


def _once(new: Notes, old: Notes) -> bool:
    """Whether the old notes follow each other in the new ones, with only repetitions of a neighbour between."""
    place = 0
    for name in old:
        while place < len(new) and new[place] != name:
            if not old or new[place] not in old:
                return False
            place += 1
        if place == len(new):
            return False
        place += 1
    return set(new) == set(old) and len(new) >= len(old)


def _within(new: Notes, old: Notes) -> bool:
    left = iter(old)
    return bool(new) and all(any(name == other for other in left) for name in new)


def _other_pitches(variant: str, box: Voice, made: Voice) -> list[str]:
    old, new = events(box), events(made)
    tied = any(mark.family == "tied" and mark.edge for e in old for h in e.heads for mark in h.marks)
    if (
        variant in {"lower-line", "upper-line"} and tied
    ):  # notes that one note of a double stop was tied to are one
        return [] if _within(notes(made), _heads(old)) else ["notes that are not in the box"]
    if [(e.onset, e.duration) for e in old] != [(e.onset, e.duration) for e in new]:
        return ["another rhythm"]
    if variant == "one-pitch":
        return [] if len({str(h.pitch) for e in new for h in e.heads}) == 1 else ["more than one pitch"]
    if variant.startswith("open-strings"):
        strings = {str(pitch) for player in INSTRUMENTS.values() for pitch in player.strings}
        return [] if all(str(h.pitch) in strings for e in new for h in e.heads) else ["no open string"]
    choose: Callable[..., Fraction] = min if variant == "lower-line" else max
    for before, after in zip(old, new, strict=True):
        heights = [head.pitch.midi for head in before.heads if head.pitch is not None]
        if [h.pitch.midi for h in after.heads if h.pitch is not None] != (
            [choose(heights)] if heights else []
        ):
            return ["another note of a double stop"]
    return []


def slower(source: Excerpt, made: Excerpt) -> list[str]:
    """Whether a slow version has the same notes, and lasts as much longer as its tempo is slower."""
    found = [] if _sounding(source) == _sounding(made) else ["not the same notes"]
    if source.tempo is None or made.tempo is None:
        return found
    factor = made.tempo.quarters_per_minute / source.tempo.quarters_per_minute
    old, new = (mido.MidiFile(file=io.BytesIO(write_midi(one))).length for one in (source, made))
    if abs(new - old / float(factor)) > new * 1e-4:
        found.append(f"{new} seconds in place of {old / float(factor)}")
    return found


def _sounding(excerpt: Excerpt) -> list[list[tuple[Fraction, Fraction, str]]]:
    return [
        [(e.onset, e.duration, "+".join(str(h.pitch) for h in e.heads)) for e in line.events]
        for line in read_lines(excerpt)
    ]


def unfilled(line: Voice) -> list[str]:
    """Labels of the bars that are not exactly full."""
    return [
        bar.label
        for bar in line.bars
        if sum((_inside(event, bar.start, bar.start + bar.length) for event in line.events), Fraction(0))
        != bar.length
    ]


def _inside(event: Event, start: Fraction, end: Fraction) -> Fraction:
    return max(Fraction(0), min(event.end, end) - max(event.onset, start))


def complaints(excerpt: Excerpt) -> str:
    """What verovio logs on reading an excerpt; its log goes to file descriptor 2."""
    import verovio

    verovio.enableLog(verovio.LOG_WARNING)
    with tempfile.TemporaryFile() as log:
        kept = os.dup(2)
        os.dup2(log.fileno(), 2)
        try:
            verovio.toolkit().loadData(etree.tostring(excerpt.tree(), encoding="unicode"))
        finally:
            os.dup2(kept, 2)
            os.close(kept)
        log.seek(0)
        return log.read().decode()


def written_again(excerpt: Excerpt) -> bytes:
    """The bytes of an excerpt that was read and written once more."""
    return write_line(read_line(excerpt)).xml


def names_of(variants: Sequence[str]) -> set[str]:
    """The names of all variants in stacks."""
    return {step.variant.info.name for text in variants for step in parse_variant(text)}
