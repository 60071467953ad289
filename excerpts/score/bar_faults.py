"""Warnings about bars of the source whose notes do not add up; they are cut as they are."""

from __future__ import annotations

from fractions import Fraction

from lxml import etree

from excerpts.musicxml.metre import Metre, metre_of
from excerpts.score.bars import Bars
from excerpts.score.slice import Slice


def warn(piece: Slice) -> None:
    """Name the bars of the slice that are too long, too short, or hold what cannot be read."""
    for repair in piece.bars.repairs:
        if repair.bar is None or piece.holds(repair.bar):
            piece.note_down(repair.action, repair.what, repair.bar, repair.detail)
    metre = metre_of(piece.state.time)
    for k, time in enumerate(piece.times):
        index = piece.first + k
        metre = _metre_in(piece.bars.measures[index], metre)
        for fault in dict.fromkeys(time.faults):
            piece.note_down("warning", "bar", index, f"the source has {fault}")
        length, full = time.length, metre.length
        if not full or not length or length == full:
            continue
        what = "bar too long" if length > full else "bar too short"
        if length > full or not _may_be_short(piece, index, metre):
            notes = "note" if length == 1 else "notes"
            said = f"{_number(length)} quarter {notes} where {metre.text} has {_number(full)}"
            piece.note_down("warning", what, index, said)


def _metre_in(measure: etree._Element, before: Metre) -> Metre:
    """The metre of a bar: what it sets itself, else what was in force."""
    times = [time for attributes in measure.iterfind("attributes") for time in attributes.iterfind("time")]
    return metre_of(times[0]) if times else before


def _may_be_short(piece: Slice, index: int, metre: Metre) -> bool:
    """Pick-ups, last bars, bars split by a repeat or a double bar, and halves that make one bar together."""
    bars = piece.bars
    if index in (0, len(bars) - 1) or bars.measures[index].get("implicit") == "yes":
        return True
    if any(_divides(bars, i) for i in (index - 1, index, index + 1)):
        return True
    lengths = {i: bars.length(i) for i in (index - 1, index, index + 1)}
    return metre.length in (lengths[index - 1] + lengths[index], lengths[index] + lengths[index + 1])


def _divides(bars: Bars, index: int) -> bool:
    """Whether a bar has more than a plain barline at one of its sides."""
    for barline in bars.measures[index].iterfind("barline"):
        style = (barline.findtext("bar-style") or "regular").strip()
        if style != "regular" or barline.find("repeat") is not None or barline.find("ending") is not None:
            return True
    return False


def _number(value: Fraction) -> str:
    return str(value.numerator) if value.denominator == 1 else f"{float(value):g}"
