"""What is written in the music besides the notes, as values.

There is one small class for each element that anybody thinks about.

`Opaque` keeps everything else as the source writes it. `notes.read_signs` makes these values of MusicXML, and
`notes.write_signs` makes MusicXML of them: nobody else needs to know how an element is written.

Every class has a `look`: the attributes of the element in the order of the source. Attributes that have a field
(`edge`, `number`) are told by that field alone.

Names and meanings: W3C MusicXML 4.0.
"""

from excerpts.musicxml.elements.at_notes import (
    Accidental,
    Articulation,
    Beam,
    Bow,
    Fermata,
    Fingering,
    Glissando,
    Notehead,
    Ornament,
    Slur,
    StringNumber,
    Technical,
    Tied,
    TimeModification,
    TupletBracket,
)
from excerpts.musicxml.elements.in_bars import (
    Barline,
    BeatUnit,
    Clef,
    Direction,
    DirectionType,
    Dynamics,
    Key,
    Line,
    MeasureTag,
    Metronome,
    Offset,
    Rehearsal,
    ScorePart,
    Signatures,
    Sound,
    Time,
    Transpose,
    Wedge,
    Words,
)
from excerpts.musicxml.elements.sign import ABOVE, BELOW, HIDDEN, ITALIC, Leaf, Look, Opaque, Sign

__all__ = [
    "ABOVE",
    "Accidental",
    "Articulation",
    "BELOW",
    "Barline",
    "Beam",
    "BeatUnit",
    "Bow",
    "Clef",
    "Direction",
    "DirectionType",
    "Dynamics",
    "Fermata",
    "Fingering",
    "Glissando",
    "HIDDEN",
    "ITALIC",
    "Key",
    "Leaf",
    "Line",
    "Look",
    "MeasureTag",
    "Metronome",
    "Notehead",
    "Offset",
    "Opaque",
    "Ornament",
    "Rehearsal",
    "ScorePart",
    "Sign",
    "Signatures",
    "Slur",
    "Sound",
    "StringNumber",
    "Technical",
    "Tied",
    "Time",
    "TimeModification",
    "Transpose",
    "TupletBracket",
    "Wedge",
    "Words",
]
