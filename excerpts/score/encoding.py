"""Why the text of a score file cannot be read: it is not in the encoding that its first line declares.

XML 1.0, 4.3.3: a document without a declared encoding is UTF-8, or UTF-16 with its mark at the front.
"""

from __future__ import annotations

import codecs
import re
from typing import Final

_DECLARED: Final = re.compile(rb"<\?xml[^>]{0,80}?encoding\s*=\s*[\"']([A-Za-z0-9._:-]{1,40})[\"']")
_WIDE: Final = re.compile(r"utf-?16|utf-?32|ucs-?[24]|10646", re.IGNORECASE)
"""Encodings in which every plain letter has a zero byte."""
_HEAD: Final = 200


def wrong_encoding(data: bytes) -> tuple[str, str] | None:
    """What is wrong with the encoding of a document, and what would be right; None where it is as declared.

    Args:
        data: The document, which could not be read.
    """
    plain = data.removeprefix(codecs.BOM_UTF8)
    if b"\0" in plain[:_HEAD] or plain.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return None
    found = _DECLARED.match(plain)
    declared = found[1].decode("ascii") if found else ""
    said = (
        f"the file declares that it is written in {declared}" if declared else "the file declares no encoding"
    )
    if _WIDE.search(declared):
        return f"{said}, but its text is 8-bit: the declared encoding is wrong.", _write_right(plain)
    try:
        plain.decode(declared or "utf-8")
    except LookupError:
        return f"{said}, which is not a known encoding.", _write_right(plain)
    except UnicodeDecodeError as error:
        if error.reason == "unexpected end of data":
            return None
        line = plain.count(b"\n", 0, error.start) + 1
        told = said if declared else f"{said}, which means UTF-8"
        wrong = "the declared encoding is wrong" if declared else "it has to declare its encoding"
        return f"{told}, but a byte in line {line} does not belong to it: {wrong}.", _write_right(plain)
    return None


def _write_right(data: bytes) -> str:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "Export the score again as MusicXML, in UTF-8."
    return 'Write encoding="UTF-8" in its first line, or export the score again.'
