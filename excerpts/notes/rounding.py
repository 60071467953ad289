"""Durations that cannot be taken as they are: rounded ones, and those that are counted too finely.

Rounded ones are read as what they mean: three triplet quavers of 85/256 of a quarter note are thirds.

Exporters count in whole divisions and round where a tuplet does not go into them. Cutting leaves that as it is;
a variant adds such lengths up, multiplies them and looks for notes that are so long, and there are none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction
from itertools import accumulate
from math import lcm

from lxml import etree

from excerpts.excerpt import Excerpt, Position, ReportLine
from excerpts.musicxml.format import number_in, serialise, written_length
from excerpts.musicxml.metre import NO_METRE, Metre, metre_of
from excerpts.musicxml.timeline import divisions_in


@dataclass(slots=True)
class _Bar:
    """One bar as it is written and as it is meant; lengths and points in quarter notes.

    Attributes:
        lengths: What the `<duration>`s of notes and moves are to be, each with the divisions in force there.
        points: Where notes end, as written, and where they are meant to.
        mended: How many notes were rounded.
        finest: The coarsest division that stood in the bar, as a length.
        length: As written.
        meant: As meant.
    """

    lengths: list[tuple[etree._Element, Fraction, Fraction]] = field(default_factory=list)
    points: dict[Fraction, Fraction] = field(default_factory=lambda: {Fraction(0): Fraction(0)})
    mended: int = 0
    finest: Fraction = Fraction(0)
    length: Fraction = Fraction(0)
    meant: Fraction = Fraction(0)

    def meant_at(self, written: Fraction) -> Fraction:
        """Where a written point of the bar is meant to be: at the end of a note, or as far after one as written."""
        if written in self.points:
            return self.points[written]
        near = min(self.points, key=lambda point: abs(point - written))
        if abs(near - written) < self.finest:
            return self.points[near]
        before = max(point for point in self.points if point <= written)
        return self.points[before] + written - before

    def adds_up(self, metre: Metre) -> bool:
        """Whether the meant lengths fill the bar as it was or its metre, or show that its length was rounded too."""
        if not self.mended or any(length < 0 for _, length, _ in self.lengths):
            return False
        if self.meant in {self.length, metre.length}:
            return True
        drift = abs(self.meant - self.length)
        return drift < self.mended * self.finest and self.meant.denominator < self.length.denominator


def unrounded(excerpt: Excerpt) -> Excerpt:
    """The excerpt with rounded durations as their types and tuplets mean them; itself where none is rounded.

    Args:
        excerpt: Music of one part.

    Returns:
        The excerpt; bars and boxes are where they are meant to be. Bars that do not add up either way stay.
    """
    root = excerpt.tree()
    bars = _read(root)
    mended = [bar for bar in bars if bar is not None]
    if not mended:
        return excerpt
    _write(root, mended)
    lengths = [
        old.length if bar is None else bar.meant_at(old.length)
        for old, bar in zip(excerpt.bars, bars, strict=True)
    ]
    starts = [Fraction(0), *accumulate(lengths)]
    return replace(
        excerpt,
        xml=serialise(root),
        bars=tuple(
            replace(bar, start=start, length=length)
            for bar, start, length in zip(excerpt.bars, starts, lengths, strict=False)
        ),
        boxes=tuple(
            replace(box, start=_at(box.start, bars), end=_at(box.end, bars)) for box in excerpt.boxes
        ),
        open_ends=tuple(replace(end, at=_at(end.at, bars)) for end in excerpt.open_ends),
        report=(
            *excerpt.report,
            *(
                ReportLine("repaired", "rounded-durations", old.label, f"{bar.mended} notes")
                for old, bar in zip(excerpt.bars, bars, strict=True)
                if bar is not None
            ),
        ),
    )


def _at(position: Position, bars: Sequence[_Bar | None]) -> Position:
    bar = bars[position.bar] if position.bar < len(bars) else None
    return position if bar is None else Position(position.bar, bar.meant_at(position.onset))


def _read(root: etree._Element) -> list[_Bar | None]:
    """What each bar means; None for one that stays as it is."""
    bars: list[_Bar | None] = []
    divisions, metre = Fraction(1), NO_METRE
    for measure in root.iterfind("part/measure"):
        for time in measure.iterfind("attributes/time"):
            metre = metre_of(time)
        bar, divisions = _bar(measure, divisions)
        bars.append(bar if bar.adds_up(metre) else None)
    return bars


def _bar(measure: etree._Element, divisions: Fraction) -> tuple[_Bar, Fraction]:
    """A bar, and the divisions at its end."""
    bar = _Bar(finest=1 / divisions)
    written = meant = Fraction(0)
    for child in measure:
        if child.tag == "attributes":
            divisions = divisions_in(child) or divisions
            bar.finest = max(bar.finest, 1 / divisions) if bar.lengths else 1 / divisions
        ticks = number_in(child.findtext("duration"))
        if ticks is None or child.tag not in {"note", "backup", "forward"}:
            continue
        length = ticks / divisions
        if child.tag == "note":
            own = _meant(child, length, divisions)
            bar.mended += own != length
            bar.lengths.append((child, own, divisions))
            if child.find("chord") is not None:
                continue
            written, meant = written + length, meant + own
            bar.points.setdefault(written, meant)
        else:
            written = max(Fraction(0), written + (length if child.tag == "forward" else -length))
            there = bar.meant_at(written)
            move = there - meant if child.tag == "forward" else meant - there
            bar.lengths.append((child, move, divisions))
            meant = there
        bar.length, bar.meant = max(bar.length, written), max(bar.meant, meant)
    return bar, divisions


def _meant(note: etree._Element, length: Fraction, divisions: Fraction) -> Fraction:
    """The length that a note's type, dots and tuplet say, if its duration is that one rounded."""
    written = written_length(note)
    return written if written is not None and abs(written - length) * divisions < 1 else length


def _write(root: etree._Element, bars: Sequence[_Bar]) -> None:
    """Write the lengths, in divisions that are finer by as much as they need."""
    lengths = [timed for bar in bars for timed in bar.lengths]
    finer = lcm(*((length * divisions).denominator for _, length, divisions in lengths))
    for element in root.iter("divisions", "duration", "offset"):
        number = number_in(element.text)
        if number is not None:
            element.text = _decimal(number * finer)
    for element, length, divisions in lengths:
        duration, above = element.find("duration"), element.getparent()
        if not length and element.tag != "note" and above is not None:
            above.remove(element)
        elif duration is not None:
            duration.text = _decimal(length * divisions * finer)


def _decimal(number: Fraction) -> str:
    return str(Decimal(number.numerator) / Decimal(number.denominator))


def finest_parts(excerpt: Excerpt) -> list[list[int]]:
    """For each bar of each part: into how many parts of a quarter note its lengths divide it."""
    return [_finest_of(part) for part in excerpt.tree().iterfind("part")]


def _finest_of(part: etree._Element) -> list[int]:
    finest: list[int] = []
    divisions = Fraction(1)
    for measure in part.iterfind("measure"):
        parts = 1
        lengths: set[str | None] = set()
        for child in measure:
            if child.tag == "attributes":
                parts = max(parts, _finest(lengths, divisions))
                lengths.clear()
                divisions = divisions_in(child) or divisions
            else:
                lengths.add(child.findtext("duration"))
        finest.append(max(parts, _finest(lengths, divisions)))
    return finest


def _finest(lengths: set[str | None], divisions: Fraction) -> int:
    """The finest part of a quarter note among `<duration>`s counted in some divisions."""
    ticks = (number_in(text) for text in lengths)
    return max(((count / divisions).denominator for count in ticks if count is not None), default=1)
