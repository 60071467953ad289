"""Text of the engraving as ink: runs are gathered from nested `tspan`, set, and outlined."""

from __future__ import annotations

import re
from dataclasses import replace

from fontTools.misc.transform import Transform
from lxml import etree

from excerpts.engrave.svg.ink import Ink, Owner, Paint
from excerpts.engrave.svg.letters import METRONOME_NOTES, MUSIC_FONT, PlacedLetter, Run, set_line
from excerpts.engrave.svg.paths import rectangle
from excerpts.engrave.svg.rect import Rect

_SPACES = re.compile(r"[ \t\r\n]+")
_ROMAN = frozenset("IVX")
_BLANK = " \u00a0"
_BESIDE_DYNAMIC = 0.8
"""White between a dynamic and its words, in staff spaces; common practice, no source."""
_BESIDE_BRACKET = 0.15
"""White between a dynamic and the bracket round it, in staff spaces."""
_BEAT_SIZE = 0.8
"""Size of the note of a metronome mark against the notes of the music; common practice, no source."""
_BEAT_RISE = 0.11
"""So much its head is raised, in em of the music font, to stand on the line of the text."""


class _Line:
    """Runs that share one starting point."""

    def __init__(self, x: float, y: float, anchor: str) -> None:
        self.x = x
        self.y = y
        self.anchor = anchor
        self.runs: list[Run] = []


def text_inks(
    element: etree._Element, place: Transform, owner: Owner, bold: bool, italic: bool, colour: str
) -> list[Ink]:
    """Outline one `<text>`.

    Args:
        element: The element.
        place: Transform from its units to millimetres.
        owner: What the text belongs to.
        bold: Whether its group is bold.
        italic: Whether its group is italic.
        colour: Colour of the source, "" for the style's.

    Returns:
        One ink for each character that shows; characters that no shipped face has come as fallback text.
    """
    lines: list[_Line] = []
    _gather(element, Run("", 0.0, bold, italic), lines, _Line(0.0, 0.0, "start"))
    inks: list[Ink] = []
    for line in lines:
        runs = [run for run in line.runs if run.size > 0 and run.text]
        if owner.kind == "fing" and runs and all(set(run.text) <= _ROMAN for run in runs):
            # A string number is a word of another kind than the finger below it: set light.
            runs = [replace(run, bold=False) for run in runs]
            owner = owner._replace(kind="string")
        elif owner.kind == "dynam":
            runs = _words_apart(runs)
        elif owner.kind in {"tempo", "dir"}:
            runs = [_small_beat(run) for run in runs]
        for placed in set_line(runs, line.x, line.y, line.anchor)[0]:
            inks.append(letter_ink(placed, place, owner, colour))
    return inks


def _words_apart(runs: list[Run]) -> list[Run]:
    """Set white between a dynamic and words of the same direction: the engraver glues them together."""
    result: list[Run] = []
    for run in runs:
        before = result[-1] if result else None
        if before is not None and before.music != run.music:
            sign, words = (run, before) if run.music else (before, run)
            white = _BESIDE_DYNAMIC if any(map(str.isalnum, words.text)) else _BESIDE_BRACKET
            result[-1] = replace(before, text=before.text.rstrip(_BLANK))
            run = replace(run, text=run.text.lstrip(_BLANK), gap=white * sign.size / 4)
        result.append(run)
    return result


def _small_beat(run: Run) -> Run:
    """The note of a metronome mark: smaller than the music's, on the line of the text."""
    if not run.music or not any(character in METRONOME_NOTES for character in run.text):
        return run
    size = run.size * _BEAT_SIZE
    return replace(run, size=size, rise=run.rise + _BEAT_RISE * size)


def letter_ink(placed: PlacedLetter, place: Transform, owner: Owner, colour: str = "") -> Ink:
    """The ink of one character that has been set."""
    size = placed.run.size
    here = place.transform(Transform(size, 0.0, 0.0, size, placed.x, placed.y))
    if placed.outline is None:
        box = rectangle(Rect(0.0, -0.8, 0.9, 0.15))
        return Ink(box, here, owner, Paint(colour=colour), placed.character)
    return Ink(placed.outline, here, owner, Paint(colour=colour))


def _gather(element: etree._Element, outer: Run, lines: list[_Line], before: _Line) -> None:
    if element.get("visibility") == "hidden":
        return
    run = _styled(element, outer)
    if element.get("x") is not None or element.get("y") is not None or not lines:
        last = lines[-1] if lines else before
        x = float(element.get("x", last.x if lines else 0.0))
        y = float(element.get("y", last.y))
        lines.append(_Line(x, y, element.get("text-anchor", last.anchor)))
    _add(lines[-1], element.text, run)
    for child in element:
        if isinstance(child.tag, str):
            _gather(child, run, lines, before)
        _add(lines[-1], child.tail, run)


def _styled(element: etree._Element, outer: Run) -> Run:
    size = element.get("font-size")
    weight, slope, family = (element.get(f"font-{name}") for name in ("weight", "style", "family"))
    shift = element.get("baseline-shift")
    now = float(size.removesuffix("px")) if size else outer.size
    rise = outer.rise
    if shift in {"super", "sub"}:
        rise += now * (0.33 if shift == "super" else -0.2)
    return Run(
        "",
        now,
        outer.bold if weight is None else weight == "bold",
        outer.italic if slope is None else slope in {"italic", "oblique"},
        outer.music if family is None else MUSIC_FONT in family,
        rise,
    )


def _add(line: _Line, text: str | None, run: Run) -> None:
    if not text:
        return
    flat = _SPACES.sub(" ", text)
    if flat.startswith(" ") and (not line.runs or line.runs[-1].text.endswith(" ")):
        flat = flat[1:]
    if flat and run.size > 0:
        line.runs.append(Run(flat, run.size, run.bold, run.italic, run.music, run.rise))
