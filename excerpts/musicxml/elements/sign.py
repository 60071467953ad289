"""What all signs have, and signs that nobody thinks about."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar, Final

Look = tuple[tuple[str, str], ...]
"""Names and values of attributes."""

ABOVE: Final[Look] = (("placement", "above"),)
BELOW: Final[Look] = (("placement", "below"),)
ITALIC: Final[Look] = (("font-style", "italic"),)
HIDDEN: Final[Look] = (("print-object", "no"),)


class Sign:
    """Something written in the music; each class has the fields that mean something for it.

    A field without a default that has its namesake here is written `= field()`, or that would be its default.

    Attributes:
        family: The element that holds it ("articulations"); "" where it is held by none but the note or the bar.
    """

    __slots__ = ()
    family: ClassVar[str] = ""

    @property
    def name(self) -> str:
        """Name of the element."""
        raise NotImplementedError

    @property
    def look(self) -> Look:
        """Its attributes, in the order of the source."""
        return ()

    @property
    def text(self) -> str:
        """The text in it."""
        return ""

    @property
    def edge(self) -> str:
        """Which end it is of something that spans notes: "start", "stop" or "continue"; else ""."""
        return ""

    @property
    def number(self) -> str:
        """What tells it from others of its kind that sound at once; "" means "1"."""
        return ""


@dataclass(frozen=True, slots=True)
class Opaque(Sign):
    """An element that nobody thinks about.

    Attributes:
        name: Name of the element.
        xml: The element as the source writes it, without a namespace. Lengths in it (`<offset>`, the `<duration>`
            of a figured bass) are quarter notes as a fraction ("1/2").
        edge: As of a `Sign`.
    """

    name: str = field()
    xml: str
    edge: str = ""


@dataclass(frozen=True, slots=True)
class Leaf(Sign):
    """An element that nobody thinks about, of text and attributes alone."""

    name: str = field()
    text: str = ""
    look: Look = ()
