"""Small scores for tests, written as a few lines of text.

A note is "C#5:1" (pitch, length in quarter notes), a rest "r:2", a chord "D4+A4:1"; what stands in brackets
behind it is XML for the note ("C5:1[<notations>…</notations>]"). A token that begins with "<" is XML for the bar.
"""

from __future__ import annotations

import re
from fractions import Fraction

DIVISIONS = 24
"""Divisions of a quarter note: enough for triplets and demisemiquavers."""

_TYPES = {
    Fraction(4): "whole", Fraction(2): "half", Fraction(1): "quarter", Fraction(1, 2): "eighth",
    Fraction(1, 4): "16th", Fraction(1, 8): "32nd",
}  # fmt: skip
_PITCH = re.compile(r"^([A-G])(bb|b|##|#)?(\d)$")
_ALTERS = {"": 0, None: 0, "#": 1, "##": 2, "b": -1, "bb": -2}


def _pitch(text: str) -> str:
    match = _PITCH.match(text)
    assert match is not None, text
    alter = _ALTERS[match[2]]
    inner = f"<alter>{alter}</alter>" if alter else ""
    return f"<pitch><step>{match[1]}</step>{inner}<octave>{match[3]}</octave></pitch>"


def _type(length: Fraction) -> str:
    if length in _TYPES:
        return f"<type>{_TYPES[length]}</type>"
    if length / 3 * 2 in _TYPES:
        return f"<type>{_TYPES[length / 3 * 2]}</type><dot/>"
    if length * 3 / 2 in _TYPES:
        ratio = "<actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
        return f"<type>{_TYPES[length * 3 / 2]}</type><time-modification>{ratio}</time-modification>"
    return ""


def note(text: str, voice: str = "1") -> str:
    """One note, chord or rest as XML."""
    body, _, extra = text.partition("[")
    extra = extra.removesuffix("]")
    what, _, value = body.partition(":")
    length = Fraction(value or "1")
    ties = "".join(f'<tie type="{kind}"/>' for kind in re.findall(r'<tied type="(\w+)"', extra))
    heads = ["<rest/>"] if what == "r" else [_pitch(name) for name in what.split("+")]
    written = ""
    for index, head in enumerate(heads):
        chord = "<chord/>" if index else ""
        written += (
            f"<note>{chord}{head}<duration>{length * DIVISIONS}</duration>{ties}"
            f"<voice>{voice}</voice>{_type(length)}{extra if not index else ''}</note>"
        )
    return written


_STEP = re.compile(r"</[^>]*>|<[^>]*/>|<[^>]*>|\[|\]|\s|[^<>\[\]\s]+")


def tokens(text: str) -> list[str]:
    """Split at white space outside brackets and elements."""
    found, depth, current = [], 0, ""
    for step in _STEP.findall(text):
        if step.isspace() and depth == 0:
            found += [current] if current else []
            current = ""
            continue
        opens = step == "[" or (
            step.startswith("<") and not step.startswith("</") and not step.endswith("/>")
        )
        depth += 1 if opens else -1 if step == "]" or step.startswith("</") else 0
        current += step
    return found + ([current] if current else [])


def bar(text: str) -> str:
    """The inside of one measure."""
    return "".join(token if token.startswith("<") else note(token) for token in tokens(text))


FIRST = (
    f"<attributes><divisions>{DIVISIONS}</divisions><key><fifths>2</fifths></key>"
    "<time><beats>4</beats><beat-type>4</beat-type></time>"
    "<clef><sign>G</sign><line>2</line></clef></attributes>"
)
"""Attributes of a first bar: D major, 4/4, treble clef."""


def part(bars: list[str], numbers: list[str] | None = None, part_id: str = "P1") -> str:
    """A `<part>`; a number may have attributes behind it: '0" implicit="yes'."""
    numbers = numbers or [str(index) for index in range(1, len(bars) + 1)]
    inside = "".join(
        f'<measure number="{number}">{bar(text)}</measure>'
        for number, text in zip(numbers, bars, strict=True)
    )
    return f'<part id="{part_id}">{inside}</part>'


def score(*parts: str, names: tuple[str, ...] = ("Violin",), head: str = "") -> bytes:
    """A whole document."""
    listed = "".join(
        f'<score-part id="P{index}"><part-name>{name}</part-name></score-part>'
        for index, name in enumerate(names, start=1)
    )
    text = f'<score-partwise version="4.0">{head}<part-list>{listed}</part-list>{"".join(parts)}</score-partwise>'
    return text.encode()


def bars_of(*bars: str, numbers: list[str] | None = None) -> bytes:
    """A score of one violin part; the first bar gets the usual attributes."""
    first, *others = bars
    return score(part([f"{FIRST} {first}", *others], numbers))
