"""A few bars typed as ABC, the open text notation, opened like any other score.

music21 reads the ABC and writes MusicXML; it is imported only here, when there is ABC to read.
"""

from __future__ import annotations

from typing import Final

from lxml import etree

from excerpts.errors import ScoreError
from excerpts.score.parse import parse_score
from excerpts.score.score import Score

LONGEST: Final = 4_000
"""Most characters of ABC that are read: some hundred bars."""


def from_abc(text: str, *, title: str = "", name: str = "the typed bars") -> Score:
    """Open music typed as ABC.

    Args:
        text: ABC with or without its header; `X:`, `L:` and `K:` are put in where they are missing
            (quavers, C major).
        title: Title for the score.
        name: What to call it in messages.

    Raises:
        ScoreError: The text is too long, or is not music in ABC.
    """
    if len(text) > LONGEST:
        raise ScoreError(
            f"the ABC is longer than {LONGEST:,} characters.", where=name, hint="Use a score file."
        )
    root = parse_score(_musicxml(_with_header(text), name), name)
    _keep_only_music(root, title)
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


def _musicxml(text: str, name: str) -> bytes:
    from music21 import converter  # noqa: PLC0415 (slow to import)
    from music21.exceptions21 import Music21Exception  # noqa: PLC0415
    from music21.musicxml.m21ToXml import GeneralObjectExporter  # noqa: PLC0415

    try:
        stream = converter.parseData(text, format="abc")
        return bytes(GeneralObjectExporter(stream).parse())
    except (Music21Exception, ValueError, IndexError, KeyError, TypeError, AttributeError) as error:
        raise ScoreError(
            f"the ABC cannot be read ({str(error)[:120]}).",
            where=name,
            hint='Write for example "M:4/4", "K:D" and then "D2 F2 A2 d2 |".',
        ) from error


def _keep_only_music(root: etree._Element, title: str) -> None:
    """Take out what music21 adds of its own: today's date, its name, placeholder titles, page sizes."""
    for tag in ("work", "movement-number", "movement-title", "identification", "defaults", "credit"):
        for element in root.findall(tag):
            root.remove(element)
    if title:
        work = etree.Element("work")
        etree.SubElement(work, "work-title").text = title
        root.insert(0, work)
    for name in root.iterfind("part-list/score-part/part-name"):
        name.text = ""
