"""Checks between items of a week file: references by id, and dates."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from excerpts.weekfile.days import real_date
from excerpts.weekfile.fault_free import Finding
from excerpts.weekfile.faults import listed, nearest
from excerpts.weekfile.items import BoxItem, Piece
from excerpts.weekfile.model import Days
from excerpts.weekfile.scale_items import TechniqueItem
from excerpts.weekfile.text_kinds import number_as_text

_Model = TypeVar("_Model", bound=BaseModel)


def cross_findings(raw: dict[str, Any]) -> Iterator[Finding]:
    """Contradictions between items; items with faults of their own are passed over."""
    yield from _twice("piece", raw)
    yield from _twice("box", raw)
    yield from _boxes(raw)
    yield from _technique(raw)
    yield from _dates(raw)
    yield from _retired_and_parked(raw)
    yield from _programme(raw)
    if not any(raw.get(key) for key in ("piece", "box", "warmup", "technique", "scales")):
        yield (), "The week has nothing to play: add a [[piece]], a [[box]], a [[warmup]] or [[technique]]."


def _tables(raw: dict[str, Any], key: str) -> list[tuple[int, dict[str, Any]]]:
    items = raw.get(key, [])
    if not isinstance(items, list):
        return []
    return [(place, item) for place, item in enumerate(items) if isinstance(item, dict)]


def ids_of(raw: dict[str, Any], key: str) -> list[str]:
    """The valid ids of the items of a table."""
    return [name for _, item in _tables(raw, key) if (name := _id(item))]


def _id(item: dict[str, Any], key: str = "id") -> str:
    """The id as the item models read it; empty when it is not valid."""
    name = number_as_text(item.get(key, ""))
    return name if isinstance(name, str) else ""


def valid_items(model: type[_Model], raw: dict[str, Any], key: str) -> Iterator[tuple[int, _Model]]:
    """The items of a table that have no faults of their own, with their places in it."""
    for place, item in _tables(raw, key):
        try:
            yield place, model.model_validate(item)
        except ValidationError:
            continue  # its own faults are told by the check of the whole file


def _twice(key: str, raw: dict[str, Any]) -> Iterator[Finding]:
    seen: set[str] = set()
    for place, item in _tables(raw, key):
        name = _id(item)
        if name and name in seen:
            yield (key, place, "id"), f'Two {"boxes" if key == "box" else "pieces"} have the id "{name}".'
        seen.add(name)


def _not_listed(kind: str, name: str, known: list[str]) -> str:
    otherwise = f"The ids are {listed(known)}." if known else f"The file has no [[{kind}]]."
    return f'There is no {kind} with the id "{name}". {nearest(name, known, otherwise)}'


def _bars_of(item: BoxItem | TechniqueItem, pieces: dict[str, Piece]) -> str:
    piece = pieces.get(item.piece or "")
    if item.bars is None or piece is None or piece.score is not None:
        return ""
    if isinstance(item, BoxItem) and (item.page is not None or (piece.pages and piece.first_bars)):
        return ""
    what = f'The piece "{piece.id}" has no score to take bars from.'
    if isinstance(item, BoxItem) and piece.pages:
        return f"{what} Say where on its pages they are (page, area), or give it first_bars."
    if isinstance(item, BoxItem):
        return f'{what} Give it a score, or say where they are in words: place = "p. 14, bars 12–16".'
    return f"{what} Give it a score, or say what to play in words (text)."


def _boxes(raw: dict[str, Any]) -> Iterator[Finding]:
    pieces = {piece.id: piece for _, piece in valid_items(Piece, raw, "piece")}
    known = ids_of(raw, "piece")
    for place, box in valid_items(BoxItem, raw, "box"):
        if box.piece is not None and box.piece not in known:
            yield ("box", place, "piece"), _not_listed("piece", box.piece, known)
        elif message := _bars_of(box, pieces):
            yield ("box", place, "bars"), message
        elif box.page is not None and box.marks and box.abc is None:
            yield ("box", place, "marks"), "Marks need notes; write them on the page before it is scanned."
        elif box.page is not None and box.piece in pieces and pieces[box.piece].pages is None:
            what = f'The piece "{box.piece}" has no pages to cut from. Give it some: pages = "suite.pdf".'
            yield ("box", place, "page"), what


def _technique(raw: dict[str, Any]) -> Iterator[Finding]:
    pieces = {piece.id: piece for _, piece in valid_items(Piece, raw, "piece")}
    known, boxes = ids_of(raw, "piece"), ids_of(raw, "box")
    for place, item in valid_items(TechniqueItem, raw, "technique"):
        if item.piece is not None and item.piece not in known:
            yield ("technique", place, "piece"), _not_listed("piece", item.piece, known)
        elif message := _bars_of(item, pieces):
            yield ("technique", place, "bars"), message
        if item.drill is not None and item.drill not in boxes:
            yield ("technique", place, "drill"), _not_listed("box", item.drill, boxes)


def _dates(raw: dict[str, Any]) -> Iterator[Finding]:
    try:
        table = raw.get("week")
        given = table if isinstance(table, dict) else {}
        dates = {key: given[key] for key in ("start", "until") if key in given}
        week = Days.model_validate({**dates, "minutes": 0})
    except ValidationError:
        return
    for place, piece in valid_items(Piece, raw, "piece"):
        if piece.date is not None and piece.date < week.start:
            message = f"The performance on {piece.date} is before the week's start on {week.start}."
            yield ("piece", place, "date"), message
    minutes = given.get("minutes")
    for key in minutes if isinstance(minutes, dict) else ():
        try:
            day = real_date(key)
        except ValueError:
            continue  # a weekday, or no day at all, which the table's own check tells
        if not week.start <= day <= week.last:
            yield ("week", "minutes", key), f"{key} is not in this week ({week.start} to {week.last})."


def _programme(raw: dict[str, Any]) -> Iterator[Finding]:
    table = raw.get("plan")
    named = table.get("programme") if isinstance(table, dict) else None
    pieces = {piece.id: piece for _, piece in valid_items(Piece, raw, "piece")}
    for place, name in enumerate(named if isinstance(named, list) else [named] if named else []):
        piece = pieces.get(str(name))
        if str(name) not in ids_of(raw, "piece"):
            message = _not_listed("piece", str(name), list(pieces))
        elif piece is not None and piece.date is None:
            message = f'The piece "{name}" has no date of a performance. Give it one: date = 2026-12-12.'
        else:
            continue
        yield ("plan", "programme", place) if isinstance(named, list) else ("plan", "programme"), message


def _retired_and_parked(raw: dict[str, Any]) -> Iterator[Finding]:
    """Retired and parked boxes: an id used twice, a check that names no retired box."""
    seen = dict.fromkeys(ids_of(raw, "box"), "box")
    for kind in ("retired", "parked"):
        for place, item in _tables(raw, kind):
            if (name := _id(item)) and name in seen:
                yield (kind, place, "id"), f'The id "{name}" is there already, in [[{seen[name]}]].'
            seen[name] = kind
    retired = ids_of(raw, "retired")
    for place, item in _tables(raw, "technique"):
        if (name := _id(item, "check")) and name not in retired:
            yield ("technique", place, "check"), f'There is no [[retired]] box with the id "{name}".'
