"""Signs that stand in a bar, and what stands around the bars."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import ClassVar

from excerpts.musicxml.elements.sign import ABOVE, Look, Opaque, Sign
from excerpts.musicxml.format import NOTE_TYPES, SINGLE_NOTES, dotted


@dataclass(frozen=True, slots=True)
class Key(Sign):
    """A key signature of `fifths` sharps, or flats when negative; any other kind is an `Opaque`."""

    name: ClassVar[str] = "key"
    fifths: int
    mode: str = ""
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Time(Sign):
    """A time signature.

    Attributes:
        pairs: Beats and beat type as printed, (("3+2", "8"),); none where there is no metre (senza misura).
        look: Its attributes.
        content: What else is in it.
    """

    name: ClassVar[str] = "time"
    pairs: tuple[tuple[str, str], ...]
    look: Look = ()
    content: tuple[Opaque, ...] = ()

    @property
    def hidden(self) -> bool:
        """It is in force, but not printed."""
        return ("print-object", "no") in self.look


@dataclass(frozen=True, slots=True)
class Clef(Sign):
    """A clef: its sign ("G", "F", "C", "TAB" …), its line from the bottom (0 = none given), its octaves up."""

    name: ClassVar[str] = "clef"
    sign: str
    line: int = 0
    octave_change: int = 0
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Transpose(Sign):
    """How an instrument sounds against the page.

    Attributes:
        chromatic: Semitones.
        diatonic: Steps; None where the source does not say.
        octave_change: Octaves besides.
        look: Its attributes.
        content: What else is in it.
    """

    name: ClassVar[str] = "transpose"
    chromatic: int
    diatonic: int | None = None
    octave_change: int = 0
    look: Look = ()
    content: tuple[Opaque, ...] = ()


@dataclass(frozen=True, slots=True)
class Signatures(Sign):
    """What changes for the staff at a point (`<attributes>`): key, time, clefs, transposition and more."""

    name: ClassVar[str] = "attributes"
    content: tuple[Sign, ...]

    def of(self, name: str) -> tuple[Sign, ...]:
        """What it holds of one name."""
        return tuple(sign for sign in self.content if sign.name == name)

    @property
    def times(self) -> tuple[Time, ...]:
        """Its time signatures."""
        return tuple(sign for sign in self.content if isinstance(sign, Time))

    @property
    def clefs(self) -> tuple[Clef, ...]:
        """Its clefs."""
        return tuple(sign for sign in self.content if isinstance(sign, Clef))


@dataclass(frozen=True, slots=True)
class Words(Sign):
    """Words over or under the staff."""

    name: ClassVar[str] = "words"
    text: str = field()
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Dynamics(Sign):
    """Signs of loudness: ("f",), ("mf", "z"); "other-dynamics" are `Opaque`."""

    name: ClassVar[str] = "dynamics"
    signs: tuple[str | Opaque, ...]
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Line(Sign):
    """One end of a line along the staff: an "octave-shift", "dashes", a "bracket", a "pedal".

    Attributes:
        name: Which of them.
        type: "start", "stop", "change" …, of an octave line the way that the notes are moved, "up" or "down".
        number: What tells it from others of its kind.
        text: Its text.
        look: Its attributes.
    """

    name: str = field()
    type: str
    number: str = ""
    text: str = ""
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Wedge(Sign):
    """One end of a hairpin: "crescendo", "diminuendo", "stop" or "continue"."""

    name: ClassVar[str] = "wedge"
    type: str
    number: str = ""
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Rehearsal(Sign):
    """A rehearsal mark."""

    name: ClassVar[str] = "rehearsal"
    text: str = field()
    look: Look = ()


@dataclass(frozen=True, slots=True)
class BeatUnit:
    """A note value as the beat of a metronome mark: its type and its dots."""

    type: str
    dots: int = 0

    @classmethod
    def of(cls, length: Fraction) -> BeatUnit:
        """The value that is `length` quarter notes long.

        Raises:
            ArithmeticError: No note of at most two dots has this length.
        """
        if length not in SINGLE_NOTES:
            raise ArithmeticError(f"no note is {length} quarter notes long")
        return cls(*SINGLE_NOTES[length])

    @property
    def length(self) -> Fraction | None:
        """Its length in quarter notes; None for a type that is not known."""
        length = NOTE_TYPES.get(self.type)
        return None if length is None else dotted(length, self.dots)


@dataclass(frozen=True, slots=True)
class Metronome(Sign):
    """A metronome mark.

    Attributes:
        unit: The beat.
        per_minute: Beats a minute as printed ("ca. 60"); "" where it only says that two values are equally long.
        equals: The other value then.
        look: Its attributes.
        number_look: Those of its number.
    """

    name: ClassVar[str] = "metronome"
    unit: BeatUnit
    per_minute: str = ""
    equals: BeatUnit | None = None
    look: Look = ()
    number_look: Look = ()


@dataclass(frozen=True, slots=True)
class Sound(Sign):
    """How the music sounds from here; `tempo` in quarter notes a minute, "" where it tells none."""

    name: ClassVar[str] = "sound"
    tempo: str = ""
    look: Look = ()
    content: tuple[Opaque, ...] = ()


@dataclass(frozen=True, slots=True)
class Offset(Sign):
    """How much later than it stands in the file a direction belongs, in quarter notes."""

    name: ClassVar[str] = "offset"
    length: Fraction
    look: Look = ()


@dataclass(frozen=True, slots=True)
class DirectionType:
    """Signs of a direction that stand together, all of one kind."""

    signs: tuple[Sign, ...]
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Direction(Sign):
    """Something said over or under the staff.

    Attributes:
        types: What is said, in groups.
        look: Its attributes.
        rest: What follows: `Offset`, `Sound`, its voice and staff (`Opaque`), in the order of the source.
    """

    name: ClassVar[str] = "direction"
    types: tuple[DirectionType, ...]
    look: Look = ()
    rest: tuple[Sign, ...] = ()

    @classmethod
    def of(cls, sign: Sign, look: Look = ABOVE, sound: Sound | None = None) -> Direction:
        """A direction with one sign."""
        return cls((DirectionType((sign,)),), look, () if sound is None else (sound,))

    @property
    def signs(self) -> tuple[Sign, ...]:
        """All its signs."""
        return tuple(sign for kind in self.types for sign in kind.signs)

    @property
    def offset(self) -> Fraction:
        """How much later than it stands it belongs, in quarter notes."""
        return next((sign.length for sign in self.rest if isinstance(sign, Offset)), Fraction(0))

    @property
    def sound(self) -> Sound | None:
        """How it sounds."""
        return next((sign for sign in self.rest if isinstance(sign, Sound)), None)


@dataclass(frozen=True, slots=True)
class Barline(Sign):
    """A barline.

    Attributes:
        style: "light-light", "light-heavy" …; "" where only what is in it is told.
        look: Its attributes; its place is one of them.
        content: What stands at it: a repeat, an ending, a pause.
    """

    name: ClassVar[str] = "barline"
    style: str = ""
    look: Look = (("location", "right"),)
    content: tuple[Opaque, ...] = ()


@dataclass(frozen=True, slots=True)
class MeasureTag:
    """The number of a bar, whether it is counted, and other attributes of `<measure>`."""

    number: str
    implicit: bool = False
    look: Look = ()


@dataclass(frozen=True, slots=True)
class ScorePart:
    """What the list of parts says of the part: its id, and the rest as it is written."""

    id: str = "P1"
    content: tuple[Opaque, ...] = (Opaque("part-name", "<part-name/>"),)
    look: Look = ()
