"""The container of a compressed score (.mxl): finds the document in one, bounded, and makes one.

Imported only for compressed files: `zipfile` takes longer to import than a small score takes to read.
"""

from __future__ import annotations

import lzma
import struct
import zipfile
import zlib
from io import BytesIO
from typing import Final

from lxml import etree

from excerpts.errors import ScoreError
from excerpts.musicxml.format import SOFTWARE
from excerpts.score.limits import SIZE_CAP, too_large

_BAD_ZIP: Final = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, EOFError, RuntimeError, ValueError, OSError
)  # fmt: skip
"""What zipfile raises where sizes and places in a container lie (ValueError for one that is before the file)."""


def unzip(data: bytes, name: str, hint: str) -> bytes:
    """The document in a container; `hint` says what to do when there is none in it.

    Raises:
        ScoreError: It is damaged, too large, or holds no score.
    """
    try:
        with zipfile.ZipFile(BytesIO(data)) as box:
            return _member(box, _rootfile(box, name, hint), name)
    except _BAD_ZIP as error:
        raise ScoreError("the compressed score is damaged.", where=name, hint="Export it again.") from error


def _rootfile(box: zipfile.ZipFile, name: str, hint: str) -> str:
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
    raise ScoreError("the compressed file has no score in it.", where=name, hint=hint)


def _member(box: zipfile.ZipFile, member: str, name: str) -> bytes:
    with box.open(member) as file:
        data = file.read(SIZE_CAP + 1)
    if len(data) > SIZE_CAP:
        raise too_large(name)
    return data


_CONTAINER: Final = b"""<?xml version="1.0" encoding="UTF-8"?>
<container>
  <rootfiles>
    <rootfile full-path="score.musicxml" media-type="application/vnd.recordare.musicxml+xml"/>
  </rootfiles>
</container>
"""
_LONG_AGO: Final = (1980, 1, 1, 0, 0, 0)
"""The date of every file inside, so that the same music gives the same bytes."""


def packed(document: bytes) -> bytes:
    """Compress a MusicXML document (W3C MusicXML 4.0, "Compressed .MXL Files")."""
    memory = BytesIO()
    with zipfile.ZipFile(memory, "w") as box:
        media = zipfile.ZipInfo("mimetype", _LONG_AGO)
        box.writestr(media, b"application/vnd.recordare.musicxml", zipfile.ZIP_STORED)
        for name, data in (("META-INF/container.xml", _CONTAINER), ("score.musicxml", document)):
            box.writestr(zipfile.ZipInfo(name, _LONG_AGO), data, zipfile.ZIP_DEFLATED)
        box.comment = SOFTWARE.encode()
    return memory.getvalue()
