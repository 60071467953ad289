"""Opening a score file. Humdrum kern, MEI, MIDI and ABC are converted on the way in.

music21 (https://www.music21.org/) reads them and writes MusicXML, in a child that can be stopped
(`excerpts.system.child.converter`). What it does not bring along is said with every excerpt.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from lxml import etree

from excerpts.errors import ArgumentError, ScoreError
from excerpts.musicxml.format import drop
from excerpts.score.parse import parse_score, parse_xml, read_bytes, unwrap
from excerpts.score.score import Score
from excerpts.system.child import SECONDS, Child, ChildDiedError

FOREIGN_CAP: Final = 2_000_000
"""Largest file that is converted, in bytes: music21 takes about a minute for it."""

_BYTES_A_SECOND: Final = 20_000
"""What music21 reads in a second, at the least."""

_EVENT: Final = re.compile(r"Error in parsing event \('(.*?)'\) at line (\d+)")
_WARNED: Final = re.compile(r"[\w.]+: WARNING: (.{1,200})")

_MOST_TOLD: Final = 5
"""Faults in a file that are told."""

CONVERTER: Final = Child("excerpts.system.child.converter", megabytes=500)

_PLACEHOLDERS: Final = ("Music21 Fragment", "Music21", "Untitled")
"""What music21 writes where a file names no title or composer."""


@dataclass(frozen=True, slots=True)
class Foreign:
    """A format that is converted.

    Attributes:
        name: What it is called.
        reader: What music21 calls it.
        suffixes: Endings of its files.
        lost: What may be missing after the conversion.
    """

    name: str
    reader: str
    suffixes: tuple[str, ...]
    lost: str


KERN: Final = Foreign(
    "Humdrum kern",
    "humdrum",
    (".krn", ".kern"),
    "slurs, fingerings, bowings, dynamics and words may be missing",
)
MEI: Final = Foreign(
    "MEI", "mei", (".mei",), "fingerings, bowings, dynamics, words and tempo marks may be missing"
)
MIDI: Final = Foreign(
    "MIDI",
    "midi",
    (".mid", ".midi"),
    "MIDI has no slurs, bowings, fingerings or dynamics to print, and how notes are spelled and how long they are "
    "written is guessed",
)
ABC: Final = Foreign("ABC", "abc", (".abc",), "fingerings, bowings and decorations may be missing")

FORMATS: Final = (KERN, MEI, MIDI, ABC)


def foreign_format(path: Path, data: bytes) -> Foreign | None:
    """The format of a file that needs converting; None for MusicXML and for what is not known.

    The content decides; only MIDI has to have its own ending too, since it is often renamed by mistake.
    """
    suffix = path.suffix.lower()
    if data.startswith(b"MThd"):
        return MIDI if suffix in MIDI.suffixes else None
    start = data.lstrip(b"\xef\xbb\xbf \r\n\t")[:2000]
    if start.startswith((b"!!!", b"**kern", b"!! ")) and b"**kern" in data:
        return KERN
    if start.startswith((b"X:", b"%abc")):
        return ABC
    if suffix == ".mei" or (start.startswith(b"<") and b"<mei" in start):
        return MEI
    named = next((form for form in FORMATS if suffix in form.suffixes), None)
    if named is not None:
        raise ScoreError(
            f"this is not {named.name}, whatever its ending says.",
            where=str(path),
            hint="Export the score again.",
        )
    return None


def open_foreign(path: Path, data: bytes, form: Foreign) -> Score:
    """Convert a score, with a warning of what may be lost.

    Raises:
        ScoreError: It is too large, or cannot be read.
    """
    name = str(path)
    if len(data) > FOREIGN_CAP:
        raise ScoreError(
            f"the {form.name} file is larger than {FOREIGN_CAP // 1_000_000} MB.",
            where=name,
            hint="Export the movement by itself, or as MusicXML.",
        )
    if not _is_whole(data, form):
        raise ScoreError(
            "the file stops before its end: it was cut off.", where=name, hint="Export it again."
        )
    text = _text(data, form, name)
    if form is ABC:
        root, lost = _abc(str(text), name)
    else:
        xml, lost = convert(text, form, name)
        root = parse_score(xml, name)
    tidy_conversion(root)
    if root.find("part/measure/note") is None:
        raise ScoreError(f"there are no notes in the {form.name} file.", where=name, hint="Export it again.")
    more = [f"{len(lost) - _MOST_TOLD} more things in it cannot be read"] if len(lost) > _MOST_TOLD else []
    return Score(root, name, (f"converted from {form.name}: {form.lost}", *lost[:_MOST_TOLD], *more))


def _abc(text: str, name: str) -> tuple[etree._Element, tuple[str, ...]]:
    """A score in ABC, and what in it is not as it should be, with its line."""
    from excerpts.score.abc import number_bars, set_staves
    from excerpts.score.abc_read import AbcReader

    read = AbcReader(text)
    xml, lost = convert(f"{read.plain}\n", ABC, name)
    root = parse_score(xml, name)
    number_bars(root)
    set_staves(root, read.parts, None)
    return root, (*(f"line {fault.line}: {fault.message}" for fault in read.faults), *lost)


def _is_whole(data: bytes, form: Foreign) -> bool:
    """Whether a file goes to its end: music21 reads what there is of one that was cut off, and says nothing."""
    if form is KERN:
        lines = [line for line in data.splitlines() if line.strip() and not line.startswith(b"!")]
        return lines[-1].startswith(b"*-")
    if form is not MIDI:
        return True
    at = 0
    while at < len(data):
        at += 8 + int.from_bytes(data[at + 4 : at + 8], "big")
    return at == len(data)


def _text(data: bytes, form: Foreign, name: str) -> str | bytes:
    if form is MIDI:
        return data
    if form is MEI:
        return str(etree.tostring(parse_xml(data, name), encoding="unicode"))
    for encoding in ("utf-8-sig", "latin-1"):
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise AssertionError  # latin-1 reads any bytes


def convert(
    text: str | bytes, form: Foreign, name: str, *, numbered: bool = True
) -> tuple[bytes, tuple[str, ...]]:
    """Let music21 make MusicXML, in a process of its own.

    Args:
        text: The score.
        form: Its format.
        name: Name of the file, for messages.
        numbered: Its lines have the numbers that the user sees.

    Returns:
        The MusicXML, and what could not be read in it, in sentences.

    Raises:
        ScoreError: It cannot read the text, takes too long, or finds more than one piece in it.
    """
    data = text.encode("utf-8", "replace") if isinstance(text, str) else text
    try:
        kind, answer, more = CONVERTER.ask(
            form.reader.encode(), data, seconds=SECONDS + len(data) // _BYTES_A_SECOND
        )
    except ChildDiedError as error:
        raise ScoreError(
            f"reading the {form.name} {error.reason}.",
            where=name,
            hint="Something in it may be wrong; export it again, or as MusicXML.",
        ) from error
    import json  # most scores need no conversion

    if kind == b"pieces":
        raise _several(json.loads(answer), form, name)
    if kind == b"error":
        raise ScoreError(
            f"the {form.name} cannot be read: {_stopped(json.loads(more), answer.decode(), numbered)}.",
            where=name,
        )
    return answer, _left_out(more.decode())


def _stopped(place: dict[str, str] | None, said: str, numbered: bool) -> str:
    """Where the conversion stopped, and what was said of it."""
    where = ""
    if place is not None:
        unit, first, last, text = place["unit"], place["first"], place["last"], place["text"]
        quoted = f'"{text}"' if text else ""
        if not first:
            where = f" before the first {unit}"
        elif first != last:
            where = f" between {unit}s {first} and {last}" if numbered else ""
        else:
            where = (
                f" in {', '.join(part for part in (f'{unit} {first}' if numbered else '', quoted) if part)}"
            )
    return f"something is wrong{where}{f' ({said})' if said else ''}"


def _left_out(said: str) -> tuple[str, ...]:
    """What music21 warned of, in sentences: each thing once."""
    sentences: list[str] = []
    for line in said.splitlines():
        if (event := _EVENT.search(line)) is not None:
            sentences.append(f'line {event[2]}: "{event[1]}" cannot be read and is left out')
        elif (warning := _WARNED.match(line)) is not None:
            sentences.append(f"the conversion says: {warning[1]}")
    return tuple(dict.fromkeys(sentences))


def _several(titles: list[str | None], form: Foreign, name: str) -> ScoreError:
    listed = ", ".join(title or "(no title)" for title in titles[:8])
    return ScoreError(
        f"the {form.name} file holds {len(titles)} pieces: {listed}{' …' if len(titles) > 8 else ''}.",
        where=name,
        hint="Put the one you want into a file of its own.",
    )


def tidy_conversion(root: etree._Element) -> None:
    """Take out what music21 adds of its own: today's date, page sizes, placeholder names, ids made by chance."""
    for tag in ("defaults", "credit", "identification/encoding"):
        for element in root.findall(tag):
            drop(element)
    for path in ("work/work-title", "movement-title", "identification/creator"):
        for element in root.findall(path):
            if (element.text or "").strip() in _PLACEHOLDERS:
                drop(element)
    listed = root.findall("part-list/score-part")
    for number, part in enumerate(root.findall("part"), start=1):
        old, new = part.get("id"), f"P{number}"
        part.set("id", new)
        entry = next((entry for entry in listed if entry.get("id") == old), None)
        if entry is not None:
            entry.set("id", new)
            _rename_instruments(entry, part, new)


def _rename_instruments(entry: etree._Element, part: etree._Element, part_id: str) -> None:
    ids: dict[str | None, str] = {}
    for number, instrument in enumerate(entry.findall("score-instrument"), start=1):
        ids[instrument.get("id")] = f"{part_id}-I{number}"
    for owner in (entry, part):
        for element in owner.iter("score-instrument", "midi-instrument", "midi-device", "instrument"):
            if element.get("id") in ids:
                element.set("id", ids[element.get("id")])


def open_score(path: str | Path) -> Score:
    """Open a score file.

    MusicXML (.musicxml, .xml, .mxl; partwise or timewise) is read as it is. Humdrum kern, MEI, MIDI and ABC
    are converted, and the score's warnings say what that may lose.

    Raises:
        ScoreError: The file cannot be read, or holds no score.
        ArgumentError: It is no path.
    """
    if not isinstance(path, str | Path):
        raise ArgumentError(
            f"a score is opened by its path, not by a value of type {type(path).__name__}.",
            hint='Write open_score("minuet.musicxml").',
        )
    path = Path(path)
    data = read_bytes(path)
    form = foreign_format(path, data)
    if form is not None:
        return open_foreign(path, data, form)
    return Score(parse_score(unwrap(data, str(path)), str(path)), str(path))
