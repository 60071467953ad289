"""From bytes to a tree of `<score-partwise>`: no entities, no network, timewise turned around."""

from __future__ import annotations

import re
from copy import deepcopy
from typing import Final

from lxml import etree

from excerpts.errors import ScoreError
from excerpts.score.encoding import wrong_encoding
from excerpts.score.limits import check_bars, check_bytes, check_counts

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
    """Parse a MusicXML document.

    Args:
        data: The document, in the encoding that it declares.
        name: Name of the file, for messages.

    Returns:
        The `<score-partwise>` element, without namespaces, comments or processing instructions.

    Raises:
        ScoreError: The document is not well formed, defines entities, or is not a MusicXML score.
    """
    root, tags = _checked(data, name)
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
    check_bars(root, name, tags)
    return root


def parse_xml(data: bytes, name: str) -> etree._Element:
    """Parse XML from a stranger: no network, no entities, no comments.

    Raises:
        ScoreError: It is too large, is not well formed, or defines entities.
    """
    return _checked(data, name)[0]


def _checked(data: bytes, name: str) -> tuple[etree._Element, int | None]:
    """The tree of a document, and how many tags that has where it can be told."""
    tags = check_bytes(data, name)
    root = _parse(data, name)
    plain = (root.getroottree().docinfo.encoding or "utf-8").lower() in _PLAIN
    _refuse_entities(root, data, name, plain)
    return root, tags if plain else None


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
