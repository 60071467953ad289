"""Writes compressed scores (.mxl)."""

from __future__ import annotations

import zipfile
from io import BytesIO
from typing import Final

from excerpts.musicxml.format import SOFTWARE

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
