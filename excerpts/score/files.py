"""From a path to the bytes of one MusicXML document, with every check that a stranger's file needs.

Nothing is fetched and nothing is unpacked to disk; sizes are bounded before they are read.
"""

from __future__ import annotations

import lzma
import struct
import zipfile
import zlib
from io import BytesIO
from pathlib import Path
from typing import Final

from lxml import etree

from excerpts.errors import ScoreError
from excerpts.score.limits import SIZE_CAP, too_large

_KNOWN_STRANGERS: Final = (
    (b"MThd", "it is a MIDI file under another name"),
    (b"%PDF", "it is a PDF: a picture of the music, not the music itself"),
    (b"\x89PNG", "it is a picture"),
    (b"\xff\xd8\xff", "it is a picture"),
)
"""First bytes of files that get renamed by mistake, and what to call them."""

_BAD_ZIP: Final = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, EOFError, RuntimeError, ValueError, OSError
)  # fmt: skip
"""What zipfile raises where sizes and places in a container lie (ValueError for one that is before the file)."""

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
    if not data.strip():
        raise ScoreError("the file is empty.", where=name, hint=_WANTED)
    for start, what in _KNOWN_STRANGERS:
        if data.startswith(start):
            raise ScoreError(f"this is not MusicXML: {what}.", where=name, hint=_WANTED)
    return _unzip(data, name) if data.startswith(b"PK") else data


def _unzip(data: bytes, name: str) -> bytes:
    try:
        with zipfile.ZipFile(BytesIO(data)) as box:
            return _member(box, _rootfile(box, name), name)
    except _BAD_ZIP as error:
        raise ScoreError("the compressed score is damaged.", where=name, hint="Export it again.") from error


def _rootfile(box: zipfile.ZipFile, name: str) -> str:
    """Name of the score inside the container: the first rootfile, as the format says (W3C MusicXML 4.0)."""
    names = box.namelist()
    if "META-INF/container.xml" in names:
        container = _member(box, "META-INF/container.xml", name)
        parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
        try:
            root = etree.fromstring(container, parser)
        except etree.XMLSyntaxError as error:
            raise ScoreError("the container in the compressed score is damaged.", where=name) from error
        for element in root.iter("{*}rootfile"):
            full = element.get("full-path", "")
            if full in names:
                return full
    for candidate in names:
        inner = candidate.startswith(("META-INF/", "__MACOSX/"))
        if not inner and candidate.lower().endswith((".xml", ".musicxml")):
            return candidate
    raise ScoreError("the compressed file has no score in it.", where=name, hint=_WANTED)


def _member(box: zipfile.ZipFile, member: str, name: str) -> bytes:
    with box.open(member) as file:
        data = file.read(SIZE_CAP + 1)
    if len(data) > SIZE_CAP:
        raise too_large(name)
    return data
