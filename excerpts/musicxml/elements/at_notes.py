"""Signs that stand at a note."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import ClassVar

from excerpts.musicxml.elements.sign import Look, Opaque, Sign


@dataclass(frozen=True, slots=True)
class Slur(Sign):
    """One end of a slur."""

    name: ClassVar[str] = "slur"
    edge: str = field()
    number: str = ""
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Tied(Sign):
    """One end of a tie, or a tie that is left to ring ("let-ring")."""

    name: ClassVar[str] = "tied"
    type: str
    look: Look = ()

    @property
    def edge(self) -> str:
        """Which end it is; "" where it is left to ring."""
        return self.type if self.type in {"start", "stop", "continue"} else ""


@dataclass(frozen=True, slots=True)
class TupletBracket(Sign):
    """One end of the bracket or number of a tuplet.

    Attributes:
        edge: Which end.
        number: Its number.
        look: Its attributes.
        content: The numbers that it shows, where the source says.
    """

    name: ClassVar[str] = "tuplet"
    edge: str = field()
    number: str = ""
    look: Look = ()
    content: tuple[Opaque, ...] = ()


@dataclass(frozen=True, slots=True)
class Glissando(Sign):
    """One end of a line from note to note: "glissando" or "slide"."""

    name: str = field()
    edge: str = field()
    number: str = ""
    text: str = ""
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Articulation(Sign):
    """A dot, a dash, an accent, a breath …; `name` tells which."""

    family: ClassVar[str] = "articulations"
    name: str = field()
    text: str = ""
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Ornament(Sign):
    """A trill, a turn, a tremolo, an end of a wavy line …; `name` tells which."""

    family: ClassVar[str] = "ornaments"
    name: str = field()
    text: str = ""
    edge: str = ""
    number: str = ""
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Bow(Sign):
    """A stroke of the bow: "up-bow" or "down-bow"."""

    family: ClassVar[str] = "technical"
    name: str = field()
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Fingering(Sign):
    """A finger, as it is printed."""

    name: ClassVar[str] = "fingering"
    family: ClassVar[str] = "technical"
    text: str = field()
    look: Look = ()


@dataclass(frozen=True, slots=True)
class StringNumber(Sign):
    """A string by its number, 1 the highest."""

    name: ClassVar[str] = "string"
    family: ClassVar[str] = "technical"
    text: str = field()
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Technical(Sign):
    """Any other instruction for the hands: "open-string", "pluck", "fret", an end of a "hammer-on", and others."""

    family: ClassVar[str] = "technical"
    name: str = field()
    text: str = ""
    edge: str = ""
    number: str = ""
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Fermata(Sign):
    """A pause on a note."""

    name: ClassVar[str] = "fermata"
    text: str = ""
    look: Look = (("type", "upright"),)


@dataclass(frozen=True, slots=True)
class Accidental(Sign):
    """An accidental that the source prints, or a reminder."""

    name: ClassVar[str] = "accidental"
    text: str = field()
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Notehead(Sign):
    """The shape of a head ("x", "diamond")."""

    name: ClassVar[str] = "notehead"
    text: str = field()
    look: Look = ()


@dataclass(frozen=True, slots=True)
class Beam(Sign):
    """One beam of a note.

    Attributes:
        text: "begin", "continue", "end", "forward hook" or "backward hook".
        number: Its level, "1" for the quavers' beam.
        look: Its attributes.
    """

    name: ClassVar[str] = "beam"
    text: str = field()
    number: str = ""
    look: Look = ()


@dataclass(frozen=True, slots=True)
class TimeModification:
    """How a note of a tuplet is counted: `actual` notes in the time of `normal` notes.

    Attributes:
        actual: Notes that are played.
        normal: Notes of their type that would fill the time.
        normal_type: Type of those, where it is not the note's own.
        normal_dots: Dots of that type.
    """

    actual: int
    normal: int
    normal_type: str = ""
    normal_dots: int = 0

    @property
    def ratio(self) -> Fraction:
        """How many notes stand for one plain note of their type: 3/2 in a triplet."""
        return Fraction(self.actual, self.normal)
