"""From a path to a tree of `<score-partwise>`: sizes bounded, no entities, no network, timewise turned around."""

from __future__ import annotations

import codecs
import re
from copy import deepcopy
from pathlib import Path
from typing import Final

from lxml import etree

from excerpts.errors import ScoreError
from excerpts.score.limits import SIZE_CAP, check_bars, check_bytes, check_counts, too_large

_KNOWN_STRANGERS: Final = (
    (b"MThd", "it is a MIDI file under another name"),
    (b"%PDF", "it is a PDF: a picture of the music, not the music itself"),
    (b"\x89PNG", "it is a picture"),
    (b"\xff\xd8\xff", "it is a picture"),
)
"""First bytes of files that get renamed by mistake, and what to call them."""

_WANTED: Final = "Export the score as MusicXML (.musicxml, .xml or .mxl) and use that file."


def read_bytes(path: Path) -> bytes:
    """Read a whole file, unless it is larger than any score.

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
    """Give the MusicXML document in `data`, out of its container when it is compressed: the content decides.

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


_DECLARED: Final = re.compile(rb"<\?xml[^>]{0,80}?encoding\s*=\s*[\"']([A-Za-z0-9._:-]{1,40})[\"']")
_WIDE: Final = re.compile(r"utf-?16|utf-?32|ucs-?[24]|10646", re.IGNORECASE)
"""Encodings in which every plain letter has a zero byte."""
_HEAD: Final = 200


def wrong_encoding(data: bytes) -> tuple[str, str] | None:
    """What is wrong with the encoding of a document, and what would be right; None where it is as declared."""
    plain = data.removeprefix(codecs.BOM_UTF8)
    if b"\0" in plain[:_HEAD] or plain.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return None
    match = _DECLARED.match(plain)
    declared = match[1].decode("ascii") if match else ""
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
        meant = said if declared else f"{said}, which means UTF-8"
        wrong = "the declared encoding is wrong" if declared else "it has to declare its encoding"
        return f"{meant}, but a byte in line {line} does not belong to it: {wrong}.", _write_right(plain)
    return None


def _write_right(data: bytes) -> str:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "Export the score again as MusicXML, in UTF-8."
    return 'Write encoding="UTF-8" in its first line, or export the score again.'


_ROOTS: Final = {
    "opus": "it is a list of other scores (opus): open one of those",
    "sounds": "it is a table of sounds",
    "container": "it is the container of a compressed score",
    "html": "it is a web page",
    "mei": "it is MEI",
}

_REFERENCE: Final = re.compile(rb"&(?!(?:amp|lt|gt|quot|apos);|#)")
"""A reference to an entity that XML itself does not define; the tree is looked through for one only then."""
_PLAIN: Final = ("utf-8", "us-ascii", "ascii", "iso-8859-1", "latin-1", "windows-1252")
"""Encodings in which "&" and "<" are these bytes and nothing else is."""


def parse_score(data: bytes, name: str) -> etree._Element:
    """Parse a MusicXML document, in the encoding that it declares.

    Returns:
        The `<score-partwise>` element, without namespaces, comments or processing instructions.

    Raises:
        ScoreError: The document is not well formed, defines entities, or is not a MusicXML score.
    """
    root, plain = _checked(data, name)
    _strip_namespaces(root)
    if root.tag == "score-timewise":
        root = _turned_around(root, name)
    if root.tag != "score-partwise":
        what = _ROOTS.get(str(root.tag).lower(), f"its first element is <{str(root.tag)[:40]}>")
        raise ScoreError(
            f"this is XML but not a MusicXML score: {what}.",
            where=name,
            hint="Export the score as MusicXML and use that file.",
        )
    check_bars(root, name, data if plain else b"")
    return root


def parse_xml(data: bytes, name: str) -> etree._Element:
    """Parse XML from a stranger: no network, no entities, no comments.

    Raises:
        ScoreError: It is too large, is not well formed, or defines entities.
    """
    return _checked(data, name)[0]


def _checked(data: bytes, name: str) -> tuple[etree._Element, bool]:
    """The tree of a document, and whether its letters are plain bytes."""
    check_bytes(data, name)
    root = _parse(data, name)
    plain = (root.getroottree().docinfo.encoding or "utf-8").lower() in _PLAIN
    _refuse_entities(root, data, name, plain)
    return root, plain


def _parse(data: bytes, name: str) -> etree._Element:
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        remove_comments=True,
        remove_pis=True,
        remove_blank_text=True,
    )
    try:
        return etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        if b"<!ENTITY" in data.replace(b"\0", b""):
            raise _entities(name) from error
        if (encoding := wrong_encoding(data)) is not None:
            raise ScoreError(encoding[0], where=name, hint=encoding[1]) from error
        line = f", line {error.lineno}" if error.lineno else ""
        cut_short = "wise>".encode(_width(data)) not in data[-400:]
        if not data.lstrip(b"\xef\xbb\xbf\xff\xfe \r\n\t").startswith((b"<", b"\x00<")):
            what = "this is not XML."
        elif "depth" in str(error):
            what = "its elements are nested deeper than in any score."
        elif cut_short:
            what = "the file stops before its end: it was cut off, or is not well-formed XML."
        else:
            what = f"this is not well-formed XML ({str(error).split(', line')[0][:200]})."
        raise ScoreError(
            what, where=f"{name}{line}", hint="Export the score as MusicXML again and use that file."
        ) from error


def _width(data: bytes) -> str:
    """The encoding of plain letters in a document: enough to look for its last tag."""
    if data.startswith((b"\xff\xfe", b"<\x00")):
        return "utf-16-le"
    return "utf-16-be" if data.startswith((b"\xfe\xff", b"\x00<")) else "ascii"


def _refuse_entities(root: etree._Element, data: bytes, name: str, plain: bool) -> None:
    """A score defines no entities of its own; a file that does is refused, not expanded."""
    doctype = root.getroottree().docinfo.internalDTD
    if doctype is not None and any(True for _ in doctype.iterentities()):
        raise _entities(name)
    if plain and _REFERENCE.search(data) is None:
        return
    for element in root.iter(etree.Entity):
        raise ScoreError(
            f"the entity {element.text} is not defined.", where=f"{name}, line {element.sourceline}"
        )


def _entities(name: str) -> ScoreError:
    return ScoreError(
        "the file defines XML entities, which no score needs.",
        where=name,
        hint="It was not made by a notation program; do not trust it.",
    )


def _strip_namespaces(root: etree._Element) -> None:
    if not (isinstance(root.tag, str) and root.tag.startswith("{")):
        return
    for element in root.iter():
        if isinstance(element.tag, str):
            element.tag = etree.QName(element).localname
    etree.cleanup_namespaces(root)


def _turned_around(root: etree._Element, name: str) -> etree._Element:
    """Turn `<score-timewise>` (bars outside, parts inside) into `<score-partwise>`.

    A bar that lacks a part gets an empty bar there, so that bars stay beside each other.
    """
    score = etree.Element("score-partwise", dict(root.attrib))
    measures = root.findall("measure")
    listed = root.findall("part-list/score-part")
    check_counts(len(listed), len(listed) * len(measures), name, len(measures))
    for child in root:
        if child.tag != "measure":
            score.append(deepcopy(child))
    order = dict.fromkeys(str(part.get("id")) for part in listed)
    parts = {part_id: etree.SubElement(score, "part", id=part_id) for part_id in order}
    for measure in measures:
        turned = {
            part_id: etree.SubElement(part, "measure", dict(measure.attrib))
            for part_id, part in parts.items()
        }
        for inner in measure.iterfind("part"):
            if (part_id := str(inner.get("id"))) in turned:
                turned[part_id].extend(list(inner))
    return score
