"""Small music for the engraving tests, written as short words.

A bar is words like "C5:q" (quarter), "F#4:e." (dotted eighth), "R:h" (rest), "Bb3:w"; chords "C4+E4:q".
After a second colon come marks, apart by commas: "C5:q:up,3,II,slur,f". What a word cannot say is given as
XML in angle brackets, as one word of the list.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from excerpts.excerpt import BarRef, Box, Excerpt, OpenEnd, Origin, Position

_LENGTHS = {"w": ("whole", 32), "h": ("half", 16), "q": ("quarter", 8), "e": ("eighth", 4), "s": ("16th", 2)}
_TECHNICAL = {
    "up": "<up-bow/>", "down": "<down-bow/>", "open": "<open-string/>", "thumb": "<thumb-position/>",
    "I": "<string>1</string>", "II": "<string>2</string>", "III": "<string>3</string>", "IV": "<string>4</string>",
}  # fmt: skip
_NOTATIONS = {
    "slur": '<slur type="start" number="1"/>', "/slur": '<slur type="stop" number="1"/>',
    "tie": '<tied type="start"/>', "/tie": '<tied type="stop"/>', "fermata": "<fermata/>",
    "stacc": "<articulations><staccato/></articulations>", "trill": "<ornaments><trill-mark/></ornaments>",
}  # fmt: skip
_DYNAMICS = frozenset({"pp", "p", "mf", "f", "ff", "fp"})
TREBLE, ALTO, BASS = ("G", 2), ("C", 3), ("F", 4)


def _pitch(name: str) -> str:
    if name == "R":
        return "<rest/>"
    step, octave = name[0], name[-1]
    alter = {"": "", "#": "<alter>1</alter>", "b": "<alter>-1</alter>"}[name[1:-1]]
    return f"<pitch><step>{step}</step>{alter}<octave>{octave}</octave></pitch>"


def _marks(marks: list[str]) -> tuple[str, str, str]:
    """What stands before the note, in its notations, and after them."""
    before = after = notations = technical = ""
    for mark in marks:
        if mark in _DYNAMICS:
            before += (
                f'<direction placement="below"><direction-type><dynamics><{mark}/></dynamics>'
                "</direction-type></direction>"
            )
        elif mark in _NOTATIONS:
            notations += _NOTATIONS[mark]
        elif mark in _TECHNICAL:
            technical += _TECHNICAL[mark]
        elif mark.isdecimal():
            technical += f"<fingering>{mark}</fingering>"
        elif mark.startswith("'"):
            after += f"<lyric><syllabic>single</syllabic><text>{mark[1:]}</text></lyric>"
        elif mark.startswith('"'):
            words = mark[1:].replace("_", " ")
            before += (
                f'<direction placement="above"><direction-type><words>{words}</words>'
                "</direction-type></direction>"
            )
        else:
            raise ValueError(mark)
    if technical:
        notations += f"<technical>{technical}</technical>"
    return before, f"<notations>{notations}</notations>" if notations else "", after


def note(word: str) -> tuple[str, int]:
    """One word as MusicXML, and its length in eighths of a quarter."""
    names, length, *rest = word.split(":", 2)
    kind, ticks = _LENGTHS[length[0]]
    dots = length.count(".")
    ticks = ticks * 3 // 2 if dots else ticks
    before, notations, after = _marks(rest[0].split(",") if rest else [])
    xml = before
    for index, name in enumerate(names.split("+")):
        accidental = {"#": "<accidental>sharp</accidental>", "b": "<accidental>flat</accidental>"}
        xml += (
            f"<note>{'<chord/>' if index else ''}{_pitch(name)}<duration>{ticks}</duration><voice>1</voice>"
            f"<type>{kind}</type>{'<dot/>' * dots}{accidental.get(name[1:-1], '')}"
            f"{notations if not index else ''}{after if not index else ''}</note>"
        )
    return xml, ticks


def excerpt(
    bars: Sequence[str | Sequence[str]],
    boxes: Sequence[tuple[int, Fraction | int, int, Fraction | int | None]] = (),
    *,
    first: int = 1,
    labels: Sequence[str] = (),
    clef: tuple[str, int] = TREBLE,
    fifths: int = 0,
    time: tuple[int, int] = (4, 4),
    open_ends: Sequence[OpenEnd] = (),
    implicit: frozenset[int] = frozenset(),
) -> Excerpt:
    """Build an excerpt.

    Args:
        bars: Each bar as one string of words, or as a list of words and XML.
        boxes: (bar, onset, bar, onset or None for the end of the bar), bars from 0.
        first: Number of the first bar.
        labels: Numbers of the bars, instead of counting from `first`.
        clef: Sign and line.
        fifths: Key signature.
        time: Time signature.
        open_ends: As in the excerpt.
        implicit: Bars that print no number.
    """
    refs: list[BarRef] = []
    parts: list[str] = []
    start = Fraction(0)
    for index, bar in enumerate(bars):
        label = labels[index] if labels else str(first + index)
        xml, ticks = "", 0
        for word in bar.split() if isinstance(bar, str) else bar:
            text, length = (word, 0) if word.startswith("<") else note(word)
            xml, ticks = xml + text, ticks + length
        attributes = "" if index else (
            f"<attributes><divisions>8</divisions><key><fifths>{fifths}</fifths><mode>major</mode></key>"
            f"<time><beats>{time[0]}</beats><beat-type>{time[1]}</beat-type></time>"
            f"<clef><sign>{clef[0]}</sign><line>{clef[1]}</line></clef></attributes>"
        )  # fmt: skip
        hidden = ' implicit="yes"' if index in implicit else ""
        parts.append(f'<measure number="{label}"{hidden}>{attributes}{xml}</measure>')
        refs.append(BarRef(index + 1, label, start, Fraction(ticks, 8)))
        start += Fraction(ticks, 8)
    document = (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Violin</part-name></score-part>'
        f'</part-list><part id="P1">{"".join(parts)}</part></score-partwise>'
    )
    placed = tuple(
        Box(
            Position(a, Fraction(onset)),
            Position(b, refs[b].length if end is None else Fraction(end)),
        )
        for a, onset, b, end in boxes
    )
    origin = Origin(part="Violin", address=f"{first}")
    return Excerpt(document.encode(), tuple(refs), placed, tuple(open_ends), origin=origin)
