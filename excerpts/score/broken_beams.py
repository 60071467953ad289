"""Beams that do not begin or do not end: in broken sources, and where a cut halves a beam over the barline.

A group that lacks an end is ended at its last note, one that lacks a beginning begins at its first; a single note
keeps no beam. Level by level, for a note may stand in a long first beam and a broken second one.
"""

from __future__ import annotations

from collections.abc import Iterable

from lxml import etree

from excerpts.score.slice import Slice

_Beams = dict[str, etree._Element]


def mend_beams(cut: Slice) -> None:
    """Complete the beams of every voice of the slice."""
    levels = sorted({beam.get("number") or "1" for measure in cut.measures for beam in measure.iter("beam")})
    for notes in _sequences(cut).values() if levels else ():
        for level in levels:
            for index in complete_beams((index, beams.get(level)) for index, beams in notes):
                cut.note_down("repaired", "beam", index, "it had no beginning or no end")


def _sequences(cut: Slice) -> dict[tuple[str, str, bool], list[tuple[int, _Beams]]]:
    """The beams of the notes of each voice in order of time, grace notes apart, with the index of the bar; no rests."""
    found: dict[tuple[str, str, bool], list[tuple[int, _Beams]]] = {}
    for index, moment in sorted(cut.moments(), key=lambda pair: (pair[0], pair[1].onset)):
        children = moment.children
        if moment.element.tag != "note" or "chord" in children or "rest" in children:
            continue
        voice = moment.voice
        key = (voice, "" if voice else moment.staff, "grace" in children)
        beams = _beams(cut.twins[moment.element]) if "beam" in children else {}
        found.setdefault(key, []).append((index, beams))
    return found


def _beams(note: etree._Element) -> _Beams:
    """The beams of a note by level; the first of each."""
    return {beam.get("number") or "1": beam for beam in note.iterchildren("beam", reversed=True)}


def complete_beams(marks: Iterable[tuple[int, etree._Element | None]]) -> list[int]:
    """Complete the beams of one level of one voice.

    Args:
        marks: The bar and the `<beam>` of each note, in order of time; None for a note without one.

    Returns:
        The bars in which something was changed.
    """
    changed: list[int] = []
    group: list[etree._Element] = []
    at = 0
    for index, beam in marks:
        kind = (beam.text or "").strip() if beam is not None else ""
        if kind not in ("continue", "end") and group:
            _close(group)
            changed.append(at)
            group = []
        at = index
        if beam is None or kind not in ("begin", "continue", "end"):
            continue
        if not group and kind != "begin":
            changed.append(index)
            if kind == "end":
                _take_out(beam)
                continue
            beam.text = "begin"
        group.append(beam)
        if kind == "end":
            group = []
    if group:
        _close(group)
        changed.append(at)
    return changed


def _close(group: list[etree._Element]) -> None:
    if len(group) > 1:
        group[-1].text = "end"
    else:
        _take_out(group[0])


def _take_out(beam: etree._Element) -> None:
    parent = beam.getparent()
    if parent is not None:
        parent.remove(beam)
