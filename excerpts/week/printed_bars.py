"""Bars on printed pages: which systems hold them, by the numbers that their systems begin with, and how long they are.

Barlines are counted in each system, and the sum must be the next system's number: rests of many bars, pick-ups, endings
and what was not found show themselves, and are told. Nothing is guessed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from hashlib import sha256
from typing import Final

from excerpts.errors import PaperError
from excerpts.paper import Pages, PageSeen, PaperCut, Span, cut, look
from excerpts.week.model import BoxMusic, Week
from excerpts.weekfile.items import BoxItem, Piece
from excerpts.weekfile.text_kinds import system_bars

_NUMBERS: Final = re.compile(r"(\d{1,5})(?:\s*[-–]\s*(\d{1,5}))?")
LEAST_DPI: Final = 150
"""Dots an inch below which barlines are not counted unseen; two of 64 systems were miscounted on photos."""
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
    if box.page is not None:
        spans = tuple(system_bars(text) for text in box.systems or ())
        areas = box.areas or ((box.area,) if box.area else ())
        return cut(pages, box.page, areas, spans, piece.blank.get(box.page, ()))
    cuts = [
        cut(pages, page, spans=spans, blank=piece.blank.get(page, ()))
        for page, spans in _found(box.bars or "", piece, pages).items()
    ]
    digest = sha256("".join(one.digest for one in cuts).encode()).hexdigest()
    lines = tuple(line for one in cuts for line in one.lines)
    return PaperCut(tuple(page for one in cuts for page in one.line_pages), lines, digest)


def measured_on_pages(box: BoxItem, week: Week) -> BoxMusic | None:
    """How long a box on pages is, where its bars are counted and the piece has a metre; else nobody knows."""
    piece = week.piece(box.piece) if box.piece and on_pages(box, week) else None
    if piece is None or piece.metre is None:
        return None
    ends = _NUMBERS.fullmatch(box.bars or "")
    bars = sum(last - first for _, first, last in map(system_bars, box.systems or ()))
    if not bars and ends:
        bars = int(ends[2] or ends[1]) - int(ends[1]) + 1
    if bars < 1:
        return None
    return BoxMusic(bars * 4 * Fraction(piece.metre), bars, first=int(ends[1]) if ends else None)


def _found(bars: str, piece: Piece, pages: Pages) -> dict[int, list[Span]]:
    """The parts of systems that hold some bars, by page."""
    first, last = _ends(bars)
    spans_of: dict[int, list[Span]] = {}
    there = sorted(piece.first_bars)
    for page in there:
        starts = piece.first_bars[page]
        after = piece.first_bars.get(page + 1, (None,))[0]
        if not any(start <= last for start in starts) or (after is not None and after <= first):
            continue
        seen = look(pages, page)
        for number, start, end in _numbered(seen, page, starts, after):
            if start <= last and (end is None or first < end):
                _check_sum(seen, page, number, (start, end), piece)
                spans_of.setdefault(page, []).append(
                    (number, max(first - start, 0), min(last + 1, end or start) - start)
                )
    held = sum(end - begin for spans in spans_of.values() for _, begin, end in spans)
    if held != last - first + 1:
        raise PaperError(
            f"bars {bars} are not on the pages whose first bars are given ({', '.join(map(str, there))}).",
            hint="Give the numbers of their page besides: first_bars = {3 = [41, 47, 52, 58]}.",
        )
    return spans_of


def _ends(bars: str) -> tuple[int, int]:
    match = _NUMBERS.fullmatch(bars)
    if match is None or int(match[2] or match[1]) < int(match[1]):
        raise PaperError(f'on printed pages bars are numbers, as "48-51"; this is "{bars}".')
    return int(match[1]), int(match[2] or match[1])


def _numbered(
    seen: PageSeen, page: int, starts: tuple[int, ...], after: int | None
) -> Iterator[tuple[int, int, int | None]]:
    """Each system, from 1, with its first bar and that of the next; None where nobody said that."""
    count = len(seen.systems)
    if len(starts) not in {count, count + 1}:
        raise PaperError(
            f"page {page} has {count} systems, and first_bars gives {len(starts)} numbers for it.",
            hint=f"Give one for each system, from the top. {_SEE}",
        )
    following = [*starts[1:], *([after] if len(starts) == count else [])]
    for number, (start, end) in enumerate(zip(starts, following, strict=False), start=1):
        yield number, start, end


def _check_sum(seen: PageSeen, page: int, number: int, bars: tuple[int, int | None], piece: Piece) -> None:
    (start, end), barlines = bars, seen.counts[number - 1]
    where = f"page {page}, system {number} (from bar {start})"
    if end is None:
        raise PaperError(
            f"{where}: what comes after it is not known, so its {barlines} barlines cannot be checked.",
            hint=f"Add the number of the next bar to the end of first_bars for page {page}.",
        )
    if barlines != end - start:
        raise PaperError(
            f"{where}: {barlines} barlines are found after its start, and the next system begins with bar {end}, which "
            f"makes {end - start}.",
            hint=f"A rest of many bars, a pick-up or an ending counts otherwise. {_SEE}",
        )
    counted = piece.counted.get(page, ())
    by_hand = counted[number - 1] if number <= len(counted) else None
    unclear = seen.grey or (seen.dpi is not None and seen.dpi < LEAST_DPI)
    if by_hand != barlines if by_hand is not None else unclear:
        what = "a photo or a grey scan" if seen.grey else f"a scan of {seen.dpi:.0f} dots an inch"
        says = (
            f"counted says {by_hand}" if by_hand is not None else f"it is {what}, which is not counted unseen"
        )
        raise PaperError(
            f"{where}: {barlines} barlines are found, and {says}.",
            hint=f"Look at the picture that excerpts paper makes, and write counted = {{{page} = [{barlines}, …]}}.",
        )
