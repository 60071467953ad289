"""How a teacher writes down fingers, bows, slurs and strings of their own.

    43:2 finger 3        the note on beat 2 of bar 43; of a chord the top note
    43:2 finger 1 3      a chord: from its lowest note up; T is the thumb, 0 the open string
    43:2 finger 1 -      a chord whose lowest note has a finger and the next has none
    44:1 up, 44:1 down   bow
    45:1 string II       string, I to V or 1 to 5; several for a chord, as fingers
    44 slur 1-3          from the note on beat 1 to the note on beat 3 of bar 44
    44:3-45:1 slur       over the barline
    44:1 no slur         takes away: finger, bow, string, slur
    44:1 grace finger 2  the grace note before the note on beat 1; of several the first, "grace 2" the second
    44:1 grace slur      from the grace note to the note that it leads to

Beats are counted as in addresses, decimals allowed (44:2.5). "voice 2" behind a mark means that voice. Grace notes at
the end of a bar lead to the first beat of the next.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Literal

from excerpts.errors import InputError

Kind = Literal["finger", "bow", "string", "slur"]

_GRACE: Final = r"(?:\s+grace(?:\s+[1-9])?)?"
_STRING: Final = r"(?:I{1,3}|IV|V|[1-5]|-)"
_MARK: Final = re.compile(
    rf"(?P<where>\S+{_GRACE}(?:[-\u2013]\S+{_GRACE})?)\s+"
    r"(?:(?P<bow>up|down)|(?P<no>no)\s+(?P<none>finger|bow|string|slur)"
    rf"|fingers?\s+(?P<finger>(?:[0-9T-]\s+)*[0-9T-])|strings?\s+(?P<string>(?:{_STRING}\s+)*{_STRING})"
    r"|slur(?:\s+(?P<beats>[\d.]+\s*[-\u2013]\s*[\d.]+))?)(?:\s+voice\s+(?P<voice>\S+))?",
    re.ASCII,
)
_BEAT: Final = re.compile(
    r"(?P<beat>(?:mark:)?[^:\s]+:[\d.]+)(?P<grace>\s+grace(?:\s+(?P<which>[1-9]))?)?", re.ASCII
)
_NUMERALS: Final = {"I": "1", "II": "2", "III": "3", "IV": "4", "V": "5"}
FINGERS: Final = frozenset("01234T")
"""The fingers of the left hand, as string players number them; 0 is the open string, T the thumb."""

NONE: Final = "-"
"""A note of a chord that has no finger or string, where others of it have."""

HOW: Final = 'Write marks as "43:2 finger 3", "44:1 up", "45:1 string II", "44 slur 1-3" or "44:1 no slur".'


class MarkError(InputError):
    """A mark of the teacher's cannot be read, or there is no note for it."""


@dataclass(frozen=True, slots=True)
class OwnMark:
    """A mark as the teacher wrote it.

    Attributes:
        text: The whole of it.
        beats: Addresses of its beats: one, or for slurs the first and the last.
        kind: What it is.
        values: Fingers or strings from the lowest note up, "-" for a note without one, or the bow; empty to take away.
        voice: The voice that is meant; "" for the first that has a note there.
        graces: For each beat which of the grace notes that lead to its note is meant, from 1; 0 for the note itself.
    """

    text: str
    beats: tuple[str, ...]
    kind: Kind
    values: tuple[str, ...]
    voice: str = ""
    graces: tuple[int, ...] = (0,)


def parse_mark(text: str) -> OwnMark:
    """Read a mark.

    Raises:
        MarkError: The text is not a mark.
    """
    text = " ".join(text.split())
    match = _MARK.fullmatch(text)
    if match is None:
        raise MarkError(f"'{text}' is not a mark.", hint=HOW)
    where, voice = match["where"], match["voice"] or ""
    if match["bow"]:
        return _at_beat(text, where, "bow", (match["bow"],), voice)
    if match["finger"]:
        _check_fingers(text, match["finger"])
        return _at_beat(text, where, "finger", _of_chord(text, match["finger"]), voice)
    if match["string"]:
        return _at_beat(text, where, "string", _of_chord(text, match["string"]), voice)
    if match["no"]:
        kinds: dict[str, Kind] = {"finger": "finger", "bow": "bow", "string": "string", "slur": "slur"}
        return _at_beat(text, where, kinds[match["none"]], (), voice)
    return _slur(text, where, match["beats"], voice)


def _of_chord(text: str, values: str) -> tuple[str, ...]:
    """The fingers or strings of a chord, strings by their numbers."""
    found = tuple(_NUMERALS.get(value, value) for value in values.split())
    if set(found) == {NONE}:
        raise MarkError(f"'{text}' is not a mark: it has no finger and no string.", hint=HOW)
    return found


def _check_fingers(text: str, fingers: str) -> None:
    none = next((finger for finger in fingers.split() if finger not in {*FINGERS, NONE}), None)
    if none is not None:
        raise MarkError(
            f"'{text}' is not a mark: there is no finger {none}.",
            hint="Fingers are 1 to 4, 0 for the open string and T for the thumb.",
        )


def _beat(where: str) -> tuple[str, int] | None:
    """The address of a beat, and which grace note before it is meant; None where it is no beat."""
    match = _BEAT.fullmatch(where)
    if match is None:
        return None
    return match["beat"], int(match["which"] or 1) if match["grace"] else 0


def _at_beat(text: str, where: str, kind: Kind, values: tuple[str, ...], voice: str) -> OwnMark:
    beat = _beat(where)
    if beat is None:
        raise MarkError(
            f"'{text}' does not say on which beat.", hint='Write bar and beat, as "43:2 finger 3".'
        )
    return OwnMark(text, (beat[0],), kind, values, voice, (beat[1],))


def _slur(text: str, where: str, beats: str | None, voice: str) -> OwnMark:
    if beats is not None and ":" not in where:
        first, last = re.split(r"\s*[-\u2013]\s*", beats)
        return OwnMark(text, (f"{where}:{first}", f"{where}:{last}"), "slur", ("slur",), voice, (0, 0))
    begin = _beat(where)
    if beats is None and begin is not None and begin[1]:
        return OwnMark(text, (begin[0], begin[0]), "slur", ("slur",), voice, (begin[1], 0))
    for dash in re.finditer(r"[-\u2013]", where if beats is None else ""):
        begin, end = _beat(where[: dash.start()]), _beat(where[dash.end() :])
        if begin is not None and end is not None:
            return OwnMark(text, (begin[0], end[0]), "slur", ("slur",), voice, (begin[1], end[1]))
    raise MarkError(
        f"'{text}' does not say from where to where.",
        hint='Write a slur as "44 slur 1-3" or "44:3-45:1 slur".',
    )
