"""How a teacher writes down fingers, bows, slurs and strings of their own.

    43:2 finger 3        the note on beat 2 of bar 43; of a chord the top note
    43:2 finger 1 3      a chord: from its lowest note up; T is the thumb, 0 the open string
    44:1 up, 44:1 down   bow
    45:1 string II       string, I to V or 1 to 5
    44 slur 1-3          from the note on beat 1 to the note on beat 3 of bar 44
    44:3-45:1 slur       over the barline
    44:1 no slur         takes away: finger, bow, string, slur

Beats are counted as in addresses, decimals allowed (44:2.5). "voice 2" behind a mark means that voice.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Literal

from excerpts.errors import InputError

Kind = Literal["finger", "bow", "string", "slur"]

_MARK: Final = re.compile(
    r"(?P<where>\S+)\s+(?:(?P<bow>up|down)|(?P<no>no)\s+(?P<none>finger|bow|string|slur)"
    r"|fingers?\s+(?P<finger>(?:[0-9T]\s+)*[0-9T])|string\s+(?P<string>I{1,3}|IV|V|[1-5])"
    r"|slur(?:\s+(?P<beats>[\d.]+\s*[-\u2013]\s*[\d.]+))?)(?:\s+voice\s+(?P<voice>\S+))?",
    re.ASCII,
)
_NUMERALS: Final = {"I": "1", "II": "2", "III": "3", "IV": "4", "V": "5"}
FINGERS: Final = frozenset("01234T")
"""The fingers of the left hand, as string players number them; 0 is the open string, T the thumb."""

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
        values: Fingers from the lowest note up, the bow, or the string; empty to take away.
        voice: The voice that is meant; "" for the first that has a note there.
    """

    text: str
    beats: tuple[str, ...]
    kind: Kind
    values: tuple[str, ...]
    voice: str = ""


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
        return _at_beat(OwnMark(text, (where,), "bow", (match["bow"],), voice))
    if match["finger"]:
        _check_fingers(text, match["finger"])
        return _at_beat(OwnMark(text, (where,), "finger", tuple(match["finger"].split()), voice))
    if match["string"]:
        number = _NUMERALS.get(match["string"], match["string"])
        return _at_beat(OwnMark(text, (where,), "string", (number,), voice))
    if match["no"]:
        kinds: dict[str, Kind] = {"finger": "finger", "bow": "bow", "string": "string", "slur": "slur"}
        return _at_beat(OwnMark(text, (where,), kinds[match["none"]], (), voice))
    return _slur(text, where, match["beats"], voice)


def _check_fingers(text: str, fingers: str) -> None:
    none = next((finger for finger in fingers.split() if finger not in FINGERS), None)
    if none is not None:
        raise MarkError(
            f"'{text}' is not a mark: there is no finger {none}.",
            hint="Fingers are 1 to 4, 0 for the open string and T for the thumb.",
        )


def _at_beat(mark: OwnMark) -> OwnMark:
    if not re.fullmatch(r"(?:mark:)?[^:]+:[\d.]+", mark.beats[0], re.ASCII):
        raise MarkError(
            f"'{mark.text}' does not say on which beat.", hint='Write bar and beat, as "43:2 finger 3".'
        )
    return mark


def _slur(text: str, where: str, beats: str | None, voice: str) -> OwnMark:
    if beats is not None and ":" not in where:
        first, last = re.split(r"\s*[-\u2013]\s*", beats)
        return OwnMark(text, (f"{where}:{first}", f"{where}:{last}"), "slur", ("slur",), voice)
    ends = re.fullmatch(r"([^:]+:[\d.]+)[-\u2013]([^:]+:[\d.]+)", where)
    if beats is None and ends is not None:
        return OwnMark(text, (ends[1], ends[2]), "slur", ("slur",), voice)
    raise MarkError(
        f"'{text}' does not say from where to where.",
        hint='Write a slur as "44 slur 1-3" or "44:3-45:1 slur".',
    )
