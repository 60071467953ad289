"""The kinds of files that the commands write: for each ending what writes it.

Nothing heavy is imported before it is needed: a cut to MusicXML engraves nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from excerpts.musicxml.format import SOFTWARE

if TYPE_CHECKING:
    from excerpts.cli.write_sheet import Sheet
    from excerpts.excerpt import Excerpt

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
    import zipfile
    from io import BytesIO

    memory = BytesIO()
    with zipfile.ZipFile(memory, "w") as box:
        media = zipfile.ZipInfo("mimetype", _LONG_AGO)
        box.writestr(media, b"application/vnd.recordare.musicxml", zipfile.ZIP_STORED)
        for name, data in (("META-INF/container.xml", _CONTAINER), ("score.musicxml", document)):
            box.writestr(zipfile.ZipInfo(name, _LONG_AGO), data, zipfile.ZIP_DEFLATED)
        box.comment = SOFTWARE.encode()
    return memory.getvalue()


def _midi(excerpt: Excerpt) -> bytes:
    from excerpts.sound.midi import write_midi

    return write_midi(excerpt)


def _midi_with_drone(excerpt: Excerpt) -> bytes:
    from excerpts.warmups.drone import drone_of, with_drone_track

    drone = drone_of(excerpt)
    return with_drone_track(_midi(excerpt), drone) if drone else _midi(excerpt)


def _xml_with_drone(excerpt: Excerpt) -> bytes:
    from excerpts.warmups.drone import drone_of, with_drone_part

    drone = drone_of(excerpt)
    return with_drone_part(excerpt, drone) if drone else excerpt.xml


def _stacked(sheet: Sheet) -> bytes:
    from excerpts.engrave import stack_svg

    music = [music for _, _, music in sheet.blocks if music is not None]
    return stack_svg(music, headings=[heading for heading, _, music in sheet.blocks if music is not None])


def _paged(sheet: Sheet) -> bytes:
    from excerpts.workbook import build_sheet

    look = sheet.look
    return build_sheet(
        sheet.blocks, paper=look.paper, title=sheet.title, words=look.words, copied=sheet.copied
    )


MUSIC: Final[dict[str, Callable[[Excerpt], bytes]]] = {
    ".musicxml": lambda excerpt: excerpt.xml,
    ".mxl": lambda excerpt: packed(excerpt.xml),
    ".mid": _midi,
}
"""Files that hold one excerpt."""

WARMUPS: Final[dict[str, Callable[[Excerpt], bytes]]] = {
    ".musicxml": _xml_with_drone,
    ".mxl": lambda excerpt: packed(_xml_with_drone(excerpt)),
    ".mid": _midi_with_drone,
}
"""Files that hold one warm-up, with its drone where it has one."""

SHEETS: Final[dict[str, Callable[[Sheet], bytes]]] = {".svg": _stacked, ".pdf": _paged}
"""Files in which any number of excerpts or warm-ups is drawn."""
