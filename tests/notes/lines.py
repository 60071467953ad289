"""Lines for tests, built from a time signature and a list of lengths; and how a written bar reads."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from lxml import etree

from excerpts.excerpt import BarRef, Excerpt
from excerpts.musicxml.elements import Clef, Key, Signatures, Time
from excerpts.notes import Event, Head, Pitch, TimedElement, Voice

SHORT = {
    "breve": "1/0", "whole": "1", "half": "2", "quarter": "4", "eighth": "8", "16th": "16", "32nd": "32",
    "64th": "64", "128th": "128",
}  # fmt: skip
LETTERS = {"begin": "[", "continue": "-", "end": "]", "forward hook": ">", "backward hook": "<"}


def attributes(beats: str, unit: int, fifths: int = 0) -> TimedElement:
    """Key, time and treble clef for the first bar."""
    return TimedElement(
        0,
        Fraction(0),
        Signatures((Key(fifths), Time(((beats, str(unit)),)), Clef("G", 2))),
    )


def line(
    time: str, lengths: str | Sequence[Fraction], pitches: str = "", fifths: int = 0, pickup: str = "0"
) -> Voice:
    """A line of notes.

    Args:
        time: "4/4", "3+2/8".
        lengths: In quarter notes, "1/2 1/2 -1": a minus is a rest.
        pitches: "C4 F#5 Bb3", one for each note (not for rests), C4 D4 E4 … if not given.
        fifths: Key signature.
        pickup: Length of a pick-up bar in quarter notes.
    """
    beats, unit = time.split("/")
    full = sum((Fraction(4 * int(n), int(unit)) for n in beats.split("+")), Fraction(0))
    values = [Fraction(x) for x in lengths.split()] if isinstance(lengths, str) else list(lengths)
    names = pitches.split() or [f"{letter}{octave}" for octave in (4, 5, 6, 7) for letter in "CDEFGAB"] * 9
    onset, events, number = Fraction(0), [], 0
    for value in values:
        heads = () if value < 0 else (Head(pitch(names[number])),)
        number += value > 0
        events.append(Event(onset, abs(value), heads))
        onset += abs(value)
    return Voice(tuple(events), bars(full, onset, Fraction(pickup)), (attributes(beats, int(unit), fifths),))


def bars(full: Fraction, total: Fraction, pickup: Fraction = Fraction(0)) -> tuple[BarRef, ...]:
    """Bars of one length, after a pick-up if there is one, as many as `total` needs."""
    made = [BarRef(1, "0", Fraction(0), pickup)] if pickup else []
    start = pickup
    while start < total:
        made.append(BarRef(len(made) + 1, str(len(made) + (not pickup)), start, full))
        start += full
    return tuple(made)


def pitch(name: str) -> Pitch:
    """Read "C#4", "Bb3", "F4"."""
    alters = {"": 0, "#": 1, "b": -1, "##": 2, "bb": -2}
    return Pitch(name[0], int(name[-1]), Fraction(alters[name[1:-1]]))


def values(excerpt: Excerpt) -> list[str]:
    """Each bar as text: "4. r8 16~ 8t": type, dots, r for a rest, ~ for a tie on, t in a tuplet."""
    return [" ".join(_value(note) for note in bar.iter("note")) for bar in excerpt.tree().iter("measure")]


def _value(note: etree._Element) -> str:
    rest = note.find("rest")
    if rest is not None and rest.get("measure") == "yes":
        return "bar"
    text = ("r" if rest is not None else "") + SHORT[note.findtext("type") or ""]
    text += "." * len(note.findall("dot")) + ("t" if note.find("time-modification") is not None else "")
    return text + ("~" if note.find("tie[@type='start']") is not None else "")


def beams(excerpt: Excerpt) -> list[str]:
    """Each bar's beams as text: "[ - ]" for one level, "[[ -- ]]" for two, "." for a note without."""
    return [
        " ".join(
            "".join(LETTERS[beam.text or ""] for beam in note.findall("beam")) or "."
            for note in bar.iter("note")
        )
        for bar in excerpt.tree().iter("measure")
    ]


def accidentals(excerpt: Excerpt) -> list[str]:
    """The accidental of each note, "" where none is printed."""
    return [note.findtext("accidental") or "" for note in excerpt.tree().iter("note")]
