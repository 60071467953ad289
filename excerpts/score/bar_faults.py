"""Faults of a source: what has one reading is mended, with a line for the report; of the rest the report warns."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final, Literal

from lxml import etree

from excerpts.musicxml.format import (
    ATTRIBUTES_ORDER,
    NOTE_ORDER,
    child_of_note,
    insert_in_order,
    number_in,
    written_length,
)
from excerpts.musicxml.metre import Metre, metre_of
from excerpts.musicxml.timeline import COUNTED, FIRST_DIVISIONS, divisions_in, plain, positive, walk

if TYPE_CHECKING:
    from excerpts.score.bars import Bars
    from excerpts.score.slice import Slice

_ORDERS: Final[dict[str, tuple[str, ...]]] = {
    "note": NOTE_ORDER,
    "attributes": ATTRIBUTES_ORDER,
    "pitch": ("step", "alter", "octave"),
    "unpitched": ("display-step", "display-octave"),
    "rest": ("display-step", "display-octave"),
    "clef": ("sign", "line", "clef-octave-change"),
    "transpose": ("diatonic", "chromatic", "octave-change", "double"),
    "backup": ("duration", "footnote", "level"),
    "forward": ("duration", "footnote", "level", "voice", "staff"),
    "direction": ("direction-type", "offset", "footnote", "level", "voice", "staff", "sound", "listening"),
    "time-modification": ("actual-notes", "normal-notes", "normal-type", "normal-dot"),
    "barline": (
        "bar-style", "footnote", "level", "wavy-line", "segno", "coda", "fermata", "ending", "repeat",
    ),
}  # fmt: skip
"""Order of the children that the schema wants in some elements (W3C MusicXML 4.0)."""

_RANKS: Final = {name: {child: rank for rank, child in enumerate(order)} for name, order in _ORDERS.items()}

MOST_STAVES: Final = 16
"""Staves of one part; an organ has three, a condensed score some ten."""

_LOOKED_AT: Final = 24
"""Notes that are asked what a quarter note is where the file does not say."""


@dataclass(frozen=True, slots=True)
class Repair:
    """Something that was wrong in the source and has been mended.

    Attributes:
        bar: Index of the measure from 0; None when it concerns the whole part.
        thing: What it is, as `ReportLine` has it.
        detail: What was wrong and what was done.
        action: "warning" where what could not be read was left out.
    """

    bar: int | None
    thing: str
    detail: str
    action: Literal["repaired", "warning"] = "repaired"


def has_faults(part: etree._Element, attributes: Sequence[etree._Element]) -> bool:
    """Whether `mend_attributes` has anything to do; `attributes` are those of the part's bars."""
    return bool(_impossible(attributes)) or _missing_divisions(part) is not None


def mend_attributes(part: etree._Element, measures: list[etree._Element]) -> list[Repair]:
    """Mend impossible divisions and numbers of staves; say what a quarter note is where that is missing."""
    done: list[Repair] = []
    for index, measure in enumerate(measures):
        for attributes in measure.iterfind("attributes"):
            for child in _impossible([attributes]):
                attributes.remove(child)
                text = (child.text or "").strip()[:20]
                done.append(Repair(index, str(child.tag), f"'{text}' is not possible; left out"))
    missing = _missing_divisions(part)
    if missing is not None:
        value, where = missing
        _divide(measures[0], value)
        done.append(Repair(None, "divisions", f"missing; {plain(value)} to a quarter note by {where}"))
    return done


def _impossible(attributes: Sequence[etree._Element]) -> list[etree._Element]:
    counts = (child for one in attributes for child in one.iterchildren("divisions", "staves"))
    return [child for child in counts if not _can_be(child)]


def _can_be(child: etree._Element) -> bool:
    """Whether the number in a `<divisions>` or `<staves>` is possible."""
    value = number_in(child.text)
    if value is None or value <= 0:
        return False
    return child.tag == "divisions" or (value.denominator == 1 and value <= MOST_STAVES)


def _missing_divisions(part: etree._Element) -> tuple[Fraction, str] | None:
    """What a quarter note is, and what tells it, for notes that stand before the part's first divisions.

    Their written values tell it where they are given and agree, else those first divisions. None where there are
    no such notes, or nothing tells it.
    """
    first = next(part.iter("divisions"), None)
    if next(part.iter("divisions", *COUNTED), None) is first:
        return None
    values = {ticks / written for ticks, written in _told(part)}
    value = values.pop() if len(values) == 1 else None
    later = None if first is None else positive(first.text)
    if value is not None:
        return None if value == FIRST_DIVISIONS else (value, "the note values")
    return None if later is None else (later, "what is said behind the first notes")


def _divide(measure: etree._Element, value: Fraction) -> None:
    """Say at the start of a measure what a quarter note is."""
    head = measure.find("attributes")
    if head is None or next(head.itersiblings(*COUNTED, preceding=True), None) is not None:
        head = etree.Element("attributes")
        measure.insert(0, head)
    divisions = etree.Element("divisions")
    divisions.text = plain(value)
    insert_in_order(head, divisions, ATTRIBUTES_ORDER)


def _told(part: etree._Element) -> Iterator[tuple[Fraction, Fraction]]:
    """Duration and written value of the first notes that give both, up to the first divisions of the part."""
    count = 0
    for note in part.iter("divisions", "note"):
        if note.tag == "divisions" or count == _LOOKED_AT:
            return
        ticks, written = number_in(note.findtext("duration")), written_length(note)
        if ticks is not None and ticks > 0 and written is not None:
            yield ticks, written
            count += 1


def mend_measure(
    measure: etree._Element, index: int, context: Callable[[], tuple[Fraction, Metre]]
) -> list[Repair]:
    """Mend one bar.

    Args:
        measure: The bar; it is changed.
        index: Its index in the part, for the report.
        context: Gives the divisions in force at its start, and its metre; asked only when it is needed.
    """
    done = [Repair(index, what, "its parts were in a wrong order") for what in _reorder(measure)]
    if next(measure.iter("chord"), None) is not None:
        done += [Repair(index, "chord", detail) for detail in _mend_chords(measure)]
    done += [Repair(index, "bar", detail, "warning") for detail in _drop_moves(measure)]
    bad = [note for note in measure.iterchildren("note") if _has_bad_duration(note)]
    if bad:
        divisions, metre = context()
        detail = _mend_durations(measure, bad, divisions, metre)
        done += [Repair(index, "note", detail)] if detail else []
    if measure.find("backup") is not None:
        changes = any(divisions_in(attributes) for attributes in measure.iterfind("attributes"))
        divisions = context()[0] if changes else Fraction(1)
        done += [Repair(index, "backup", detail) for detail in _mend_backups(measure, divisions)]
    return done


def _reorder(measure: etree._Element) -> list[str]:
    """Put children into the order of the schema; gives the names of the elements that were wrong."""
    wrong: list[str] = []
    for element in list(measure.iter(*_ORDERS)):
        order = _RANKS[str(element.tag)]
        ranks = [order.get(str(child.tag), -1) for child in element]
        if ranks == sorted(ranks) or -1 in ranks:
            continue
        wrong.append(str(element.tag))
        for _, child in sorted(zip(ranks, element, strict=True), key=lambda pair: pair[0]):
            element.append(child)
    return list(dict.fromkeys(wrong))


def _mend_chords(measure: etree._Element) -> list[str]:
    """A rest in a chord sounds nothing: it goes, and the chord begins with the note behind it."""
    done: list[str] = []
    main: etree._Element | None = None
    for note in measure.findall("note"):
        in_chord = note.find("chord")
        if in_chord is None:
            main = note
            continue
        if main is None:
            continue
        if note.find("rest") is not None:
            measure.remove(note)
            done.append("a rest stood in it; left out")
        elif main.find("rest") is not None and main.findtext("duration") == note.findtext("duration"):
            note.remove(in_chord)
            measure.remove(main)
            main = note
            done.append("it stood on a rest; the rest is left out")
    return list(dict.fromkeys(done))


def _has_bad_duration(note: etree._Element) -> bool:
    duration = next(note.iterchildren("duration"), None)
    ticks = None if duration is None else number_in(duration.text)
    return (ticks is None or ticks <= 0) and note.find("grace") is None


def _mend_durations(
    measure: etree._Element, bad: list[etree._Element], divisions: Fraction, metre: Metre
) -> str:
    """Give notes the length that their written value says, where the bar is no longer than its metre then."""
    is_full = metre.length > 0 and walk(measure, divisions).length >= metre.length
    before = [(note, note.find("duration")) for note in bad]
    old = {note: duration.text if duration is not None else None for note, duration in before}
    lengths = [_length_told(note, measure, metre) for note in bad]
    if None in lengths:
        return _made_grace(bad) if is_full else ""
    for note, length in zip(bad, lengths, strict=True):
        child_of_note(note, "duration").text = plain((length or Fraction(0)) * _divisions_at(note, divisions))
    if not metre.length or walk(measure, divisions).length <= metre.length:
        return "its duration could not be read; taken from its written value"
    for note, duration in before:
        now = note.find("duration")
        if duration is None and now is not None:
            note.remove(now)
        elif duration is not None:
            duration.text = old[note]
    return _made_grace(bad) if is_full else ""


def _divisions_at(note: etree._Element, divisions: Fraction) -> Fraction:
    """The divisions in force at a note: those at the start of its bar, or what the bar sets before it."""
    set_before = (divisions_in(one) for one in note.itersiblings("attributes", preceding=True))
    return next((value for value in set_before if value), divisions)


def _length_told(note: etree._Element, measure: etree._Element, metre: Metre) -> Fraction | None:
    rest = note.find("rest")
    alone = len(measure.findall("note")) == 1
    if rest is not None and metre.length and (rest.get("measure") == "yes" or alone):
        return metre.length
    return written_length(note)


def _made_grace(bad: list[etree._Element]) -> str:
    """Notes of no length in a bar that is full without them are grace notes that do not say so."""
    if any(number_in(note.findtext("duration")) != 0 or note.find("rest") is not None for note in bad):
        return ""
    for note in bad:
        for duration in note.findall("duration"):
            note.remove(duration)
        insert_in_order(note, etree.Element("grace"), NOTE_ORDER)
    return "it took no time in a bar that is full without it; written as a grace note"


def _mend_backups(measure: etree._Element, divisions: Fraction) -> list[str]:
    """A way back past the start of the bar ends at the start."""
    done = False
    for moment in walk(measure, divisions).moments:
        ticks, at = number_in(moment.element.findtext("duration")), moment.cursor * moment.divisions
        if moment.element.tag != "backup" or ticks is None or ticks <= at:
            continue
        duration = moment.element.find("duration")
        if at and duration is not None:
            duration.text = plain(at)
        else:
            measure.remove(moment.element)
        done = True
    return ["it went past the start of the bar; it ends there"] if done else []


def _drop_moves(measure: etree._Element) -> list[str]:
    """A `<backup>` or `<forward>` whose length cannot be read moves nothing, for any reader of the cut."""
    done: list[str] = []
    for move in [*measure.iterchildren("backup"), *measure.iterchildren("forward")]:
        text = (move.findtext("duration") or "").strip()[:20]
        ticks = number_in(text)
        if ticks is None or ticks <= 0:
            measure.remove(move)
            if ticks != 0:
                done.append(f"<{move.tag!s}> of duration '{text}' cannot be followed; left out")
    return done


def warn(piece: Slice) -> None:
    """Name the bars of the slice that are too long, too short, or hold what cannot be read."""
    for repair in piece.bars.repairs:
        if repair.bar is None or piece.holds(repair.bar):
            piece.note_down(repair.action, repair.thing, repair.bar, repair.detail)
    metre = metre_of(piece.state.time)
    for k, time in enumerate(piece.times):
        index = piece.first + k
        metre = _metre_in(piece.bars.measures[index], metre)
        for fault in dict.fromkeys(time.faults):
            piece.note_down("warning", "bar", index, f"the source has {fault}")
        length, full = time.length, metre.length
        if not full or not length or length == full:
            continue
        what = "bar-too-long" if length > full else "bar-too-short"
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
