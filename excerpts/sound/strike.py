"""The notes of a line as they are struck: ties joined, at sounding pitch, with all that tells how they are played."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from excerpts.instruments.instrument import Instrument
from excerpts.musicxml.elements import Direction, Sound, Transpose, Words
from excerpts.musicxml.pitch import alterations
from excerpts.musicxml.playing_words import states_in
from excerpts.notes import Event, Head, Voice
from excerpts.notes.in_force import plain_key, signatures_at
from excerpts.sound.graces import Sounding
from excerpts.sound.levels import loudness
from excerpts.sound.performance import Kind, Struck
from excerpts.sound.played_ornaments import Figure, figure_of, two_note_tremolos
from excerpts.sound.playing_rules import ACCENTS, HARMONICS

_DOTS: Final = ("staccatissimo", "spiccato", "staccato")
_SNAP: Final = "snap-pizzicato"
_CROSS: Final = "stopped"
"""Signs at a note that it is plucked: a cross, where the part is a string player's, means by the left hand."""


@dataclass(frozen=True, slots=True)
class Manner:
    """What is not written in the notes themselves.

    Attributes:
        voice: Which of the voices of the performance the line is.
        instrument: The instrument, for its open strings; None where it is not known.
        upper_trills: Trills begin with the note above.
    """

    voice: int
    instrument: Instrument | None = None
    upper_trills: bool = False


def struck_notes(line: Voice, heard: Sequence[Sounding], manner: Manner) -> list[Struck]:
    """The notes of a line, with their times from its start.

    Args:
        line: The line.
        heard: When its events sound.
        manner: What the notes do not say.
    """
    ear = _Ear(line, manner)
    result: list[Struck] = []
    open_ties: dict[Fraction, int] = {}
    for one in heard:
        event = one.event
        still_open = dict(open_ties) if event.grace else {}
        for head, pitch in ear.pitches(event):
            held = head.tied("start") and not event.grace  # through the grace notes that end the others
            stop = event.onset + (head.duration or event.duration) if held or head.duration else one.end
            place = open_ties.get(pitch) if head.tied("stop") else None
            if place is not None and result[place].onset + result[place].length == one.start:
                first = result[place]
                result[place] = ear.note(event, head, pitch, first.onset, stop, first)
            else:
                place = len(result)
                result.append(ear.note(event, head, pitch, one.start, stop))
            if head.tied("start"):
                still_open[pitch] = place
        open_ties = still_open
    return result


class _Ear:
    """What is in force along a line."""

    def __init__(self, line: Voice, manner: Manner) -> None:
        self._line = line
        self._manner = manner
        self._loudness = loudness(line)
        self._shifts = list(_transpositions(line))
        self._plucking = sorted(_plucking(line))
        self._joined = _joined(line)
        self._tremolos = two_note_tremolos(line.events)

    def pitches(self, event: Event) -> list[tuple[Head, Fraction]]:
        """The heads that sound, with the MIDI numbers of what sounds."""
        shift = next((by for time, by in reversed(self._shifts) if time <= event.onset), Fraction(0))
        heads = [(head, head.pitch.midi + shift) for head in event.heads if head.pitch is not None]
        touched = [
            (head, pitch) for head, pitch in heads
            if any(mark.name == "harmonic" or mark.text == "diamond" for mark in head.marks)
        ]  # fmt: skip
        if not touched:
            return heads
        (low, stopped), (_, touch) = heads[0], heads[-1]
        if len(heads) == 2 and touch - stopped in HARMONICS:
            return [(low, stopped + HARMONICS[int(touch - stopped)])]
        return [(head, self._harmonic(head, pitch)) for head, pitch in heads]

    def _harmonic(self, head: Head, pitch: Fraction) -> Fraction:
        """What sounds where an open string is touched; a note under a circle is written as it sounds."""
        diamond = any(mark.text == "diamond" or "touching-pitch" in _xml(mark.sign) for mark in head.marks)
        strings = self._manner.instrument.sounding_strings if self._manner.instrument else ()
        above = [pitch - string.midi for string in strings if pitch - string.midi in HARMONICS]
        return pitch - min(above) + HARMONICS[int(min(above))] if diamond and above else pitch

    def note(
        self,
        event: Event,
        head: Head,
        pitch: Fraction,
        start: Fraction,
        end: Fraction,
        tied_to: Struck | None = None,
    ) -> Struck:
        """A note that begins with an event, or goes on with it."""
        names = {mark.name for mark in event.marks}
        accent = max((ACCENTS[name] for name in names & ACCENTS.keys()), default=0.0)
        articulation = _articulation(names, id(event) in self._joined)
        if tied_to is not None:
            levels = self._loudness.of_note(start, end, 0.0)
            return replace(tied_to, length=end - start, levels=levels, articulation=articulation)
        by_left_hand = _CROSS in names and self._manner.instrument is not None
        plucked = _SNAP in names or by_left_hand or self._is_plucked(event.onset)
        kind: Kind = "plucked" if plucked else "bowed"
        levels = self._loudness.of_note(start, end, accent)
        figure = None if plucked else self._figure(event, head, pitch)
        return Struck(self._manner.voice, start, end - start, pitch, levels, kind, articulation, figure)

    def _is_plucked(self, time: Fraction) -> bool:
        return next((on for since, on in reversed(self._plucking) if since <= time), False)

    def _figure(self, event: Event, head: Head, pitch: Fraction) -> Figure | None:
        other, figure = self._tremolos.get(id(event), (event, None))
        if figure is not None:
            partners = [height for _, height in self.pitches(other)]
            place = event.heads.index(head)
            partner = partners[min(place, len(partners) - 1)] if partners else pitch
            return replace(figure, above=partner - pitch)
        if not any(mark.family == "ornaments" for mark in event.marks):
            return None
        return figure_of(event, head, self._alterations(event), self._manner.upper_trills)

    def _alterations(self, event: Event) -> dict[tuple[str, int], Fraction]:
        """The alterations that hold at an event: the key's under octave -1, those of its bar by octave."""
        key = plain_key(signatures_at(self._line, event.onset).get("key"))
        held = {(step, -1): by for step, by in alterations(key.fifths if key else 0).items()}
        start = self._line.bars[self._line.bar_at(event.onset)].start
        for other in self._line.events:
            if start <= other.onset < event.onset:
                for pitch in (head.pitch for head in other.heads if head.pitch is not None):
                    held[pitch.step, pitch.octave] = pitch.alter
        return held


def _xml(sign: object) -> str:
    return getattr(sign, "xml", "")


def _articulation(names: set[str], joined: bool) -> str:
    """How a note ends: a key of the table of touches."""
    if "detached-legato" in names or ("staccato" in names and ("tenuto" in names or joined)):
        return "portato"
    dots = next((name for name in _DOTS if name in names), None)
    if dots is not None:
        return dots
    if names & {"breath-mark", "caesura"}:
        return "breath"
    if joined:
        return "slurred"
    return "tenuto" if "tenuto" in names else "separate"


def _joined(line: Voice) -> set[int]:
    """The events, by their identity, from which a slur goes on to the next; a halved slur goes to the edge."""
    joined: set[int] = set()
    opened: dict[str, int] = {}
    for place, event in enumerate(line.events):
        ends = [mark.sign for mark in event.marks if mark.name == "slur"]
        for sign in (sign for sign in ends if sign.edge == "stop"):
            begun = opened.pop(sign.number or "1", 0)
            joined.update(id(other) for other in line.events[begun:place])
        opened |= {sign.number or "1": place for sign in ends if sign.edge == "start"}
    for begun in opened.values():
        joined.update(id(other) for other in line.events[begun:])
    return joined


def _plucking(line: Voice) -> Iterator[tuple[Fraction, bool]]:
    """Where the line begins to be plucked, and to be bowed again."""
    for placed in line.placed:
        time = line.time_of(placed)
        sound = placed.sign if isinstance(placed.sign, Sound) else None
        if isinstance(placed.sign, Direction):
            time += placed.sign.offset
            sound = placed.sign.sound
            text = " ".join(sign.text for sign in placed.signs if isinstance(sign, Words))
            for said in states_in(text):
                if said.kind == "plucking":
                    yield time, said.words.casefold().startswith("pizz")
        plucked = dict(sound.look).get("pizzicato") if sound is not None else None
        if plucked is not None:
            yield time, plucked == "yes"


def _transpositions(line: Voice) -> Iterator[tuple[Fraction, Fraction]]:
    """Semitones from written to sounding pitch, with the time from which they hold.

    W3C MusicXML 4.0: `<chromatic>` does not hold the octaves of `<octave-change>`.
    """
    for placed in line.placed:
        for sign in placed.signatures:
            if isinstance(sign, Transpose):
                time = line.time_of(placed)
                yield time, Fraction(sign.chromatic + 12 * sign.octave_change)
