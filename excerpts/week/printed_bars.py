"""Bars on printed pages: which systems hold them, by the numbers that their systems begin with, and how long they are.

Barlines are counted in each system, and the sum must be the next system's number: rests of many bars, pick-ups, endings
and what was not found show themselves, and are told. Nothing is guessed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from hashlib import sha256
from typing import Final, Literal

from excerpts.errors import PaperError
from excerpts.paper import Pages, PageSeen, PaperCut, Span, cut, look
from excerpts.week.model import BoxMusic, Week
from excerpts.weekfile.items import BoxItem, Piece
from excerpts.weekfile.text_kinds import system_bars

_NUMBERS: Final = re.compile(r"(\d{1,5})(?:\s*[-–]\s*(\d{1,5}))?")
_SEE: Final = "excerpts paper draws what it found; the box may name it: systems = […]."


def on_pages(box: BoxItem, week: Week) -> bool:
    """Whether a box is cut from printed pages: it names one, or bars of a piece that has pages and no score."""
    if box.page is not None:
        return True
    piece = week.piece(box.piece or "")
    return box.bars is not None and piece.score is None and bool(piece.first_bars)


def printed(box: BoxItem, piece: Piece, pages: Pages) -> PaperCut:
    """Cut a box out of its pages.

    Raises:
        PaperError: It is not there, or its bars cannot be told; the message says why.
    """
    if box.areas or box.area:
        areas = box.areas or ((box.area,) if box.area else ())
        page = box.page or 1
        return cut(pages, page, areas, (), piece.blank.get(page, ()))
    cuts = [
        cut(pages, page, spans=spans, blank=piece.blank.get(page, ()))
        for page, spans in spans_of(box, piece, pages).items()
    ]
    if box.systems and len(cuts) == 1:
        return cuts[0]
    digest = sha256("".join(one.digest for one in cuts).encode()).hexdigest()
    lines = tuple(line for one in cuts for line in one.lines)
    return PaperCut(tuple(page for one in cuts for page in one.line_pages), lines, digest)


def spans_of(box: BoxItem, piece: Piece, pages: Pages) -> Mapping[int, list[Span]]:
    """The parts of systems that a box has, by page; none for one by areas.

    Raises:
        PaperError: Its bars cannot be told; the message says why.
    """
    if box.areas or box.area:
        return {}
    if not box.systems:
        return spans_of_bars(box.bars or "", piece, pages)
    by_page: dict[int, list[Span]] = {}
    for text in box.systems:
        part = system_bars(text)
        by_page.setdefault(part.page or box.page or 1, []).append((part.system, part.first, part.last))
    return by_page


def pages_of(box: BoxItem, piece: Piece) -> list[int]:
    """The pages that a box is on, without looking at them; none for bars that have no numbers there."""
    if box.page is not None:
        parts = [system_bars(text) for text in box.systems or ()]
        return sorted({part.page or box.page for part in parts}) or [box.page]
    try:
        return list(_pages_of_bars(*_ends(box.bars or ""), piece))
    except PaperError:
        return []


def _pages_of_bars(first: int, last: int, piece: Piece) -> Iterator[int]:
    for page in sorted(piece.first_bars):
        after = piece.first_bars.get(page + 1, (None,))[0]
        if any(start <= last for start in piece.first_bars[page]) and (after is None or after > first):
            yield page


def measured_on_pages(box: BoxItem, week: Week) -> BoxMusic | None:
    """How long a box on pages is, where its bars are counted and the piece has a metre; else nobody knows."""
    piece = week.piece(box.piece) if box.piece and on_pages(box, week) else None
    if piece is None or piece.metre is None:
        return None
    ends = _NUMBERS.fullmatch(box.bars or "")
    bars = sum(part.last - part.first for part in map(system_bars, box.systems or ()))
    if not bars and ends:
        bars = int(ends[2] or ends[1]) - int(ends[1]) + 1
    if bars < 1:
        return None
    return BoxMusic(bars * 4 * Fraction(piece.metre), bars, first=int(ends[1]) if ends else None)


def spans_of_bars(bars: str, piece: Piece, pages: Pages) -> dict[int, list[Span]]:
    """The parts of systems that hold some bars, by page.

    Raises:
        PaperError: They are not on the pages whose numbers are known, or the sum is wrong there.
    """
    first, last = _ends(bars)
    by_page: dict[int, list[Span]] = {}
    for page in _pages_of_bars(first, last, piece):
        seen = look(pages, page)
        for number, one in enumerate(line_sums(seen, page, piece), start=1):
            if one.first <= last and (one.after is None or first < one.after):
                _check_sum(seen, page, number, one)
                end = min(last + 1, one.after or one.first) - one.first
                by_page.setdefault(page, []).append((number, max(first - one.first, 0), end))
    held = sum(end - begin for spans in by_page.values() for _, begin, end in spans)
    if held != last - first + 1:
        raise PaperError(
            f"bars {bars} are not on the pages whose first bars are given "
            f"({', '.join(map(str, sorted(piece.first_bars)))}).",
            hint="Give the numbers of their page besides: first_bars = {3 = [41, 47, 52, 58]}.",
        )
    return by_page


def _ends(bars: str) -> tuple[int, int]:
    match = _NUMBERS.fullmatch(bars)
    if match is None or int(match[2] or match[1]) < int(match[1]):
        raise PaperError(f'on printed pages bars are numbers, as "48-51"; this is "{bars}".')
    return int(match[1]), int(match[2] or match[1])


@dataclass(frozen=True, slots=True)
class LineSum:
    """The bars of a system, by their numbers and as counted.

    Attributes:
        first: The number of its first bar.
        after: The number of the bar that comes after it; None where nobody said that.
        found: How many bars were counted.
        told: How many a person counted; None where nobody did.
        fault: Why its bars are not known by their numbers: nobody said what comes after, the sum is not right, the
            page is a photo that nobody has confirmed, or a person counted otherwise. Empty where they are.
    """

    first: int
    after: int | None
    found: int
    told: int | None
    fault: Literal["", "open", "differs", "unseen", "counted"]


def line_sums(seen: PageSeen, page: int, piece: Piece) -> tuple[LineSum, ...]:
    """The sum of each system of a page whose first bars are given.

    Raises:
        PaperError: It has more systems than numbers are given, or fewer.
    """
    starts, count = piece.first_bars[page], len(seen.systems)
    if len(starts) not in {count, count + 1}:
        raise PaperError(
            f"page {page} has {count} systems, and first_bars gives {len(starts)} numbers for it.",
            hint=f"Give one for each system, from the top. {_SEE}",
        )
    after = piece.first_bars.get(page + 1, (None,))[0]
    following = [*starts[1:], *([after] if len(starts) == count else [])]
    counted = piece.counted.get(page, ())
    told = [*counted, *[None] * count][:count]
    unclear = seen.grey or seen.coarse
    return tuple(
        _sum(first, end, found, person, unclear=unclear)
        for first, end, found, person in zip(starts, following, seen.counts, told, strict=False)
    )


def _sum(first: int, after: int | None, found: int, told: int | None, *, unclear: bool) -> LineSum:
    fault: Literal["", "open", "differs", "unseen", "counted"] = ""
    if after is None:
        fault = "open"
    elif found != after - first:
        fault = "differs"
    elif told is not None:
        fault = "" if told == found else "counted"
    elif unclear:
        fault = "unseen"
    return LineSum(first, after, found, told, fault)


def _check_sum(seen: PageSeen, page: int, number: int, one: LineSum) -> None:
    where = f"page {page}, system {number} (from bar {one.first})"
    if one.fault == "open":
        raise PaperError(
            f"{where}: what comes after it is not known, so its {one.found} barlines cannot be checked.",
            hint=f"Add the number of the next bar to the end of first_bars for page {page}.",
        )
    if one.fault == "differs":
        raise PaperError(
            f"{where}: {one.found} barlines are found after its start, and the next system begins with bar "
            f"{one.after}, which makes {(one.after or 0) - one.first}.",
            hint=f"A rest of many bars, a pick-up or an ending counts otherwise. {_SEE}",
        )
    if one.fault:
        what = "a photo or a grey scan" if seen.grey else f"a scan of {seen.dpi:.0f} dots an inch"
        says = (
            f"counted says {one.told}"
            if one.fault == "counted"
            else f"it is {what}, which is not counted unseen"
        )
        raise PaperError(
            f"{where}: {one.found} barlines are found, and {says}.",
            hint=f"Look at the picture that excerpts paper makes, and write counted = {{{page} = [{one.found}, …]}}.",
        )
