"""All parts of a score cut at the same bars, as systems of a score."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from lxml import etree

from excerpts.errors import AddressError
from excerpts.excerpt import Excerpt, OpenEnd, Origin, ReportLine
from excerpts.musicxml.format import serialise
from excerpts.musicxml.timeline import plain
from excerpts.score.address import Resolver
from excerpts.score.bars import BarRange
from excerpts.score.cut import bar_refs, box_of, cut_piece, finish, listed_part, shown_bars
from excerpts.score.head import document
from excerpts.score.limits import check_cut
from excerpts.score.score import Score
from excerpts.score.slice import Slice
from excerpts.score.tempo import restate_tempo

ALL: Final = "all"
"""What all parts together are called in place of a part's name."""

_MOST_NAMED: Final = 6


@dataclass(frozen=True, slots=True)
class WholePassage:
    """Bars of all parts, found by an address and not cut yet."""

    score: Score
    address: str
    span: BarRange

    def cut(self, context: int = 1) -> Excerpt:
        """Cut the bars out of all parts, with `context` measures before and after them.

        The staves are counted from the top of the system on in the open ends of the excerpt, and its bars
        are as long as those of the first part.

        Raises:
            ValueError: `context` is negative.
        """
        if context < 0:
            raise ValueError("context must be 0 or more")
        score, span = self.score, self.span
        shown = shown_bars(score.bars[0], span, context)
        check_cut([m for bars in score.bars for m in bars.measures[shown[0] : shown[1] + 1]], score.name)
        pieces = [cut_piece(bars, span, shown) for bars in score.bars]
        tempo = restate_tempo(pieces[0], score.bars, 0, alone=False)
        whole = document(score.root, [listed_part(score.root, i.id, i.place - 1) for i in score.parts])
        finish(whole, pieces)
        names = [info.name or f"#{info.place}" for info in score.parts]
        warned = tuple(ReportLine("warning", "score", detail=warning) for warning in score.warnings)
        return Excerpt(
            xml=serialise(whole),
            bars=bar_refs(pieces[0]),
            boxes=(box_of(pieces[0], span),),
            open_ends=_open_ends(pieces),
            tempo=tempo,
            origin=Origin(
                Path(score.name).name, score.title, score.composer, _together(names), "", self.address
            ),
            report=warned
            + tuple(_named(line, n) for p, n in zip(pieces, names, strict=True) for line in p.report),
        )


def whole_passage(score: Score, address: str) -> WholePassage:
    """Find bars in all parts of a score.

    A number or a rehearsal mark that only some parts have is looked for in each, from the top down.

    Raises:
        AddressError: It is not an address, or names no bars of the first part.
    """
    level = _level(score)
    first_error: AddressError | None = None
    for info, bars in zip(level.parts, level.bars, strict=True):
        try:
            span = Resolver(bars, f"{score.name}, part {info.name or f'#{info.place}'}").resolve(address)
        except AddressError as error:
            first_error = first_error or error
            continue
        return WholePassage(level, address.strip(), span)
    raise first_error or AddressError("the score has no parts.", where=score.name)


def _level(score: Score) -> Score:
    """The score with all parts as long as the longest: rests stand where a part has ended."""
    counts = [len(bars) for bars in score.bars]
    if len(set(counts)) == 1:
        return score
    root = score.mended()
    longest = score.bars[counts.index(max(counts))]
    for part, bars in zip(root.findall("part"), score.bars, strict=True):
        divisions = bars.state(len(bars)).divisions
        for index in range(len(bars), len(longest)):
            measure = etree.SubElement(part, "measure", dict(longest.measures[index].attrib))
            note = etree.SubElement(measure, "note")
            etree.SubElement(note, "rest", measure="yes")
            etree.SubElement(note, "duration").text = plain(longest.length(index) * divisions)
    short = [
        info.name or f"#{info.place}" for info, n in zip(score.parts, counts, strict=True) if n < max(counts)
    ]
    warning = f"{', '.join(short)} ends before the others; the bars that are missing are filled with rests"
    return Score(root, score.name, (*score.warnings, warning))


def _open_ends(pieces: list[Slice]) -> tuple[OpenEnd, ...]:
    """The open ends of all parts, their staves counted on from part to part."""
    ends: list[OpenEnd] = []
    above = 0
    for piece in pieces:
        ends += [replace(end, staff=end.staff + above) for end in piece.open_ends]
        counts = [measure.findtext("attributes/staves") for measure in piece.measures]
        above += int(next((count for count in counts if count), "1"))
    return tuple(ends)


def _together(names: list[str]) -> str:
    """The parts in one line for headings; nothing where they are too many for it."""
    return ", ".join(names) if len(names) <= _MOST_NAMED else ""


def _named(line: ReportLine, part: str) -> ReportLine:
    return replace(line, whose=" ".join(filter(None, (line.whose, f"({part})"))))
