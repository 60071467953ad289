"""A few bars typed as ABC, the open text notation, opened like any other score.

Files in ABC are opened by `excerpts.score.foreign`.
"""

from __future__ import annotations

from typing import Final

from lxml import etree

from excerpts.errors import ArgumentError, ScoreError
from excerpts.score.bars import Bars
from excerpts.score.foreign import ABC, convert, tidy_conversion
from excerpts.score.parse import parse_score
from excerpts.score.score import Score

LONGEST: Final = 4_000
"""Most characters of ABC that are read: some hundred bars."""

_EXAMPLE: Final = 'Write for example "M:4/4", "K:D" and then "D2 F2 A2 d2 |".'


def from_abc(text: str, *, title: str = "", name: str = "the typed bars") -> Score:
    """Open music typed as ABC.

    Args:
        text: ABC with or without its header; `X:`, `L:` and `K:` are put in where they are missing
            (quavers, C major).
        title: Title for the score.
        name: What to call it in messages.

    Raises:
        ScoreError: The text is too long, or is not music in ABC.
        ArgumentError: It is no text.
    """
    if not isinstance(text, str):
        raise ArgumentError(f"ABC is a text, and this is of type {type(text).__name__}.")
    if len(text) > LONGEST:
        raise ScoreError(
            f"the ABC is longer than {LONGEST:,} characters.", where=name, hint="Use a score file."
        )
    try:
        data = convert(_with_header(text), ABC, name)
    except ScoreError as error:
        raise ScoreError(error.what, where=name, hint=_EXAMPLE) from error
    root = parse_score(data, name)
    _keep_only_music(root, title)
    _number_from_one(root)
    if not root.findall(".//note"):
        raise ScoreError(
            "there are no notes in the ABC.", where=name, hint='Write for example "D2 F2 A2 d2 |".'
        )
    return Score(root, name)


def _with_header(text: str) -> str:
    lines = [line.strip() for line in text.strip().splitlines() if line.strip()]
    fields = {line[0] for line in lines if len(line) > 1 and line[1] == ":" and line[0].isalpha()}
    front = [default for default in ("X:1", "L:1/8") if default[0] not in fields]
    if "K" not in fields:
        body = next((i for i, line in enumerate(lines) if not (len(line) > 1 and line[1] == ":")), len(lines))
        lines.insert(body, "K:C")
    x_first = sorted(front + lines, key=lambda line: not line.startswith("X:"))
    return "\n".join(x_first) + "\n"


def _keep_only_music(root: etree._Element, title: str) -> None:
    """Take out what the conversion adds of its own, and names that belong to no bars typed in passing."""
    tidy_conversion(root)
    for tag in ("work", "movement-number", "movement-title", "identification"):
        for element in root.findall(tag):
            root.remove(element)
    if title:
        work = etree.Element("work")
        etree.SubElement(work, "work-title").text = title
        root.insert(0, work)
    for name in root.iterfind("part-list/score-part/part-name"):
        name.text = ""


def _number_from_one(root: etree._Element) -> None:
    """Number a full first bar 1: only a pick-up is bar 0, and music21 calls both so."""
    for part in root.findall("part"):
        measures = part.findall("measure")
        if len(measures) < 2 or measures[0].get("number") != "0" or measures[0].get("implicit") == "yes":
            continue
        bars = Bars(part)
        if bars.length(0) == bars.metre(0).length:
            for number, measure in enumerate(measures, start=1):
                measure.set("number", str(number))
        else:
            measures[0].set("implicit", "yes")
