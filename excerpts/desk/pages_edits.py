"""What the page of printed pages writes into the week file: boxes on them, and the numbers of their bars."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from excerpts.desk.open_pages import OpenPages, PageBox, page_seen
from excerpts.desk.part_edits import typed_tempo
from excerpts.errors import InputError, PaperError
from excerpts.musicxml.metre import Metre, metre_of_pairs
from excerpts.paper import Area, Span, snap
from excerpts.week.printed_bars import line_sums, spans_of_bars
from excerpts.weekfile.change_text import Change
from excerpts.words import Words

FIELDS: Final = ("why", "note", "target", "start", "minutes")
"""Keys of a box that the page sets besides its place, in the order in which a new box has them."""

_MOST: Final = 20
"""Parts of systems that a box may have."""

Parts = dict[int, list[Span]]
"""Parts of systems, by page."""


def metre_of_piece(opened: OpenPages) -> Metre | None:
    """The metre of the pages, where the week file names one."""
    if opened.piece.metre is None:
        return None
    upper, lower = (int(figure) for figure in opened.piece.metre.split("/"))
    return metre_of_pairs((((upper,), lower),))


def new_box(opened: OpenPages, sent: Mapping[str, Any]) -> list[Change]:
    """Add a box.

    Args:
        opened: The pages.
        sent: Its `parts` [page, system, first barline, last], or `page` and `area`; its `fields` by their keys.
    """
    fields = _fields(sent)
    label = str(fields.get("bars") or "").strip() or None
    values = {"piece": opened.piece.id, **_source(opened, sent, label)}
    values |= {key: _value(opened, key, fields[key]) for key in FIELDS if fields.get(key)}
    return [Change("add", ("box",), {key: value for key, value in values.items() if value is not None})]


def changed_box(opened: OpenPages, box: PageBox, sent: Mapping[str, Any]) -> list[Change]:
    """Change where a box is, or some of its fields.

    Args:
        opened: The pages.
        box: The box.
        sent: As for a new one; only what is changed.
    """
    fields, source = _fields(sent), {}
    if sent.get("parts") or sent.get("area"):
        source = _source(opened, sent, None)
    elif "bars" in fields:
        source = _renamed(opened, box, str(fields["bars"] or "").strip())
    values = source | {key: _value(opened, key, fields[key]) for key in FIELDS if key in fields}
    return [Change("set", ("box", box.place or 0, key), value) for key, value in values.items()]


def _renamed(opened: OpenPages, box: PageBox, typed: str) -> dict[str, Any]:
    """Bars that were typed for a box: it moves there; where they have no numbers, it is called so."""
    try:
        return _by_parts(opened, spans_of_bars(typed, opened.piece, opened.pages), None)
    except PaperError:
        if box.item.page is None:
            raise
        return {"bars": typed or None}


def _source(opened: OpenPages, sent: Mapping[str, Any], label: str | None) -> dict[str, Any]:
    """The keys that say where a box is; those that it has not are None.

    Raises:
        PaperError: Nothing can be cut there; the message says why.
        InputError: It is no place on the pages.
    """
    if sent.get("parts"):
        return _by_parts(opened, _parts(sent["parts"]), label)
    page, area = page_number(sent.get("page")), area_of(sent.get("area"))
    parts = snap(opened.pages, page, area)
    spans = [one.span for one in parts if one.span is not None]
    if len(spans) == len(parts):
        return _by_parts(opened, {page: spans}, label)
    areas = [[round(side, 1) for side in one.area] for one in parts]
    one, many = (areas[0], None) if len(areas) == 1 else (None, areas)
    return {"bars": label, "page": page, "area": one, "areas": many, "systems": None}


def _by_parts(opened: OpenPages, parts: Parts, label: str | None) -> dict[str, Any]:
    number = bar_numbers(opened, parts)
    if number and opened.piece.score is None:
        return {"bars": number, "page": None, "area": None, "areas": None, "systems": None}
    first = next(iter(parts))
    systems = [
        f"{'' if page == first else f'{page}/'}{system}: {start}-{end}"
        for page, spans in parts.items()
        for system, start, end in spans
    ]
    return {"bars": number or label, "page": first, "area": None, "areas": None, "systems": systems}


def bar_numbers(opened: OpenPages, parts: Parts) -> str:
    """Parts of systems by the numbers of their bars ("48-51"); empty where these are not known for sure."""
    pages = list(parts)
    try:
        begin, end = (
            line_sums(page_seen(opened.pages, page), page, opened.piece) for page in (pages[0], pages[-1])
        )
        (system, first, _), (other, _, last) = parts[pages[0]][0], parts[pages[-1]][-1]
        low, high = begin[system - 1].first + first, end[other - 1].first + last - 1
        text = str(low) if low == high else f"{low}-{high}"
        return text if spans_of_bars(text, opened.piece, opened.pages) == parts else ""
    except (PaperError, KeyError, IndexError):
        return ""


def numbers(opened: OpenPages, page: int, sent: Mapping[str, Any]) -> list[Change]:
    """Set the numbers of the bars that the systems of a page begin with, or say that its bars are counted right.

    Args:
        opened: The pages.
        page: The page.
        sent: `first_bars`, one number for each system and perhaps the next bar's, or none; or `counted`, yes or no.

    Raises:
        InputError: These are no numbers, or not as many as there are systems.
    """
    place = opened.place
    if place is None:
        raise InputError(
            f'the piece "{opened.piece.id}" stands in a set that several players share.',
            where=opened.player.week.name, hint="Give the numbers there.",
        )  # fmt: skip
    seen = page_seen(opened.pages, page)
    if "counted" in sent:
        return _of_page(opened, place, "counted", page, list(seen.counts) if sent["counted"] else None)
    given, count = sent.get("first_bars"), len(seen.systems)
    if not isinstance(given, list) or not all(type(one) is int and 0 <= one <= 99_999 for one in given):
        raise InputError("bar numbers are whole numbers from 0.")
    if given and len(given) not in (count, count + 1):
        raise InputError(f"page {page} has {count} systems: each needs the number of its first bar.")
    return _of_page(opened, place, "first_bars", page, given or None)


def _of_page(opened: OpenPages, place: int, key: str, page: int, value: list[int] | None) -> list[Change]:
    there = opened.raw["piece"][place].get(key, {})
    if value is None and set(there) <= {str(page)}:
        return [Change("set", ("piece", place, key), None)] if there else []
    return [Change("set", ("piece", place, key, str(page)), value)]


def page_number(sent: object) -> int:
    """A page as the script sends it.

    Raises:
        InputError: It is none.
    """
    if type(sent) is not int or not 1 <= sent <= 2000:
        raise InputError("this is no page.")
    return sent


def area_of(sent: object) -> Area:
    """An area of a page as the script sends it, in millimetres.

    Raises:
        InputError: It is none.
    """
    try:
        left, top, right, bottom = (float(side) for side in sent)  # type: ignore[attr-defined]
    except (TypeError, ValueError) as error:
        raise InputError("this is no area of a page.") from error
    if not (left < right < 3000 and top < bottom < 3000 and left > -3000 and top > -3000):
        raise InputError("this is no area of a page.")
    return left, top, right, bottom


def _parts(sent: object) -> Parts:
    parts: Parts = {}
    for one in sent if isinstance(sent, list) and len(sent) <= _MOST else [None]:
        if not isinstance(one, list) or len(one) != 4 or not all(type(step) is int for step in one):
            raise InputError("these are no bars of a page.")
        page, system, first, last = one
        if not (page > 0 and system > 0 and 0 <= first < last):
            raise InputError("these are no bars of a page.")
        parts.setdefault(page, []).append((system, first, last))
    return parts


def _fields(sent: Mapping[str, Any]) -> dict[str, Any]:
    fields = sent.get("fields") or {}
    if not isinstance(fields, dict):
        raise InputError("these are no fields of a box.")
    return fields


def _value(opened: OpenPages, key: str, value: Any) -> Any:
    """A value as it stands in the file: a tempo typed as a number gets the note that beats, where that is known."""
    metre = metre_of_piece(opened)
    if key not in ("target", "start") or metre is None:
        return value
    return typed_tempo(value, metre.beat, Words(opened.week.player.words))
