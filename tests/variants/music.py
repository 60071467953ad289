"""Short passages for the tests of the variants, in a compact notation."""

from __future__ import annotations

from fractions import Fraction

from excerpts.excerpt import Excerpt
from excerpts.notes import read_line
from tests.notes.lines import pitch
from tests.notes.sources import excerpt

TYPES = {
    Fraction(4): "whole", Fraction(2): "half", Fraction(1): "quarter", Fraction(1, 2): "eighth",
    Fraction(1, 4): "16th", Fraction(1, 8): "32nd",
}  # fmt: skip
DIVISIONS = 24


def start(time: str = "4/4", fifths: int = 0, more: str = "") -> str:
    """Attributes of the first bar, then whatever follows them."""
    beats, unit = time.split("/")
    return (
        f"<attributes><divisions>{DIVISIONS}</divisions><key><fifths>{fifths}</fifths></key>"
        f"<time><beats>{beats}</beats><beat-type>{unit}</beat-type></time>"
        f"<clef><sign>G</sign><line>2</line></clef></attributes>{more}"
    )


def notes(text: str) -> str:
    """Notes as MusicXML, from "C4/1 D4/1/2. (E4/1/4 F4)": pitch, length in quarter notes, marks.

    The length goes on until another is given; "+" joins a chord (C4+E4); "r" is a rest; "(" begins a slur on
    its note, ")" ends one; "~" ties on, also in front of a note that is tied from the bar before; "." is a
    staccato, "^" an up-bow, "v" a down-bow, "!" a trill; "g:" in front makes a grace note; a length of thirds
    makes a triplet.
    """
    length = Fraction(1)
    tied = False
    made: list[str] = []
    for token in text.split():
        tied, token = tied or token.startswith("~"), token.lstrip("~")
        opens, token = token.startswith("("), token.lstrip("(")
        closes, token = token.endswith(")"), token.rstrip(")")
        signs = ""
        while token and token[-1] in ".^v!~":
            signs, token = token[-1] + signs, token[:-1]
        name, _, given = token.partition("/")
        if given:
            length = Fraction(given)
        made.append(_note(name, length, signs, opens, closes, tied))
        tied = "~" in signs
    return "".join(made)


def _note(name: str, length: Fraction, signs: str, opens: bool, closes: bool, tied: bool) -> str:
    grace = name.startswith("g:")
    return "".join(
        _head(
            head,
            length,
            signs if first else signs.replace("(", ""),
            opens and first,
            closes and first,
            tied,
            grace,
            first,
        )
        for first, head in zip([True, *[False] * 9], name.removeprefix("g:").split("+"), strict=False)
    )


def _head(
    name: str,
    length: Fraction,
    signs: str,
    opens: bool,
    closes: bool,
    tied: bool,
    grace: bool,
    first: bool,
) -> str:
    body = "<rest/>" if name == "r" else _pitch(name)
    chord = "" if first else "<chord/>"
    ratio = ""
    written = length
    if length.denominator % 3 == 0:
        written = length * 3 / 2
        ratio = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>"
    dot = ""
    if written not in TYPES:
        written, dot = written * 2 / 3, "<dot/>"
    duration = "" if grace else f"<duration>{length * DIVISIONS}</duration>"
    ties = ("<tie type='stop'/>" if tied else "") + ("<tie type='start'/>" if "~" in signs else "")
    return (
        f"<note>{'<grace/>' if grace else ''}{chord}{body}{duration}{ties}<voice>1</voice>"
        f"<type>{TYPES[written]}</type>{dot}{ratio}{_notations(signs, opens, closes, tied)}</note>"
    )


def _pitch(name: str) -> str:
    made = pitch(name)
    alter = f"<alter>{made.alter}</alter>" if made.alter else ""
    return f"<pitch><step>{made.step}</step>{alter}<octave>{made.octave}</octave></pitch>"


def _notations(signs: str, opens: bool, closes: bool, tied: bool) -> str:
    inside = ("<tied type='stop'/>" if tied else "") + ("<tied type='start'/>" if "~" in signs else "")
    inside += "<slur type='stop' number='1'/>" if closes else ""
    inside += "<slur type='start' number='1'/>" if opens else ""
    inside += "<ornaments><trill-mark/></ornaments>" if "!" in signs else ""
    bow = "<up-bow/>" if "^" in signs else "<down-bow/>" if "v" in signs else ""
    inside += f"<technical>{bow}</technical>" if bow else ""
    inside += "<articulations><staccato/></articulations>" if "." in signs else ""
    return f"<notations>{inside}</notations>" if inside else ""


def passage(
    time: str,
    *bars: str,
    box: tuple[int, int] | None = None,
    beats: tuple[Fraction, Fraction] | None = None,
    fifths: int = 0,
    more: str = "",
) -> Excerpt:
    """An excerpt of bars in the notation of `notes`."""
    first, *others = (notes(bar) for bar in bars)
    return excerpt(start(time, fifths, more) + first, *others, box=box, beats=beats)


def lengths(made: Excerpt) -> list[str]:
    """The lengths of each bar's events as text, rests with a minus: "3/8 1/8 -2"."""
    music = read_line(made)
    result: list[list[str]] = [[] for _ in music.bars]
    for event in music.events:
        if event.grace:
            continue
        bar = max(index for index, bar in enumerate(music.bars) if bar.start <= event.onset)
        result[bar].append(f"{'-' if event.is_rest else ''}{event.duration}")
    return [" ".join(bar) for bar in result]


def pitches(made: Excerpt) -> list[str]:
    """The pitches of all notes in order, chords with "+"."""
    return ["+".join(str(head.pitch) for head in e.heads) for e in read_line(made).events if not e.is_rest]
