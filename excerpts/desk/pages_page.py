"""A piece's printed pages as pictures, with the systems and barlines that are found on them: bars are boxed there."""

from __future__ import annotations

import tomllib
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import Any, Final, get_args
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from excerpts.desk.frame import answer, posted, render, state_of
from excerpts.desk.open_part import week_of
from excerpts.desk.part_page import for_script, save_text
from excerpts.desk.saves import Shown
from excerpts.desk.studio_state import NotThereError, Player
from excerpts.errors import InputError
from excerpts.paper import Pages, PageSeen, count, find_pages, picture
from excerpts.week.model import Week
from excerpts.weekfile.cells import as_utf8
from excerpts.weekfile.change_text import Change
from excerpts.weekfile.faults import Fault
from excerpts.weekfile.item_values import FaultName
from excerpts.weekfile.items import Piece

_KEPT: Final = 24
_pictures: OrderedDict[tuple[object, ...], tuple[PageSeen, bytes]] = OrderedDict()
_lock: Final = Lock()
_FIELDS: Final = ("why", "note", "target")


@dataclass(frozen=True, slots=True)
class _OpenPages:
    """A piece's pages as they are open: the player, the week file as shown, its week, the piece, its pages."""

    player: Player
    shown: Shown
    text: str
    week: Week
    faults: tuple[Fault, ...]
    piece: Piece
    pages: Pages

    @property
    def boxes(self) -> list[dict[str, Any]]:
        """The boxes on its pages, with their numbers, and their places in the file where it writes them out."""
        raw = tomllib.loads(self.text.removeprefix("\ufeff"))
        written = [box.get("id") for box in raw.get("box", ())]
        return [
            {
                "id": box.id,
                "number": number,
                "page": box.page,
                "bars": box.bars or "",
                "areas": list(box.areas or ((box.area,) if box.area else ())),
                "systems": [str(one) for one in raw["box"][written.index(box.id)].get("systems", ())],
                "why": list(box.why),
                "note": box.note or "",
                "place": written.index(box.id),
            }
            for number, box in enumerate(self.week.boxes, start=1)
            if box.piece == self.piece.id and box.page is not None and box.id in written
        ]


def _open(request: Request) -> _OpenPages:
    state = state_of(request)
    player = state.player(request.path_params["player"])
    shown = state.saves.show(player.week)
    text = as_utf8(shown.data).decode("utf-8", "replace")
    week, faults = week_of(state, player, text)
    piece = next((one for one in week.pieces if one.id == request.path_params["piece"]), None)
    if piece is None or piece.id not in week.page_paths:
        raise NotThereError("there is no such piece with printed pages in this week.", where=player.week.name)
    return _OpenPages(player, shown, text, week, faults, piece, find_pages(week.page_paths[piece.id]))


def _seen(pages: Pages, number: int) -> tuple[PageSeen, bytes]:
    """A page as it was looked at; kept, for looking takes a second."""
    path, _ = pages.page(number)
    state = _state(path)
    key = str(path), number, state
    with _lock:
        if key not in _pictures:
            _pictures[key] = picture(pages, number)
        _pictures.move_to_end(key)
        while len(_pictures) > _KEPT:
            _pictures.popitem(last=False)
        return _pictures[key]


def _state(path: Path) -> tuple[int, int]:
    try:
        told = path.stat()
    except OSError:
        return 0, 0
    return told.st_mtime_ns, told.st_size


def _page(request: Request) -> Response:
    opened, words = _open(request), state_of(request).words
    number, there = int(request.path_params["number"]), count(opened.pages)
    if not 1 <= number <= there:
        raise NotThereError(f"the pages of this piece are 1 to {there}.", where=opened.pages.path.name)
    seen, _ = _seen(opened.pages, number)
    address = f"/pages/{quote(opened.player.key)}/{quote(opened.piece.id)}"
    systems = [
        {"area": list(system.area), "bars": [[bar[0], bar[2]] for bar in system.bars]}
        for system in seen.systems
    ]
    return render(
        request,
        "pages.html",
        title=words("desk.pages.title", piece=opened.piece.title, n=number),
        script="pages",
        said=(
            "desk.pages.bar",
            "desk.pages.picked",
            "desk.pages.nothing",
            "desk.pages.remove",
            "desk.part.box",
        ),
        opened=opened,
        address=address,
        number=number,
        there=there,
        size=(round(seen.width_mm, 1), round(seen.height_mm, 1)),
        why=[(name, words(f"fault.short.{name}")) for name in get_args(FaultName)],
        data={
            "digest": opened.shown.digest,
            "boxes": opened.boxes,
            "page": number,
            "width": seen.width_mm,
            "height": seen.height_mm,
            "systems": systems,
            "address": address,
        },
    )


def _first(request: Request) -> Response:
    request.path_params["number"] = 1
    return _page(request)


def _picture(request: Request) -> Response:
    opened = _open(request)
    return Response(_seen(opened.pages, int(request.path_params["number"]))[1], media_type="image/png")


@for_script
def _write(request: Request) -> Response:
    """Add a box on a page, or take one away."""
    opened, sent, words = _open(request), posted(request), state_of(request).words
    if sent.get("do") == "remove":
        place = next((box["place"] for box in opened.boxes if box["id"] == sent.get("id")), None)
        if place is None:
            raise NotThereError("there is no such box in this week file.", where=opened.player.week.name)
        change, what = Change("remove", ("box", place)), "desk.pages.did_remove"
    elif sent.get("do") == "add":
        change, what = Change("add", ("box",), _values(opened, sent)), "desk.pages.did_box"
    else:
        raise InputError("the page asked for something that the desk does not do.")
    said = words(what, piece=opened.piece.title, page=sent.get("page", ""))
    save_text(request, opened.player, opened.shown, opened.text, opened.faults, [change], said)
    now = _open(request)
    return answer({"digest": now.shown.digest, "boxes": now.boxes})


def _values(opened: _OpenPages, sent: Mapping[str, Any]) -> dict[str, Any]:
    """The keys of a new box: systems where bars were picked, else an area in tenths of a millimetre."""
    fields = sent.get("fields")
    told = fields if isinstance(fields, dict) else {}
    values: dict[str, Any] = {"piece": opened.piece.id, "bars": told.get("bars"), "page": sent.get("page")}
    if sent.get("systems"):
        values["systems"] = [str(one) for one in list(sent["systems"])]
    else:
        try:
            left, top, right, bottom = (round(float(side), 1) for side in list(sent.get("area") or []))
        except (TypeError, ValueError) as error:
            raise InputError("this is no area of a page.") from error
        if left >= right or top >= bottom:
            raise InputError("this is no area of a page.")
        values["area"] = [left, top, right, bottom]
    return values | {key: told[key] for key in _FIELDS if told.get(key) not in (None, "", [])}


_AT: Final = "/pages/{player:str}/{piece:str}"

ROUTES: Final = [
    Route(_AT, _first, methods=["GET"]),
    Route(f"{_AT}/box", _write, methods=["POST"]),
    Route(f"{_AT}/{{number:int}}", _page, methods=["GET"]),
    Route(f"{_AT}/{{number:int}}/picture", _picture, methods=["GET"]),
]
