"""From a path to the bytes of one MusicXML document, with every check that a stranger's file needs.

Nothing is fetched and nothing is unpacked to disk; sizes are bounded before they are read.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from excerpts.errors import ScoreError
from excerpts.score.limits import SIZE_CAP, too_large

_KNOWN_STRANGERS: Final = (
    (b"MThd", "it is a MIDI file under another name"),
    (b"%PDF", "it is a PDF: a picture of the music, not the music itself"),
    (b"\x89PNG", "it is a picture"),
    (b"\xff\xd8\xff", "it is a picture"),
)
"""First bytes of files that get renamed by mistake, and what to call them."""

_WANTED: Final = "Export the score as MusicXML (.musicxml, .xml or .mxl) and use that file."


def read_bytes(path: Path) -> bytes:
    """Read a file whole, as far as it is no larger than any score.

    Raises:
        ScoreError: There is no such file, it is too large, or it cannot be read.
    """
    if not path.exists():
        raise ScoreError("there is no such file.", where=str(path), hint="Check the name and the folder.")
    if not path.is_file():
        raise ScoreError("this is not a file.", where=str(path), hint="Name the score file itself.")
    try:
        if path.stat().st_size > SIZE_CAP:
            raise too_large(str(path))
        return path.read_bytes()
    except OSError as error:
        raise ScoreError(f"the file cannot be read ({error.strerror}).", where=str(path)) from error


def unwrap(data: bytes, name: str) -> bytes:
    """Give the MusicXML document in `data`, out of its container when it is compressed.

    Args:
        data: What stands in a .musicxml, .xml or .mxl file. The content decides, not the ending.
        name: Name of the file, for messages.

    Returns:
        The bytes of the document in whatever encoding it declares.

    Raises:
        ScoreError: It is too large, or holds no MusicXML document.
    """
    if not data or data.isspace():
        raise ScoreError("the file is empty.", where=name, hint=_WANTED)
    for start, what in _KNOWN_STRANGERS:
        if data.startswith(start):
            raise ScoreError(f"this is not MusicXML: {what}.", where=name, hint=_WANTED)
    if not data.startswith(b"PK"):
        return data
    from excerpts.score.container import unzip

    return unzip(data, name, _WANTED)
