"""Text as ink: letters of the shipped Times-metric face, music characters of the engraver's own font.

The engraver reckons the widths of text with Times metrics and without kerning; so do we. Music characters
(SMuFL, U+E000 to U+F8FF) come from the music font that the engraver's package carries, so that text and
staff always show the same signs. The runs of a text are gathered from nested `tspan`, set, and outlined.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from threading import Lock
from typing import Any, Final

from fontTools.misc.transform import Scale, Transform
from lxml import etree

from excerpts.engrave.svg.ink import Ink, Owner, Paint
from excerpts.engrave.svg.paths import Op, Outline, ellipse, outline_of, read_path, rectangle
from excerpts.engrave.svg.rect import Rect
from excerpts.errors import EngravingError
from excerpts.system.resources import templates

MUSIC_FONT = "Leipzig"
_FACES = {
    (False, False): "Tinos-Regular.ttf",
    (True, False): "Tinos-Bold.ttf",
    (False, True): "Tinos-Italic.ttf",
    (True, True): "Tinos-BoldItalic.ttf",
}
_ACCIDENTALS = {0x266D: 0xE260, 0x266E: 0xE261, 0x266F: 0xE262, 0x1D12A: 0xE263, 0x1D12B: 0xE264}
"""Plain accidental characters, which text faces lack, and the music characters that stand for them."""
_NOTES = {0x2669: "\ueca5", 0x266A: "\ueca7"}
"""Notes as plain characters, which text faces lack, and the notes of metronome marks that stand for them."""
_SIGN_SIZE = 16 / 9
"""Music signs among words have the size of the music: the engraver's words are 9/16 of it."""
_ACCIDENTAL_SIZE = 1.25
"""Accidentals in text are set so much larger than its letters, about as high as its capitals and digits."""
METRONOME_NOTES = frozenset(chr(code) for code in range(0xECA0, 0xECB7))
"""Notes of metronome marks (SMuFL metNoteDoubleWhole to metNote1024thDown)."""
_METRONOME_DOT = "\uecb7"
_DOT_GAP = 0.06
"""White between such a note and its dot, in em of the music font: a quarter of a staff space."""
_MUSIC_SPACE = 0.1
"""Width of the space that the engraver sets between note and dot, in em."""
_DOT_REACH = 0.12
"""A dot keeps clear of what stands so many em above and below its middle: the head, not stem and flag."""
THUMB = "\ue624"
"""The thumb position sign (SMuFL stringsThumbPosition), which the music font lacks: drawn here."""
_READING: Final = Lock()  # a face is one open file, which threads would read at each other's places


@dataclass(frozen=True, slots=True)
class Letter:
    """One character: its outline in em, y downwards, None for white space, and its advance in em."""

    outline: Outline | None
    advance: float


@lru_cache(maxsize=4)
def _face(bold: bool, italic: bool) -> tuple[Any, dict[int, str], Any]:
    from fontTools.ttLib import TTFont

    font = TTFont(templates() / "fonts" / "music" / _FACES[bold, italic], lazy=True)
    # Numbers do for names here; to read the real ones takes longer than all the letters of a page.
    font.setGlyphOrder([f"glyph{number}" for number in range(font["maxp"].numGlyphs)])
    return font, font.getBestCmap(), font.getGlyphSet()


@lru_cache(maxsize=4096)
def _text_letter(code: int, bold: bool, italic: bool) -> Letter | None:
    from fontTools.pens.recordingPen import DecomposingRecordingPen

    with _READING:
        font, names, glyphs = _face(bold, italic)
        if (name := names.get(code)) is None:
            return None
        scale = 1 / font["head"].unitsPerEm
        recording = DecomposingRecordingPen(glyphs)
        glyphs[name].draw(recording)
        outline = outline_of(recording.value).mapped(Scale(scale, -scale)) if recording.value else None
        return Letter(outline, glyphs[name].width * scale)


@lru_cache(maxsize=1)
def _music_fonts() -> Path:
    """Folder of the music fonts that the engraver carries, found without importing it."""
    spec = find_spec("verovio")
    folders = spec.submodule_search_locations if spec is not None else None
    if not folders:
        raise EngravingError("the engraver is not installed.", hint="Install the package again.")
    return Path(folders[0]) / "data"


@lru_cache(maxsize=1)
def _music_signs() -> tuple[dict[str, float], dict[str, str]]:
    """The advance of each music character by its code, and the characters by the names of their glyphs."""
    table = etree.fromstring((_music_fonts() / f"{MUSIC_FONT}.xml").read_bytes())
    em = float(table.get("units-per-em", "1000"))
    signs = [(glyph.get("c", "0"), glyph) for glyph in table.iter("g")]
    advances = {code: float(glyph.get("h-a-x", "0")) / em for code, glyph in signs}
    return advances, {glyph.get("n", ""): chr(int(code, 16)) for code, glyph in signs}


def sign_named(name: str) -> str:
    """The music character of a SMuFL glyph name ("pluckedDamp"), "" where the music font has none."""
    return _music_signs()[1].get(name, "")


@lru_cache(maxsize=512)
def music_letter(code: int) -> Letter | None:
    """A character of the music font, in em (four staff spaces), or None if it has no such character."""
    if chr(code) == THUMB:
        return _thumb()
    name = f"{code:04X}"
    source = _music_fonts() / MUSIC_FONT / f"{name}.xml"
    if not source.is_file():
        return None
    path = etree.fromstring(source.read_bytes()).find(".//{*}path")
    if path is None:
        return Letter(None, _music_signs()[0].get(name, 0.0))
    return Letter(read_path(path.get("d", "")).mapped(Scale(0.001, -0.001)), _music_signs()[0].get(name, 0.5))


def _thumb() -> Letter:
    """An upright oval ring on a short stroke, common practice for the cello's and the bass's thumb."""
    outer = ellipse(0.25, -0.42, 0.2, 0.27).ops
    inner = ellipse(0.25, -0.42, 0.125, 0.195).mapped(Transform(xx=-1.0, dx=0.5)).ops
    stroke: tuple[Op, ...] = (
        ("M", (0.21, -0.2)), ("L", (0.29, -0.2)), ("L", (0.29, 0.06)), ("L", (0.21, 0.06)), ("Z", ()),
    )  # fmt: skip
    return Letter(Outline((*outer, *inner, *stroke)), 0.5)


@lru_cache(maxsize=4096)
def letter(character: str, bold: bool, italic: bool, music: bool) -> Letter | None:
    """One character of a text.

    Args:
        character: The character.
        bold: Whether the text is bold.
        italic: Whether it is italic.
        music: Whether the text is set in the music font.

    Returns:
        The character in em of the text, or None when no shipped face has it.
    """
    code = ord(character)
    if music and character == " ":
        return music_letter(code)
    if character in {" ", "\u00a0", "\u2009", "\u200b"}:
        return Letter(None, {"\u2009": 0.2, "\u200b": 0.0}.get(character, 0.25))
    if music or 0xE000 <= code <= 0xF8FF:
        sign = music_letter(code)
        if sign is not None and not music and character != THUMB:
            beat = character in METRONOME_NOTES
            sign = _resized(sign, _SIGN_SIZE * (_BEAT_SIZE if beat else 1), _BEAT_RISE if beat else 0)
        return sign or _text_letter(code, bold, italic)
    if code in _ACCIDENTALS:
        sign = music_letter(_ACCIDENTALS[code])
        # Raised so that the sign stands on the line of the text and not half below it.
        return _resized(sign, _ACCIDENTAL_SIZE, 0.2) if sign else None
    return _text_letter(code, bold, italic) or music_letter(code)


def _resized(sign: Letter, size: float, rise: float) -> Letter:
    outline = sign.outline.mapped(Transform(size, 0.0, 0.0, size, 0.0, -rise)) if sign.outline else None
    return Letter(outline, sign.advance * size + 0.04)


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of text in one face and size.

    Attributes:
        text: The text.
        size: Size in the units of the drawing.
        bold: It is bold.
        italic: It is italic.
        music: It is set in the music font.
        rise: How far it stands above the baseline.
        gap: White before it.
    """

    text: str
    size: float
    bold: bool = False
    italic: bool = False
    music: bool = False
    rise: float = 0.0
    gap: float = 0.0


@dataclass(frozen=True, slots=True)
class PlacedLetter:
    """One character set: its outline with the map from em to the drawing, or the bare character.

    Attributes:
        character: The character.
        outline: Its outline in em, None where no shipped face has it.
        x: Where it stands.
        y: Its baseline.
        run: The run that it belongs to.
    """

    character: str
    outline: Outline | None
    x: float
    y: float
    run: Run


def set_line(runs: list[Run], x: float, y: float, anchor: str = "start") -> tuple[list[PlacedLetter], float]:
    """Set runs one after the other on one baseline.

    Args:
        runs: What to set.
        x: Where the line starts, has its middle or ends.
        y: Baseline.
        anchor: "start", "middle" or "end".

    Returns:
        The characters that show, and the width of the line.
    """
    placed: list[PlacedLetter] = []
    at = 0.0
    for run in runs:
        at += run.gap
        for character in unicodedata.normalize("NFC", run.text.translate(_NOTES)):
            sign = letter(character, run.bold, run.italic, run.music)
            if character == _METRONOME_DOT and placed and sign is not None:
                dot = _beside_head(placed[-1], run)
                placed.append(PlacedLetter(character, sign.outline, dot, y - run.rise, run))
                at = max(dot, at - _MUSIC_SPACE * run.size) + sign.advance * run.size
                continue
            if sign is None:
                placed.append(PlacedLetter(character, None, at, y - run.rise, run))
                wide = unicodedata.east_asian_width(character) in {"W", "F"}
                at += run.size * (1.0 if wide else 0.5)
                continue
            if sign.outline is not None:
                placed.append(PlacedLetter(character, sign.outline, at, y - run.rise, run))
            at += sign.advance * run.size
    shift = x - at * {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
    return [PlacedLetter(p.character, p.outline, p.x + shift, p.y, p.run) for p in placed], at


def _beside_head(note: PlacedLetter, run: Run) -> float:
    """Where the dot of a metronome mark stands: close to the head of its note, under a flag."""
    ops = note.outline.ops if note.outline else ()
    points = [(values[index], values[index + 1]) for _, values in ops for index in range(0, len(values), 2)]
    head = [x for x, y in points if abs(y) < _DOT_REACH]
    return note.x + (max(head, default=0.0) + _DOT_GAP) * run.size


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
    element: etree._Element, place: Transform, owner: Owner, face: Run, colour: str, *, upright: bool = False
) -> list[Ink]:
    """Outline one `<text>`.

    Args:
        element: The element.
        place: Transform from its units to millimetres.
        owner: What the text belongs to.
        face: The face of its group.
        colour: Colour of the source, "" for the style's.
        upright: No letters are italic, whatever the text says.

    Returns:
        One ink for each character that shows; characters that no shipped face has come as fallback text.
    """
    lines: list[_Line] = []
    _gather(element, face, lines, _Line(0.0, 0.0, "start"))
    inks: list[Ink] = []
    for line in lines:
        runs = [replace(run, italic=run.italic and not upright) for run in line.runs if run.size and run.text]
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
            text = run.text.lstrip(_BLANK)
            run = replace(run, text=text, gap=white * sign.size / 4 + _overhang(text, run))
        result.append(run)
    return result


def _overhang(text: str, run: Run) -> float:
    """How far the first sign of a run reaches left of where it stands: the tail of an f does."""
    sign = letter(text[:1], run.bold, run.italic, run.music) if text else None
    box = sign.outline.box if sign is not None and sign.outline is not None else None
    return max(-box.left, 0.0) * run.size if box is not None else 0.0


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
