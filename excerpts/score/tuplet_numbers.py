"""The numbers of tuplets: printed once and then understood, they are printed again on the first group of a cut.

Common practice of engravers, no source: the first group of each ratio has its number, whichever staff it is on; a
bracket where no beam shows what belongs together.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from lxml import etree

from excerpts.musicxml.tuplets import (
    Ratio,
    TupletNote,
    beam_shows,
    is_whole,
    prints_number,
    ratio_of,
    tuplet_notes,
    unmarked_groups,
)
from excerpts.score.slice import Slice, notations_of

_NAMES: Final = {2: "duplet", 3: "triplet", 4: "quadruplet", 5: "quintuplet", 6: "sextuplet", 7: "septuplet"}


def restate_tuplet_numbers(cut: Slice) -> None:
    """Number the first group of each ratio, where it has no number."""
    if all(next(measure.iter("time-modification"), None) is None for measure in cut.measures):
        return
    notes = sorted(filter(_needs_number, tuplet_notes(cut.measures)), key=_when)
    for ratio in dict.fromkeys(note.ratio for note in notes):
        same = [note for note in notes if note.ratio == ratio]
        first = [note for note in same if _when(note) == _when(same[0])]
        if not any(note.numbered for note in first):
            _number(cut, ratio, same, first)


def _needs_number(note: TupletNote) -> bool:
    """A hidden note needs none, nor one that is as long as a plain note and stands alone."""
    alone = not note.over and is_whole([note])
    return note.element.get("print-object") != "no" and not alone


def _when(note: TupletNote) -> tuple[int, object]:
    return note.bar, note.start


def _number(cut: Slice, ratio: Ratio, notes: Sequence[TupletNote], first: Sequence[TupletNote]) -> None:
    """Print the number over the first group: over the `<tuplet>` that hides it, or over a new one."""
    hiding = next((note for note in first if note.over and _may_show(note.over[-1])), None)
    if hiding is not None:
        hiding.over[-1].attrib.pop("show-number", None)
        _report(cut, ratio, hiding.bar)
        return
    group = next(filter(is_whole, unmarked_groups(notes)), None)
    numbered = next((note for note in notes if note.numbered), None)
    if group is None or (numbered is not None and _when(numbered) < _when(group[0])):
        return
    bracket = "no" if beam_shows(group) else "yes"
    _mark(group[0].element, type="start", bracket=bracket)
    _mark(group[-1].element, type="stop")
    _report(cut, ratio, group[0].bar)


def _may_show(tuplet: etree._Element) -> bool:
    """Whether nothing but its `show-number` hides the number."""
    return tuplet.get("show-number") == "none" and (
        (notations := tuplet.getparent()) is None or notations.get("print-object") != "no"
    )


def _mark(note: etree._Element, **attributes: str) -> None:
    etree.SubElement(notations_of(note), "tuplet", attributes)


def _report(cut: Slice, ratio: Ratio, bar: int) -> None:
    name = f"{_NAMES.get(ratio[0], 'tuplet')}-number"
    before = _numbered_before(cut, ratio)
    index = cut.first + bar
    if before is None:
        cut.note_down("repaired", name, index, f"{ratio[0]}, which the source prints nowhere before")
    else:
        cut.note_down("restated", name, index, f"{ratio[0]}, from bar {cut.label(before)}")


def _numbered_before(cut: Slice, ratio: Ratio) -> int | None:
    """Index of the last measure before the cut in which the source prints the number of this ratio."""
    latest = None
    for index, note, tuplet in cut.bars.every("tuplet"):
        if index >= cut.first:
            break
        if tuplet.get("type") == "start" and prints_number(tuplet) and ratio_of(note) == ratio:
            latest = index
    return latest
