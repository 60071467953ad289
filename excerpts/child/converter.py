"""The child that converts: music21 makes MusicXML of kern, MEI, MIDI and ABC.

A request is music21's name of the format, and the file; the answer "score" and the MusicXML, or "pieces" and the titles
as JSON where it holds several, or "error" and what music21 said.
"""

from __future__ import annotations

import json
import sys
import warnings
from typing import Any, Final

from excerpts.child.serve import serve

_LONGEST: Final = 120
"""Characters of music21's own words that are passed on."""


def converted(parts: list[bytes]) -> list[bytes]:
    """Convert one file."""
    reader, data = parts[0].decode(), parts[1]
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # they speak of music21's own code, not of the score
            return _converted(reader, data if reader == "midi" else data.decode())
    except MemoryError:
        raise
    except Exception as error:  # music21 raises whatever it comes across in broken files
        return [b"error", " ".join(str(error).split())[:_LONGEST].encode("utf-8", "replace")]


def _converted(reader: str, data: Any) -> list[bytes]:
    from music21 import converter, stream
    from music21.musicxml.m21ToXml import GeneralObjectExporter

    found = converter.parseData(data, format=reader)
    if isinstance(found, stream.Opus):
        titles = [score.metadata.title if score.metadata is not None else None for score in found.scores]
        return [b"pieces", json.dumps(titles).encode()]
    return [b"score", bytes(GeneralObjectExporter(found).parse())]


if __name__ == "__main__":
    serve(converted, sys.argv[1:])
