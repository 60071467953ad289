"""The one note model: everything that thinks in notes reads events, changes them and writes them back."""

from excerpts.musicxml.pitch import Pitch
from excerpts.notes.model import Event, Head, Notation, Printed, TimedElement, Voice
from excerpts.notes.read import VoiceError, read_line, read_lines
from excerpts.notes.write import write_line

__all__ = [
    "Event",
    "Head",
    "Voice",
    "Notation",
    "Pitch",
    "TimedElement",
    "Printed",
    "VoiceError",
    "read_line",
    "read_lines",
    "write_line",
]
