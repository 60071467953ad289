"""A small picture of the note that beats, drawn by ourselves so that text faces need no music signs."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from urllib.parse import quote

from excerpts.words import Words

_NAMES = {
    Fraction(4): "whole",
    Fraction(2): "half",
    Fraction(1): "quarter",
    Fraction(1, 2): "eighth",
    Fraction(1, 4): "16th",
    Fraction(1, 8): "32nd",
}
_FLAG = "M11.9 {y} c0 6 7 7.5 7 15 c0 2.6 -.8 4.6 -1.8 6.2 c1.2 -7.4 -1.6 -9.8 -5.2 -10.6 z"
_HEIGHT = 36
_FILLED = '<ellipse cx="6.4" cy="30.5" rx="6.3" ry="4.5" transform="rotate(-24 6.4 30.5)"/>'
_HOLLOW = (
    '<path fill-rule="evenodd" transform="rotate(-24 6.4 30.5)" '
    'd="M.1 30.5 a6.3 4.5 0 1 0 12.6 0 a6.3 4.5 0 1 0 -12.6 0 z'
    'M1.2 30.5 a5.2 2.2 0 1 0 10.4 0 a5.2 2.2 0 1 0 -10.4 0 z"/>'
)


@dataclass(frozen=True, slots=True)
class Beat:
    """The note that a metronome number counts.

    Attributes:
        name: Its name in words ("dotted crotchet").
        src: Address of its picture; empty where there is none, and the name is printed.
        width: Width of the picture for a height of 1.
    """

    name: str
    src: str = ""
    width: float = 0.0


def beat(unit: Fraction, words: Words) -> Beat:
    """The beat of `unit` quarter notes, with its picture where it is one plain or dotted note."""
    dotted = unit not in _NAMES and unit * Fraction(2, 3) in _NAMES
    plain = unit * Fraction(2, 3) if dotted else unit
    if plain not in _NAMES:
        return Beat(f"{unit} × {words('note.quarter')}")
    name = words(f"note.{_NAMES[plain]}")
    if dotted:
        name = words("note.dotted", note=name)
    if plain > 2:
        return Beat(name)
    flags = {Fraction(1, 2): 1, Fraction(1, 4): 2, Fraction(1, 8): 3}.get(plain, 0)
    width = 13 + (6 if flags else 0) + (4 if dotted and not flags else 0)
    parts = [_HOLLOW if plain == 2 else _FILLED, '<rect x="10.7" y="1" width="1.5" height="28"/>']
    parts += [f'<path d="{_FLAG.format(y=1 + 6.5 * n)}"/>' for n in range(flags)]
    if dotted:
        parts.append('<circle cx="18.6" cy="28.6" r="2.7"/>')
        width = max(width, 22)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{_HEIGHT}" '
        f'viewBox="0 0 {width} {_HEIGHT}">{"".join(parts)}</svg>'
    )
    return Beat(name, "data:image/svg+xml," + quote(svg), width / _HEIGHT)
