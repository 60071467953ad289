"""What a teacher's words at a passage mean: its bars, what goes wrong there, a note; or words for playing.

    12-16, bars 12–16, mm. 12-16, Takt 12 bis 16, C-D    the bars (between rehearsal marks: C-D, C+2)
    shift / shift, tone / Lagenwechsel                   what goes wrong: the faults of a week file
    box, practise, üben                                  nothing but that it is a box
    bars 12–16: thumb first / shift: land softly         a note behind a colon

The words are those of English and German teachers (from memory, no source).
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Final

from excerpts.musicxml.playing_words import states_in

_FAULTS: Final[dict[str, tuple[str, ...]]] = {
    "uneven": ("uneven", "unevenness", "ungleich", "ungleichmäßig"),
    "crossing": ("crossing", "crossings", "string crossing", "string crossings", "saitenwechsel"),
    "shift": ("shift", "shifts", "shifting", "lagenwechsel"),
    "coordination": ("coordination", "co-ordination", "koordination"),
    "speed": ("speed", "schnelligkeit", "geläufigkeit"),
    "rhythm": ("rhythm", "rhythmus"),
    "intonation": ("intonation",),
    "tone": ("tone", "klang"),
    "bow-distribution": ("bow-distribution", "bow distribution", "bogeneinteilung"),
    "memory": ("memory", "from memory", "by heart", "auswendig"),
    "reading": ("reading", "lesen", "notenlesen"),
}
FAULTS: Final = {word.casefold(): fault for fault, words in _FAULTS.items() for word in words}
"""A fault of a week file (`why`) by the words for it, in small letters."""

BAR_WORDS: Final = r"bars?|bb?\.|measures?|meas\.|mm?\.|takte?|t\."
"""What stands before the number of a bar, as a pattern."""

_NUMBER: Final = r"(?:@\d+|\d+[a-z]?)(?:\+\d+)?(?::\d+(?:\.\d+)?)?"
_LETTER: Final = r"[A-Z]{1,2}(?:\+\d+)?"
_TO: Final = r"\s*(?:[-\u2013\u2014]|\b(?:to|bis)\b)\s*"
_NUMBERS: Final = re.compile(
    rf"(?:(?P<bar>{BAR_WORDS})\s*)?(?P<first>{_NUMBER})(?:{_TO}(?P<last>{_NUMBER}))?(?![\w+@]|:\d)(?P<rest>.*)",
    re.IGNORECASE,
)
_LETTERS: Final = re.compile(
    rf"(?P<bar>)(?P<first>{_LETTER})(?:{_TO}(?P<last>{_LETTER}))?(?!\w)(?P<rest>.*)",
)
_BOX: Final = re.compile(r"(?:box|practi[sc]e|work on|üben|übestelle)(?!\w)(?P<rest>.*)", re.IGNORECASE)
_BEFORE: Final = re.compile(r"^\s*[:;,]?\s*")
_SEPARATOR: Final = re.compile(r"\s*(?:[,;/+&]|\band\b|\bund\b)\s*")

_PLAYED: Final = re.compile(
    r"(?:I{1,3}|IV|V|[0-4]|[A-G])\.?|.*\b(?:restez|restare|bleiben|stay|sim(?:ile|\.)|segue|loco|8v[ab]|15m[ab]"
    r"|rit(?:ard(?:ando)?|enuto)?|rall(?:entando)?|accel(?:erando)?|string(?:\.|endo)|rubato|a tempo"
    r"|cresc(?:endo)?|decresc(?:endo)?|dim(?:inuendo)?|sol[oi]|tutti|div(?:isi|\.)|unis(?:ono)?|vib(?:rato)?"
    r"|flaut(?:ando|ato)?|spicc(?:ato)?|ricochet|trem(?:olo)?|gliss(?:ando)?|portamento|punta|tallone|tip|frog|heel"
    r"|spitze|frosch|mitte|talon|pointe|(?:whole|half) bow|w\.?\s?b\.|g\.?\s?b\.)(?!\w).*",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Meaning:
    """What words at a passage mean.

    Attributes:
        address: The bars that they name; "" for the place where they stand.
        why: Faults.
        note: The teacher's word about it.
        alone: The address is a bare number, which may be something else (a rehearsal mark).
    """

    address: str = ""
    why: tuple[str, ...] = ()
    note: str = ""
    alone: bool = False


def read_words(text: str) -> Meaning | None:
    """What words at a passage mean; None where they say nothing of a box."""
    text = plain_text(text)
    faults = _faults(text)
    if faults:
        return Meaning(why=faults)
    head, colon, rest = text.partition(":")
    if colon and rest.strip() and (faults := _faults(head)):
        return Meaning(why=faults, note=rest.strip())
    if match := _BOX.fullmatch(text):
        return _with_rest(Meaning(), match["rest"], free=match["rest"].lstrip().startswith(":"))
    return _addressed(text)


def is_for_playing(text: str) -> bool:
    """Whether words say how to play, so that a line behind them says how long."""
    text = plain_text(text)
    return bool(states_in(text)) or _PLAYED.fullmatch(text) is not None


def plain_text(text: str) -> str:
    """A text on one line, without signs that cannot be seen."""
    return " ".join("".join(c for c in text if unicodedata.category(c)[0] != "C" or c.isspace()).split())


def _addressed(text: str) -> Meaning | None:
    match = _NUMBERS.fullmatch(text) or _LETTERS.fullmatch(text)
    if match is None:
        return None
    first, last = match["first"], match["last"]
    if match.re is _LETTERS and last is None and "+" not in first:
        return None  # one letter is a rehearsal mark, not a passage
    meaning = Meaning(
        f"{first}-{last}" if last else first, alone=not match["bar"] and not last and first.isdecimal()
    )
    return _with_rest(meaning, match["rest"], free=bool(match["bar"]))


def _with_rest(meaning: Meaning, rest: str, *, free: bool) -> Meaning | None:
    """What stands behind the bars: faults, or a note where the words before it leave no doubt."""
    rest = _BEFORE.sub("", rest)
    if not rest.strip(" .!"):
        return meaning
    faults = _faults(rest)
    if faults:
        return Meaning(meaning.address, faults)
    head, colon, note = rest.partition(":")
    if colon and note.strip() and (faults := _faults(head)):
        return Meaning(meaning.address, faults, note.strip())
    return Meaning(meaning.address, note=rest) if free and rest[0].isalpha() else None


def _faults(text: str) -> tuple[str, ...]:
    """The faults that a text is made of; none where it says anything else."""
    named = [word.strip(" .!?") for word in _SEPARATOR.split(text.casefold())]
    known = [FAULTS[word] for word in named if word in FAULTS]
    return tuple(dict.fromkeys(known)) if len(known) == len(named) else ()
