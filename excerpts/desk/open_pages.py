"""A piece's printed pages as they are open on the desk: the week file as shown, the week, the pages, their boxes."""

from __future__ import annotations

import tomllib
from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from threading import Lock
from typing import Any, Final

from pydantic import ValidationError

from excerpts.desk.open_part import week_of
from excerpts.desk.piece_boxes import earlier_boxes
from excerpts.desk.saves import Shown
from excerpts.desk.studio_state import NotThereError, Player, StudioState
from excerpts.paper import Pages, PageSeen, find_pages, look
from excerpts.week.model import Week
from excerpts.week.printed_bars import on_pages
from excerpts.weekfile.cells import as_utf8
from excerpts.weekfile.faults import Fault
from excerpts.weekfile.items import BoxItem, Piece, RetiredBox

_KEPT: Final = 400
_SOURCE: Final = ("bars", "page", "area", "areas", "systems")
"""Keys of a box that say where it is."""


@dataclass(frozen=True, slots=True)
class OpenPages:
    """A piece with its pages, as it is open.

    Attributes:
        player: The player.
        shown: The week file as it is shown.
        text: Its text, a byte order mark included.
        raw: Its tables.
        week: The week; without what is faulty in it.
        faults: What is faulty.
        piece: The piece.
        pages: Its pages.
    """

    player: Player
    shown: Shown
    text: str
    raw: dict[str, Any]
    week: Week
    faults: tuple[Fault, ...]
    piece: Piece
    pages: Pages

    @property
    def place(self) -> int | None:
        """The place of the piece in the week file; None where it stands in a shared set."""
        return place_of(self.raw, "piece", self.piece.id)


@dataclass(frozen=True, slots=True)
class PageBox:
    """A box on the pages of a piece.

    Attributes:
        id: Its id.
        item: What a week file says of it.
        number: Its number in the workbook; 0 for one of an earlier week.
        place: Its place among the boxes that the file writes out itself; None where it cannot be changed there.
        kind: "week", "retired", "parked" or "earlier".
        when: When it was retired, or the first day of the earlier week.
    """

    id: str
    item: BoxItem
    number: int = 0
    place: int | None = None
    kind: str = "week"
    when: date | None = None


def open_pages(state: StudioState, player_key: str, piece_id: str) -> OpenPages:
    """Open the pages of a piece of a player's latest week.

    Args:
        state: The studio.
        player_key: Key of the player.
        piece_id: Id of the piece.

    Raises:
        NotThereError: There is no such player or piece, or the piece has no pages.
        InputError: The week file or the pages cannot be read.
    """
    player = state.player(player_key)
    shown = state.saves.show(player.week)
    text = as_utf8(shown.data).decode("utf-8", "replace")
    week, faults = week_of(state, player, text)
    piece = next((one for one in week.pieces if one.id == piece_id), None)
    if piece is None or piece.id not in week.page_paths:
        raise NotThereError("there is no such piece with printed pages in this week.", where=player.week.name)
    raw = tomllib.loads(text.removeprefix("\ufeff"))
    return OpenPages(player, shown, text, raw, week, faults, piece, find_pages(week.page_paths[piece.id]))


def place_of(raw: dict[str, Any], table: str, name: str) -> int | None:
    """The place of an item in the tables of a file; None where it has none of that id."""
    items = [item.get("id") if isinstance(item, dict) else None for item in raw.get(table, ())]
    return items.index(name) if name in items else None


def boxes_on_pages(opened: OpenPages) -> list[PageBox]:
    """The boxes on a piece's pages: this week's in the order of their numbers, then those of before."""
    week, piece = opened.week, opened.piece
    boxes = [
        PageBox(box.id, box, number, place_of(opened.raw, "box", box.id))
        for number, box in enumerate(week.boxes, start=1)
        if box.piece == piece.id and on_pages(box, week)
    ]
    taken = [_source(box.item) for box in boxes]
    for old in (*_left(opened), *_earlier(opened)):
        if _source(old.item) not in taken:
            taken.append(_source(old.item))
            boxes.append(old)
    return boxes


def _source(item: BoxItem) -> tuple[Any, ...]:
    return tuple(getattr(item, key) for key in _SOURCE)


def _left(opened: OpenPages) -> Iterator[PageBox]:
    week = opened.week
    for kind, items in (("retired", week.retired), ("parked", week.parked)):
        for box in items:
            if box.piece == opened.piece.id and on_pages(box, week):
                when = box.retired if isinstance(box, RetiredBox) else None
                yield PageBox(box.id, box, kind=kind, when=when)


def _earlier(opened: OpenPages) -> Iterator[PageBox]:
    for start, raw in earlier_boxes(opened.week, opened.piece):
        where = {key: raw[key] for key in _SOURCE if key in raw}
        try:
            box = BoxItem.model_validate({"id": "earlier", "piece": opened.piece.id, **where})
        except ValidationError:
            continue  # `check` tells it, of that week
        if on_pages(box, opened.week):
            yield PageBox(str(raw.get("id", "")), box, kind="earlier", when=start)


_seen: OrderedDict[tuple[str, int, int, int], PageSeen] = OrderedDict()
_lock: Final = Lock()


def page_seen(pages: Pages, number: int) -> PageSeen:
    """What is seen on a page; kept in memory as long as its file does not change.

    Raises:
        PaperError: It cannot be read.
    """
    path, _ = pages.page(number)
    try:
        facts = path.stat()
    except OSError:
        return look(pages, number)  # which says that it is not there
    key = str(path), number, facts.st_mtime_ns, facts.st_size
    with _lock:
        held = _seen.get(key)
    if held is None:
        held = look(pages, number)
        with _lock:
            _seen[key] = held
            while len(_seen) > _KEPT:
                _seen.popitem(last=False)
    return held
