"""Tablature: which notes stand in it, and what of it cannot be drawn.

verovio 6.4.1 puts a fret on the line of its string. It draws a note without a string or a number of a fret far off
the staff, and a whole staff as tablature or as notes by its first clef, whatever clef follows.
"""

from __future__ import annotations

from collections.abc import Iterator

from lxml import etree

from excerpts.musicxml.format import number_in

_USUAL_LINES = 5
"""Lines of a staff until a file says otherwise (W3C MusicXML 4.0)."""


class _Staves:
    """Which staves of a part are tablature, and how many lines they have, while its bars go by."""

    def __init__(self) -> None:
        self._tablature: dict[str, bool] = {}
        self._lines: dict[str, int] = {}

    def take(self, attributes: etree._Element) -> bool:
        """Read clefs and lines; tells whether a staff changes between notes and tablature."""
        changes = False
        for clef in attributes.iterfind("clef"):
            staff = clef.get("number") or "1"
            is_tablature = (clef.findtext("sign") or "").strip() == "TAB"
            changes = changes or self._tablature.get(staff, is_tablature) != is_tablature
            self._tablature[staff] = is_tablature
        for details in attributes.iterfind("staff-details"):
            lines = number_in(details.findtext("staff-lines"))
            if lines is not None:
                self._lines[details.get("number") or "1"] = int(lines)
        return changes

    def lines(self, note: etree._Element) -> int | None:
        """How many lines the tablature that a note or rest stands in has; None for any other staff."""
        staff = (note.findtext("staff") or "1").strip()
        return self._lines.get(staff, _USUAL_LINES) if self._tablature.get(staff) else None


def notes_in_tablature(root: etree._Element) -> Iterator[etree._Element]:
    """The notes and rests that stand in tablature, in the order of the file."""
    if not _has_tablature(root):
        return
    for part in root.iterfind("part"):
        staves = _Staves()
        for child in part.iterfind("measure/*"):
            if child.tag == "attributes":
                staves.take(child)
            elif child.tag == "note" and staves.lines(child) is not None:
                yield child


def _has_tablature(root: etree._Element) -> bool:
    return any(
        (sign.text or "").strip() == "TAB" for sign in root.iterfind("part/measure/attributes/clef/sign")
    )


def undrawable(root: etree._Element) -> Iterator[tuple[int, str, str]]:
    """What of the tablature in a score cannot be drawn.

    A note in it has no string or no fret, more strings are used than there are lines, or a staff changes between
    notes and tablature.

    Yields:
        The index of the bar, what was found, and what would be right.
    """
    if not _has_tablature(root):
        return
    for part in root.iterfind("part"):
        staves = _Staves()
        for index, measure in enumerate(part.iterfind("measure")):
            for child in measure.iterchildren("attributes", "note"):
                fault = _fault(child, staves)
                if fault:
                    yield index, *fault


def _fault(child: etree._Element, staves: _Staves) -> tuple[str, str] | None:
    """What is wrong with a note or a change of clef, and what would be right."""
    if child.tag == "attributes":
        if not staves.take(child):
            return None
        return (
            "a staff changes between notes and tablature, and only one of them can be drawn.",
            "Cut the bars before the change and those from it on by themselves.",
        )
    lines = staves.lines(child)
    if lines is None or child.find("rest") is not None:
        return None
    string, fret = (
        (child.findtext(f"notations/technical/{name}") or "").strip() for name in ("string", "fret")
    )
    if not (string.isdecimal() and fret.isdecimal()):
        return "a note in tablature has no string or no fret.", "Give it both in the score."
    if not 0 < int(string) <= lines:
        return (
            f"a note in tablature is on string {string}, and its staff has {lines} lines.",
            "Give the staff a line for each string in the score.",
        )
    return None
