"""The child that converts: music21 makes MusicXML of kern, MEI, MIDI and ABC.

A request is music21's name of the format, and the file. The answer is "score", the MusicXML and what music21 warned of;
or "pieces" and the titles as JSON where it holds several; or "error", what music21 said in words of its own, and as
JSON where it stopped.
"""

from __future__ import annotations

import json
import sys
import warnings
from contextlib import redirect_stderr
from dataclasses import asdict
from io import StringIO
from time import process_time
from typing import Any, Final

from excerpts.system.child.culprit import find_culprit
from excerpts.system.child.serve import serve

_LONGEST: Final = 120
"""Characters of music21's own words that are passed on."""
_QUICK: Final = 2.0
"""Processor time of a conversion that may be tried again with parts of the file, in seconds."""

_MOST_WARNINGS: Final = 4_000


def converted(parts: list[bytes]) -> list[bytes]:
    """Convert one file."""
    reader = parts[0].decode()
    data = parts[1] if reader == "midi" else parts[1].decode()
    heard, start = StringIO(), process_time()
    try:
        with warnings.catch_warnings(), redirect_stderr(heard):
            warnings.simplefilter("ignore")  # they speak of music21's own code, not of the score
            try:
                kind, answer = _converted(reader, data)
            except MemoryError:
                raise
            except Exception as error:  # music21 raises whatever it comes across in broken files
                return _stopped(reader, data, error, search=process_time() - start < _QUICK)
    except RecursionError:
        return [b"error", b"", b"null"]
    return [kind, answer, heard.getvalue()[:_MOST_WARNINGS].encode("utf-8", "replace")]


def _stopped(reader: str, data: Any, error: Exception, *, search: bool) -> list[bytes]:
    """What is said of a file that cannot be converted, and where it stopped if that is to be searched for."""
    from music21.exceptions21 import Music21Exception

    def fails(begin: Any) -> bool:
        try:
            _converted(reader, begin)
        except MemoryError:
            raise
        except Exception as other:
            return (type(other), str(other)) == (type(error), str(error))
        return False

    # Python's own words ("not enough values to unpack") are of no use to a teacher.
    said = " ".join(str(error).split())[:_LONGEST] if isinstance(error, Music21Exception) else ""
    said = "" if "<music21." in said else said
    culprit = find_culprit(reader, data, fails) if search else None
    place = json.dumps(asdict(culprit) if culprit is not None else None)
    return [b"error", said.encode("utf-8", "replace"), place.encode()]


def _converted(reader: str, data: Any) -> tuple[bytes, bytes]:
    from music21 import converter, stream
    from music21.musicxml.m21ToXml import GeneralObjectExporter

    music = converter.parseData(data, format=reader)
    if isinstance(music, stream.Opus):
        titles = [score.metadata.title if score.metadata is not None else None for score in music.scores]
        return b"pieces", json.dumps(titles).encode()
    return b"score", bytes(GeneralObjectExporter(music).parse())


if __name__ == "__main__":
    serve(converted, sys.argv[1:])
